package linear

import (
	"fmt"
	"math"
)

// A Status says how a solve ended.
type Status uint8

// The ways a solve can end.
const (
	Optimal    Status = iota + 1 // X is optimal within the tolerances
	Infeasible                   // no X satisfies all rows and bounds
	Unbounded                    // X is feasible and the objective can go on for ever
	Stopped                      // the pivot limit was reached or the context ended; X is no solution, Bound holds
	Unsure                       // rounding got the better of the method; nothing is claimed
)

// String returns the status as a word.
func (s Status) String() string {
	switch s {
	case Optimal:
		return "optimal"
	case Infeasible:
		return "infeasible"
	case Unbounded:
		return "unbounded"
	case Stopped:
		return "stopped"
	case Unsure:
		return "unsure"
	}
	return fmt.Sprintf("Status(%d)", uint8(s))
}

// A Standing says where a variable stands in a basis.
type Standing uint8

// The standings.
const (
	AtLower Standing = iota
	AtUpper
	AtZero // free and not basic
	Basic
)

// A Basis says for every column and every row where it stands: one Basic for each row in all. The row's
// variable is its activity. A Basis from one problem may start another with as many rows and columns; what does
// not make a basis there is repaired.
type Basis struct {
	Columns, Rows []Standing
	weight        []float64 // steepest-edge weights of the basic variables, columns first; nil when unknown
}

// A Solution is what [Problem.Solve] found.
//
// RowDual[i] is the change of the optimal objective per unit added to the bound that holds row i, zero where
// neither does; ReducedCost[j] is the same for the bounds of column j. The signs follow from that: in a
// problem to be maximised, a row held by its upper bound has a RowDual of zero or more.
type Solution struct {
	Status      Status
	Objective   float64 // of X
	X           []float64
	Activity    []float64 // by row: Σ coefficient·X
	RowDual     []float64
	ReducedCost []float64
	// Bound is a value that the objective of no feasible point can beat: an upper one when maximising. It
	// follows from RowDual and the bounds of the columns by weak duality, whatever the pivots did, up to the
	// rounding of sums; see [Problem.DualBound].
	Bound  float64
	Basis  Basis
	Pivots int // basis changes, phase one included
}

// fill computes what follows from X and the duals.
func (s *Solution) fill(p *Problem) {
	s.Activity = make([]float64, p.Rows())
	for j, x := range s.X {
		s.Objective += p.cost[j] * x
		for k := p.start[j]; k < p.start[j+1]; k++ {
			s.Activity[p.index[k]] += p.value[k] * x
		}
	}
	s.ReducedCost = make([]float64, p.Columns())
	for j := range s.X {
		d := p.cost[j]
		for k := p.start[j]; k < p.start[j+1]; k++ {
			d -= p.value[k] * s.RowDual[p.index[k]]
		}
		s.ReducedCost[j] = d
	}
	s.Bound = p.DualBound(s.RowDual)
}

// DualBound returns the bound on the objective that the given row duals prove by weak duality: the optimum
// over the column bounds alone of the objective with every row's violation charged at its dual. A dual whose
// sign would need a bound that the row does not have counts as zero, which keeps the bound valid. Infinite
// where a column without a bound could go on for ever; a reduced cost that is rounding, below 1e-9 of the
// terms it is the sum of, does not count there. Panics unless there is one dual for each row.
func (p *Problem) DualBound(rowDual []float64) float64 {
	if len(rowDual) != p.Rows() {
		panic("linear: not one dual for each row")
	}
	// In the sense of minimising: Σ y·(row bound) + Σ d·(column bound), each at its cheaper end.
	sign := float64(p.sense)
	y := make([]float64, len(rowDual))
	bound := 0.0
	for i, v := range rowDual {
		y[i] = sign * v
		side := p.rowLower[i]
		if y[i] < 0 {
			side = p.rowUpper[i]
		}
		if math.IsInf(side, 0) || y[i] == 0 {
			y[i] = 0
			continue
		}
		bound += y[i] * side
	}
	for j := range p.cost {
		d := sign * p.cost[j]
		size := abs(d)
		for k := p.start[j]; k < p.start[j+1]; k++ {
			term := p.value[k] * y[p.index[k]]
			d -= term
			size += abs(term)
		}
		side := p.lower[j]
		if d < 0 {
			side = p.upper[j]
		}
		if d != 0 && (!math.IsInf(side, 0) || abs(d) > dualTol*size) {
			bound += d * side
		}
	}
	return sign * bound
}

// Violation returns by how much x exceeds the bounds of a column or a row where it does so most, each
// relative to one plus the size of the bound.
func (p *Problem) Violation(x []float64) float64 {
	activity := make([]float64, p.Rows())
	worst := 0.0
	over := func(v, lower, upper float64) {
		if v < lower {
			worst = max(worst, (lower-v)/(1+abs(lower)))
		}
		if v > upper {
			worst = max(worst, (v-upper)/(1+abs(upper)))
		}
	}
	for j, v := range x {
		over(v, p.lower[j], p.upper[j])
		for k := p.start[j]; k < p.start[j+1]; k++ {
			activity[p.index[k]] += p.value[k] * v
		}
	}
	for i, v := range activity {
		over(v, p.rowLower[i], p.rowUpper[i])
	}
	return worst
}
