package planner

import (
	"context"
	"math"
	"slices"
)

// A turn is what overrides the rule for one field today.
type turn uint8

const (
	plainTurn turn = iota
	nextTurn       // after the first, before all others
	firstTurn
)

// bends are today's decisions that override the rule, by field: not before a day, or out of turn on day 0. Nil slices bend
// nothing.
type bends struct {
	until []int
	turn  []turn
}

func (b bends) notBefore(f int) int {
	if b.until == nil {
		return 0
	}
	return b.until[f]
}

func (b bends) turnOf(f int) turn {
	if b.turn == nil {
		return plainTurn
	}
	return b.turn[f]
}

// with returns b with field f bent so; until 0 and plainTurn frees it.
func (b bends) with(fields, f, until int, t turn) bends {
	out := bends{make([]int, fields), make([]turn, fields)}
	copy(out.until, b.until)
	copy(out.turn, b.turn)
	out.until[f], out.turn[f] = until, t
	return out
}

// A found is a rule with what it earns, by member.
type found struct {
	rule Rule
	usd  []float64
	mean float64
}

func (e *evaluator) try(ctx context.Context, rule Rule, bend bends) (found, error) {
	usd, err := e.evaluate(ctx, rule, bend, nil)
	if err != nil {
		return found{}, err
	}
	mean, _ := Mean(usd)
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
			if out.fold[m] != fold {
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
func (e *evaluator) bendToday(ctx context.Context, base found) (bends, found, error) {
	type option struct {
		f, until int
		turn     turn
		gain     float64
	}
	var options []option
	n := len(e.t.Fields)
	for f, row := range e.t.Fields {
		if row.Acres <= leastAcres {
			continue
		}
		for _, o := range []option{{f: f, turn: firstTurn}, {f: f, until: 1}} {
			got, err := e.try(ctx, base.rule, bends{}.with(n, f, o.until, o.turn))
			if err != nil {
				return bends{}, found{}, err
			}
			if gain, sure := paired(got.usd, base.usd); sure {
				o.gain = gain
				options = append(options, o)
			}
		}
	}
	slices.SortStableFunc(options, func(a, b option) int {
		switch {
		case a.gain > b.gain:
			return -1
		case a.gain < b.gain:
			return 1
		default:
			return 0
		}
	})
	var kept bends
	count := 0
	for _, o := range options[:min(len(options), triedBends)] {
		if kept.notBefore(o.f) > 0 || kept.turnOf(o.f) != plainTurn {
			continue
		}
		bend := kept.with(n, o.f, o.until, o.turn)
		got, err := e.try(ctx, base.rule, bend)
		if err != nil {
			return bends{}, found{}, err
		}
		if _, sure := paired(got.usd, base.usd); sure {
			kept, base = bend, got
			if count++; count == mostBends {
				break
			}
		}
	}
	return kept, base, nil
}

// paired returns the mean gain of a over b on the same weathers, and whether it is at least twice its standard error.
func paired(a, b []float64) (gain float64, sure bool) {
	diff := make([]float64, len(a))
	for m := range diff {
		diff[m] = a[m] - b[m]
	}
	gain, se := Mean(diff)
	return gain, gain > 0 && gain >= 2*se
}

// waits values every delay of every field against cutting it today, on the same weathers, all else as planned. Where the plan
// itself cuts the field today, today is the plan; elsewhere it is the better of cutting it first of all and after what the
// plan puts first.
func (e *evaluator) waits(ctx context.Context, rule Rule, bend bends, planned []bool) ([][]Wait, error) {
	out := make([][]Wait, len(e.t.Fields))
	for f, row := range e.t.Fields {
		if row.Acres <= 0 {
			continue
		}
		var base []float64
		for _, n := range WaitDays {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			var w Wait
			switch {
			case n > 0:
				w = e.held(rule, bend.with(len(e.t.Fields), f, n, plainTurn), f, row.Deadline)
				for m := range w.USD {
					w.USD[m] -= base[m]
				}
			case planned[f]:
				w = e.held(rule, bend, f, row.Deadline)
			default:
				w = e.held(rule, bend.with(len(e.t.Fields), f, 0, firstTurn), f, row.Deadline)
				if next := e.held(rule, bend.with(len(e.t.Fields), f, 0, nextTurn), f, row.Deadline); better(next.USD, w.USD) {
					w = next
				}
			}
			if n == 0 {
				base, w.USD = w.USD, make([]float64, len(w.USD))
			}
			w.Days = n
			out[f] = append(out[f], w)
		}
	}
	return out, nil
}

func better(a, b []float64) bool {
	one, _ := Mean(a)
	other, _ := Mean(b)
	return one > other
}

// held runs all members under bend and counts those that finish field f by the deadline; USD is the whole season's.
func (e *evaluator) held(rule Rule, bend bends, f, deadline int) Wait {
	w := Wait{USD: make([]float64, e.t.Members)}
	onTime := make([]bool, e.t.Members)
	e.members(func(s *state, m int) {
		s.fold = e.exp[0].fold[m]
		w.USD[m] = e.season(s, m, rule, bend, nil)
		onTime[m] = s.finish[f] >= 0 && s.finish[f] <= deadline
	})
	for _, ok := range onTime {
		if ok {
			w.OnTime++
		}
	}
	return w
}
