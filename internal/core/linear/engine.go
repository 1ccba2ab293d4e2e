package linear

import (
	"math"
	"slices"
)

// An engine is one solve at work: minimise cost·x subject to A·x + s = 0 and bounds on x and s, everything
// scaled. Variables 0 to n-1 are the columns; n+i is the unit column of row i, s_i = -(activity of row i).
// Positions of the basis are rows.
type engine struct {
	m, n   int32
	store  columnStore
	rows   matrix // the columns by row
	factor *factor

	cost   []float64 // as given
	lo, up []float64 // bounds in force; boxes in phase one
	trueLo []float64
	trueUp []float64

	charged []float64 // cost in use: perturbed and shifted
	altered bool      // charged differs from cost
	d       []float64 // reduced costs; zero for basic variables
	at      []Standing

	// By position:
	head           []int32 // basic variable
	x              []float64
	baseLo, baseUp []float64
	short          []float64 // squared violation of the bounds
	weight         []float64 // steepest-edge weight
	banned         []bool    // not to be chosen before the next basis change
	anyBanned      bool

	rho   *vec // B⁻ᵀe_r
	alpha *vec // B⁻¹a_q
	tau   *vec // B⁻¹rho; scratch between steps
	shift *vec // B⁻¹ of Σ a_j·(change of x_j) over flipped columns
	row   *vec // rho·a_j by variable
	ratio ratioTest

	exact      bool // no cost shifts, textbook ratio test
	bland      bool // smallest numbers first
	stalled    int  // steps since the last progress
	stallLimit int
	pivots     int
}

func newEngine(p *Problem, s *scaling) *engine {
	m, n := int32(p.Rows()), int32(p.Columns()) //nolint:gosec // within range by construction
	e := &engine{m: m, n: n, factor: newFactor(int(m)), stallLimit: stallAfter}
	e.store = columnStore{cols: p.shaped().cols, n: n}
	e.rows = p.shaped().rows
	all := int(m + n)
	e.cost, e.charged, e.d = make([]float64, all), make([]float64, all), make([]float64, all)
	e.trueLo, e.trueUp = make([]float64, all), make([]float64, all)
	for j := range int(n) {
		e.cost[j] = float64(p.sense) * p.cost[j] * s.col[j] * s.cost
		e.trueLo[j], e.trueUp[j] = p.lower[j]/s.col[j], p.upper[j]/s.col[j]
	}
	for i := range int(m) {
		e.trueLo[int(n)+i], e.trueUp[int(n)+i] = -p.rowUpper[i]*s.row[i], -p.rowLower[i]*s.row[i]
	}
	e.lo, e.up = slices.Clone(e.trueLo), slices.Clone(e.trueUp)
	e.at = make([]Standing, all)
	e.head = make([]int32, m)
	e.x, e.baseLo, e.baseUp = make([]float64, m), make([]float64, m), make([]float64, m)
	e.short, e.weight, e.banned = make([]float64, m), ones(int(m)), make([]bool, m)
	e.rho, e.alpha, e.tau, e.shift = newVec(int(m)), newVec(int(m)), newVec(int(m)), newVec(int(m))
	e.row = newVec(all)
	return e
}

// install takes a basis, or that of the unit columns where it is nil or of another size.
func (e *engine) install(b *Basis) {
	fits := b != nil && len(b.Columns) == int(e.n) && len(b.Rows) == int(e.m)
	if fits {
		copy(e.at, b.Columns)
		copy(e.at[e.n:], b.Rows)
	} else {
		for j := range e.at {
			e.at[j] = AtLower
		}
		for i := range e.m {
			e.at[e.n+i] = Basic
		}
	}
	// The head takes the rows' variables first, so that a surplus is cut among the columns.
	e.head = e.head[:0]
	for k := int32(len(e.at)) - 1; k >= 0; k-- { //nolint:gosec // within range by construction
		if e.at[k] == Basic {
			if len(e.head) < int(e.m) {
				e.head = append(e.head, k)
			} else {
				e.at[k] = AtLower
			}
		}
	}
	for j := range int32(len(e.at)) { //nolint:gosec // within range by construction
		e.rest(j)
	}
	stored := make([]float64, len(e.at))
	if fits && len(b.weight) == len(e.at) {
		copy(stored, b.weight)
	}
	e.refactor(stored)
}

// rest moves a variable that is not basic to a bound that it has.
func (e *engine) rest(j int32) {
	if e.at[j] == Basic {
		return
	}
	low, high := !math.IsInf(e.lo[j], 0), !math.IsInf(e.up[j], 0)
	switch {
	case !low && !high:
		e.at[j] = AtZero
	case e.at[j] == AtUpper && high || !low:
		e.at[j] = AtUpper
	default:
		e.at[j] = AtLower
	}
}

// resting returns the value of variable j, which is not basic.
func (e *engine) resting(j int32) float64 {
	switch e.at[j] {
	case AtLower:
		return e.lo[j]
	case AtUpper:
		return e.up[j]
	default: // nothing for the others
	}
	return 0
}

