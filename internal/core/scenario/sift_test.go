package scenario_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshday/internal/core/scenario"
	"threshday/test/oracle/season"
)

// sifting returns options under which every tree is sifted, however small.
func sifting() scenario.Options {
	o := scenario.DefaultOptions()
	o.Limits.LeafColumns, o.Limits.ListedColumns = 0, 2000
	return o
}

// What sifting finds is what the programs of all cells find: foresight to the solver's accuracy, a bound just above it. Plans keep
// every limit and earn no more than the exact value, and nearly as much; tables without any order in them included.
func TestSiftingFindsWhatAllCellsFind(t *testing.T) {
	lost, count := 0.0, 0.0
	for seed := range trees() {
		tree := pick(seed)
		all := solve(t, tree, scenario.DefaultOptions())
		a := solve(t, tree, sifting())
		if a.ClairvoyantUSD == nil || math.Abs(*a.ClairvoyantUSD-*all.ClairvoyantUSD) > 1e-6*(1+*all.ClairvoyantUSD) {
			t.Errorf("tree %d: foresight %v, of all cells %v", seed, a.ClairvoyantUSD, *all.ClairvoyantUSD)
		}
		if *a.BoundUSD < *a.ClairvoyantUSD*(1-1e-9) || *a.BoundUSD > *a.ClairvoyantUSD*(1+1e-6)+1e-6 {
			t.Errorf("tree %d: bound %v, foresight %v", seed, *a.BoundUSD, *a.ClairvoyantUSD)
		}
		if math.Abs(*a.ExactUSD-*all.ExactUSD) > 1e-6*(1+*all.ExactUSD) || *a.PolicyUSD > *all.ExactUSD*(1+1e-6)+1e-6 {
			t.Errorf("tree %d: plan %.4f, exact %.4f, of all cells %.4f", seed, *a.PolicyUSD, *a.ExactUSD, *all.ExactUSD)
		}
		if a.TwoStageUSD != nil && (*a.TwoStageUSD < *all.ExactUSD*(1-1e-6)-1e-6 || *a.TwoStageUSD > *a.BoundUSD) {
			t.Errorf("tree %d: two-stage bound %.4f, exact %.4f, bound %.4f", seed, *a.TwoStageUSD, *all.ExactUSD, *a.BoundUSD)
		}
		if earned, err := audit(tree, a.Plan); err != nil || math.Abs(earned-*a.PolicyUSD) > 0.01 {
			t.Errorf("tree %d: the plan's cuts earn %.4f, the policy says %.4f, %v", seed, earned, *a.PolicyUSD, err)
		}
		if *all.ExactUSD > 0 {
			lost, count = lost+1 - *a.PolicyUSD / *all.ExactUSD, count+1
		}
	}
	t.Logf("sifted, the rule loses %.3f %% of the exact value in the mean", 100*lost/count)
	if lost/count > 0.005 {
		t.Errorf("the rule loses %.3f %%", 100*lost/count)
	}
}

// A fan too large to be solved whole has a plan within its limits and a percent of what foresight would earn, waiting values, and the
// same bits with one worker and two.
func TestALargeFanIsAnsweredNearItsBound(t *testing.T) {
	tree := season.Draw(season.Size{Fields: 20, Days: 24, Blocks: 1, Destinations: 5, Leaves: 60, Fan: true}, 2)
	o := scenario.DefaultOptions()
	o.Limits.ExactColumns, o.Limits.ListedColumns = 1000, 3000
	a := solve(t, tree, o)
	if a.ClairvoyantUSD == nil || a.ExactUSD != nil || a.WaitDrawn == 0 || len(a.Wait)+len(a.Cannot) != len(tree.Fields) {
		t.Fatalf("%+v", a)
	}
	earned, err := audit(tree, a.Plan)
	if err != nil || math.Abs(earned-*a.PolicyUSD) > 0.01 {
		t.Errorf("the plan's cuts earn %.4f, the policy says %.4f, %v", earned, *a.PolicyUSD, err)
	}
	if *a.PolicyUSD > *a.BoundUSD || *a.PolicyUSD < 0.98**a.BoundUSD {
		t.Errorf("plan %.0f, bound %.0f", *a.PolicyUSD, *a.BoundUSD)
	}
	o.Workers = 2
	if diff := cmp.Diff(a, solve(t, tree, o)); diff != "" {
		t.Error(diff)
	}
}

// With nothing to decide today, what happens on the other ways of the weather does not change what is done on one, to the last bit.
func TestOtherWeathersDoNotMatterToALargeFan(t *testing.T) {
	tree := season.Draw(season.Size{Fields: 15, Days: 14, Blocks: 1, Destinations: 4, Leaves: 20, Fan: true}, 4)
	for n := range tree.Nodes {
		if tree.Nodes[n].Parent < 0 {
			tree.Nodes[n].Blocks[0] = scenario.Block{}
		}
	}
	o := sifting()
	o.Limits.ExactColumns = 0
	before := solve(t, tree, o)
	other := season.Draw(season.Size{Fields: 15, Days: 14, Blocks: 1, Destinations: 4, Leaves: 20, Fan: true}, 9)
	first := 1 // the leaf whose days are replaced: nodes 1 to Days-1, as the season is drawn
	for n := first; n < tree.Days; n++ {
		tree.Nodes[n].Blocks = other.Nodes[n].Blocks
	}
	after := solve(t, tree, o)
	if diff := cmp.Diff(before.Plan[tree.Days:], after.Plan[tree.Days:]); diff != "" {
		t.Error(diff)
	}
	if cmp.Equal(before.Plan[first:tree.Days], after.Plan[first:tree.Days]) {
		t.Error("the days that were replaced are planned as before")
	}
}

func TestWorthOfAPlanAllocatesNothing(t *testing.T) {
	tree := season.Draw(season.Size{Fields: 8, Days: 10, Blocks: 1, Destinations: 3, Leaves: 20, Fan: true}, 1)
	if n := scenario.EvaluatingAllocates(tree, solve(t, tree, scenario.DefaultOptions()).Plan); n != 0 {
		t.Errorf("%v allocations a plan", n)
	}
}

// The bound is told before the plan, the plan before what comes after it, and both as they are answered.
func TestWhatIsFoundIsToldOnTheWay(t *testing.T) {
	tree := season.Draw(season.Size{Fields: 6, Days: 8, Blocks: 1, Destinations: 3, Leaves: 8, Fan: true}, 2)
	var told [][2]*float64
	o := scenario.DefaultOptions()
	o.Found = func(policy, bound *float64) { told = append(told, [2]*float64{policy, bound}) }
	a := solve(t, tree, o)
	if want := [][2]*float64{{nil, a.BoundUSD}, {a.PolicyUSD, a.BoundUSD}}; !cmp.Equal(told, want) {
		t.Errorf("told %v, want %v", told, want)
	}
}
