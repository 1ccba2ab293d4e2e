package scenario

import (
	"context"
	"errors"
)

// Options say how to look for an answer. Results do not depend on Workers.
type Options struct {
	Workers int // goroutines at once; fewer than one counts as one
	// SharedDays is how many days, today included, a morning's plan treats as known only as they come; what
	// follows it takes as known. At least one.
	SharedDays int
	Seed       uint64 // of the draw of leaves where there are too many to plan with
}

// DefaultOptions returns the options that answers are made with unless told otherwise.
func DefaultOptions() Options { return Options{Workers: 1, SharedDays: 3} }

// An Answer is what is known about a season. Nil values were not reached, or the tree is too large for them.
type Answer struct {
	PolicyUSD      *float64 // earned by following the rule; Plan is what it does
	BoundUSD       *float64 // no plan earns more
	ClairvoyantUSD *float64 // mean over the leaves of what foresight would earn
	ExactUSD       *float64 // the most that a plan without foresight can earn, proven
	Plan           Plan
	Today          []Task
	Wait           []Wait
	Cannot         []Cannot // fields that cannot be cut today, so that waiting has no value
}

// A Task is acres of a field cut today for a destination.
type Task struct {
	Field, Destination int
	Acres              float64
}

// Solve answers everything about a tree that its size allows. It returns the errors of [Tree.Check] for a tree
// that cannot be used; when ctx ends it returns what was found until then with the error of ctx.
func Solve(ctx context.Context, t *Tree, o Options) (Answer, error) {
	if err := t.Check(); err != nil {
		return Answer{}, err
	}
	if o.SharedDays < 1 {
		return Answer{}, errors.New("scenario: at least one day has to be shared")
	}
	var out Answer
	err := newSeason(t).answerAll(ctx, o, &out)
	return out, err
}

func (s *season) answerAll(ctx context.Context, o Options, out *Answer) error {
	sight, err := s.foresee(ctx, o.Workers)
	if err != nil {
		return err
	}
	out.ClairvoyantUSD, out.BoundUSD = &sight.USD, &sight.BoundUSD
	out.Plan, err = s.roll(ctx, o.SharedDays, o.Workers, sight.answers)
	if err != nil {
		return err
	}
	earned := s.value(out.Plan)
	out.PolicyUSD = &earned
	out.Today = s.tasks(out.Plan[s.root])
	best, answered, err := s.exact(ctx, sight.answers)
	if err != nil {
		return err
	}
	if proven(best) {
		out.ExactUSD = &best.Objective
	}
	out.Wait, out.Cannot, err = s.waits(ctx, o.Workers, s.whole(), nil, []*answer{answered})
	return err
}

// tasks adds cuts up over blocks, in the order of fields and destinations.
func (s *season) tasks(cuts []Cut) []Task {
	acres := make([]float64, len(s.Fields)*s.dests)
	for _, c := range cuts {
		acres[c.Field*s.dests+c.Destination] += c.Acres
	}
	var out []Task
	for k, a := range acres {
		if a > 0 {
			out = append(out, Task{Field: k / s.dests, Destination: k % s.dests, Acres: a})
		}
	}
	return out
}
