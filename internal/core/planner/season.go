package planner

import (
	"context"
	"math"
	"slices"

	"threshday/internal/core/worth"
)

// An evaluator runs seasons of one table. What does not depend on the rule is worked out once.
type evaluator struct {
	t      *worth.Table
	set    Settings
	first  []int          // per day: first hour in which any combine may run, or the day's first hour
	best   []int16        // per member, hour, field: destination that nets most, -1: none
	net    []float32      // what it nets, $/acre
	live   [][]int        // per member: hours in which anything can be cut
	exp    []*expectation // by round of learning
	sells  [][]int        // per field: destinations that take it at some moisture
	hauled bool           // every load needs a truck: without truck hours nothing moves
	fitH   []float64      // per fold: mean hours in a day on which anything can be cut, in the members of other folds
	pool   []*state
}

func newEvaluator(t *worth.Table, set Settings) *evaluator {
	e := &evaluator{t: t, set: set, first: make([]int, t.Days())}
	seen := make([]int, t.Days())
	for d := range e.first {
		e.first[d] = -1
		seen[d] = -1
	}
	runs := make([]bool, t.Hours)
	for h, d := range t.Day {
		if seen[d] < 0 {
			seen[d] = h
		}
		for _, c := range t.Combines {
			runs[h] = runs[h] || c.Runs[h]
		}
		if runs[h] && e.first[d] < 0 {
			e.first[d] = h
		}
	}
	for d, h := range e.first {
		if h < 0 {
			e.first[d] = seen[d]
		}
	}
	cells := t.Members * t.Hours * len(t.Fields)
	e.best = make([]int16, cells)
	e.net = make([]float32, cells)
	e.live = make([][]int, t.Members)
	dayBest := make([][]float64, t.Members)
	e.pool = make([]*state, t.Members)
	e.members(func(_ *state, m int) { dayBest[m] = e.prepare(m, runs) })
	e.exp = []*expectation{newExpectation(t, e.first, dayBest)}
	e.fitH = e.fitHours()
	e.sells = make([][]int, len(t.Fields))
	e.hauled = true
	for f := range e.sells {
		for d := range t.Destinations {
			if curve := t.Value[f*len(t.Destinations)+d]; slices.ContainsFunc(curve, func(v float32) bool { return v == v }) {
				e.sells[f] = append(e.sells[f], d)
				e.hauled = e.hauled && t.Fields[f].TruckBu[d] > 0
			}
		}
	}
	return e
}

// fitHours counts, for every fold, the hours in a day with anything to cut, in the members of the other folds.
func (e *evaluator) fitHours() []float64 {
	out := make([]float64, e.exp[0].folds)
	for fold := range out {
		hours, days := 0, 0
		for m, live := range e.live {
			if e.exp[0].fold[m] == fold {
				continue
			}
			last := -1
			for _, h := range live {
				hours++
				if e.t.Day[h] != last {
					days++
					last = e.t.Day[h]
				}
			}
		}
		out[fold] = max(float64(hours), 1) / max(float64(days), 1)
	}
	return out
}

// prepare finds the best destination of every live hour of a member and returns the best an acre nets per field and day.
func (e *evaluator) prepare(m int, runs []bool) []float64 {
	t := e.t
	days := t.Days()
	best := make([]float64, len(t.Fields)*days)
	for i := range best {
		best[i] = math.NaN()
	}
	for h := range t.Hours {
		if !runs[h] {
			continue
		}
		open := false
		for f := range t.Fields {
			i := t.At(m, h, f)
			e.best[i] = -1
			if !t.Workable[i] {
				continue
			}
			for d := range t.Destinations {
				v, ok := t.Net(m, h, f, d)
				if ok && (e.best[i] < 0 || float32(v) > e.net[i]) {
					e.best[i], e.net[i] = int16(d), float32(v)
				}
			}
			if e.best[i] >= 0 {
				open = true
				cell := &best[f*days+t.Day[h]]
				if math.IsNaN(*cell) || float64(e.net[i]) > *cell {
					*cell = float64(e.net[i])
				}
			}
		}
		if open {
			e.live[m] = append(e.live[m], h)
		}
	}
	return best
}

// evaluate returns what each member's season earns under the rule. log, when given, is called for every piece of work.
func (e *evaluator) evaluate(ctx context.Context, rule Rule, bend bends, log func(m int, w work)) ([]float64, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	usd := make([]float64, e.t.Members)
	e.members(func(s *state, m int) {
		s.fold = e.exp[0].fold[m]
		usd[m] = e.season(s, m, rule, bend, log)
	})
	return usd, nil
}

// whole is what a season's runs leave behind, over all members.
type whole struct {
	finish [][]int
	left   []float64
	share  [][]float64
	today  []float64 // per field: share of members that cut some of it on day 0
}

func (e *evaluator) seasons(rule Rule, bend bends) whole {
	t := e.t
	w := whole{finish: make([][]int, t.Members), left: make([]float64, len(t.Fields)), share: make([][]float64, len(t.Fields)), today: make([]float64, len(t.Fields))}
	left := make([][]float64, t.Members)
	acres := make([][]float64, t.Members)
	today := make([][]bool, t.Members)
	e.members(func(s *state, m int) {
		today[m] = make([]bool, len(t.Fields))
		acres[m] = make([]float64, len(t.Fields)*len(t.Destinations))
		s.fold = e.exp[0].fold[m]
		e.season(s, m, rule, bend, func(m int, k work) {
			acres[m][k.Field*len(t.Destinations)+k.Destination] += k.Acres
			today[m][k.Field] = today[m][k.Field] || t.Day[k.Hour] == 0
		})
		w.finish[m] = append([]int(nil), s.finish...)
		left[m] = append([]float64(nil), s.acres...)
	})
	for f := range t.Fields {
		w.share[f] = make([]float64, len(t.Destinations))
		for m := range t.Members {
			w.left[f] += left[m][f] / float64(t.Members)
			if today[m][f] {
				w.today[f] += 1 / float64(t.Members)
			}
			for d := range t.Destinations {
				w.share[f][d] += acres[m][f*len(t.Destinations)+d] / float64(t.Members)
			}
		}
		if t.Fields[f].Acres > 0 {
			for d := range w.share[f] {
				w.share[f][d] /= t.Fields[f].Acres
			}
		}
	}
	return w
}
