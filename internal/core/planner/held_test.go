package planner

import (
	"slices"
	"testing"
)

// A season that is not run again for a field held must be the one that a run gives, to the bit.
func TestHoldingAFieldIsTheSameRunOrNot(t *testing.T) {
	skipped := 0
	for seed := range uint64(20) {
		for _, w := range []world{random(seed), alike(seed)} {
			table := w.table()
			e := newEvaluator(table, Settings{Workers: 1})
			for _, rule := range []Rule{{Order: ByWorth}, {Order: ByLoss, Margin: 0.15}} {
				r := e.record(rule, bends{})
				for f := range table.Fields {
					for _, turn := range []turn{firstTurn, nextTurn} {
						got := e.first(rule, bends{}, r, f, turn)
						if want := e.record(rule, bends{}.with(len(table.Fields), f, 0, turn)); !slices.Equal(got.usd, want.usd) {
							t.Fatalf("world %d, %+v, field %d in turn %d: %v, run %v", seed, rule, f, turn, got.usd, want.usd)
						}
					}
					less := r.of(f, bends{})
					for _, days := range WaitDays[1:] {
						for _, day := range less.sent {
							if day < 0 || day >= days {
								skipped++
							}
						}
						got := e.held(rule, bends{}, less, f, days)
						want := e.record(rule, bends{}.with(len(table.Fields), f, days, plainTurn))
						if !slices.Equal(got.usd, want.usd) {
							t.Fatalf("world %d, %+v, field %d held %d days: %v, run %v", seed, rule, f, days, got.usd, want.usd)
						}
						less = got
					}
				}
			}
		}
	}
	if skipped == 0 {
		t.Error("every season was run")
	}
}
