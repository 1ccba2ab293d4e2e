package linear

import "context"

// An outcome says why the iterations ended.
type outcome uint8

const (
	reached    outcome = iota // no basic variable lies outside its bounds
	impossible                // a row cannot be brought within its bounds
	halted                    // pivot limit or context
	lost                      // no acceptable pivot is left
)

// iterate runs the dual simplex method from a dual feasible basis until nothing is out of bounds.
func (e *engine) iterate(ctx context.Context, limit int) outcome {
	e.renew()
	e.unban()
	e.stalled, e.bland = 0, false
	for {
		if e.pivots >= limit || ctx.Err() != nil {
			return halted
		}
		if e.factor.stale() {
			e.renew()
		}
		r, ok := e.chooseRow()
		if !ok {
			switch {
			case len(e.factor.etaRow) > 0:
				e.renew()
			case e.anyBanned:
				return lost
			default:
				return reached
			}
			continue
		}
		side := 1.0
		gap := e.baseLo[r] - e.x[r]
		if e.x[r] > e.baseUp[r] {
			side, gap = -1, e.x[r]-e.baseUp[r]
		}
		e.price()
		e.collect(side)
		c, flips := e.enter(gap)
		if c == nil {
			if len(e.factor.etaRow) > 0 {
				e.renew()
				continue
			}
			if e.proven(gap, side) {
				return impossible
			}
			e.banned[r], e.anyBanned = true, true
			continue
		}
		if e.column(r, c.j) {
			e.step(r, c.j, side, flips)
		}
	}
}

// proven says that no setting of the other variables within their bounds closes the gap of the priced row,
// counting also pivots too small to enter.
func (e *engine) proven(gap, side float64) bool {
	for _, j := range e.row.idx {
		a := e.row.val[j] * side
		if e.at[j] == Basic || e.lo[j] == e.up[j] || abs(a) < negligible {
			continue
		}
		if e.at[j] == AtZero || e.at[j] == AtLower && a < 0 || e.at[j] == AtUpper && a > 0 {
			gap -= abs(a) * (e.up[j] - e.lo[j])
		}
	}
	return gap > primalTol
}

// chooseRow picks the leaving position by largest violation in the steepest-edge norm and leaves its row of
// B⁻¹ in rho. [forrest-goldfarb-1992]
func (e *engine) chooseRow() (int32, bool) {
	for {
		r := e.mostViolated()
		if r < 0 {
			return 0, false
		}
		e.rho.clear()
		e.rho.set(r, 1)
		e.factor.backward(e.rho)
		truth := e.rho.norm2()
		stored := e.weight[r]
		e.weight[r] = max(truth, weightFloor)
		if e.bland || stored >= weightTrust*truth {
			return r, true
		}
	}
}

func (e *engine) mostViolated() int32 {
	best, r := 0.0, int32(-1)
	if e.bland {
		for i, s := range e.short {
			if s > 0 && !e.banned[i] && (r < 0 || e.head[i] < e.head[r]) {
				r = int32(i)
			}
		}
		return r
	}
	for i, s := range e.short {
		if s > best*e.weight[i] && !e.banned[i] {
			best, r = s/e.weight[i], int32(i)
		}
	}
	return r
}

// price computes the row of the tableau, rho·a_j for every variable, from the rows of the matrix that rho
// meets, or column by column where rho is dense.
func (e *engine) price() {
	out := e.row
	out.clear()
	if len(e.rho.idx)*denseRho > int(e.m) {
		for j := range e.n {
			if e.at[j] == Basic {
				continue
			}
			sum := 0.0
			index, value := e.store.cols.at(j)
			for k, i := range index {
				sum += value[k] * e.rho.val[i]
			}
			if abs(sum) > noise {
				out.set(j, sum)
			}
		}
	} else {
		val, idx := out.val, out.idx
		for _, i := range e.rho.idx {
			y := e.rho.val[i]
			index, value := e.rows.at(i)
			for k, j := range index {
				old := val[j]
				if old == 0 {
					idx = append(idx, j)
				}
				val[j] = keep(old + y*value[k])
			}
		}
		out.idx = idx
	}
	for _, i := range e.rho.idx {
		out.set(e.n+i, e.rho.val[i])
	}
}

