package scenario_test

import (
	"context"
	"errors"
	"math"
	"reflect"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshday/internal/core/scenario"
)

// trees is how many random trees a law is tried on.
func trees() uint64 {
	if full() {
		return 200
	}
	return 20
}

// TestOrdering checks that what needs more foresight is worth more: policy, exact, two-stage, clairvoyant, bound, and
// that the policy keeps every limit and earns what it says. An inequality that fails means that somewhere a
// plan knew what it could not.
func TestOrdering(t *testing.T) {
	for seed := range trees() {
		tree := pick(seed)
		o := scenario.DefaultOptions()
		o.SharedDays = 1 + int(seed%3)
		a := solve(t, tree, o)
		if a.ExactUSD == nil {
			t.Fatalf("tree %d: no exact value", seed)
		}
		if a.TwoStageUSD == nil {
			t.Fatalf("tree %d: no two-stage bound", seed)
		}
		steps := []float64{*a.PolicyUSD, *a.ExactUSD, *a.TwoStageUSD, *a.ClairvoyantUSD, *a.BoundUSD}
		for k := range steps[1:] {
			if steps[k] > steps[k+1]+1e-6*(1+math.Abs(steps[k+1])) {
				t.Errorf("tree %d: %.6f", seed, steps)
			}
		}
		if *a.BoundUSD > *a.ClairvoyantUSD*1.01 {
			t.Errorf("tree %d: bound %.2f is over 1 %% above %.2f", seed, *a.BoundUSD, *a.ClairvoyantUSD)
		}
		earned, err := audit(tree, a.Plan)
		if err != nil {
			t.Errorf("tree %d: %v", seed, err)
		}
		if math.Abs(earned-*a.PolicyUSD) > 0.01 {
			t.Errorf("tree %d: the plan's cuts earn %.4f, the policy says %.4f", seed, earned, *a.PolicyUSD)
		}
	}
}

// TestRuleIsNearExact measures what the rolling rule loses against the best plan without foresight.
func TestRuleIsNearExact(t *testing.T) {
	for _, days := range []int{1, 3} {
		sum, worst, count := 0.0, 0.0, 0
		for k, c := range classes {
			if c.size.Leaves > 100 && !full() {
				continue
			}
			for seed := range uint64(2) {
				o := scenario.DefaultOptions()
				o.SharedDays, o.Workers = days, 2
				a := solve(t, drawClass(k, seed), o)
				loss := 100 * (1 - *a.PolicyUSD / *a.ExactUSD)
				t.Logf("%s %d: loses %.3f %%, foresight gains %.2f %%", c.name, seed, loss, 100*(*a.ClairvoyantUSD / *a.ExactUSD - 1))
				sum, worst, count = sum+loss, max(worst, loss), count+1
			}
		}
		t.Logf("%d shared days: mean loss %.3f %%, worst %.3f %%", days, sum/float64(count), worst)
		if sum/float64(count) > 0.5 || worst > 1.5 {
			t.Errorf("%d shared days: mean loss %.3f %%, worst %.3f %%; at most 0.5 and 1.5", days, sum/float64(count), worst)
		}
	}
}

// exact returns the exact value of a tree.
func exact(t *testing.T, tree *scenario.Tree) scenario.Answer {
	t.Helper()
	return solve(t, tree, scenario.DefaultOptions())
}

