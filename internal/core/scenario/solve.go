package scenario

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"threshday/internal/core/problem"
)

// Options say how to look for an answer. Results do not depend on Workers.
type Options struct {
	Workers int // goroutines at once; fewer than one counts as one
	// SharedDays is how many days, today included, a morning's plan treats as known only as they come; what
	// follows it takes as known. At least one.
	SharedDays int
	Seed       uint64 // of the draw of leaves where there are too many to plan with
	// Care is what the mean of the worst tenth of the weathers counts beside the mean of all, 0 to 1. At 0 plans are made for
	// the mean.
	Care   float64
	Limits Limits
	// Progress, where given, is told how far the work is. It is called by one goroutine at a time.
	Progress func(doing string, done, of int)
	// Found, where given, is told what no plan beats as soon as that is known, and again with what the plan earns; never while Progress is.
	Found func(policyUSD, boundUSD *float64)
}

// DefaultOptions returns the options that answers are made with unless told otherwise.
func DefaultOptions() Options { return Options{Workers: 1, SharedDays: 3, Limits: DefaultLimits()} }

// An Answer is what is known about a season. Nil values were not reached, or the tree is too large for them.
type Answer struct {
	PolicyUSD      *float64 // earned by following the rule; Plan is what it does
	BoundUSD       *float64 // no plan earns more
	ClairvoyantUSD *float64 // mean over the leaves of what foresight would earn
	TwoStageUSD    *float64 // no plan earns more: what one could that knows the leaf after the shared days
	ExactUSD       *float64 // the most that a plan without foresight can earn, proven
	Risk           *Risk    // how the earnings of Plan spread over the leaves
	Care           *Care    // what care for the worst tenth changed; nil where none was asked for
	Shadow         *Shadow  // what one more of each limit is worth
	Short          []Shortfall
	Doubts         []problem.Finding // see [Tree.Doubts]
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
	CarePart      = "care"
	ShadowPart    = "shadow"
	ReliefPart    = "relief"
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
	if math.IsNaN(o.Care) || o.Care < 0 || o.Care > 1 {
		return Answer{}, errors.New("scenario: care is a share, 0 to 1")
	}
	s := newSeason(t)
	s.watch.tell = o.Progress
	if o.Found == nil {
		o.Found = func(policyUSD, boundUSD *float64) {} // nobody listens
	}
	out := Answer{Doubts: t.Doubts()}
	err := s.answerAll(ctx, o, &out)
	return out, err
}

func (s *season) answerAll(ctx context.Context, o Options, out *Answer) error {
	z := s.measure()
	answers, err := s.above(ctx, o, &z, out)
	if err != nil {
		return err
	}
	o.Found(nil, out.BoundUSD)
	if s.menu != nil {
		z = s.measure() // of the cells that are left
	}
	first, proven, err := s.follow(ctx, o, &z, answers, out)
	if err != nil {
		return err
	}
	earned := s.value(out.Plan)
	spread := s.risk(out.Plan)
	out.PolicyUSD, out.Risk = &earned, &spread
	o.Found(out.PolicyUSD, out.BoundUSD)
	out.Today = s.tasks(out.Plan[s.root])
	if proven {
		exact := earned
		out.ExactUSD = &exact
	}
	plan, err := s.best(ctx, o, &z, first, answers, out)
	if err != nil {
		return err
	}
	if plan.question != nil {
		out.Shadow, out.Short = plan.shadow(plan.question), plan.shortfalls(plan.question)
		out.Shadow.Whole = plan.whole
	}
	if plan.whole {
		answers = plan.start(nil)
	}
	err = plan.valueWaiting(ctx, o, &z, answers, out)
	if errors.Is(err, ErrUnsure) {
		out.LeftOut = append(out.LeftOut, LeftOut{What: WaitPart, Because: "rounding kept a program from being solved"})
		err = nil
	}
	if err != nil || len(out.Short) == 0 {
		return err
	}
	again := plan.season
	if plan.whole {
		again = again.allCells()
	}
	if err = again.relieve(ctx, o, plan.question, out); errors.Is(err, ErrUnsure) {
		out.LeftOut = append(out.LeftOut, LeftOut{What: ReliefPart, Because: "rounding kept a program from being solved"})
		err = nil
	}
	return err
}

