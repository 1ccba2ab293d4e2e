package linear_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"threshday/internal/core/linear"
)

// A problem that is solved, given more columns and solved again from the basis before is worth what it is worth solved at once.
func TestColumnsAppendedToASolvedProblem(t *testing.T) {
	for seed := range uint64(40) {
		rng := rand.New(rand.NewPCG(seed, 17))
		p := linear.New(linear.Maximise)
		for range 12 {
			p.AddRow(-1, 1+4*rng.Float64())
		}
		grow := func(columns int) {
			for range columns {
				var entries []linear.Entry
				for i := range 12 {
					if rng.IntN(3) == 0 {
						entries = append(entries, linear.Entry{Row: i, Coef: rng.Float64()})
					}
				}
				p.AddColumn(rng.Float64()-0.1, 0, 5, entries...)
			}
		}
		grow(10)
		first := p.Solve(t.Context(), linear.Options{})
		grow(30)
		again, cold := p.Solve(t.Context(), linear.Options{Start: first.Basis.Extend(40)}), p.Solve(t.Context(), linear.Options{})
		if again.Status != linear.Optimal || math.Abs(again.Objective-cold.Objective) > 1e-7*(1+math.Abs(cold.Objective)) {
			t.Errorf("problem %d: %v with %.9f from the basis before, %.9f at once", seed, again.Status, again.Objective, cold.Objective)
		}
		if again.Objective < first.Objective-1e-9 {
			t.Errorf("problem %d: %.9f with more columns, %.9f before", seed, again.Objective, first.Objective)
		}
	}
}

func TestABasisIsNotExtendedToFewerColumns(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	(&linear.Basis{Columns: make([]linear.Standing, 3)}).Extend(2)
}