// boxed says that variable j has both bounds.
func (e *engine) boxed(j int32) bool {
	return !math.IsInf(e.lo[j], 0) && !math.IsInf(e.up[j], 0)
}

// refactor renews the factors of the basis, dropping dependent columns for unit columns, and keeps the
// weights with their variables. Weights come from stored, by variable, where given.
func (e *engine) refactor(stored []float64) {
	if stored == nil {
		stored = make([]float64, len(e.at))
		for r, j := range e.head {
			stored[j] = e.weight[r]
		}
	}
	placed := e.factor.factorise(&e.store, e.head)
	kept := 0
	for _, j := range placed {
		if j >= 0 {
			kept++
		}
	}
	if kept < len(e.head) {
		e.dropDependent(placed)
	}
	for r, j := range placed {
		if j < 0 {
			j = e.n + int32(r)
			placed[r] = j
			e.at[j] = Basic
		}
	}
	e.head = placed
	for r, j := range e.head {
		e.weight[r] = 1
		if stored[j] > 0 {
			e.weight[r] = stored[j]
		}
		e.baseLo[r], e.baseUp[r] = e.lo[j], e.up[j]
		e.d[j] = 0
	}
}

// dropDependent sends the basic variables that found no place to a bound.
func (e *engine) dropDependent(placed []int32) {
	found := make(map[int32]bool, len(placed))
	for _, j := range placed {
		found[j] = true
	}
	for _, j := range e.head {
		if !found[j] {
			e.at[j] = AtLower
			e.rest(j)
		}
	}
}

// renew brings factors, reduced costs, standings and values up to date with the basis.
func (e *engine) renew() {
	if len(e.factor.etaRow) > 0 {
		e.refactor(nil)
	}
	e.computeDuals()
	e.repairDuals()
	e.computeValues()
}

// computeDuals sets the reduced costs from the costs in use.
func (e *engine) computeDuals() {
	y := e.tau
	y.clear()
	for r, j := range e.head {
		if e.charged[j] != 0 {
			y.set(int32(r), e.charged[j])
		}
	}
	e.factor.backward(y)
	for j := range e.n {
		e.d[j] = 0
		if e.at[j] == Basic {
			continue
		}
		sum := e.charged[j]
		index, value := e.store.cols.at(j)
		for k, i := range index {
			sum -= value[k] * y.val[i]
		}
		e.d[j] = sum
	}
	for i := range e.m {
		e.d[e.n+i] = 0
		if e.at[e.n+i] != Basic {
			e.d[e.n+i] = e.charged[e.n+i] - y.val[i]
		}
	}
	y.clear()
}

// wrongSign returns by how much the reduced cost of variable j, which is not basic, points out of its bounds.
func (e *engine) wrongSign(j int32) float64 {
	d := e.d[j]
	switch e.at[j] {
	case AtLower:
		if e.lo[j] == e.up[j] {
			return 0
		}
		return max(-d, 0)
	case AtUpper:
		if e.lo[j] == e.up[j] {
			return 0
		}
		return max(d, 0)
	default: // nothing for the others
	}
	return abs(d)
}

// repairDuals makes every reduced cost feasible: a boxed variable goes to its other bound, any other has its
// cost shifted.
func (e *engine) repairDuals() {
	for j := range e.m + e.n {
		if e.at[j] == Basic || e.wrongSign(j) <= dualTol {
			continue
		}
		switch {
		case e.boxed(j) && e.at[j] == AtLower:
			e.at[j] = AtUpper
		case e.boxed(j):
			e.at[j] = AtLower
		default:
			e.charged[j] -= e.d[j]
			e.d[j] = 0
			e.altered = true
		}
	}
}

// openDuals counts the variables without a second bound whose reduced cost has the wrong sign.
func (e *engine) openDuals() int {
	count := 0
	for j := range e.m + e.n {
		if e.at[j] != Basic && !e.boxed(j) && e.wrongSign(j) > dualTol {
			count++
		}
	}
	return count
}

// computeValues sets the values of the basic variables.
func (e *engine) computeValues() {
	v := e.tau
	v.clear()
	for j := range e.n {
		if e.at[j] == Basic {
			continue
		}
		if x := e.resting(j); x != 0 {
			index, value := e.store.cols.at(j)
			for k, i := range index {
				v.add(i, -value[k]*x)
			}
		}
	}
	for i := range e.m {
		if e.at[e.n+i] != Basic {
			if x := e.resting(e.n + i); x != 0 {
				v.add(i, -x)
			}
		}
	}
	e.factor.forward(v)
	copy(e.x, v.val)
	for r := range e.x {
		if abs(e.x[r]) <= noise {
			e.x[r] = 0
		}
		e.measure(int32(r))
	}
	v.clear()
}

// measure notes how far position r lies outside its bounds.
func (e *engine) measure(r int32) {
	gap := 0.0
	if x := e.x[r]; x < e.baseLo[r]-primalTol {
		gap = e.baseLo[r] - x
	} else if x > e.baseUp[r]+primalTol {
		gap = x - e.baseUp[r]
	}
	e.short[r] = gap * gap
}
