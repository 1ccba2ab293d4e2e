package scenario

import (
	"context"
	"errors"
	"math"
	"slices"

	"threshday/internal/core/linear"
)

const (
	// wholeTol is how far a column of 0 or 1 may lie from both and still count as whole.
	wholeTol = 1e-6
	// gainTol is by what share of the best plan a branch has to promise more to be followed. It is below provenTol.
	gainTol = 1e-7
)

// A search looks for the plan that earns most where each start takes time, by branch and bound [land-doig-1960] on the
// program of a view with whole starts, see [turn], for what the season counts.
type search struct {
	*season
	*program
	from      state
	lp        *linear.Problem // the program with the bounds of the branch being solved
	whole     []int           // columns that have to be 0 or 1
	stage     []int           // of each of them
	low, high []float64       // of each of them, before any branch
	open      []*branch
	opened    int
	solves    int
	tried     map[string]bool  // routes, a byte for each of the whole columns
	best      *linear.Solution // that earns most with whole starts; nil: none found
}

// A branch is a program with some of its moves decided, not yet solved.
type branch struct {
	above  *branch // nil: nothing is decided
	column int     // what this branch decides beside those above
	value  float64 // of the column
	bound  float64 // it cannot be worth more
	basis  *linear.Basis
	number int
}

// seek returns the best plan with whole starts that was found within limits, and whether nothing better can be: that of the rule, and
// where the tree is small enough what a search over the whole of it makes of that.
func (s *season) seek(ctx context.Context, o Options, z *size, start []*answer) (Plan, bool, error) {
	r, err := s.rolled(ctx, o, z, start)
	if err != nil {
		return nil, false, err
	}
	columns := s.movingColumns()
	if columns > o.Limits.MoveColumns {
		return r.plan, false, nil
	}
	q := s.newSearch(s.whole(), s.fresh(), s.Days, s.wish)
	err = q.begin(ctx, r.sent)
	proven := false
	if err == nil {
		proven, err = q.run(ctx, min(mostSolves, max(fewestSolves, o.Limits.MoveWork/max(1, columns))), nil)
	}
	switch {
	case errors.Is(err, ErrUnsure):
		return r.plan, false, nil
	case err != nil:
		return nil, false, err
	}
	plan := q.plan()
	if !proven && s.wish.worth(s.value(plan), s.risk(plan)) < s.wish.worth(s.value(r.plan), s.risk(r.plan)) {
		plan = r.plan
	}
	return plan, proven, nil
}

// movingColumns returns how many columns the program of the whole tree has at most where starts are counted.
func (s *season) movingColumns() int {
	sum := 0
	for n := range s.Nodes {
		cells := 0
		for b := range s.Nodes[n].Blocks {
			if block := &s.Nodes[n].Blocks[b]; workable(block) {
				for _, net := range block.Net {
					if net > 0 {
						cells++
					}
				}
			}
		}
		sum += s.moving(n, cells)
	}
	return sum
}

// newSearch returns a search over the program of a view in which whole starts are counted on the days before one.
func (s *season) newSearch(v view, from state, until int, w wish) *search {
	p := s.buildUntil(v, from, counted, w, until)
	q := &search{season: s, program: p, from: from, lp: p.lp.Clone(), tried: map[string]bool{}}
	for k := range p.turns {
		t := &p.turns[k]
		for f := range s.Fields {
			for _, j := range []int{t.move[f], t.end[f]} {
				if j >= 0 {
					q.whole, q.stage = append(q.whole, j), append(q.stage, t.stage)
				}
			}
		}
	}
	q.low, q.high = make([]float64, len(q.whole)), slices.Repeat([]float64{1}, len(q.whole))
	return q
}

// Of its solves a search spends the first quarter on the whole, then up to four fifths on parts of the plan found, and
// what is left on the whole, for the proof. [judgement]
const (
	wholeFirst  = 4
	partsUntil  = 0.8
	solvesAPart = 20
	// A search has at least so many solves, however large its program, and at most so many, however small.
	fewestSolves = 150
	mostSolves   = 2000
)

