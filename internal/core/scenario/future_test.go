package scenario_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshday/internal/core/scenario"
)

// below returns the season from node n on as a tree of its own, with what a plan leaves of fields and destinations,
// and what the plan earns there, both given that the season comes to n.
func below(t *scenario.Tree, p scenario.Plan, n int) (*scenario.Tree, float64) {
	out := *t
	out.Fields = append([]scenario.Field(nil), t.Fields...)
	out.Destinations = append([]scenario.Destination(nil), t.Destinations...)
	for m := t.Nodes[n].Parent; m >= 0; m = t.Nodes[m].Parent {
		for _, c := range p[m] {
			out.Fields[c.Field].Acres -= c.Acres
			out.Destinations[c.Destination].TotalBushels -= c.Acres * t.Fields[c.Field].BushelsPerAcre
		}
	}
	for f := range out.Fields {
		out.Fields[f].Acres = max(0, out.Fields[f].Acres)
	}
	for d := range out.Destinations {
		out.Destinations[d].TotalBushels = max(0, out.Destinations[d].TotalBushels)
	}
	index, earned := map[int]int{n: 0}, 0.0
	out.Nodes = nil
	var add func(m, parent int)
	add = func(m, parent int) {
		node := t.Nodes[m]
		node.Parent, node.Probability = parent, node.Probability/t.Nodes[n].Probability
		index[m] = len(out.Nodes)
		out.Nodes = append(out.Nodes, node)
		for _, c := range p[m] {
			earned += node.Probability * c.Acres * node.Blocks[c.Block].Net[c.Field*len(t.Destinations)+c.Destination]
		}
		for c := range t.Nodes {
			if t.Nodes[c].Parent == m {
				add(c, index[m])
			}
		}
	}
	add(n, -1)
	return &out, earned
}

// TestNothingElsewhereMatters replaces everything but what can still come: past a node, the rule earns as much as on
// the tree that begins there. A rule that looked at the weather of another branch would not.
func TestNothingElsewhereMatters(t *testing.T) {
	for seed := range uint64(12) {
		tree := pick(seed)
		o := scenario.DefaultOptions()
		o.SharedDays = 1 + int(seed%2)
		a := solve(t, tree, o)
		for n := range tree.Nodes {
			if tree.Nodes[n].Day != 1+int(seed%2) {
				continue
			}
			rest, want := below(tree, a.Plan, n)
			if got := *solve(t, rest, o).PolicyUSD; math.Abs(got-want) > 1e-6*math.Max(1, math.Abs(want)) {
				t.Errorf("tree %d from node %d on: %.6f alone, %.6f within the whole", seed, n, got, want)
			}
		}
	}
}

// TestDrawnLeaves solves trees as if they were too large to plan on all leaves: the rule still keeps every limit and
// stays under the exact value, near it; waiting values come with a range; one worker and two give the same bits.
func TestDrawnLeaves(t *testing.T) {
	var lost, off float64
	var rules, waits int
	for k := 5; k < 6; k++ {
		tree := drawClass(k, 1)
		exact := solve(t, tree, scenario.DefaultOptions())
		o := scenario.DefaultOptions()
		o.Limits = scenario.Limits{ExactColumns: 10, WaitColumns: 8000, MorningColumns: 800, SeasonColumns: 20_000}
		o.Seed = 5
		a := solve(t, tree, o)
		if a.ExactUSD != nil || !a.Lacks(scenario.ExactPart) || a.WaitDrawn == 0 || a.WaitDrawn >= tree.Leaves() {
			t.Errorf("%s: exact %v, left out %v, drawn %d", classes[k].name, a.ExactUSD, a.LeftOut, a.WaitDrawn)
		}
		if _, err := audit(tree, a.Plan); err != nil {
			t.Errorf("%s: %v", classes[k].name, err)
		}
		if *a.PolicyUSD > *exact.ExactUSD*(1+1e-6) {
			t.Errorf("%s: the rule earns %.2f of %.2f", classes[k].name, *a.PolicyUSD, *exact.ExactUSD)
		}
		lost, rules = lost+1 - *a.PolicyUSD / *exact.ExactUSD, rules+1
		for i, w := range a.Wait {
			if w.Low > w.USDPerAcre || w.High < w.USDPerAcre || w.Field != exact.Wait[i].Field {
				t.Errorf("%s: %+v", classes[k].name, w)
			}
			off, waits = off+math.Abs(w.USDPerAcre-exact.Wait[i].USDPerAcre), waits+1
		}
		o.Workers = 2
		if diff := cmp.Diff(a, solve(t, tree, o)); diff != "" {
			t.Errorf("%s: %s", classes[k].name, diff)
		}
	}
	t.Logf("on draws the rule loses %.2f %% in the mean, waiting is off by $%.2f/ac", 100*lost/float64(rules), off/float64(waits))
	if lost/float64(rules) > 0.05 {
		t.Errorf("the rule loses %.2f %%", 100*lost/float64(rules))
	}
}
