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
	Members int       // weathers drawn; 0: the program could not be solved, and nothing else is known
	Acres   []float64 // per field: what the program cuts today, in the mean of them
	// Waits values waiting per field, in the order of WaitDays without today; nil where the field is not cut today in any weather
	// drawn.
	Waits  [][]lookahead.Wait
	Prices lookahead.Prices
}

// ahead solves the program of the season and tells what it says: what it cuts today, what waiting is worth against cutting so many
// acres of a field today, and what is short. Where rounding keeps a program from being solved it tells nothing.
func (e *evaluator) ahead(ctx context.Context, waits [][]Wait, cut []float64) (*Ahead, error) {
	set := lookahead.DefaultSettings()
	set.Workers, set.Apart = e.set.Workers, e.set.Apart
	asks := e.asks(waits, cut)
	p, err := lookahead.New(ctx, e.t, set)
	var got [][]lookahead.Wait
	if err == nil {
		got, err = p.Waits(ctx, WaitDays[1:], asks)
	}
	switch {
	case errors.Is(err, lookahead.ErrUnsure):
		return &Ahead{Waits: make([][]lookahead.Wait, len(cut))}, nil
	case err != nil:
		return nil, err
	}
	out := &Ahead{Acres: make([]float64, len(cut)), Waits: make([][]lookahead.Wait, len(cut)), Prices: p.Prices()}
	for _, batch := range p.Members() {
		out.Members += len(batch)
	}
	for _, k := range p.Today() {
		out.Acres[k.Field] += k.Mean
	}
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
