package lookahead

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"threshday/internal/core/linear"
)

// A Wait is what the season earns more where no acre of a field is cut before a day than where some are cut today, everything
// else planned anew in both. Positive: waiting pays.
type Wait struct {
	Days int
	USD  float64 // over all members drawn
	// Low and High lie evenly about it: half of Student's 95 % interval from the batches either way, and by how far their mean lies
	// off. Equal where there is one batch.
	Low, High float64
}

// An Ask is a field to value waiting for, against cutting so many acres of it today in the mean of the weathers; where today cannot
// take so many, as many as it can.
type Ask struct {
	Field int
	Acres float64
}

// Waits values not cutting a field before each of the days, which rise, per ask. A field without acres, or one that no weather lets
// be cut today, has none; nor do the last asks where there are more than Settings.WaitColumns allow.
func (p *Program) Waits(ctx context.Context, days []int, asks []Ask) ([][]Wait, error) {
	parts := p.askable(len(asks))
	out := make([][]Wait, len(asks))
	err := each(ctx, p.set.Workers, p.affordable(parts, len(asks)), func(i int) error {
		var usd [][]float64 // per part
		for k, b := range parts {
			if asks[i].Acres <= 0 || !b.cuttable(asks[i].Field) {
				if k == 0 && b == p.main {
					return nil
				}
				continue
			}
			got, err := b.wait(ctx, asks[i].Field, days, asks[i].Acres)
			if err != nil {
				return err
			}
			usd = append(usd, got)
		}
		if len(usd) > 0 {
			out[i] = waitsOf(days, usd, parts[0] == p.main)
		}
		return nil
	})
	return out, err
}

// askable returns the programs that asks are put to: that of all members first where the work allows, and the batches.
func (p *Program) askable(asks int) []*part {
	if len(p.batches) == 1 {
		return p.batches
	}
	all := append([]*part{p.main}, p.batches...)
	if p.affordable(all, asks) < asks {
		return p.batches
	}
	return all
}

// affordable returns how many of the asks the work allows.
func (p *Program) affordable(parts []*part, asks int) int {
	columns := 0
	for _, b := range parts {
		columns += b.lp.Columns()
	}
	if p.set.WaitColumns <= 0 || columns == 0 {
		return asks
	}
	return min(asks, p.set.WaitColumns/columns)
}

// waitsOf takes the value of all members, or the mean of the batches where there is none, and puts the batches' interval around it.
func waitsOf(days []int, usd [][]float64, whole bool) []Wait {
	out := make([]Wait, len(days))
	for i, n := range days {
		x := make([]float64, len(usd))
		for k := range usd {
			x[k] = usd[k][i]
		}
		w := Wait{Days: n, USD: x[0]}
		if whole && len(x) > 1 {
			x = x[1:]
		} else if len(x) > 1 {
			w.USD, _ = student(x)
		}
		w.Low, w.High = w.USD, w.USD
		if len(x) > 1 {
			mean, half := student(x)
			half += math.Abs(mean - w.USD)
			w.Low, w.High = w.USD-half, w.USD+half
		}
		out[i] = w
	}
	return out
}

// student returns the mean of at least two values and half of its 95 % interval.
func student(x []float64) (mean, half float64) {
	n := float64(len(x))
	for _, v := range x {
		mean += v / n
	}
	ss := 0.0
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	return mean, distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.Quantile(0.975) * math.Sqrt(ss/(n-1)/n)
}

// cuttable says that today some acre of field f can be cut in some member.
func (l *layout) cuttable(f int) bool {
	return slices.ContainsFunc(l.today, func(c shared) bool { return c.field == f })
}

// wait returns, per delay, what the season earns with field f not cut before it less what it earns with so many acres cut today.
func (p *part) wait(ctx context.Context, f int, days []int, acres float64) ([]float64, error) {
	cut, err := p.demand(ctx, f, acres)
	if err != nil {
		return nil, err
	}
	lp, last := p.lp.Clone(), &p.best
	out := make([]float64, len(days))
	for i, n := range days {
		if p.hold(lp, f, n, last.X) {
			sol := lp.Solve(ctx, linear.Options{Start: &last.Basis})
			if err := solved(ctx, &sol); err != nil {
				return nil, err
			}
			last = &sol
		}
		out[i] = last.Objective - cut
	}
	return out, nil
}

// hold forbids cutting field f before a day and says whether x does.
func (p *part) hold(lp *linear.Problem, f, before int, x []float64) (changed bool) {
	forbid := func(column int) {
		lp.SetColumn(column, 0, 0)
		changed = changed || x[column] > leastAcres
	}
	if before > 0 {
		for _, c := range p.today {
			if c.field == f {
				forbid(c.column)
			}
		}
	}
	for i := range p.blocks {
		b := &p.blocks[i]
		for j, field := range b.field {
			if field == f && p.spans.first[b.span[j]] < before {
				forbid(b.column + j)
			}
		}
	}
	return changed
}

// demand returns what the season earns with at least so many acres of field f cut today, or as many as today takes.
func (p *part) demand(ctx context.Context, f int, acres float64) (float64, error) {
	acres = min(acres, p.t.Fields[f].Acres)
	cut := 0.0
	for _, c := range p.today {
		if c.field == f {
			cut += c.share * p.best.X[c.column]
		}
	}
	if cut >= acres {
		return p.best.Objective, nil
	}
	lp := p.lp.Clone()
	_, most := lp.Row(p.must[f])
	lp.SetRow(p.must[f], acres, most)
	lp.SetColumn(p.short[f], 0, acres)
	sol := lp.Solve(ctx, linear.Options{Start: &p.best.Basis})
	if err := solved(ctx, &sol); err != nil {
		return 0, err
	}
	return sol.Objective + shortUSD*sol.X[p.short[f]], nil
}
