package planner

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// A found is a rule with what it earns, by member.
type found struct {
	rule Rule
	usd  []float64
	mean float64
}

// seen returns the members that choices are made on.
func (e *evaluator) seen(x []float64) []float64 { return x[:len(x)-e.set.Apart] }

func (e *evaluator) try(ctx context.Context, rule Rule, bend bends) (found, error) {
	usd, err := e.evaluate(ctx, rule, bend, nil)
	if err != nil {
		return found{}, err
	}
	mean, _ := Mean(e.seen(usd))
	return found{rule, usd, mean}, nil
}

// choose returns the rule that earns most in the mean: the plain ones, then rounds in which the expectation of waiting is
// learned from what the best so far went on to earn.
func (e *evaluator) choose(ctx context.Context) (found, error) {
	best := found{mean: math.Inf(-1)}
	keep := func(rule Rule) error {
		got, err := e.try(ctx, rule, bends{})
		if err == nil && got.mean > best.mean {
			best = got
		}
		return err
	}
	for _, rule := range plain {
		if err := keep(rule); err != nil {
			return found{}, err
		}
	}
	from := best.rule
	for round := 1; round <= rounds; round++ {
		e.exp = append(e.exp, e.learn(from))
		before := best
		tried := found{mean: math.Inf(-1)}
		for _, margin := range margins {
			got, err := e.try(ctx, Rule{Order: ByLoss, Round: round, Margin: margin}, bends{})
			if err != nil {
				return found{}, err
			}
			if got.mean > tried.mean {
				tried = got
			}
		}
		if tried.mean > best.mean {
			best = tried
		}
		from = tried.rule
		if best.mean <= before.mean && round > 1 {
			break
		}
	}
	return best, nil
}

// learn runs the rule and fits what acres left standing at each day's end went on to earn. What a fold is told comes from
// members outside it, run by a rule that does not know it either: nothing of a member's weather reaches its own decisions by
// the detour over another's.
func (e *evaluator) learn(rule Rule) *expectation {
	t := e.t
	out := *e.exp[0]
	out.earned = make([][]float64, len(out.coef))
	left, later := make([][]float64, t.Members), make([][]float64, t.Members)
	for fold := range out.folds {
		e.members(func(s *state, m int) {
			if out.fold[m] != fold && m < out.known {
				s.fold = fold
				left[m], later[m] = e.standing(s, m, rule)
			}
		})
		for f := range t.Fields {
			for d := range out.days {
				out.earned[(fold*len(t.Fields)+f)*out.days+d] = out.fitEarned(fold, f, d, left, later)
			}
		}
	}
	return &out
}

// standing runs one season and returns, per field and day, the acres left at the day's end and the dollars they went on to earn.
func (e *evaluator) standing(s *state, m int, rule Rule) (left, later []float64) {
	t := e.t
	days := t.Days()
	n := len(t.Fields) * days
	s.cut, s.earned = make([]float64, n), make([]float64, n)
	e.season(s, m, rule, bends{}, nil)
	left, later = s.cut, s.earned
	s.cut, s.earned = nil, nil
	for f := range t.Fields {
		acres, usd := left[f*days:(f+1)*days], later[f*days:(f+1)*days]
		ahead, standing := 0.0, s.acres[f]
		for d := days - 1; d >= 0; d-- {
			ahead, usd[d] = ahead+usd[d], ahead
			standing, acres[d] = standing+acres[d], standing
		}
	}
	return left, later
}

// most bends kept, and how many are tried in full after the first look. [judgement]
const (
	mostBends  = 4
	triedBends = 8
)

