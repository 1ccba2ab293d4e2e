package settlement_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

func sampleOf(t testing.TB, row map[string]string, readingsText string) settlement.Sample {
	t.Helper()
	k, ok := crop.Parse(row["crop"])
	if !ok {
		t.Fatalf("no crop %q", row["crop"])
	}
	s := settlement.Sample{Crop: k, Class: row["class"], Day: calendar.MustDay(row["date"]), Counts: map[settlement.Count]int{}}
	if rest, found := strings.CutSuffix(readingsText, " discolored"); found {
		s.Discolored, readingsText = true, rest
	}
	s.Readings = readings(t, readingsText)
	words := strings.Fields(row["counts"])
	for i := 0; i+1 < len(words); i += 2 {
		for c := settlement.StonePieces; c <= settlement.AllPieces; c++ {
			if c.String() == words[i] {
				s.Counts[c], _ = strconv.Atoi(words[i+1])
			}
		}
	}
	if len(s.Counts) != len(words)/2 {
		t.Fatalf("unreadable counts %q", row["counts"])
	}
	return s
}

// At its limit a factor keeps the grade; one recorded step worse it takes the next that has a wider limit.
func TestGradeTables(t *testing.T) {
	for _, row := range rows(t, "grades.csv") {
		parts := strings.Split(row["factor"], "+")
		limits := strings.Fields(row["want"])
		atLeast := parts[0] == "test_weight"
		step := "0.1"
		if strings.Contains(limits[0], ".") && len(limits[0])-strings.Index(limits[0], ".") == 3 {
			step = "0.01"
		}
		if row["crop"] == "sunflower" && atLeast {
			step = "0.5" // recorded in halves
		}
		grade := func(x trade.Percent) string {
			s := sampleOf(t, row, "")
			if len(parts) > 1 { // a sum: the parts that have no tighter limit of their own are left at 0
				for _, p := range []string{"damage_total", "foreign_material", "shrunken_broken", "broken"} {
					s.Readings = with(t, s.Readings, p, 0)
				}
			}
			s.Readings = with(t, s.Readings, parts[len(parts)-1], x)
			if parts[0] == "broken" {
				s.Readings = with(t, with(t, s.Readings, "foreign_material", 0), "broken", x)
			}
			g, err := settlement.Assign(s)
			if err != nil {
				t.Fatal(err)
			}
			return g.String()
		}
		for n, text := range limits {
			at := hundredths(text)
			worse := at + hundredths(step)
			if atLeast {
				worse = at - hundredths(step)
			}
			best := n // the first grade with this limit
			for best > 0 && limits[best-1] == text {
				best--
			}
			next := "Sample"
			for m := n; m < len(limits); m++ {
				if limits[m] != text {
					next = fmt.Sprint(m + 1)
					break
				}
			}
			if got, want := grade(at), fmt.Sprint(best+1); got != want {
				t.Errorf("%s %s %s at %s: got %s, want %s [%s]", row["crop"], row["class"], row["factor"], at, got, want, row["source"])
			}
			if got := grade(worse); got != next {
				t.Errorf("%s %s %s at %s: got %s, want %s [%s]", row["crop"], row["class"], row["factor"], worse, got, next, row["source"])
			}
		}
	}
}

func with(t testing.TB, r settlement.Readings, name string, x trade.Percent) settlement.Readings {
	t.Helper()
	f, ok := settlement.ParseFactor(name)
	if !ok {
		t.Fatalf("no factor %q", name)
	}
	return r.With(f, x)
}

func hundredths(s string) trade.Percent {
	n, _ := trade.MustDecimal(s).Units(2)
	return trade.Percent(n)
}

func TestGradesOfWholeSamples(t *testing.T) {
	for _, row := range rows(t, "samples.csv") {
		g, err := settlement.Assign(sampleOf(t, row, row["readings"]))
		if err != nil {
			t.Errorf("%v: %v", row, err)
			continue
		}
		if got, by := g.String(), strings.Join(g.LimitedBy, " "); got != row["want"] || by != row["limited_by"] {
			t.Errorf("%s %s with %s, %s: got %s by %q, want %s by %q [%s]",
				row["date"], row["crop"], row["readings"], row["counts"], got, by, row["want"], row["limited_by"], row["source"])
		}
	}
}

func TestGradeSaysWhatWasNotMeasured(t *testing.T) {
	g, err := settlement.Assign(settlement.Sample{Crop: crop.Soybean, Day: calendar.MustDay("2024-10-01"), Readings: readings(t, "damage_total 1.0 splits 8.0")})
	if err != nil || g.String() != "1" || !slices.Equal(g.Missing, []settlement.Factor{settlement.HeatDamage, settlement.ForeignMaterial}) {
		t.Errorf("got %s, %v, missing %v", g, err, g.Missing)
	}
}

func TestGradesThatNoTableGives(t *testing.T) {
	day := calendar.MustDay("2024-10-01")
	for _, c := range []struct {
		sample settlement.Sample
		want   string
	}{
		{settlement.Sample{Crop: crop.Oats, Day: day}, `Crop is "oats"`},
		{settlement.Sample{Crop: crop.Wheat, Day: day}, "Class is missing"},
		{settlement.Sample{Crop: crop.Wheat, Class: "Mixed", Day: day}, `Class is "Mixed"`},
		{settlement.Sample{Crop: crop.Corn}, "Date is missing"},
		{settlement.Sample{Crop: crop.Corn, Day: calendar.MustDay("1990-01-01")}, "a day from 1996-09-01 on"},
		{settlement.Sample{Crop: crop.Corn, Day: day, Readings: readings(t, "damage_total 1.0 heat_damage 2.0")}, "at most the total damage"},
	} {
		if _, err := settlement.Assign(c.sample); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %s", c.sample, err, c.want)
		}
	}
}

func TestMoreDamageIsNeverABetterGrade(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom([]crop.Kind{crop.Soybean, crop.Corn, crop.Sorghum, crop.Canola, crop.Sunflower}).Draw(t, "crop")
		s := settlement.Sample{Crop: k, Day: calendar.MustDay("2024-10-01")}
		rank := func(damage trade.Percent) int {
			s.Readings = s.Readings.With(settlement.DamageTotal, damage)
			g, err := settlement.Assign(s)
			if err != nil {
				t.Fatal(err)
			}
			if g.Number == settlement.SampleGrade {
				return 9
			}
			return g.Number
		}
		low := trade.Percent(rapid.Int64Range(0, 3000).Draw(t, "damage"))
		if more := low + trade.Percent(rapid.Int64Range(0, 500).Draw(t, "more")); rank(more) < rank(low) {
			t.Fatalf("%s: damage %s grades %d, %s grades %d", k, low, rank(low), more, rank(more))
		}
	})
}
