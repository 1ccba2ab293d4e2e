package scenario

import (
	"context"
	"math"

	"threshday/internal/core/linear"
)

// provenTol is how far the value that the duals prove may lie from the plan's, as a share of it, for a value
// to be called exact.
const provenTol = 1e-6

// exact solves the program of the whole tree: the best that any plan can earn that knows at every node only
// what the node knows. Moves are not in it.
func (s *season) exact(ctx context.Context, start []*answer) (*linear.Solution, *answer, error) {
	p := s.build(s.whole(), s.fresh(), plain)
	sol := p.lp.Solve(ctx, linear.Options{Start: carry(p, start...)})
	if err := solved(ctx, &sol); err != nil {
		return nil, nil, err
	}
	return &sol, &answer{program: p, basis: sol.Basis}, nil
}

// proven says that weak duality confirms the objective of a solution.
func proven(sol *linear.Solution) bool {
	return math.Abs(sol.Bound-sol.Objective) <= provenTol*math.Max(1, math.Abs(sol.Objective))
}