// enter chooses the entering variable and returns it with the candidates that flip; nil when there is none.
func (e *engine) enter(gap float64) (c *candidate, flips []candidate) {
	switch {
	case e.bland:
		return e.ratio.first(), nil
	case e.exact:
		return e.ratio.choose(gap, 0)
	}
	return e.ratio.choose(gap, dualTol)
}

// column computes B⁻¹a_q and compares the pivot seen from the row with that seen from the column. When they
// differ it renews the factors, or bans the row where they are fresh, and the choice has to be made again.
func (e *engine) column(r, q int32) bool {
	e.alpha.clear()
	index, value := e.store.at(q)
	for k, i := range index {
		e.alpha.set(i, value[k])
	}
	e.factor.forward(e.alpha)
	e.alpha.list()
	fromRow, fromColumn := e.row.val[q], e.alpha.val[r]
	drift := abs(fromRow-fromColumn) / max(min(abs(fromRow), abs(fromColumn)), noise)
	if drift <= pivotDrift && abs(fromColumn) >= pivotTolFresh {
		return true
	}
	if len(e.factor.etaRow) > 0 {
		e.renew()
	} else {
		e.banned[r], e.anyBanned = true, true
	}
	return false
}

func (e *engine) unban() {
	if e.anyBanned {
		clear(e.banned)
		e.anyBanned = false
	}
}

// step exchanges the variable at position r for q.
func (e *engine) step(r, q int32, side float64, flips []candidate) {
	e.flip(flips)
	theta := e.d[q] / e.row.val[q]
	if theta*side > 0 { // the reduced cost had the wrong sign, within the tolerance
		if !e.exact {
			e.charged[q] -= e.d[q]
			e.altered = true
		}
		theta = 0
	}
	e.countStall(theta)
	leaving := e.head[r]
	for _, j := range e.row.idx {
		if e.at[j] != Basic {
			e.d[j] -= theta * e.row.val[j]
		}
	}
	e.d[q], e.d[leaving] = 0, -theta

	target := e.baseLo[r]
	e.at[leaving] = AtLower
	if side < 0 {
		target, e.at[leaving] = e.baseUp[r], AtUpper
	}
	pivot := e.alpha.val[r]
	move := (e.x[r] - target) / pivot
	entering := e.resting(q) + move
	e.tau.copyFrom(e.rho)
	e.factor.forward(e.tau)
	e.moveBasics(r, move, pivot)
	e.x[r] = entering
	e.at[q] = Basic
	e.head[r] = q
	e.baseLo[r], e.baseUp[r] = e.lo[q], e.up[q]
	e.measure(r)
	e.factor.update(r, e.alpha)
	e.pivots++
	e.unban()
}

// moveBasics moves the basic values along alpha and brings the weights of all positions up to date.
func (e *engine) moveBasics(r int32, move, pivot float64) {
	w := e.weight[r]
	for _, i := range e.alpha.idx {
		if i == r {
			continue
		}
		a := e.alpha.val[i]
		e.x[i] -= move * a
		e.measure(i)
		ratio := a / pivot
		e.weight[i] = max(e.weight[i]+ratio*(ratio*w-2*e.tau.val[i]), weightFloor)
	}
	e.weight[r] = max(w/(pivot*pivot), weightFloor)
}

// flip sends the boxed candidates to their other bounds and moves the basic values accordingly.
func (e *engine) flip(flips []candidate) {
	if len(flips) == 0 {
		return
	}
	e.shift.clear()
	for _, c := range flips {
		change := c.span
		if e.at[c.j] == AtLower {
			e.at[c.j] = AtUpper
		} else {
			e.at[c.j] = AtLower
			change = -change
		}
		index, value := e.store.at(c.j)
		for k, i := range index {
			e.shift.add(i, value[k]*change)
		}
	}
	e.factor.forward(e.shift)
	e.shift.list()
	for _, i := range e.shift.idx {
		e.x[i] -= e.shift.val[i]
		e.measure(i)
	}
}

// countStall turns to Bland's rule after a long run of steps without progress, and back after a real one.
func (e *engine) countStall(theta float64) {
	if abs(theta) > dualTol {
		e.stalled, e.bland = 0, false
		return
	}
	e.stalled++
	if e.stalled > e.stallLimit {
		e.bland = true
	}
}
