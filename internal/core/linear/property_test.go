package linear_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"gonum.org/v1/gonum/mat"
	gonumlp "gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"

	"threshday/internal/core/linear"
)

var inf = math.Inf(1)

// drawBounds draws bounds of every kind: none, one, both, equal.
func drawBounds(t *rapid.T) (lo, up float64) {
	a, b := float64(rapid.IntRange(-6, 6).Draw(t, "a")), float64(rapid.IntRange(-6, 6).Draw(t, "b"))
	lo, up = min(a, b), max(a, b)
	switch rapid.IntRange(0, 5).Draw(t, "kind") {
	case 0:
		lo = -inf
	case 1:
		up = inf
	case 2:
		lo, up = -inf, inf
	case 3:
		up = lo
	}
	return lo, up
}

// drawProgram draws a small program of integers with many ties.
func drawProgram(t *rapid.T) *linear.Problem {
	p := linear.New(rapid.SampledFrom([]linear.Sense{linear.Minimise, linear.Maximise}).Draw(t, "sense"))
	for range rapid.IntRange(0, 10).Draw(t, "rows") {
		p.AddRow(drawBounds(t))
	}
	for range rapid.IntRange(1, 12).Draw(t, "columns") {
		lo, up := drawBounds(t)
		p.AddColumn(float64(rapid.IntRange(-4, 4).Draw(t, "cost")), lo, up, drawEntries(t, p.Rows())...)
	}
	return p
}

func drawEntries(t *rapid.T, rows int) []linear.Entry {
	var entries []linear.Entry
	for i := range rows {
		if c := rapid.IntRange(-3, 5).Draw(t, "coef"); c > 0 {
			entries = append(entries, linear.Entry{Row: i, Coef: float64(2*c - 5)})
		}
	}
	return entries
}

// near compares to 1e-7 of the size.
func near(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-7*(1+math.Abs(a)+math.Abs(b))
}

// TestOptimumIsProven checks feasibility, and that the duals alone prove the objective.
func TestOptimumIsProven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProgram(t)
		s := p.Solve(context.Background(), linear.Options{})
		switch s.Status {
		case linear.Optimal:
			if v := p.Violation(s.X); v > 1e-8 {
				t.Fatalf("violation %g", v)
			}
			if !near(s.Objective, s.Bound) {
				t.Fatalf("objective %g, proven %g", s.Objective, s.Bound)
			}
		case linear.Infeasible, linear.Unbounded:
		default:
			t.Fatalf("status %v", s.Status)
		}
	})
}

// dual writes the dual of a program in the sense of minimising over y free, z for the bounds:
// each finite row or column bound becomes a column of its own.
func dual(p *linear.Problem, sense float64) *linear.Problem {
	d := linear.New(linear.Maximise)
	for j := range p.Columns() {
		cost, _, _ := p.Column(j)
		d.AddRow(sense*cost, sense*cost)
	}
	byRow := make([][]linear.Entry, p.Rows())
	for j := range p.Columns() {
		p.EachEntry(j, func(i int, coef float64) {
			byRow[i] = append(byRow[i], linear.Entry{Row: j, Coef: coef})
		})
		_, lo, up := p.Column(j)
		addSides(d, lo, up, []linear.Entry{{Row: j, Coef: 1}})
	}
	for i := range p.Rows() {
		lo, up := p.Row(i)
		addSides(d, lo, up, byRow[i])
	}
	return d
}

// addSides adds a multiplier of at least zero for a lower bound and one of at most zero for an upper.
func addSides(d *linear.Problem, lo, up float64, entries []linear.Entry) {
	if !math.IsInf(lo, 0) {
		d.AddColumn(lo, 0, inf, entries...)
	}
	if !math.IsInf(up, 0) {
		d.AddColumn(up, -inf, 0, entries...)
	}
}

// TestDualAgrees solves each program and its dual, written out as a program of its own: both optimal with one
// value, or one unbounded and the other infeasible, or both infeasible. [chvatal-1983]
func TestDualAgrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProgram(t)
		s := p.Solve(context.Background(), linear.Options{})
		sense := 1.0
		if maximises(p) {
			sense = -1
		}
		d := dual(p, sense).Solve(context.Background(), linear.Options{})
		switch {
		case s.Status == linear.Optimal && d.Status == linear.Optimal:
			if !near(sense*s.Objective, d.Objective) {
				t.Fatalf("primal %g, dual %g", sense*s.Objective, d.Objective)
			}
		case s.Status == linear.Unbounded && d.Status == linear.Infeasible:
		case s.Status == linear.Infeasible && (d.Status == linear.Unbounded || d.Status == linear.Infeasible):
		default:
			t.Fatalf("primal %v, dual %v", s.Status, d.Status)
		}
	})
}