// follow makes the plan, which may be proven where moves take time, and may leave the first morning's program where they do not.
func (s *season) follow(ctx context.Context, o Options, z *size, start []*answer, out *Answer) (first *question, proven bool, err error) {
	if s.MoveHours > 0 {
		out.Plan, proven, err = s.seek(ctx, o, z, start)
	} else {
		out.Plan, first, err = s.roll(ctx, o, z, start)
	}
	return first, proven, err
}

// best finds the best plan there is within limits, and the one for the share of care that is asked for.
func (s *season) best(ctx context.Context, o Options, z *size, first *question, answers []*answer, out *Answer) (*reckoned, error) {
	found := &reckoned{season: s, plan: out.Plan}
	first, err := s.morningOf(ctx, o, z, first, answers)
	switch {
	case errors.Is(err, ErrUnsure):
		out.LeftOut = append(out.LeftOut, LeftOut{What: ShadowPart, Because: "rounding kept its program from being solved"})
	case err != nil:
		return nil, err
	default:
		found.question = first
		if len(first.leaf) >= len(s.leaves) && s.MoveHours == 0 {
			bound := min(s.proves(first), *out.BoundUSD) // it looks at every leaf, and knows no less than any plan
			out.TwoStageUSD = &bound
		}
	}
	whole, err := s.bestOfAll(ctx, o, z, answers, out)
	if err != nil {
		return nil, err
	}
	if whole != nil {
		found = whole
	}
	if o.Care > 0 {
		return s.takeCare(ctx, o, z, found, out)
	}
	return found, nil
}

// bestOfAll finds the exact plan where the size of the tree allows it and the duals prove it; else it returns nothing.
func (s *season) bestOfAll(ctx context.Context, o Options, z *size, start []*answer, out *Answer) (*reckoned, error) {
	leave := func(because string) (*reckoned, error) {
		out.LeftOut = append(out.LeftOut, LeftOut{What: ExactPart, Because: because})
		return nil, nil
	}
	switch {
	case out.ExactUSD != nil: // whole starts
		return nil, nil
	case s.MoveHours > 0:
		return leave("starts that take time make the best plan a search over whole starts; it did not end within its limits")
	}
	if columns := z.whole; columns > o.Limits.ExactColumns {
		return leave(fmt.Sprintf("the tree's linear program would have %d columns; up to %d are solved", columns, o.Limits.ExactColumns))
	}
	s.watch.step("the exact value", 0, 1)
	q, err := s.allCells().exact(ctx, start)
	switch {
	case errors.Is(err, ErrUnsure):
		return leave("rounding kept its program from being solved")
	case err != nil:
		return nil, err
	case !proven(q.base):
		return leave("the duals do not prove it to one part in a million")
	}
	out.ExactUSD = &q.base.Objective
	return &reckoned{season: s, question: q, plan: q.planned(len(s.Nodes)), whole: true}, nil
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
	look := s.foresee
	if columns > o.Limits.LeafColumns*len(s.leaves) {
		look = s.sift
	}
	sight, err := look(ctx, o.Workers)
	if err != nil {
		return nil, err
	}
	out.ClairvoyantUSD, out.BoundUSD = &sight.USD, &sight.BoundUSD
	if sight.BoundUSD-sight.USD > provenTol*math.Abs(sight.USD) && s.menu != nil {
		out.ClairvoyantUSD = nil
		out.LeftOut = append(out.LeftOut, LeftOut{What: ForesightPart, Because: "the programs of some leaves were not solved to the end"})
	}
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