// TestMoreNeverHurts adds capacity of every kind; neither the exact value nor the bounds may fall.
func TestMoreNeverHurts(t *testing.T) {
	more := map[string]func(*scenario.Tree){
		"a longer block":   func(t *scenario.Tree) { t.BlockHours *= 1.1 },
		"more trucks":      func(t *scenario.Tree) { t.TruckHours *= 1.2 },
		"a combine":        func(t *scenario.Tree) { t.Speeds = append(t.Speeds, 0.5) },
		"a quicker dump":   func(t *scenario.Tree) { t.Destinations[0].DayBushels[0] += 500 },
		"a larger bin":     func(t *scenario.Tree) { t.Destinations[len(t.Destinations)-1].TotalBushels += 1000 },
		"more acres":       func(t *scenario.Tree) { t.Fields[0].Acres += 10 },
		"a destination":    addDestination,
		"a shorter haul":   func(t *scenario.Tree) { t.TruckHoursPerBushel[0] /= 2 },
		"a quicker field":  func(t *scenario.Tree) { t.Fields[0].AcresPerHour *= 1.3 },
		"a better morning": func(t *scenario.Tree) { t.Nodes[0].Blocks[0].Share = 1 },
		"an hour on a day": func(t *scenario.Tree) { extraHour(t) },
	}
	for name, change := range more {
		for seed := range uint64(4) {
			tree := pick(seed)
			if name == "a better morning" && tree.Nodes[0].Blocks[0].Net == nil {
				continue
			}
			before := exact(t, tree)
			change(tree)
			after := exact(t, tree)
			for what, pair := range map[string][2]float64{
				"exact":       {*before.ExactUSD, *after.ExactUSD},
				"two-stage":   {*before.TwoStageUSD, *after.TwoStageUSD},
				"clairvoyant": {*before.ClairvoyantUSD, *after.ClairvoyantUSD},
				"bound":       {*before.BoundUSD, *after.BoundUSD},
			} {
				if pair[1] < pair[0]-1e-6*math.Abs(pair[0]) {
					t.Errorf("%s, tree %d: %s falls from %.4f to %.4f", name, seed, what, pair[0], pair[1])
				}
			}
		}
	}
}

// extraHour makes the first workable block that has room for it an hour longer.
func extraHour(t *scenario.Tree) {
	for n := range t.Nodes {
		for b := range t.Nodes[n].Blocks {
			if block := &t.Nodes[n].Blocks[b]; block.Net != nil && block.Share+1/t.BlockHours <= 1 {
				block.Share += 1 / t.BlockHours
				return
			}
		}
	}
}

func addDestination(t *scenario.Tree) {
	old := len(t.Destinations)
	days := make([]float64, t.Days)
	for h := range days {
		days[h] = 300
	}
	t.Destinations = append(t.Destinations, scenario.Destination{DayBushels: days, TotalBushels: math.Inf(1)})
	var cycle []float64
	for f := range t.Fields {
		cycle = append(cycle, t.TruckHoursPerBushel[f*old:(f+1)*old]...)
		cycle = append(cycle, 0.001)
	}
	t.TruckHoursPerBushel = cycle
	for n := range t.Nodes {
		for b := range t.Nodes[n].Blocks {
			block := &t.Nodes[n].Blocks[b]
			if block.Net == nil {
				continue
			}
			var net []float64
			for f := range t.Fields {
				net = append(net, block.Net[f*old:(f+1)*old]...)
				net = append(net, 150)
			}
			block.Net = net
		}
	}
}

// TestSameSeason states the season in another way; the values stay as they are.
func TestSameSeason(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*scenario.Tree)
		scale  float64
	}{
		"prices times three":            {func(t *scenario.Tree) { scaleNets(t, 3) }, 3},
		"a field in two halves":         {splitField, 1},
		"a leaf twice at half odds":     {doubleLeaf, 1},
		"nodes in another order":        {reverseNodes, 1},
		"a combine as two half as fast": {halveCombine, 1},
	} {
		for seed := range uint64(5) {
			tree := pick(seed)
			before := exact(t, tree)
			c.change(tree)
			after := exact(t, tree)
			for what, pair := range map[string][2]float64{
				"exact":       {*before.ExactUSD, *after.ExactUSD},
				"clairvoyant": {*before.ClairvoyantUSD, *after.ClairvoyantUSD},
			} {
				if math.Abs(pair[1]-c.scale*pair[0]) > 1e-6*math.Abs(c.scale*pair[0]) {
					t.Errorf("%s, tree %d: %s is %.6f, was %.6f", name, seed, what, pair[1], pair[0])
				}
			}
		}
	}
}

func scaleNets(t *scenario.Tree, by float64) {
	for n := range t.Nodes {
		for b := range t.Nodes[n].Blocks {
			for k := range t.Nodes[n].Blocks[b].Net {
				t.Nodes[n].Blocks[b].Net[k] *= by
			}
		}
	}
}

