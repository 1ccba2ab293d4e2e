package app

import (
	"context"
	"errors"
	"fmt"
	"time"

	"threshday/internal/core/scenario"
)

// A SolveRequest is a season as raw tables, to be planned on its own.
type SolveRequest struct {
	Tree   *scenario.Tree
	Seed   uint64                             // of draws of leaves, where the tree is too large to plan on all
	Care   float64                            // what the worst tenth of the weathers counts beside the mean, 0 to 1
	Within time.Duration                      // what is not found by then is left out; 0: no limit
	Found  func(policyUSD, boundUSD *float64) // told on the way, where given: see [scenario.Options]
}

// A Solved is what is known about the season, and what it took.
type Solved struct {
	scenario.Answer
	Nodes, Leaves int
	Seconds       float64
	Seed          uint64
}

// Solve plans a season given as raw tables. It returns what was found where the time runs out, and no answer where
// that is nothing.
func (a *App) Solve(ctx context.Context, r SolveRequest, progress func(doing string, done, of int)) (*Solved, error) {
	began := a.Now()
	o := scenario.DefaultOptions()
	o.Workers, o.Seed, o.Care, o.Progress, o.Found = a.workers(), r.Seed, r.Care, progress, r.Found
	limited := ctx
	if r.Within > 0 {
		var cancel context.CancelFunc
		limited, cancel = context.WithTimeout(ctx, r.Within)
		defer cancel()
	}
	found, err := scenario.Solve(limited, r.Tree, o)
	out := &Solved{Answer: found, Nodes: len(r.Tree.Nodes), Leaves: r.Tree.Leaves(), Seconds: a.Now().Sub(began).Seconds(), Seed: r.Seed}
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case errors.Is(err, context.DeadlineExceeded) && found.BoundUSD == nil:
		return nil, &NoAnswer{
			Rule: "solve.time", Say: fmt.Sprintf("Within %s nothing was found about this tree.", r.Within),
			Next: "Give it more time, or a smaller tree.",
		}
	case errors.Is(err, context.DeadlineExceeded):
		out.cutShort(r)
	case err != nil:
		return nil, err
	}
	return out, nil
}

// cutShort names what the time did not allow.
func (s *Solved) cutShort(r SolveRequest) {
	because := fmt.Sprintf("not reached within %s", r.Within)
	leave := func(what string) {
		s.LeftOut = append(s.LeftOut, scenario.LeftOut{What: what, Because: because})
	}
	if s.PolicyUSD == nil {
		leave(scenario.PolicyPart)
	}
	if s.ExactUSD == nil && !s.Lacks(scenario.ExactPart) {
		leave(scenario.ExactPart)
	}
	if s.Care == nil && r.Care > 0 {
		leave(scenario.CarePart)
	}
	if s.Shadow == nil && !s.Lacks(scenario.ShadowPart) {
		leave(scenario.ShadowPart)
	}
	if s.Wait == nil && s.Cannot == nil && !s.Lacks(scenario.WaitPart) {
		leave(scenario.WaitPart)
	} else {
		leave(scenario.ReliefPart) // all that comes after
	}
}
