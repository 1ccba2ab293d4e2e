package solver_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"sync/atomic"
	"testing"

	"threshday/internal/core/scenario"
	"threshday/test/oracle/season"
	"threshday/test/oracle/solver"
)

// TestMovesAgainstProvenPlans holds the rule, where each start takes three quarters of an hour, against the best plan
// proven by cbc on the season stated with whole starts, the exact value, where there is one, against that plan, and the
// bound. The aim is 1.5 % at worst; the limit is where the rule would have become worse than it is.
func TestMovesAgainstProvenPlans(t *testing.T) {
	if !installed(t) {
		return
	}
	n := 6
	if full() {
		n = 16
	}
	losses, mornings := make([]float64, n), make([]float64, n)
	var proven atomic.Int64
	eachTree(n, func(seed uint64) {
		rng := rand.New(rand.NewPCG(seed, 78))
		tree := season.Draw(season.Size{Fields: 3 + rng.IntN(2), Days: 4 + rng.IntN(2), Blocks: 1 + rng.IntN(2), Destinations: 2, Leaves: 1 + rng.IntN(4)}, seed+500)
		tree.MoveHours = 0.75
		if seed%4 == 3 {
			tree.Speeds = []float64{0.6, 0.5}
		}
		got, err := scenario.Solve(context.Background(), tree, scenario.DefaultOptions())
		if err != nil || (got.ExactUSD == nil) != got.Lacks(scenario.ExactPart) {
			t.Errorf("tree %d: %v, %+v", seed, err, got)
			return
		}
		if err := auditMoves(tree, got.Plan); err != nil {
			t.Errorf("tree %d: %v", seed, err)
		}
		lost, err := solver.CBC(context.Background(), t.TempDir(), solver.Program(tree, solver.Model{Moves: true}))
		if err != nil {
			t.Errorf("tree %d: %v", seed, err)
			return
		}
		best := -lost
		if got.ExactUSD != nil {
			proven.Add(1)
			if !near(*got.ExactUSD, best) || *got.ExactUSD != *got.PolicyUSD {
				t.Errorf("tree %d: exact is %.6f, the rule earns %.6f, cbc says %.6f", seed, *got.ExactUSD, *got.PolicyUSD, best)
			}
		}
		mornings[seed] = checkOthers(t, tree, best)
		losses[seed] = 100 * (1 - *got.PolicyUSD/best)
		if *got.PolicyUSD > best*(1+1e-6) || best > *got.BoundUSD*(1+1e-6) || *got.ClairvoyantUSD > *got.BoundUSD*(1+1e-6) {
			t.Errorf("tree %d: rule %.2f, best %.2f, clairvoyant %.2f, bound %.2f", seed, *got.PolicyUSD, best, *got.ClairvoyantUSD, *got.BoundUSD)
		}
	})
	if proven.Load() < int64(n/2) {
		t.Errorf("%d of %d proven", proven.Load(), n)
	}
	for _, c := range []struct {
		what        string
		losses      []float64
		mean, worst float64
	}{{"the whole season at once", losses, 0.1, 0.5}, {"each morning anew", mornings, 0.8, 5}} {
		sum, worst := 0.0, 0.0
		for _, l := range c.losses {
			sum, worst = sum+l, max(worst, l)
		}
		t.Logf("planning %s loses %.3f %% in the mean, %.3f %% at worst: %.3f", c.what, sum/float64(n), worst, c.losses)
		if sum/float64(n) > c.mean || worst > c.worst {
			t.Errorf("planning %s loses %.3f %% in the mean, %.3f %% at worst; at most %g and %g", c.what, sum/float64(n), worst, c.mean, c.worst)
		}
	}
}

// checkOthers plans a tree as one that is too large to be planned at once, and with care for the worst tenth, and audits both. It
// returns what the first loses of the best plan's value, in percent.
func checkOthers(t *testing.T, tree *scenario.Tree, best float64) float64 {
	loss := 0.0
	for k, change := range []func(*scenario.Options){
		func(o *scenario.Options) { o.Limits.MoveColumns = 0 },
		func(o *scenario.Options) { o.Care = 0.5 },
	} {
		o := scenario.DefaultOptions()
		change(&o)
		got, err := scenario.Solve(context.Background(), tree, o)
		if err == nil {
			err = auditMoves(tree, got.Plan)
		}
		if err != nil || *got.PolicyUSD > best*(1+1e-6) {
			t.Errorf("way %d: %v, earns %.2f of %.2f", k, err, *got.PolicyUSD, best)
			continue
		}
		if k == 0 {
			loss = 100 * (1 - *got.PolicyUSD/best)
		}
	}
	return loss
}

// auditMoves replays each combine of a plan on the way to each node: its work fits the hours of each block, and each
// start fits whole into what one block leaves between the work before it and the work after it.
func auditMoves(t *scenario.Tree, p scenario.Plan) error {
	for end := range t.Nodes {
		var path []int
		for n := end; n >= 0; n = t.Nodes[n].Parent {
			path = append([]int{n}, path...)
		}
		for c := range t.Speeds {
			if err := auditCombine(t, p, path, c); err != nil {
				return fmt.Errorf("on the way to node %d, combine %d: %w", end, c, err)
			}
		}
	}
	return nil
}

func auditCombine(t *scenario.Tree, p scenario.Plan, path []int, c int) error {
	var left []float64 // clock hours by block of the path
	type start struct{ from, to int }
	var starts []start
	at, last := -1, 0
	for _, n := range path {
		for _, block := range t.Nodes[n].Blocks {
			hours := 0.0
			if block.Net != nil {
				hours = block.Share * t.BlockHours
			}
			left = append(left, hours)
		}
	}
	for day, n := range path {
		for _, cut := range p[n] {
			if cut.Combine != c {
				continue
			}
			b := day*t.Blocks + cut.Block
			if cut.Field != at {
				starts = append(starts, start{last, b})
			}
			at, last = cut.Field, b
			left[b] -= cut.Acres / (t.Fields[cut.Field].AcresPerHour * t.Speeds[c])
		}
	}
	for _, s := range starts {
		fits := false
		for b := s.from; b <= s.to && !fits; b++ {
			if fits = left[b] >= t.MoveHours-1e-6; fits {
				left[b] -= t.MoveHours
			}
		}
		if !fits {
			return fmt.Errorf("no time for the start between blocks %d and %d: %.3f", s.from, s.to, left)
		}
	}
	for b, h := range left {
		if h < -1e-6 {
			return fmt.Errorf("block %d is short by %g h", b, -h)
		}
	}
	return nil
}
