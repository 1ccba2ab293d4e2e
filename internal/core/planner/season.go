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
	start  []int          // per day: first hour in which any combine may run, or the day's first hour
	live   [][]int        // per member: hours in which anything can be cut
	best   [][]int16      // per member, over its live hours and then fields: destination that nets most, -1: none
	net    [][]float32    // in the same order: what it nets, $/acre
	exp    []*expectation // by round of learning
	sells  [][]int        // per field: destinations that take it at some moisture
	hauled bool           // every load needs a truck: without truck hours nothing moves
	fitH   []float64      // per fold: mean hours in a day on which anything can be cut, in the members of other folds
	pool   []*state
	// repriced, while waiting is valued, are the tables at whose prices every season is added up too.
	repriced []*worth.Table
}

func newEvaluator(t *worth.Table, set Settings) *evaluator {
	e := &evaluator{t: t, set: set, start: make([]int, t.Days())}
	seen := make([]int, t.Days())
	for d := range e.start {
		e.start[d] = -1
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
		if runs[h] && e.start[d] < 0 {
			e.start[d] = h
		}
	}
	for d, h := range e.start {
		if h < 0 {
			e.start[d] = seen[d]
		}
	}
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
	e.best, e.net = make([][]int16, t.Members), make([][]float32, t.Members)
	e.live = make([][]int, t.Members)
	dayBest := make([][]float64, t.Members)
	e.pool = make([]*state, t.Members)
	e.members(func(_ *state, m int) { dayBest[m] = e.prepare(m, runs) })
	e.exp = []*expectation{newExpectation(t, e.start, dayBest, t.Members-set.Apart)}
	e.fitH = e.fitHours()
	return e
}

