// Package lookahead plans today's acres by a linear program: what is cut today is one decision in all weathers
// drawn, what is cut later is each weather's own.
//
// It answers three questions over a [worth.Table]: how many acres of which field to cut today and where to haul
// them, what the season loses or gains where a field is not cut before a day, and what one more hour, bushel or
// point-bushel would earn. All come from one layout of the season by days: acres by field, combine and
// destination within hours, trucks, places, rooms and dryers.
//
// It leaves out the order of hours within a day, which field of several a combine drives to first, and drawing
// the weather. Later days know their weather, so the program earns more than any plan can and is somewhat too
// fond of waiting; [Fair] values take some of that back. Acres, hours, trade bushels and dollars are float64 with
// the unit in the name. Uncut crop is worth nothing at the end of the table, as in package planner. [judgement]
//
// The method is sample average approximation [kleywegt-2002] of a two-stage program. docs/model/lookahead.md has
// the equations and what was measured.
package lookahead

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"

	"threshday/internal/core/linear"
	"threshday/internal/core/worth"
)

// Settings bound the work.
type Settings struct {
	Workers int // goroutines, at least one. The answer does not depend on it
	Apart   int // so many members at the table's end are never looked at
	Batches int // disjoint batches of members; their spread is the error of what is told
	Members int // members in a batch, at most
	Columns int // of all batches together; fewer members are drawn where there would be more
	// WaitColumns bounds the columns of the programs that waiting is valued by, times the fields asked for; 0: no bound.
	WaitColumns int
	Take        Take
}

// DefaultSettings returns the settings of a morning's plan. [judgement]
func DefaultSettings() Settings {
	return Settings{Workers: 1, Batches: 5, Members: 5, Columns: 60_000, WaitColumns: 800_000, Take: Fair}
}

// ErrUnsure says that rounding kept a program from being solved.
var ErrUnsure = errors.New("lookahead: a linear program could not be solved for rounding")

// A Program is the two-stage program of a table, solved.
type Program struct {
	t       *worth.Table
	set     Settings
	drawn   [][]int // by batch: members
	main    *part   // all members drawn
	batches []*part
}

// A part is a program over some of the members, with its best answer.
type part struct {
	*layout
	best linear.Solution
}

// New draws members, lays their programs out and solves them. The error is that of ctx, or [ErrUnsure].
func New(ctx context.Context, t *worth.Table, set Settings) (*Program, error) {
	p := &Program{t: t, set: set}
	spans := spansOf(t)
	p.drawn = draw(t, spans, set)
	var all []*member
	p.batches = make([]*part, len(p.drawn))
	members := make([][]*member, len(p.drawn))
	err := each(ctx, set.Workers, len(p.drawn), func(b int) error {
		for _, m := range p.drawn[b] {
			members[b] = append(members[b], lookAt(t, spans, m, set.Take))
		}
		var err error
		p.batches[b], err = solve(ctx, layOut(t, spans, members[b], set.Take), nil)
		return err
	})
	if err != nil {
		return nil, err
	}
	for b := range members {
		all = append(all, members[b]...)
	}
	if len(p.batches) == 1 {
		p.main = p.batches[0]
		return p, nil
	}
	whole := layOut(t, spans, all, set.Take)
	p.main, err = solve(ctx, whole, whole.carry(p.batches))
	return p, err
}

// solve finds the best answer of a layout.
func solve(ctx context.Context, l *layout, start *linear.Basis) (*part, error) {
	sol := l.lp.Solve(ctx, linear.Options{Start: start})
	return &part{layout: l, best: sol}, solved(ctx, &sol)
}

// USD returns what the season earns in the mean of the members drawn where later days know their weather, and a
// bound on that by weak duality.
func (p *Program) USD() (mean, bound float64) { return p.main.best.Objective, p.main.best.Bound }

// Members returns the members drawn, batch by batch.
func (p *Program) Members() [][]int { return p.drawn }

// A Task is acres of a field cut today for a destination.
type Task struct {
	Combine, Field, Destination int
	Acres                       float64 // in a day of the most hours that any member gives it
	Mean                        float64 // in the mean of the members
}

// Today returns what the program cuts today, by combine, field and destination.
func (p *Program) Today() []Task {
	var out []Task
	for _, c := range p.main.today {
		if x := p.main.best.X[c.column]; x > leastAcres {
			out = append(out, Task{c.combine, c.field, c.destination, x, c.share * x})
		}
	}
	return out
}

// leastAcres is the smallest cut that is told; less is rounding.
const leastAcres = 1e-6

// solved returns an error unless the solution is optimal. The programs of this package are always feasible
// (nothing cut) and bounded, so any other end is a context that ended or a failure of the solver.
func solved(ctx context.Context, s *linear.Solution) error {
	switch {
	case s.Status == linear.Optimal:
		return nil
	case ctx.Err() != nil:
		return ctx.Err()
	}
	return fmt.Errorf("%w: %v after %d pivots", ErrUnsure, s.Status, s.Pivots)
}

// each calls do for 0 to n-1 on as many goroutines as workers. The calls must not depend on each other. It returns
// the error of the lowest number.
func each(ctx context.Context, workers, n int, do func(int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range max(1, min(workers, n)) {
		wg.Go(func() {
			for {
				k := int(next.Add(1)) - 1
				if k >= n {
					return
				}
				if errs[k] = ctx.Err(); errs[k] == nil {
					errs[k] = do(k)
				}
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
