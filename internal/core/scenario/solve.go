package scenario

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
)

// Options say how to look for an answer. Results do not depend on Workers.
type Options struct {
	Workers int // goroutines at once; fewer than one counts as one
	// SharedDays is how many days, today included, a morning's plan treats as known only as they come; what
	// follows it takes as known. At least one.
	SharedDays int
	Seed       uint64 // of the draw of leaves where there are too many to plan with
	Limits     Limits
	// Progress, where given, is told how far the work is. It is called by one goroutine at a time.
	Progress func(doing string, done, of int)
}

// DefaultOptions returns the options that answers are made with unless told otherwise.
func DefaultOptions() Options { return Options{Workers: 1, SharedDays: 3, Limits: DefaultLimits()} }

// An Answer is what is known about a season. Nil values were not reached, or the tree is too large for them.
type Answer struct {
	PolicyUSD      *float64 // earned by following the rule; Plan is what it does
	BoundUSD       *float64 // no plan earns more
	ClairvoyantUSD *float64 // mean over the leaves of what foresight would earn
	ExactUSD       *float64 // the most that a plan without foresight can earn, proven
	Risk           *Risk    // how the earnings of Plan spread over the leaves
	Plan           Plan
	Today          []Task
	Wait           []Wait
	WaitDrawn      int       // leaves that the waiting values were drawn on; 0: all
	Cannot         []Cannot  // fields that cannot be cut today, so that waiting has no value
	LeftOut        []LeftOut // what the size of the tree, or the context, did not allow
}

// A Task is acres of a field cut today for a destination.
type Task struct {
	Field, Destination int
	Acres              float64
}

// A LeftOut is a part of the answer that is not there.
type LeftOut struct{ What, Because string }

// The parts of an answer that can be left out.
const (
	PolicyPart    = "policy"
	ExactPart     = "exact"
	WaitPart      = "wait"
	ForesightPart = "foresight"
)

// Lacks says whether a part was left out for a reason that is given.
func (a *Answer) Lacks(part string) bool {
	return slices.ContainsFunc(a.LeftOut, func(l LeftOut) bool { return l.What == part })
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
	s := newSeason(t)
	s.watch.tell = o.Progress
	var out Answer
	return out, s.answerAll(ctx, o, &out)
}

func (s *season) answerAll(ctx context.Context, o Options, out *Answer) error {
	z := s.measure()
	answers, err := s.above(ctx, o, &z, out)
	if err != nil {
		return err
	}
	out.Plan, err = s.roll(ctx, o, &z, answers)
	if err != nil {
		return err
	}
	earned := s.value(out.Plan)
	spread := s.risk(out.Plan)
	out.PolicyUSD, out.Risk = &earned, &spread
	out.Today = s.tasks(out.Plan[s.root])
	switch columns := z.whole(); {
	case s.MoveHours > 0:
		out.LeftOut = append(out.LeftOut, LeftOut{What: ExactPart, Because: "starts that take time make the best plan a search over whole starts; it is not proven"})
	case columns <= o.Limits.ExactColumns:
		s.watch.step("the exact value", 0, 1)
		best, answered, err := s.exact(ctx, answers)
		switch {
		case errors.Is(err, ErrUnsure):
			out.LeftOut = append(out.LeftOut, LeftOut{What: ExactPart, Because: "rounding kept its program from being solved"})
		case err != nil:
			return err
		case proven(best):
			out.ExactUSD = &best.Objective
			answers = []*answer{answered}
		default:
			out.LeftOut = append(out.LeftOut, LeftOut{What: ExactPart, Because: "the duals do not prove it to one part in a million"})
		}
	default:
		out.LeftOut = append(out.LeftOut, LeftOut{
			What:    ExactPart,
			Because: fmt.Sprintf("the tree's linear program would have %d columns; up to %d are solved", columns, o.Limits.ExactColumns),
		})
	}
	if err := s.valueWaiting(ctx, o, &z, answers, out); !errors.Is(err, ErrUnsure) {
		return err
	}
	out.LeftOut = append(out.LeftOut, LeftOut{What: WaitPart, Because: "rounding kept a program from being solved"})
	return nil
}

// above finds what no plan beats: by the programs of all leaves where that is within limits, which are returned for others to start
// from, else by prices alone.
func (s *season) above(ctx context.Context, o Options, z *size, out *Answer) ([]*answer, error) {
	columns := len(s.leaves)*z.own[s.root] + z.paths[s.root]
	if columns > o.Limits.ForesightColumns {
		bound, err := s.priced(ctx, o.Workers)
		if err != nil {
			return nil, err
		}
		out.BoundUSD = &bound
		out.LeftOut = append(out.LeftOut, LeftOut{
			What:    ForesightPart,
			Because: fmt.Sprintf("the programs of all leaves would have %d columns; up to %d are solved. The bound is found without them", columns, o.Limits.ForesightColumns),
		})
		return nil, nil
	}
	sight, err := s.foresee(ctx, o.Workers)
	if err != nil {
		return nil, err
	}
	out.ClairvoyantUSD, out.BoundUSD = &sight.USD, &sight.BoundUSD
	return sight.answers, nil
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

// A watch passes progress on.
type watch struct {
	mu    sync.Mutex
	tell  func(doing string, done, of int)
	doing string
	done  int
}

// step says that one more of so many is done. Step of another kind counts anew.
func (w *watch) step(doing string, by, of int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.tell == nil {
		return
	}
	if doing != w.doing {
		w.doing, w.done = doing, 0
	}
	w.done += by
	w.tell(doing, w.done, of)
}
