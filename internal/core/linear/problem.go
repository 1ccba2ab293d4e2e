// Package linear solves linear programs with bounds.
//
// A [Problem] is: make Σ cost·x as small or as large as possible, where each column x lies between its two
// bounds and each row, a sum of coefficient·x, lies between its two. Bounds may be infinite. [Problem.Solve]
// finds the optimum with a bounded-variable dual simplex method on sparse matrices and returns it with the
// duals, a basis to start the next similar problem from, and a bound on the optimum that follows from the
// duals by weak duality alone.
//
// It leaves out integers, quadratic terms and presolve. Numbers are float64 and carry no unit; problems of up
// to some ten thousand rows, with coefficients within about ten powers of ten of each other, are what it is
// made for. Equal problems give equal bits: there is no clock, no random draw, no goroutine.
//
// Method: the dual simplex method with bound flips and steepest-edge weights as laid out in [koberstein-2005],
// weights after [forrest-goldfarb-1992], ratio test after [harris-1973] with cost shifting, sparse
// triangular solves after [gilbert-peierls-1988], product-form updates of the factors, feasible start for
// columns without bounds from the boxed auxiliary problem of [koberstein-2005], last resort against cycling
// after [bland-1977].
package linear

import (
	"fmt"
	"math"
	"slices"
)

// A Sense says which end of the objective is wanted.
type Sense int8

// The two senses.
const (
	Minimise Sense = 1
	Maximise Sense = -1
)

// An Entry is one coefficient of a column: the row it stands in and its value.
type Entry struct {
	Row  int
	Coef float64
}

// A Problem is a linear program under construction. Rows come first, then columns that refer to them.
// Its methods panic on what only a programming mistake can bring: NaN, a row that is not there, a row named
// twice in a column, bounds that cross.
type Problem struct {
	sense              Sense
	cost, lower, upper []float64
	rowLower, rowUpper []float64
	start              []int
	index              []int32
	value              []float64
	lastIn             []int32 // per row: 1 + the last column that has an entry there
	shape              *shape  // of the coefficients; clones share it
}

// New returns an empty Problem. Panics unless sense is Minimise or Maximise.
func New(sense Sense) *Problem {
	if sense != Minimise && sense != Maximise {
		panic("linear: a sense other than Minimise and Maximise")
	}
	return &Problem{sense: sense, start: []int{0}, shape: &shape{}}
}

// AddRow appends a row whose activity must lie in [lower, upper] and returns its number.
func (p *Problem) AddRow(lower, upper float64) int {
	checkBounds("row", len(p.rowLower), lower, upper)
	p.rowLower = append(p.rowLower, lower)
	p.rowUpper = append(p.rowUpper, upper)
	p.lastIn = append(p.lastIn, 0)
	p.reshape()
	return len(p.rowLower) - 1
}

// AddColumn appends a column with its objective coefficient, bounds and entries and returns its number.
func (p *Problem) AddColumn(cost, lower, upper float64, entries ...Entry) int {
	j := len(p.cost)
	checkBounds("column", j, lower, upper)
	checkFinite("cost", j, cost)
	for _, e := range entries {
		if e.Row < 0 || e.Row >= len(p.rowLower) {
			panic(fmt.Sprintf("linear: column %d has an entry in row %d of %d", j, e.Row, len(p.rowLower)))
		}
		if p.lastIn[e.Row] == int32(j)+1 { //nolint:gosec // within range by construction
			panic(fmt.Sprintf("linear: column %d has two entries in row %d", j, e.Row))
		}
		checkFinite("coefficient", j, e.Coef)
		p.lastIn[e.Row] = int32(j) + 1 //nolint:gosec // within range by construction
		if e.Coef != 0 {
			p.index = append(p.index, int32(e.Row)) //nolint:gosec // within range by construction
			p.value = append(p.value, e.Coef)
		}
	}
	p.cost = append(p.cost, cost)
	p.lower = append(p.lower, lower)
	p.upper = append(p.upper, upper)
	p.start = append(p.start, len(p.index))
	p.reshape()
	return j
}

// Rows returns the number of rows.
func (p *Problem) Rows() int { return len(p.rowLower) }

// Columns returns the number of columns.
func (p *Problem) Columns() int { return len(p.cost) }

// Entries returns the number of coefficients other than zero.
func (p *Problem) Entries() int { return len(p.value) }

// SetRow changes the bounds of row i.
func (p *Problem) SetRow(i int, lower, upper float64) {
	checkBounds("row", i, lower, upper)
	p.rowLower[i], p.rowUpper[i] = lower, upper
}

// SetColumn changes the bounds of column j.
func (p *Problem) SetColumn(j int, lower, upper float64) {
	checkBounds("column", j, lower, upper)
	p.lower[j], p.upper[j] = lower, upper
}

// SetCost changes the objective coefficient of column j.
func (p *Problem) SetCost(j int, cost float64) {
	checkFinite("cost", j, cost)
	p.cost[j] = cost
}

// Row returns the bounds of row i.
func (p *Problem) Row(i int) (lower, upper float64) { return p.rowLower[i], p.rowUpper[i] }

// Column returns the objective coefficient and the bounds of column j.
func (p *Problem) Column(j int) (cost, lower, upper float64) {
	return p.cost[j], p.lower[j], p.upper[j]
}

// EachEntry calls visit for every coefficient of column j.
func (p *Problem) EachEntry(j int, visit func(row int, coef float64)) {
	for k := p.start[j]; k < p.start[j+1]; k++ {
		visit(int(p.index[k]), p.value[k])
	}
}

// Clone returns a Problem that can be changed without changing p. The coefficients are shared, so it is
// cheap where only costs and bounds will differ.
func (p *Problem) Clone() *Problem {
	p.shape.handed.Store(true)
	return &Problem{
		sense: p.sense,
		cost:  slices.Clone(p.cost), lower: slices.Clone(p.lower), upper: slices.Clone(p.upper),
		rowLower: slices.Clone(p.rowLower), rowUpper: slices.Clone(p.rowUpper),
		start: slices.Clip(p.start), index: slices.Clip(p.index), value: slices.Clip(p.value),
		lastIn: slices.Clone(p.lastIn), shape: p.shape,
	}
}

func checkBounds(what string, k int, lower, upper float64) {
	if !(lower <= upper) || math.IsInf(lower, 1) || math.IsInf(upper, -1) {
		panic(fmt.Sprintf("linear: %s %d has bounds %g and %g", what, k, lower, upper))
	}
}

func checkFinite(what string, j int, v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		panic(fmt.Sprintf("linear: %s of column %d is %g", what, j, v))
	}
}