// maximises finds the sense from outside: a column of its own with cost one and bounds 0 and 1.
func maximises(p *linear.Problem) bool {
	q := p.Clone()
	for i := range q.Rows() {
		q.SetRow(i, -inf, inf)
	}
	for j := range q.Columns() {
		q.SetColumn(j, 0, 0)
	}
	q.AddColumn(1, 0, 1)
	return q.Solve(context.Background(), linear.Options{}).Objective == 1
}

// TestWarmStart changes bounds and costs and solves again from the old basis: the answer is that of a fresh start.
func TestWarmStart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProgram(t)
		s := p.Solve(context.Background(), linear.Options{})
		j := rapid.IntRange(0, p.Columns()-1).Draw(t, "column")
		p.SetColumn(j, 1, 2)
		p.SetCost(rapid.IntRange(0, p.Columns()-1).Draw(t, "dearer"), 3)
		if p.Rows() > 0 {
			p.SetRow(rapid.IntRange(0, p.Rows()-1).Draw(t, "row"), -2, 8)
		}
		warm := p.Solve(context.Background(), linear.Options{Start: &s.Basis})
		cold := p.Solve(context.Background(), linear.Options{})
		if warm.Status != cold.Status || warm.Status == linear.Optimal && !near(warm.Objective, cold.Objective) {
			t.Fatalf("warm %v %g, cold %v %g", warm.Status, warm.Objective, cold.Status, cold.Objective)
		}
	})
}

// TestRepairsBasis starts from standings that are no basis at all.
func TestRepairsBasis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProgram(t)
		standing := rapid.SampledFrom([]linear.Standing{linear.AtLower, linear.AtUpper, linear.AtZero, linear.Basic})
		b := linear.Basis{
			Columns: rapid.SliceOfN(standing, p.Columns(), p.Columns()).Draw(t, "columns"),
			Rows:    rapid.SliceOfN(standing, p.Rows(), p.Rows()).Draw(t, "rows"),
		}
		from := p.Solve(context.Background(), linear.Options{Start: &b})
		cold := p.Solve(context.Background(), linear.Options{})
		if from.Status != cold.Status || from.Status == linear.Optimal && !near(from.Objective, cold.Objective) {
			t.Fatalf("from there %v %g, cold %v %g", from.Status, from.Objective, cold.Status, cold.Objective)
		}
	})
}

// drawPacking draws a program of the planner's kind: everything takes room, and there is room for some of it.
func drawPacking(t *rapid.T) *linear.Problem {
	p := linear.New(linear.Maximise)
	real := func(lo, up float64) float64 { return rapid.Float64Range(lo, up).Draw(t, "x") }
	for range rapid.IntRange(1, 8).Draw(t, "rows") {
		p.AddRow(-inf, real(1, 50))
	}
	for range rapid.IntRange(1, 12).Draw(t, "columns") {
		var entries []linear.Entry
		for i := range p.Rows() {
			if rapid.Bool().Draw(t, "takes") {
				entries = append(entries, linear.Entry{Row: i, Coef: real(0.1, 4)})
			}
		}
		p.AddColumn(real(-2, 20), 0, real(1, 30), entries...)
	}
	return p
}

// TestShadowPrice compares each row's dual with the change of the optimum when the row's room changes: the
// optimum is concave in the room, so the dual lies between the difference forward and the one backward.
func TestShadowPrice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPacking(t)
		s := p.Solve(context.Background(), linear.Options{})
		for i := range p.Rows() {
			const step = 1e-3
			_, room := p.Row(i)
			at := func(r float64) float64 {
				q := p.Clone()
				q.SetRow(i, -inf, r)
				return q.Solve(context.Background(), linear.Options{Start: &s.Basis}).Objective
			}
			more, less := (at(room+step)-s.Objective)/step, (s.Objective-at(room-step))/step
			if s.RowDual[i] < more-1e-5 || s.RowDual[i] > less+1e-5 {
				t.Fatalf("row %d: dual %g outside %g to %g", i, s.RowDual[i], more, less)
			}
		}
	})
}

