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
func (s *season) exact(ctx context.Context, start []*answer) (*question, error) {
	return s.ask(ctx, s.whole(), plain, start)
}

// morningOf returns a first morning's program, and where the rule did without one, solves it with starts charged as on later
// days.
func (s *season) morningOf(ctx context.Context, o Options, z *size, first *question, start []*answer) (*question, error) {
	if first != nil {
		return first, nil
	}
	weight := s.few(s.root, z, s.morning(z, o.Limits), fewestLeaves, o.Seed)
	return s.ask(ctx, s.shared(s.root, o.SharedDays, weight), plain, start)
}

// proven says that weak duality confirms the objective of a solution.
func proven(sol *linear.Solution) bool {
	return math.Abs(sol.Bound-sol.Objective) <= provenTol*math.Max(1, math.Abs(sol.Objective))
}
