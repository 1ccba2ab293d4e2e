package scenario

import (
	"context"
	"slices"

	"threshday/internal/core/linear"
)

// alone plans the days from node n to the only leaf below it: the program with foresight of that leaf, with the days before shut and
// what is left of fields and destinations, sifted on from there.
func (r *rolling) alone(ctx context.Context, n int) error {
	a, left := r.sight[r.below[n][0]], r.left[n]
	from := slices.IndexFunc(a.view, func(st stage) bool { return st.node == n })
	p := r.rest(a.program, left, from)
	pricing, _ := r.pricing.Get().(*pricing) //nolint:errcheck // only pricings go in
	defer r.pricing.Put(pricing)
	pricing.lay(a.view, from)
	pricing.forget()
	pricing.mark(p)
	start := &a.basis
	for round := 1; ; round++ {
		sol := p.lp.Solve(ctx, linear.Options{Start: start})
		if err := solved(ctx, &sol); err != nil {
			return err
		}
		pricing.takeDuals(p, sol.RowDual)
		pricing.bound()
		if round < mostSifts && pricing.widen(p, left, sol.RowDual) {
			start = sol.Basis.Extend(p.lp.Columns())
			continue
		}
		cuts := p.cuts(sol.X)
		for k := from; k < len(a.view); k++ {
			r.plan[a.view[k].node] = cuts[k]
			r.done[a.view[k].node] = true
		}
		return nil
	}
}

// rest returns the program of a leaf for what is left from a stage on.
func (s *season) rest(whole *program, left state, from int) *program {
	p := *whole
	p.lp, p.columns = whole.lp.Clone(), slices.Clip(whole.columns)
	limit := func(row int, most float64) {
		if row >= 0 {
			p.lp.SetRow(row, -1-most, most)
		}
	}
	for f, row := range p.field[0] {
		limit(row, left.acres[f])
	}
	for d, row := range p.total[0] {
		limit(row, left.bushels[d])
	}
	for j, c := range p.columns {
		if c.stage < from {
			p.lp.SetColumn(j, 0, 0)
		}
	}
	return &p
}
