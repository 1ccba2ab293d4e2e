package scenario_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshday/internal/core/scenario"
)

// The more the worst tenth counts, the better it is and the less the mean, on trees whose plan is exact; the plan keeps every limit and
// earns what is said.
func TestMoreCareRaisesTheWorstTenthAndLowersTheMean(t *testing.T) {
	moved := 0
	for seed := range trees() {
		tree := pick(seed)
		plain := exact(t, tree)
		mean, tail := *plain.ExactUSD, math.Inf(-1)
		for _, care := range []float64{0, 0.1, 0.5, 0.9, 1} {
			o := scenario.DefaultOptions()
			o.Care = care
			a := solve(t, tree, o)
			if care == 0 {
				if diff := cmp.Diff(plain, a); diff != "" || a.Care != nil {
					t.Errorf("tree %d: no care changes %s", seed, diff)
				}
				continue
			}
			tol := 1e-6 * (1 + math.Abs(mean))
			if *a.PolicyUSD > mean+tol || a.Risk.TailUSD < tail-tol || a.Risk.TailUSD < a.Care.WithoutRisk.TailUSD-tol {
				t.Errorf("tree %d, care %g: mean %.4f after %.4f, worst tenth %.4f after %.4f", seed, care, *a.PolicyUSD, mean, a.Risk.TailUSD, tail)
			}
			if earned, err := audit(tree, a.Plan); err != nil || math.Abs(earned-*a.PolicyUSD) > 0.01 {
				t.Errorf("tree %d, care %g: earns %.4f, said %.4f: %v", seed, care, earned, *a.PolicyUSD, err)
			}
			if cost := a.Care.WithoutUSD - *a.PolicyUSD; cost != a.Care.CostUSD || cost < -tol || math.Abs(a.Care.WithoutUSD-*plain.ExactUSD) > tol {
				t.Errorf("tree %d, care %g: %+v", seed, care, a.Care)
			}
			mean, tail = *a.PolicyUSD, a.Risk.TailUSD
		}
		if tail > plain.Risk.TailUSD*(1+1e-6) {
			moved++
		}
	}
	t.Logf("care raises the worst tenth of %d trees", moved)
	if moved == 0 {
		t.Error("care changes nothing: nothing was tested")
	}
}

// Of a tree that is too large for its exact program the rounds of the rule find a plan that is worth no less by the share, and
// whose worst tenth is no worse; it is compared with the exact careful plan, which nothing beats.
func TestCareByRoundsOfTheRule(t *testing.T) {
	var gained, possible float64
	for seed := range uint64(8) {
		tree := pick(seed)
		o := scenario.DefaultOptions()
		o.Care = 0.8
		best := solve(t, tree, o)
		o.Limits.ExactColumns = 1
		a := solve(t, tree, o)
		if a.Care == nil || a.Care.Proven {
			t.Fatalf("tree %d: %+v", seed, a.Care)
		}
		worth := func(mean, tail float64) float64 { return 0.2*mean + 0.8*tail }
		most, its := worth(*best.PolicyUSD, best.Risk.TailUSD), worth(*a.PolicyUSD, a.Risk.TailUSD)
		without := worth(a.Care.WithoutUSD, a.Care.WithoutRisk.TailUSD)
		if its < without || its > most*(1+1e-6)+1e-6 || a.Risk.TailUSD < a.Care.WithoutRisk.TailUSD {
			t.Errorf("tree %d: worth %.2f, without care %.2f, at most %.2f", seed, its, without, most)
		}
		if earned, err := audit(tree, a.Plan); err != nil || math.Abs(earned-*a.PolicyUSD) > 0.01 {
			t.Errorf("tree %d: earns %.4f, said %.4f: %v", seed, earned, *a.PolicyUSD, err)
		}
		gained, possible = gained+its-without, possible+most-without
	}
	t.Logf("rounds gain %.0f %% of what care can", 100*gained/possible)
	if gained < possible/3 {
		t.Errorf("rounds gain %.2f of %.2f", gained, possible)
	}
}