// fitHours counts, for every fold, the hours in a day with anything to cut, in the members of the other folds.
func (e *evaluator) fitHours() []float64 {
	out := make([]float64, e.exp[0].folds)
	for fold := range out {
		hours, days := 0, 0
		for m, live := range e.live[:e.t.Members-e.set.Apart] {
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
	to, net := make([]int16, len(t.Fields)), make([]float32, len(t.Fields))
	for h := range t.Hours {
		if !runs[h] {
			continue
		}
		open := false
		for f := range t.Fields {
			to[f], net[f] = -1, 0
			if !t.Workable[t.At(m, h, f)] {
				continue
			}
			for _, d := range e.sells[f] {
				v, ok := t.Net(m, h, f, d)
				if ok && (to[f] < 0 || float32(v) > net[f]) {
					to[f], net[f] = int16(d), float32(v) //nolint:gosec // a season has a few dozen destinations
				}
			}
			if to[f] >= 0 {
				open = true
				cell := &best[f*days+t.Day[h]]
				if math.IsNaN(*cell) || float64(net[f]) > *cell {
					*cell = float64(net[f])
				}
			}
		}
		if open {
			e.live[m] = append(e.live[m], h)
			e.best[m], e.net[m] = append(e.best[m], to...), append(e.net[m], net...)
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

// A record is what the seasons of all members left behind under one rule and its bends.
type record struct {
	usd    []float64
	lost   []float64   // per member: hours of day 0 lost between cuts
	apart  []float64   // per member: hours of day 0 for which fields are cut that no cart is at
	sent   [][]int     // per member and field: day on which a combine is first sent there, -1 never
	begun  [][]int     // per member and field: day of the first cut, -1 never
	finish [][]int     // per member and field: day finished, -1 never
	cut    [][]float64 // per member and field: acres cut on day 0
	left   []float64   // per field: mean acres left at the end
	share  [][]float64 // per field and destination: mean share of the acres
	today  []float64   // per field: share of members that cut some of it on day 0
	// repriced holds, per member and repriced table, what the season would earn more at its prices.
	repriced [][]float64
}

func (e *evaluator) record(rule Rule, bend bends) *record {
	t := e.t
	r := &record{
		usd: make([]float64, t.Members), lost: make([]float64, t.Members), apart: make([]float64, t.Members),
		sent: make([][]int, t.Members), begun: make([][]int, t.Members), finish: make([][]int, t.Members), cut: make([][]float64, t.Members),
		left: make([]float64, len(t.Fields)), share: make([][]float64, len(t.Fields)), today: make([]float64, len(t.Fields)),
		repriced: make([][]float64, t.Members),
	}
	left, acres := make([][]float64, t.Members), make([][]float64, t.Members)
	e.members(func(s *state, m int) {
		acres[m] = make([]float64, len(t.Fields)*len(t.Destinations))
		s.fold = e.exp[0].fold[m]
		r.usd[m] = e.season(s, m, rule, bend, func(m int, k work) {
			acres[m][k.Field*len(t.Destinations)+k.Destination] += k.Acres
		})
		r.lost[m], r.apart[m] = s.lost(), s.apart
		r.sent[m] = slices.Clone(s.sent)
		r.begun[m], r.finish[m], r.cut[m] = slices.Clone(s.begun), slices.Clone(s.finish), slices.Clone(s.today)
		left[m] = slices.Clone(s.acres)
		r.repriced[m] = slices.Clone(s.repriced)
	})
	for f, row := range t.Fields {
		r.share[f] = make([]float64, len(t.Destinations))
		for m := range t.Members {
			r.left[f] += left[m][f] / float64(t.Members)
			if r.begun[m][f] == 0 {
				r.today[f] += 1 / float64(t.Members)
			}
			for d := range t.Destinations {
				if row.Acres > 0 {
					r.share[f][d] += acres[m][f*len(t.Destinations)+d] / float64(t.Members) / row.Acres
				}
			}
		}
	}
	return r
}

// An outcome is what the seasons of all members bring with one field bent, by member.
type outcome struct {
	usd      []float64
	sent     []int       // day on which a combine is first sent to the field, -1 never
	finish   []int       // day the field is finished, -1 never
	today    []float64   // acres of the field cut on day 0
	repriced [][]float64 // by repriced table: how much more at its prices
	forced   bool        // the field goes out of turn
}

func (e *evaluator) newOutcome() *outcome {
	n := e.t.Members
	return &outcome{usd: make([]float64, n), sent: make([]int, n), finish: make([]int, n), today: make([]float64, n), repriced: make([][]float64, n)}
}

// bent runs member m with field f bent.
func (o *outcome) bent(e *evaluator, s *state, m, f int, rule Rule, bend bends) {
	s.fold = e.exp[0].fold[m]
	o.usd[m] = e.season(s, m, rule, bend, nil)
	o.sent[m], o.finish[m], o.today[m] = s.sent[f], s.finish[f], s.today[f]
	o.repriced[m] = slices.Clone(s.repriced)
}

// held runs all members with field f not before day until. from is what they bring where it is held for less or not at all, all
// else alike: where no combine is sent there before that day anyway the season is the same and is not run again.
func (e *evaluator) held(rule Rule, bend bends, from *outcome, f, until int) *outcome {
	out := e.newOutcome()
	held := bend.with(len(e.t.Fields), f, until, plainTurn)
	e.members(func(s *state, m int) {
		if day := from.sent[m]; !from.forced && (day < 0 || day >= until) {
			out.usd[m], out.sent[m], out.finish[m], out.repriced[m] = from.usd[m], from.sent[m], from.finish[m], from.repriced[m]
			return
		}
		out.bent(e, s, m, f, rule, held)
	})
	return out
}

// of returns what r brings for field f.
func (r *record) of(f int, bend bends) *outcome {
	n := len(r.usd)
	out := &outcome{
		usd: r.usd, sent: make([]int, n), finish: make([]int, n), today: make([]float64, n), repriced: r.repriced,
		forced: bend.turnOf(f) != plainTurn,
	}
	for m := range n {
		out.sent[m], out.finish[m], out.today[m] = r.sent[m][f], r.finish[m][f], r.cut[m][f]
	}
	return out
}

// first runs all members with field f in the turn given on day 0, all else as bent and in r. Where the field cannot be cut on that
// day its turn is none, and the season is that of r.
func (e *evaluator) first(rule Rule, bend bends, r *record, f int, t turn) *outcome {
	out := e.newOutcome()
	bent := bend.with(len(e.t.Fields), f, 0, t)
	e.members(func(s *state, m int) {
		if bend.turnOf(f) == plainTurn && bend.notBefore(f) <= 1 && !e.opens(m, f) {
			out.usd[m], out.sent[m], out.finish[m], out.repriced[m] = r.usd[m], r.sent[m][f], r.finish[m][f], r.repriced[m]
			return
		}
		out.bent(e, s, m, f, rule, bent)
	})
	return out
}

// opens reports whether field f can be cut on day 0 in member m.
func (e *evaluator) opens(m, f int) bool {
	fields := len(e.t.Fields)
	for i, h := range e.live[m] {
		if e.t.Day[h] > 0 {
			break
		}
		if e.best[m][i*fields+f] >= 0 {
			return true
		}
	}
	return false
}