// run searches until nothing better can be there or so many programs are solved, and says whether the best is proven.
func (q *search) run(ctx context.Context, solves int, start *linear.Basis) (bool, error) {
	q.open = []*branch{{bound: math.Inf(1), basis: start}}
	if proven, err := q.explore(ctx, solves/wholeFirst); proven || err != nil {
		return proven, err
	}
	if q.best != nil {
		if err := q.improve(ctx, int(partsUntil*float64(solves))); err != nil {
			return false, err
		}
	}
	return q.explore(ctx, solves)
}

// explore follows open branches until nothing better can be there or so many programs are solved in all, and says
// whether the best is proven.
func (q *search) explore(ctx context.Context, until int) (bool, error) {
	var next *branch
	for {
		if next == nil {
			if next = q.promising(); next == nil {
				return true, nil
			}
		}
		if q.solves >= until {
			q.open = append(q.open, next)
			return false, nil
		}
		var err error
		if next, err = q.part(ctx, next); err != nil {
			return false, err
		}
	}
}

// promising takes from the open branches the one that promises most, of equals the one opened last. It returns nil where
// none promises more than the best plan earns.
func (q *search) promising() *branch {
	most := -1
	for k, b := range q.open {
		if most < 0 || b.bound > q.open[most].bound || b.bound == q.open[most].bound && b.number > q.open[most].number {
			most = k
		}
	}
	if most < 0 || !q.gains(q.open[most].bound) {
		q.open = nil
		return nil
	}
	b := q.open[most]
	q.open = slices.Delete(q.open, most, most+1)
	return b
}

// gains says that so much would be better than the best plan.
func (q *search) gains(usd float64) bool {
	return q.best == nil || usd > q.best.Objective+gainTol*math.Abs(q.best.Objective)
}

// part solves a branch and parts it in two. It returns the one to follow next, nil where there is none.
func (q *search) part(ctx context.Context, b *branch) (*branch, error) {
	for k, j := range q.whole {
		q.lp.SetColumn(j, q.low[k], q.high[k])
	}
	for at := b; at.above != nil; at = at.above {
		q.lp.SetColumn(at.column, at.value, at.value)
	}
	sol, err := q.solve(ctx, b.basis)
	if err != nil || sol == nil || !q.gains(sol.Bound) {
		return nil, err
	}
	j := q.undecided(sol.X)
	if j < 0 {
		q.take(sol)
		return nil, nil
	}
	if err := q.near(ctx, sol); err != nil || !q.gains(sol.Bound) {
		return nil, err
	}
	half := func(value float64) *branch {
		q.opened++
		return &branch{above: b, column: j, value: value, bound: min(b.bound, sol.Bound), basis: &sol.Basis, number: q.opened}
	}
	nearer := math.Round(sol.X[j])
	q.open = append(q.open, half(1-nearer))
	return half(nearer), nil
}

// solve solves the program as it stands; nil where no plan is like that.
func (q *search) solve(ctx context.Context, start *linear.Basis) (*linear.Solution, error) {
	q.solves++
	sol := q.lp.Solve(ctx, linear.Options{Start: start})
	if sol.Status == linear.Unsure {
		sol = q.lp.Solve(ctx, linear.Options{}) // another way there may round better
	}
	if sol.Status == linear.Infeasible {
		return nil, nil
	}
	return &sol, solved(ctx, &sol)
}

// take keeps a solution with whole starts where it is the best.
func (q *search) take(sol *linear.Solution) {
	if q.best == nil || sol.Objective > q.best.Objective {
		q.best = sol
	}
}

// undecided returns the column to part a branch at: the one farthest from whole, by the probability of its stage; -1
// where all are whole.
func (q *search) undecided(x []float64) int {
	best, score := -1, 0.0
	for k, j := range q.whole {
		off := min(x[j], 1-x[j])
		if its := off * q.view[q.stage[k]].weight; off > wholeTol && its > score {
			best, score = j, its
		}
	}
	return best
}

// plan returns what the best solution does.
func (q *search) plan() Plan {
	plan := make(Plan, len(q.Nodes))
	for k, cuts := range q.cuts(q.best.X) {
		plan[q.view[k].node] = q.inTurn(k, cuts)
	}
	return plan
}
