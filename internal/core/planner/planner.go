// Package planner searches for the season's plan over a table of what an acre is worth in every hour, field
// and weather, and explains it. It knows no crop and no price rule.
//
// The plan is a rule, not a timetable: in every hour each combine takes the field that loses most by waiting,
// and each load goes to its best destination that still has room. The rule sees the crop as it stands that
// morning and the weather of the running day; what later days may bring it knows only as an expectation
// learned from the other weathers of the table, never from its own. Waiting is valued by running all weathers
// again with the field held back, so both sides of the comparison meet the same weather.
//
// Units: acres, hours, trade bushels, dollars. Uncut crop is worth nothing at the end of the table. [judgement]
package planner

import (
	"context"
	"math"
	"slices"
	"sync"

	"threshday/internal/core/worth"
)

// WaitDays are the delays that are valued, in days; 0 is cutting today.
var WaitDays = []int{0, 1, 2, 3, 5, 7}

// Settings bound the work of Plan.
type Settings struct {
	Workers int // goroutines, at least one. The answer does not depend on it
	// Apart is how many members at the table's end are only run, never chosen on: what the plan earns in them is what it
	// would have earned in a weather it did not know.
	Apart int
	// Brief leaves out waiting and one more: only what the season earns.
	Brief bool
	// Repriced are tables of the same season that differ in Value alone. Waiting is valued at their prices too, with every acre
	// cut and hauled as it is on the first.
	Repriced []*worth.Table
	// Before is what each combine was to do in what is left of day 0 by a plan made earlier: fields in order. Nil: no plan.
	Before [][]int
	// ChangeUSD is what another order must earn more for each turn at a field that it changes; see the constant.
	ChangeUSD float64
}

// A Plan is what the search found.
type Plan struct {
	Rule      Rule      // the rule chosen
	USD       []float64 // per member: what the season earns under it
	Simple    []Simple  // what the rules of thumb earn on the same weathers
	OneMore   []More    // what another truck, combine or roomful would earn
	Foresight Foresight // what perfect knowledge could earn at most
	Waits     [][]Wait  // per field, in the order of WaitDays
	Today     []Task    // what the machines do on the first working day, in the member named by Reference
	Left      []float64 // per field: mean acres left at the end
	// Against is today's order held against Settings.Before; nil without one.
	Against *Against
	// CutToday is, per field, the share of members in which the plan cuts some of it on day 0.
	CutToday []float64
	// Reference is the member whose first day lies in the middle of the ensemble; Today is its day.
	Reference int
	// Ahead is the season by a linear program; nil where it is not asked for.
	Ahead *Ahead
	// Share[f][d] is the mean share of field f's acres that goes to destination d over the season.
	Share [][]float64
}

// A Simple rule of thumb and what it earns.
type Simple struct {
	Name string
	USD  []float64 // per member
}

// A Wait values not cutting a field before a day, against cutting it today: as planned where the plan cuts it today in most
// members, else before all others.
type Wait struct {
	Days   int
	USD    []float64 // per member: difference in the whole season's dollars; positive: waiting pays
	OnTime int       // members in which the field is finished by its deadline when held so
	// Repriced holds, per table of Settings.Repriced and member, what USD would be at its prices.
	Repriced [][]float64
}

// Mean returns the mean and its standard error.
func Mean(x []float64) (mean, se float64) {
	n := float64(len(x))
	if n == 0 {
		return 0, 0
	}
	for _, v := range x {
		mean += v
	}
	mean /= n
	if n < 2 {
		return mean, 0
	}
	var ss float64
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(ss / (n - 1) / n)
}

// Make plans the season of t. It returns early with ctx's error when cancelled between evaluations.
func Make(ctx context.Context, t *worth.Table, set Settings) (*Plan, error) {
	set.Before = standing(t, set.Before)
	e := newEvaluator(t, set)
	best, err := e.choose(ctx)
	if err != nil {
		return nil, err
	}
	bend, season, err := e.bendToday(ctx, best.rule)
	if err != nil {
		return nil, err
	}
	if bend, season, err = e.orderToday(ctx, best.rule, bend, season); err != nil {
		return nil, err
	}
	var more []float64
	if e.set.Before != nil {
		if bend, season, more, err = e.keepOrder(ctx, best.rule, bend, season); err != nil {
			return nil, err
		}
	}
	p := &Plan{Rule: best.rule, USD: season.usd, Left: season.left, Share: season.share, CutToday: season.today}
	for _, s := range simpleRules {
		got, err := e.evaluate(ctx, s.rule, bends{}, nil)
		if err != nil {
			return nil, err
		}
		p.Simple = append(p.Simple, Simple{s.name, got})
	}
	p.Foresight = e.foresight()
	if set.Brief {
		return p, nil
	}
	p.Reference = e.reference(best.rule, bend)
	p.Today = e.today(best.rule, bend, p.Reference)
	if e.set.Before != nil {
		p.Against = e.against(sequenceOf(p.Today, len(t.Combines)), more)
	}
	cut := make([]float64, len(t.Fields))
	if p.Waits, err = e.waits(ctx, p, bend, season, cut); err != nil {
		return nil, err
	}
	if p.Ahead, err = e.ahead(ctx, p.Waits, cut); err != nil {
		return nil, err
	}
	p.OneMore = e.oneMore(p.Rule, bend, p.USD)
	return p, nil
}

// Cuts reports whether the plan cuts field f today: in most members, or in the one whose day is shown.
func (p *Plan) Cuts(f int) bool {
	return p.CutToday[f] >= 0.5 || slices.ContainsFunc(p.Today, func(t Task) bool { return t.Field == f })
}

// members runs work for every member on the evaluator's workers, each with its own scratch state.
func (e *evaluator) members(work func(s *state, m int)) {
	e.spread(e.t.Members, func(s *state, m int) { work(s, m) })
}

// some runs work for the members listed, i counting them.
func (e *evaluator) some(members []int, work func(s *state, i, m int)) {
	e.spread(len(members), func(s *state, i int) { work(s, i, members[i]) })
}

func (e *evaluator) spread(n int, work func(s *state, i int)) {
	workers := min(max(1, e.set.Workers), n)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			s := e.state(w)
			for i := w; i < n; i += workers {
				work(s, i)
			}
		}()
	}
	wg.Wait()
}
