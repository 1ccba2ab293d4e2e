package settlement_test

import (
	"testing"

	"threshday/internal/core/crop"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

func TestProductionToCount(t *testing.T) {
	for _, row := range rows(t, "insured.csv") {
		k, _ := crop.Parse(row["crop"])
		a, err := settlement.Insured(k, hundredths(row["moisture"]))
		if err != nil {
			t.Errorf("%v: %v", row, err)
			continue
		}
		b, err := trade.ParseBushels("bushels", row["bushels"])
		if err != nil {
			t.Fatal(err)
		}
		if got := a.Of(b).String(); a.Factor.String() != row["factor"] || got != row["want"] || a.Recalled != (row["source"] == "insurance-recalled") {
			t.Errorf("%s at %s: got %s and %s of %s, want %s and %s [%s]", row["crop"], row["moisture"], a.Factor, got, b, row["factor"], row["want"], row["source"])
		}
	}
	for _, c := range []struct {
		k crop.Kind
		m trade.Percent
	}{{crop.Oats, 15_00}, {crop.Corn, 46_00}, {crop.Corn, -1}} {
		if _, err := settlement.Insured(c.k, c.m); err == nil {
			t.Errorf("%s at %s: got an adjustment, want a refusal", c.k, c.m)
		}
	}
}
