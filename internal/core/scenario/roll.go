package scenario

import (
	"context"
	"sync"

	"threshday/internal/core/linear"
)

// roll follows the rolling rule through the tree: at every node, plan as if what the nodes of the next days
// will show were known only then, and all that comes later at once; cut what the plan says for today; plan
// again the next morning. With one shared day that is the two-stage program of today's decision, with all days
// the exact plan. The rule uses at each node only what is known there: its tables, what is left, and what may
// follow with which probability.
//
// Beside the plan it returns the first morning's program, where combines are not told apart and something can be cut.
func (s *season) roll(ctx context.Context, o Options, z *size, start []*answer) (Plan, *question, error) {
	r, err := s.rolled(ctx, o, z, start)
	if err != nil {
		return nil, nil, err
	}
	return r.plan, r.first, nil
}

// rolled returns all that following the rule leaves behind.
func (s *season) rolled(ctx context.Context, o Options, z *size, start []*answer) (*rolling, error) {
	r := &rolling{
		season: s, Options: o, size: z, morning: s.morning(z, o.Limits), tries: s.tries(z, o.Limits), plan: make(Plan, len(s.Nodes)),
		sent: make([]*round, len(s.Nodes)),
		left: make([]state, len(s.Nodes)), last: make([][]*answer, len(s.Nodes)), done: make([]bool, len(s.Nodes)),
	}
	r.left[s.root], r.last[s.root] = s.fresh(), start
	r.pricing.New = func() any { return s.newPricing() }
	for level := []int{s.root}; len(level) > 0; {
		err := each(ctx, o.Workers, len(level), func(k int) error {
			defer s.watch.step("mornings", 1, len(s.Nodes))
			return r.decide(ctx, level[k])
		})
		if err != nil {
			return nil, err
		}
		level = r.next(level)
	}
	return r, nil
}

// next returns the children of a level that are still to be decided, with what is left for them.
func (r *rolling) next(level []int) []int {
	var next []int
	for _, n := range level {
		for _, c := range r.children[n] {
			if !r.done[c] {
				r.left[c], r.last[c] = r.after(r.left[n], r.plan[n]), r.last[n]
				if r.sent[n] != nil {
					r.left[c].at = r.sent[n].at
				}
				next = append(next, c)
			}
		}
		r.left[n], r.last[n] = state{}, nil
	}
	return next
}

// A rolling is a plan being made node by node.
type rolling struct {
	*season
	Options
	*size
	morning int // most columns of a morning's program
	tries   int // programs that a morning solves where moves take time
	plan    Plan
	sent    []*round    // by node, where moves take time; nil where nothing is to be done
	left    []state     // by node: what is left that morning
	last    [][]*answer // by node: to the program decided by last, for the next to start from
	done    []bool
	first   *question // the program of the root
	pricing sync.Pool
}

// decide plans at node n. Where the plan assumes nothing that the nodes below will not know, it is the plan for
// them too.
func (r *rolling) decide(ctx context.Context, n int) (err error) {
	r.done[n] = true
	if r.MoveHours > 0 {
		return r.sendOut(ctx, n)
	}
	if r.sight != nil && r.leavesBelow(n) == 1 {
		return r.alone(ctx, n)
	}
	weight := r.few(n, r.size, r.morning, fewestLeaves, r.Seed)
	v := r.shared(n, r.SharedDays, weight)
	known := weight == nil && !v.repeats()
	if !known && r.own[n] == 0 {
		return nil
	}
	p := r.build(v, r.left[n], plain)
	sol := p.lp.Solve(ctx, linear.Options{Start: carry(p, r.last[n]...)})
	if err := solved(ctx, &sol); err != nil {
		return err
	}
	r.last[n] = []*answer{{program: p, basis: sol.Basis}}
	if n == r.root {
		r.first = &question{answer: r.last[n][0], base: &sol}
	}
	cuts := p.cuts(sol.X)
	for k := range v {
		if k > 0 && !known {
			break
		}
		r.plan[v[k].node] = cuts[k]
		r.done[v[k].node] = true
	}
	return nil
}
