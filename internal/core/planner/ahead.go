package planner

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"threshday/internal/core/lookahead"
)

// An Ahead is the season looked at by a linear program beside the rule: see package lookahead.
type Ahead struct {
	Members int       // weathers drawn
	Acres   []float64 // per field: what the program cuts today, in the mean of them
	// Taken says that today's choices are the program's: the fields it leaves alone are held a day.
	Taken bool
	// Waits values waiting per field, in the order of WaitDays without today; nil where the field is not cut today in any weather
	// drawn.
	Waits  [][]lookahead.Wait
	Prices lookahead.Prices
}

// lookAhead solves the program of the season.
func (e *evaluator) lookAhead(ctx context.Context) (*lookahead.Program, error) {
	set := lookahead.DefaultSettings()
	set.Workers, set.Apart = e.set.Workers, e.set.Apart
	return lookahead.New(ctx, e.t, set)
}

// unsure says that rounding kept a program from being solved: the plan does without.
func unsure(err error) bool { return errors.Is(err, lookahead.ErrUnsure) }

// holdOthers tries the program's acres as today's choices: what it does not cut today is held for a day, the rest goes by the
// rule. They are kept where they earn more than those found so far by twice the standard error of the difference.
func (e *evaluator) holdOthers(ctx context.Context, rule Rule, kept bends, base *record, acres []float64) (bends, *record, bool, error) {
	bend, changed := kept, false
	for f, x := range acres {
		if x <= leastHold*e.t.Fields[f].Acres && base.today[f] > 0 {
			bend, changed = bend.with(len(acres), f, 1, plainTurn), true
		}
	}
	if !changed {
		return kept, base, false, nil
	}
	if err := ctx.Err(); err != nil {
		return kept, base, false, err
	}
	got := e.record(rule, bend)
	if _, sure := paired(e.seen(got.usd), e.seen(base.usd)); sure {
		return bend, got, true, nil
	}
	return kept, base, false, nil
}

// leastHold is the share of a field's acres under which the program is taken not to cut it today. [judgement]
const leastHold = 0.002

// ahead tells what the program says: what it cuts today, what waiting is worth against cutting so many acres of a field today,
// and what is short.
func (e *evaluator) ahead(ctx context.Context, p *lookahead.Program, waits [][]Wait, cut []float64, taken bool) (*Ahead, error) {
	out := &Ahead{Acres: today(p, len(e.t.Fields)), Taken: taken, Prices: p.Prices()}
	for _, batch := range p.Members() {
		out.Members += len(batch)
	}
	asks := e.asks(waits, cut)
	got, err := p.Waits(ctx, WaitDays[1:], asks)
	if err != nil {
		return nil, err
	}
	out.Waits = make([][]lookahead.Wait, len(cut))
	for i, a := range asks {
		out.Waits[a.Field] = got[i]
	}
	return out, nil
}

// asks lists the fields that can be cut today, the least decided by the rule first: there may be more than there is time for.
func (e *evaluator) asks(waits [][]Wait, cut []float64) []lookahead.Ask {
	var out []lookahead.Ask
	sure := make([]float64, len(cut))
	for f, acres := range cut {
		if acres <= leastAcres {
			continue
		}
		out = append(out, lookahead.Ask{Field: f, Acres: acres})
		sure[f] = math.Inf(1)
		for _, w := range waits[f][1:] {
			if mean, se := Mean(w.USD); se > 0 {
				sure[f] = min(sure[f], math.Abs(mean)/se)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b lookahead.Ask) int { return cmp.Compare(sure[a.Field], sure[b.Field]) })
	return out
}

// today adds up by field what a program cuts today.
func today(p *lookahead.Program, fields int) []float64 {
	out := make([]float64, fields)
	for _, k := range p.Today() {
		out[k.Field] += k.Mean
	}
	return out
}
