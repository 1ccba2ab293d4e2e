package scenario

import (
	"cmp"
	"context"
	"math"
	"slices"

	"threshday/internal/core/linear"
)

// improve plans one part of the best plan after the other anew, the rest as it is, as long as that gains (large
// neighbourhood search [shaw-1998]), up to so many solves in all.
func (q *search) improve(ctx context.Context, until int) error {
	parts := q.parts()
	open := q.open
	for k, idle := 0, 0; idle < len(parts) && q.solves < until; k++ {
		for i, j := range q.whole {
			q.low[i], q.high[i] = 0, 1
			if !parts[k%len(parts)][q.stage[i]] {
				q.low[i] = math.Round(q.best.X[j])
				q.high[i] = q.low[i]
			}
		}
		before := q.best.Objective
		q.open = []*branch{{bound: math.Inf(1), basis: &q.best.Basis}}
		if _, err := q.explore(ctx, min(until, q.solves+solvesAPart)); err != nil {
			return err
		}
		idle++
		if q.best.Objective > before+gainTol*math.Abs(before) {
			idle = 0
		}
	}
	for i := range q.whole {
		q.low[i], q.high[i] = 0, 1
	}
	q.open = open
	return nil
}

// parts returns, by part and stage, what is planned anew together: two days in a row, then all days to one leaf.
func (q *search) parts() [][]bool {
	var out [][]bool
	add := func(part []bool) {
		free := make([]bool, len(part))
		for _, k := range q.stage {
			free[k] = part[k]
		}
		if slices.Contains(free, true) && !slices.ContainsFunc(out, func(other []bool) bool { return slices.Equal(other, free) }) {
			out = append(out, free)
		}
	}
	for day := range q.Days {
		part := make([]bool, len(q.view))
		for k, st := range q.view {
			part[k] = q.Nodes[st.node].Day == day || q.Nodes[st.node].Day == day+1
		}
		add(part)
	}
	inner := make([]bool, len(q.view))
	for _, st := range q.view {
		if st.parent >= 0 {
			inner[st.parent] = true
		}
	}
	for k := range q.view {
		if inner[k] {
			continue
		}
		part := make([]bool, len(q.view))
		for at := k; at >= 0; at = q.view[at].parent {
			part[at] = true
		}
		add(part)
	}
	return out
}

// near tries the routes that are nearest to a solution, with everything else planned anew, unless they were tried before.
func (q *search) near(ctx context.Context, sol *linear.Solution) error {
	hours := make([][]float64, len(q.turns))
	for k := range hours {
		hours[k] = make([]float64, len(q.Fields))
	}
	for i, c := range q.columns {
		if q.clock[c.stage] == nil {
			continue
		}
		hours[q.turn[c.stage][c.cut.Block][c.cut.Combine]][c.cut.Field] += sol.X[i] / (q.Fields[c.cut.Field].AcresPerHour * q.Speeds[c.cut.Combine])
	}
	at := make([]int, len(q.turns))
	for k := range q.turns {
		t := &q.turns[k]
		stood := q.from.at[t.combine]
		if t.before >= 0 {
			stood = at[t.before]
		}
		at[k] = q.fix(t, stood, hours[k], sol.X)
	}
	routes := make([]byte, len(q.whole))
	for k, j := range q.whole {
		if _, low, _ := q.lp.Column(j); low > 0 {
			routes[k] = 1
		}
	}
	if q.tried[string(routes)] {
		return nil
	}
	q.tried[string(routes)] = true
	start := &sol.Basis
	if q.best != nil {
		start = &q.best.Basis // routes of whole starts are more like each other than like parts of starts
	}
	found, err := q.solve(ctx, start)
	if err == nil && found != nil {
		q.take(found)
	}
	return err
}

// fix sets a turn's columns to the moves nearest to a solution and returns where it ends, -1 for nowhere.
func (q *search) fix(t *turn, stood int, hours, x []float64) int {
	value := func(j int) float64 {
		if j < 0 {
			return 0
		}
		return x[j]
	}
	set := func(j int, v float64) {
		if j >= 0 {
			q.lp.SetColumn(j, v, v)
		}
	}
	var to []int
	for f := range q.Fields {
		set(t.move[f], 0)
		set(t.end[f], 0)
		if f != stood && t.move[f] >= 0 && (value(t.move[f]) > 0.5 || hours[f] > q.MoveHours) {
			to = append(to, f)
		}
	}
	slices.SortStableFunc(to, func(a, b int) int {
		return cmp.Compare(hours[b]+value(t.end[b]), hours[a]+value(t.end[a]))
	})
	for q.MoveHours*float64(len(to)) > t.hours {
		to = to[:len(to)-1]
	}
	end := stood
	for k, f := range to {
		set(t.move[f], 1)
		if k == 0 || value(t.end[f]) > value(t.end[end]) {
			end = f
		}
	}
	if end < 0 || t.end[end] < 0 {
		return -1
	}
	set(t.end[end], 1)
	return end
}

// inTurn puts the cuts of a stage in the order in which combines go: in each turn first the field in which the combine
// stood, last the one in which it ends.
func (q *search) inTurn(stage int, cuts []Cut) []Cut {
	place := func(c Cut) int {
		t := &q.turns[q.turn[stage][c.Block][c.Combine]]
		is := func(j int) bool { return j >= 0 && q.best.X[j] > 0.5 }
		switch {
		case !is(t.move[c.Field]):
			return 0
		case !is(t.end[c.Field]):
			return 1
		}
		return 2
	}
	slices.SortStableFunc(cuts, func(a, b Cut) int {
		return cmp.Or(cmp.Compare(a.Block, b.Block), cmp.Compare(a.Combine, b.Combine), cmp.Compare(place(a), place(b)), cmp.Compare(a.Field, b.Field))
	})
	return cuts
}
