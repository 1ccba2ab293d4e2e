package solver_test

import (
	"context"
	"math"
	"testing"

	"threshday/internal/core/scenario"
	"threshday/test/oracle/solver"
)

// careful plans a tree for a share of care.
func careful(t *testing.T, tree *scenario.Tree, care float64) scenario.Answer {
	t.Helper()
	o := scenario.DefaultOptions()
	o.Care = care
	a, err := scenario.Solve(context.Background(), tree, o)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// TestCareIsTheBestOfMeanAndWorstTenth holds what a careful plan is worth, mean and worst tenth by its share, against the season stated
// as a linear program with a threshold and what each weather falls short of it, solved by cbc and by glpsol.
func TestCareIsTheBestOfMeanAndWorstTenth(t *testing.T) {
	if !installed(t) {
		return
	}
	n := 12
	if full() {
		n = 200
	}
	eachTree(n, func(seed uint64) {
		tree := pick(seed)
		for _, care := range []float64{0.25, 0.9} {
			got := careful(t, tree, care)
			if got.Care == nil || !got.Care.Proven {
				t.Errorf("tree %d: %+v", seed, got.Care)
				return
			}
			worth := (1-care)*(*got.PolicyUSD) + care*got.Risk.TailUSD
			program := solver.Program(tree, solver.Model{Care: care})
			for name, solve := range solvers {
				lost, err := solve(context.Background(), t.TempDir(), program)
				if err != nil {
					t.Errorf("tree %d: %v", seed, err)
				} else if !near(worth, -lost) {
					t.Errorf("tree %d, care %g: the plan is worth %.6f, %s says %.6f", seed, care, worth, name, -lost)
				}
			}
		}
	})
}

// TestPricesAreWhatCBCGains holds prices of today's limits between what one more brings and the last one brought, by cbc on the
// tree with that much more and less.
func TestPricesAreWhatCBCGains(t *testing.T) {
	if !installed(t) {
		return
	}
	eachTree(6, func(seed uint64) {
		tree := pick(seed)
		got, err := scenario.Solve(context.Background(), tree, scenario.DefaultOptions())
		if err != nil || got.Shadow == nil {
			t.Errorf("tree %d: %v", seed, err)
			return
		}
		worth := func() float64 {
			lost, err := solver.CBC(context.Background(), t.TempDir(), solver.Program(tree, solver.Model{}))
			if err != nil {
				t.Errorf("tree %d: %v", seed, err)
			}
			return -lost
		}
		base := worth()
		for d, room := range got.Shadow.ByDestinations {
			day := &tree.Destinations[d].DayBushels[0]
			for name, one := range map[string]struct {
				price float64
				side  *float64
			}{"today": {room.Today, day}, "in all": {room.Total.Mean, &tree.Destinations[d].TotalBushels}} {
				was := *one.side
				const by = 50
				*one.side = was + by
				gained := (worth() - base) / by
				*one.side = max(0, was-by)
				lost := math.Inf(1)
				if was > by && !math.IsInf(was, 1) {
					lost = (base - worth()) / by
				}
				*one.side = was
				if tol := 1e-7*math.Max(1, base)/by + 1e-6; one.price < gained-tol || one.price > lost+tol {
					t.Errorf("tree %d, destination %d %s: the price is %.6f, more brings %.6f, less costs %.6f", seed, d, name, one.price, gained, lost)
				}
			}
		}
	})
}
