package weather

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The least squares of random observations are those that a library of linear algebra finds by orthogonal factors.
func TestLeastSquaresAreThoseOfALibrary(t *testing.T) {
	draw := rand.New(rand.NewPCG(7, 1))
	for range 50 {
		terms, rows := 1+draw.IntN(13), 40
		f := newFitter(terms)
		a, b := mat.NewDense(rows, terms, nil), mat.NewVecDense(rows, nil)
		for r := range rows {
			x := make([]float64, terms)
			for c := range x {
				x[c] = draw.NormFloat64()
			}
			y, weight := draw.NormFloat64(), 0.5+draw.Float64()
			f.add(x, y, weight)
			root := math.Sqrt(weight)
			for c := range x {
				a.Set(r, c, root*x[c])
			}
			b.SetVec(r, root*y)
		}
		var want mat.VecDense
		if err := want.SolveVec(a, b); err != nil {
			t.Fatal(err)
		}
		for i, got := range f.solve() {
			if math.Abs(got-want.AtVec(i)) > 1e-10*(1+math.Abs(got)) {
				t.Errorf("term %d of %d: %v, want %v", i, terms, got, want.AtVec(i))
			}
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("dependent terms are solved")
		}
	}()
	f := newFitter(2)
	f.add([]float64{1, 1}, 1, 1)
	f.solve()
}