func splitField(t *scenario.Tree) {
	dests := len(t.Destinations)
	t.Fields[0].Acres /= 2
	t.Fields = append(t.Fields, t.Fields[0])
	t.TruckHoursPerBushel = append(slices.Clone(t.TruckHoursPerBushel), t.TruckHoursPerBushel[:dests]...)
	for n := range t.Nodes {
		for b := range t.Nodes[n].Blocks {
			if block := &t.Nodes[n].Blocks[b]; block.Net != nil {
				block.Net = append(slices.Clone(block.Net), block.Net[:dests]...)
			}
		}
	}
}

// doubleLeaf gives the parent of the last leaf a twin of it. A tree that is a single node stays as it is.
func doubleLeaf(t *scenario.Tree) {
	last := len(t.Nodes) - 1
	if t.Nodes[last].Parent < 0 {
		return
	}
	t.Nodes[last].Probability /= 2
	t.Nodes = append(t.Nodes, t.Nodes[last])
}

func reverseNodes(t *scenario.Tree) {
	last := len(t.Nodes) - 1
	slices.Reverse(t.Nodes)
	for n := range t.Nodes {
		if t.Nodes[n].Parent >= 0 {
			t.Nodes[n].Parent = last - t.Nodes[n].Parent
		}
	}
}

func halveCombine(t *scenario.Tree) {
	t.Speeds[0] /= 2
	t.Speeds = append(t.Speeds, t.Speeds[0])
}

// TestSameBits solves with one worker and with two, and again with two.
func TestSameBits(t *testing.T) {
	for k := range classes[:4] {
		tree := drawClass(k, 3)
		tree.MoveHours = 0.25 * float64(k)
		o := scenario.DefaultOptions()
		o.Care = 0.5 * float64(k%2)
		if k > 0 { // both ways to plan moves, in a second
			o.Limits.MoveColumns, o.Limits.SeasonColumns = 1000, 1_000_000
		}
		one := solve(t, tree, o)
		o.Workers = 2
		for range 2 {
			if diff := cmp.Diff(one, solve(t, tree, o)); diff != "" {
				t.Errorf("%s: %s", classes[k].name, diff)
			}
		}
	}
}

// TestCancel ends the context at once.
func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	a, err := scenario.Solve(ctx, pick(1), scenario.DefaultOptions())
	if !errors.Is(err, context.Canceled) || a.PolicyUSD != nil || a.BoundUSD != nil {
		t.Errorf("got %v and %v", a, err)
	}
}

// TestAnswerCutShort ends the context after each further step of the work: what the answer holds by then is what the full answer
// holds, and nothing that was there is gone when more is done.
func TestAnswerCutShort(t *testing.T) {
	early := 0
	for seed := range uint64(6) {
		tree := pick(seed)
		o := scenario.DefaultOptions()
		o.Care = 0.5 * float64(seed%2)
		steps := 0
		o.Progress = func(string, int, int) { steps++ }
		full := reflect.ValueOf(solve(t, tree, o))
		had := map[string]bool{}
		for most := 1; most < steps; most += 1 + most/4 {
			ctx, cancel := context.WithCancel(context.Background())
			done := 0
			o.Progress = func(string, int, int) {
				if done++; done == most {
					cancel()
				}
			}
			a, err := scenario.Solve(ctx, tree, o)
			cancel()
			if err != nil && !errors.Is(err, context.Canceled) {
				t.Fatal(err)
			}
			part := reflect.ValueOf(a)
			for k := range part.NumField() {
				name := part.Type().Field(k).Name
				if part.Field(k).IsZero() {
					if had[name] {
						t.Errorf("tree %d after %d of %d steps: %s is gone", seed, most, steps, name)
					}
					continue
				}
				had[name] = true
				// A plan for the mean stands until the careful one takes its place; reasons for what is left out are gathered.
				if o.Care > 0 && a.Care == nil && slices.Contains([]string{"PolicyUSD", "Risk", "Plan", "Today"}, name) || name == "LeftOut" {
					continue
				}
				if name == "Short" {
					continue // what halves a shortfall is filled in last
				}
				if diff := cmp.Diff(full.Field(k).Interface(), part.Field(k).Interface()); diff != "" {
					t.Errorf("tree %d after %d of %d steps, %s: %s", seed, most, steps, name, diff)
				}
			}
		}
		if had["PolicyUSD"] && had["BoundUSD"] {
			early++
		}
	}
	if early < 2 {
		t.Errorf("of %d trees a part of the answer was there early: nothing was tested", early)
	}
}
