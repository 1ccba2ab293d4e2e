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
	// Low and High enclose it: Student's interval of 95 % from the batches, widened to USD. Equal where there is one batch.
	Low, High float64
}

// Waits values not cutting fields before each of the days, which rise, against cutting so many acres of them today in the mean of
// the weathers; where today cannot take so many, as many as it can. Fields with no acres to cut, or none that can be cut today, have none.
func (p *Program) Waits(ctx context.Context, days []int, acres []float64) ([][]Wait, error) {
	out := make([][]Wait, len(p.t.Fields))
	err := each(ctx, p.set.Workers, len(out), func(f int) error {
		if acres[f] <= 0 || !p.main.cuttable(f) {
			return nil
		}
		got, err := p.main.wait(ctx, f, days, acres[f])
		if err != nil {
			return err
		}
		parts := make([][]float64, 0, len(p.batches))
		for _, b := range p.batches {
			if len(p.batches) == 1 || !b.cuttable(f) {
				continue
			}
			usd, err := b.wait(ctx, f, days, acres[f])
			if err != nil {
				return err
			}
			parts = append(parts, usd)
		}
		out[f] = waitsOf(days, got, parts)
		return nil
	})
	return out, err
}

// waitsOf puts an interval from batches around the values of all.
func waitsOf(days []int, usd []float64, parts [][]float64) []Wait {
	out := make([]Wait, len(days))
	for i, n := range days {
		out[i] = Wait{Days: n, USD: usd[i], Low: usd[i], High: usd[i]}
		var x []float64
		for _, p := range parts {
			x = append(x, p[i])
		}
		if len(x) > 1 {
			mean, half := student(x)
			out[i].Low, out[i].High = min(usd[i], mean-half), max(usd[i], mean+half)
		}
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
