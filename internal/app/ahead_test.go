package app

import (
	"strings"
	"testing"

	"threshday/internal/core/lookahead"
)

// A field of ten acres: what the rule says of waiting a day, $ per member in turn, and what the program says.
func TestWhatTheProgramSaysStandsBesideTheRule(t *testing.T) {
	for _, c := range []struct {
		name   string
		rule   []float64
		ahead  lookahead.Wait
		tossUp bool
		say    string
	}{
		{"both say wait", []float64{190, 200, 210}, lookahead.Wait{Days: 1, USD: 150, Low: 100, High: 200}, false, ""},
		{"opposed beyond their errors", []float64{190, 200, 210}, lookahead.Wait{Days: 1, USD: -150, Low: -200, High: -100}, true, "the other way round, so take it as a toss-up: waiting a day costs $15 an acre (10 to 20)."},
		{"opposed within an error", []float64{190, 200, 210}, lookahead.Wait{Days: 1, USD: -150, Low: -400, High: 100}, false, ""},
		{"the program knows that cutting pays", []float64{-900, 100, 900}, lookahead.Wait{Days: 1, USD: -80, Low: -90, High: -40}, false, "it is clearer: waiting a day costs $8 an acre (4 to 9)."},
		{"the program knows that waiting pays", []float64{-900, 100, 900}, lookahead.Wait{Days: 1, USD: 80, Low: 40, High: 90}, false, "which leans towards waiting, waiting a day is worth $8 an acre (4 to 9)."},
		{"under a dollar an acre is neither", []float64{-900, 100, 900}, lookahead.Wait{Days: 1, USD: 8, Low: 7, High: 9}, false, ""},
	} {
		a := FieldAdvice{AcresLeft: 10}
		a.sayBeside([][]float64{c.rule}, []lookahead.Wait{c.ahead})
		if a.TossUp != c.tossUp || !strings.HasSuffix(a.Beside, c.say) || (c.say == "") != (a.Beside == "") {
			t.Errorf("%s: toss-up %v, %q", c.name, a.TossUp, a.Beside)
		}
	}
}

func TestOnlyPricesWorthAWordAreSaid(t *testing.T) {
	got := marginWords([]Margin{
		{Of: CombineHour, Name: "Old combine", When: "today", USD: 48, P90: 10},
		{Of: TruckHour, When: "week", USD: 4},
		{Of: RoomBushel, Name: "Big bin", When: "season", USD: 0.19, P10: 0.19, P90: 0.19},
	})
	want := "At the margin, looked ahead day by day, one more would earn: an hour of Old combine today $48 (8 weathers in 10: $0 to $10, few far more); a bushel more at Big bin $0.19."
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got := marginWords(nil); got != "" {
		t.Errorf("of nothing it says %q", got)
	}
}
