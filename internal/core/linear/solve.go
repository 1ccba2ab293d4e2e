package linear

import (
	"context"
	"math"
)

// Options of a solve. The zero Options start from the basis of the rows' variables.
type Options struct {
	Start     *Basis
	MaxPivots int // 0: a limit that only a fault would reach
}

// Solve returns the optimum, or says why there is none. It looks at ctx before every pivot.
func (p *Problem) Solve(ctx context.Context, o Options) Solution {
	s := p.scale()
	e := newEngine(p, &s)
	limit := o.MaxPivots
	if limit <= 0 {
		limit = pivotsPerVariable*len(e.at) + pivotsAtLeast
	}
	e.install(o.Start)
	status := e.solve(ctx, limit)
	return e.report(p, &s, status)
}

// solve runs rounds of phase one, where a variable without a second bound needs it, and phase two. The first
// round works on perturbed costs; a later one starts where the true costs, put back, ask for more.
func (e *engine) solve(ctx context.Context, limit int) Status {
	for round := range maxRounds {
		e.charge(round == 0)
		e.exact = round >= exactAfter
		e.computeDuals()
		if e.openDuals() > 0 {
			if status := e.phaseOne(ctx, limit); status != 0 {
				return status
			}
		}
		switch e.iterate(ctx, limit) {
		case impossible:
			return Infeasible
		case halted:
			return Stopped
		case lost:
			continue
		default: // nothing for the others
		}
		if e.settled() {
			return Optimal
		}
	}
	return Unsure
}

// settled puts the true costs back and says whether the basis is optimal under them.
func (e *engine) settled() bool {
	if !e.altered {
		return true
	}
	e.charge(false)
	e.computeDuals()
	if e.openDuals() > 0 {
		return false
	}
	e.repairDuals()
	e.computeValues()
	for _, s := range e.short {
		if s > 0 {
			return false
		}
	}
	return true
}

// charge sets the costs in use: the true ones, or those changed a little so that no two steps tie. The
// change never makes a good sign bad. [koberstein-2005]
func (e *engine) charge(perturb bool) {
	copy(e.charged, e.cost)
	e.altered = perturb
	if !perturb {
		return
	}
	for j := range e.n {
		if e.lo[j] == e.up[j] {
			continue
		}
		size := (1 + abs(e.cost[j])) * perturbBase * (1 + spread(uint64(j)))
		low, high := !math.IsInf(e.lo[j], 0), !math.IsInf(e.up[j], 0)
		switch {
		case low && high && e.cost[j] < 0 || !low && high:
			e.charged[j] -= size
		case low:
			e.charged[j] += size
		}
	}
}

// spread returns a number in [0,1) that looks random and depends on k alone.
func spread(k uint64) float64 {
	// The finaliser of a 64-bit mixer [splitmix-2014].
	k += 0x9e3779b97f4a7c15
	k = (k ^ k>>30) * 0xbf58476d1ce4e5b9
	k = (k ^ k>>27) * 0x94d049bb133111eb
	return float64((k^k>>31)>>11) / (1 << 53)
}

// phaseOne looks for a basis whose reduced costs are all feasible: the optimal basis of the auxiliary problem
// in which variables that miss a bound get a box and all others are fixed [koberstein-2005]. It returns zero
// when it found one, else the status of the whole.
func (e *engine) phaseOne(ctx context.Context, limit int) Status {
	for try := range 2 {
		if try == 1 { // the perturbation may be what made it fail
			e.charge(false)
		}
		e.box()
		ended := e.iterate(ctx, limit)
		e.unbox()
		switch ended {
		case halted:
			return Stopped
		case lost:
			return Unsure
		default: // nothing for the others
		}
		if try == 1 || !e.altered {
			e.charge(false)
		}
		e.computeDuals()
		if e.openDuals() == 0 {
			return 0
		}
	}
	return e.withoutCosts(ctx, limit)
}

// withoutCosts decides between unbounded and infeasible once no dual solution exists: any feasible point will do.
func (e *engine) withoutCosts(ctx context.Context, limit int) Status {
	clear(e.charged)
	switch e.iterate(ctx, limit) {
	case reached:
		return Unbounded
	case impossible:
		return Infeasible
	case halted:
		return Stopped
	default: // nothing for the others
	}
	return Unsure
}

// box puts the bounds of the auxiliary problem in force.
func (e *engine) box() {
	for j := range e.lo {
		low, high := !math.IsInf(e.trueLo[j], 0), !math.IsInf(e.trueUp[j], 0)
		switch {
		case low && high:
			e.lo[j], e.up[j] = 0, 0
		case low:
			e.lo[j], e.up[j] = 0, 1
		case high:
			e.lo[j], e.up[j] = -1, 0
		default:
			e.lo[j], e.up[j] = -boxFree, boxFree
		}
	}
	e.takeBounds()
}

// unbox puts the true bounds back.
func (e *engine) unbox() {
	copy(e.lo, e.trueLo)
	copy(e.up, e.trueUp)
	e.takeBounds()
}

func (e *engine) takeBounds() {
	for j := range e.m + e.n {
		if e.at[j] == AtZero {
			e.at[j] = AtLower
		}
		e.rest(j)
	}
	for r, j := range e.head {
		e.baseLo[r], e.baseUp[r] = e.lo[j], e.up[j]
	}
}

// report translates the engine's last state into a Solution of p.
func (e *engine) report(p *Problem, s *scaling, status Status) Solution {
	out := Solution{Status: status, Pivots: e.pivots}
	out.X = make([]float64, e.n)
	for j := range e.n {
		if e.at[j] != Basic {
			out.X[j] = e.resting(j) * s.col[j]
		}
	}
	for r, j := range e.head {
		if j < e.n {
			out.X[j] = min(max(e.x[r]*s.col[j], p.lower[j]), p.upper[j])
		}
	}
	copy(e.charged, e.cost)
	e.computeDuals()
	out.RowDual = make([]float64, e.m)
	for i := range e.m {
		// d of the unit column is -y.
		out.RowDual[i] = -e.d[e.n+i] * s.row[i] / (s.cost * float64(p.sense))
	}
	out.fill(p)
	out.Basis = Basis{
		Columns: append([]Standing(nil), e.at[:e.n]...),
		Rows:    append([]Standing(nil), e.at[e.n:]...),
		weight:  make([]float64, len(e.at)),
	}
	for r, j := range e.head {
		out.Basis.weight[j] = e.weight[r]
	}
	return out
}