// TestAgreesWithGonum compares with the dense simplex method of gonum on the equality form. Its programs do not
// tie: gonum's method has no guard against cycling.
func TestAgreesWithGonum(t *testing.T) {
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 1))
		m, n := 2+rng.IntN(12), 2+rng.IntN(15)
		p := linear.New(linear.Maximise)
		a := mat.NewDense(m+n, 2*n+m, nil) // columns, slacks of rows, slacks of the columns' upper bounds
		b, c := make([]float64, m+n), make([]float64, 2*n+m)
		start := make([]int, m+n)
		for i := range m {
			b[i] = 5 + 20*rng.Float64()
			p.AddRow(-inf, b[i])
			a.Set(i, n+i, 1)
			start[i] = n + i
		}
		for j := range n {
			b[m+j], c[j] = 1+5*rng.Float64(), -10*rng.Float64()
			var entries []linear.Entry
			for i := range m {
				coef := rng.Float64()
				a.Set(i, j, coef)
				entries = append(entries, linear.Entry{Row: i, Coef: coef})
			}
			p.AddColumn(-c[j], 0, b[m+j], entries...)
			a.Set(m+j, j, 1)
			a.Set(m+j, n+m+j, 1)
			start[m+j] = n + m + j
		}
		want, _, err := gonumlp.Simplex(c, a, b, 0, start)
		if err != nil {
			t.Fatalf("seed %d: gonum: %v", seed, err)
		}
		if got := p.Solve(context.Background(), linear.Options{}).Objective; !near(got, -want) {
			t.Errorf("seed %d: got %.12g, gonum %.12g", seed, got, -want)
		}
	}
}

// TestSameBits solves twice and compares everything exactly.
func TestSameBits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProgram(t)
		a := p.Solve(context.Background(), linear.Options{})
		b := p.Solve(context.Background(), linear.Options{})
		if diff := cmp.Diff(a, b, cmpopts.IgnoreUnexported(linear.Basis{})); diff != "" {
			t.Fatal(diff)
		}
	})
}

// TestStops checks the pivot limit and the context.
func TestStops(t *testing.T) {
	p := linear.New(linear.Maximise)
	for range 20 {
		p.AddRow(0, 10)
	}
	for j := range 40 {
		p.AddColumn(float64(1+j%7), 0, inf, linear.Entry{Row: j % 20, Coef: 1}, linear.Entry{Row: (j + 3) % 20, Coef: 2})
	}
	full := p.Solve(context.Background(), linear.Options{})
	cut := p.Solve(context.Background(), linear.Options{MaxPivots: 3})
	if cut.Status != linear.Stopped || cut.Pivots != 3 || cut.Bound < full.Objective-1e-9 {
		t.Errorf("got %v after %d pivots, bound %g for %g", cut.Status, cut.Pivots, cut.Bound, full.Objective)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if s := p.Solve(ctx, linear.Options{}); s.Status != linear.Stopped || s.Pivots != 0 {
		t.Errorf("got %v after %d pivots", s.Status, s.Pivots)
	}
	on := p.Solve(context.Background(), linear.Options{Start: &cut.Basis})
	if on.Status != linear.Optimal || !near(on.Objective, full.Objective) {
		t.Errorf("taken up again: %v %g, want %g", on.Status, on.Objective, full.Objective)
	}
}

// TestPanics lists what only a programming mistake can bring.
func TestPanics(t *testing.T) {
	for name, do := range map[string]func(){
		"no sense":           func() { linear.New(0) },
		"bounds cross":       func() { linear.New(linear.Maximise).AddRow(2, 1) },
		"a bound is NaN":     func() { linear.New(linear.Maximise).AddRow(math.NaN(), 1) },
		"no such row":        func() { linear.New(linear.Maximise).AddColumn(1, 0, 1, linear.Entry{Row: 0, Coef: 1}) },
		"infinite cost":      func() { linear.New(linear.Maximise).AddColumn(inf, 0, 1) },
		"one lower bound":    func() { linear.New(linear.Maximise).AddColumn(1, inf, inf) },
		"not a dual per row": func() { linear.New(linear.Maximise).DualBound([]float64{1}) },
		"a row named twice": func() {
			p := linear.New(linear.Maximise)
			p.AddRow(0, 1)
			p.AddColumn(1, 0, 1, linear.Entry{Row: 0, Coef: 1}, linear.Entry{Row: 0, Coef: 1})
		},
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("does not panic")
				}
			}()
			do()
		})
	}
}