// bendToday looks for decisions of today that earn more than the rule's own: a field first of all, or held for a day.
// Each is tried on all weathers with the rule as what follows; a gain must be twice its standard error.
func (e *evaluator) bendToday(ctx context.Context, rule Rule) (bends, *record, error) {
	type option struct {
		f, until int
		turn     turn
		gain     float64
	}
	base := e.record(rule, bends{})
	var options []option
	n, all := len(e.t.Fields), e.every(1)
	for f, row := range e.t.Fields {
		if row.Acres <= leastAcres {
			continue
		}
		if err := ctx.Err(); err != nil {
			return bends{}, nil, err
		}
		if first := (bends{}).with(n, f, 0, firstTurn); e.hopeful(rule, first, base) {
			if gain, sure := paired(e.run(rule, first, all).usd, e.seen(base.usd)); sure {
				options = append(options, option{f: f, turn: firstTurn, gain: gain})
			}
		}
		held := e.held(rule, bends{}, base.of(f, bends{}), f, 1)
		if gain, sure := paired(e.seen(held.usd), e.seen(base.usd)); sure {
			options = append(options, option{f: f, until: 1, gain: gain})
		}
	}
	slices.SortStableFunc(options, func(a, b option) int { return cmp.Compare(b.gain, a.gain) })
	var kept bends
	count := 0
	for _, o := range options[:min(len(options), triedBends)] {
		if kept.notBefore(o.f) > 0 || kept.turnOf(o.f) != plainTurn {
			continue
		}
		if err := ctx.Err(); err != nil {
			return bends{}, nil, err
		}
		bend := kept.with(n, o.f, o.until, o.turn)
		got := e.record(rule, bend)
		if _, sure := paired(e.seen(got.usd), e.seen(base.usd)); sure {
			kept, base = bend, got
			if count++; count == mostBends {
				break
			}
		}
	}
	return kept, base, nil
}

// hopeful reports whether a choice may earn more, by a look at some of the members: it is dropped where it is two standard
// errors short.
func (e *evaluator) hopeful(rule Rule, bend bends, base *record) bool {
	few := e.every(glance)
	gain, se := Mean(difference(e.run(rule, bend, few).usd, at(base.usd, few)))
	return gain+2*se > 0
}

// paired returns the mean gain of a over b on the same weathers, and whether it is at least twice its standard error.
func paired(a, b []float64) (gain float64, sure bool) {
	gain, se := Mean(difference(a, b))
	return gain, gain > 0 && gain >= 2*se
}

func difference(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for m := range out {
		out[m] = a[m] - b[m]
	}
	return out
}

// waits values every delay of every field against cutting it today, on the same weathers, all else as planned. Where the plan
// itself cuts the field today, today is the plan; elsewhere it is the better of cutting it first of all and after what the
// plan puts first. In cut it leaves how many acres of each field today's side cuts today, in the mean.
func (e *evaluator) waits(ctx context.Context, p *Plan, bend bends, r *record, cut []float64) ([][]Wait, error) {
	if len(e.set.Repriced) > 0 {
		e.repriced = e.set.Repriced
		defer func() { e.repriced = nil }()
		r = e.record(p.Rule, bend)
	}
	out := make([][]Wait, len(e.t.Fields))
	for f, row := range e.t.Fields {
		if row.Acres <= 0 {
			continue
		}
		var base *outcome
		less := r.of(f, bend)
		for _, n := range WaitDays {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			var got *outcome
			if n == 0 {
				got = e.cutToday(p, bend, r, f)
				base = got
				cut[f], _ = Mean(got.today)
			} else {
				got = e.held(p.Rule, bend, less, f, n)
				less = got
			}
			w := Wait{Days: n, USD: make([]float64, len(got.usd)), Repriced: make([][]float64, len(e.repriced))}
			for m := range got.usd {
				w.USD[m] = got.usd[m] - base.usd[m]
				if day := got.finish[m]; day >= 0 && day <= row.Deadline {
					w.OnTime++
				}
			}
			for i := range w.Repriced {
				w.Repriced[i] = make([]float64, len(got.usd))
				for m := range got.usd {
					w.Repriced[i][m] = w.USD[m] + got.repriced[m][i] - base.repriced[m][i]
				}
			}
			out[f] = append(out[f], w)
		}
	}
	return out, nil
}

// cutToday returns the season with field f cut today in the best way known.
func (e *evaluator) cutToday(p *Plan, bend bends, r *record, f int) *outcome {
	if p.Cuts(f) {
		return r.of(f, bend)
	}
	first, next := e.first(p.Rule, bend, r, f, firstTurn), e.first(p.Rule, bend, r, f, nextTurn)
	if meanOf(next.usd) > meanOf(first.usd) && meanOf(next.today) >= cutsToday*meanOf(first.today) {
		return next
	}
	return first
}

// cutsToday is the share of the acres cut where a field goes first that must be cut where it goes next, for that to be called
// cutting it today: where the day is full with what goes before, it is not. [judgement]
const cutsToday = 0.5

func meanOf(x []float64) float64 {
	mean, _ := Mean(x)
	return mean
}
