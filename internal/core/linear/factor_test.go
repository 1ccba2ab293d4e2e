package linear

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// sparseColumns returns n random columns of m rows with about three entries each.
func sparseColumns(rng *rand.Rand, m, n int) matrix {
	start, index, value := []int{0}, []int32{}, []float64{}
	for range n {
		rows := map[int]bool{}
		for range 1 + rng.IntN(5) {
			rows[rng.IntN(m)] = true
		}
		for i := range m { // in order, so that equal seeds give equal matrices
			if rows[i] {
				index, value = append(index, int32(i)), append(value, rng.NormFloat64())
			}
		}
		start = append(start, len(index))
	}
	return packed(start, index, value)
}

// timesBasis returns B·v and Bᵀ·v, position by position of head.
func timesBasis(store *columnStore, head []int32, v []float64) (times, timesT []float64) {
	times, timesT = make([]float64, len(v)), make([]float64, len(v))
	for r, j := range head {
		index, value := store.at(j)
		for k, i := range index {
			times[i] += value[k] * v[r]
			timesT[r] += value[k] * v[i]
		}
	}
	return times, timesT
}

// TestSolvesWithBasis multiplies random vectors by a random sparse basis and takes the factors to get them
// back, fresh and after each of many exchanges of columns, for sparse and for full vectors.
func TestSolvesWithBasis(t *testing.T) {
	for seed := range uint64(30) {
		rng := rand.New(rand.NewPCG(seed, 7))
		m := 1 + rng.IntN(80)
		store := &columnStore{cols: sparseColumns(rng, m, 2*m), n: int32(2 * m)}
		head := make([]int32, m)
		for k := range head {
			head[k] = int32(k)
		}
		f := newFactor(m)
		head = f.factorise(store, head)
		for r, j := range head {
			if j < 0 {
				head[r] = store.n + int32(r)
			}
		}
		for range 25 {
			checkSolves(t, rng, f, store, head, seed)
			exchange(rng, f, store, head)
		}
	}
}

func checkSolves(t *testing.T, rng *rand.Rand, f *factor, store *columnStore, head []int32, seed uint64) {
	t.Helper()
	m := len(head)
	for _, filled := range []int{1, m} {
		v := make([]float64, m)
		for range filled {
			v[rng.IntN(m)] = rng.NormFloat64()
		}
		times, timesT := timesBasis(store, head, v)
		for _, c := range []struct {
			name  string
			from  []float64
			solve func(*vec)
		}{{"forward", times, f.forward}, {"backward", timesT, f.backward}} {
			w := newVec(m)
			for i, x := range c.from {
				if x != 0 {
					w.set(int32(i), x)
				}
			}
			c.solve(w)
			for i := range v {
				if math.Abs(w.val[i]-v[i]) > 1e-6 {
					t.Fatalf("seed %d, %s after %d updates: got %g at %d, want %g", seed, c.name, len(f.etaRow), w.val[i], i, v[i])
				}
			}
			w.list()
			if once := slices.Compact(slices.Sorted(slices.Values(w.idx))); len(once) != len(w.idx) {
				t.Fatalf("seed %d: %d positions are listed, %d differ", seed, len(w.idx), len(once))
			}
		}
	}
}

// exchange lets a random column take the position where its pivot is largest, unless it is basic or close to
// depending on the others.
func exchange(rng *rand.Rand, f *factor, store *columnStore, head []int32) {
	j := int32(rng.IntN(int(store.n)))
	if slices.Contains(head, j) {
		return
	}
	alpha := newVec(f.m)
	index, value := store.at(j)
	for k, i := range index {
		alpha.set(i, value[k])
	}
	f.forward(alpha)
	alpha.list()
	best := int32(0)
	for i := range alpha.val {
		if math.Abs(alpha.val[i]) > math.Abs(alpha.val[best]) {
			best = int32(i)
		}
	}
	if math.Abs(alpha.val[best]) > 0.1 {
		f.update(best, alpha)
		head[best] = j
	}
}

// TestNoCyclingUnderBland runs the last resort from the first stalled step on.
func TestNoCyclingUnderBland(t *testing.T) {
	for seed := range uint64(200) {
		p := assignment(rand.New(rand.NewPCG(seed, 3)))
		want := p.Solve(context.Background(), Options{})
		s := p.scale()
		e := newEngine(p, &s)
		e.stallLimit = -1
		e.install(nil)
		e.charge(false)
		e.exact = true
		if got := e.iterate(context.Background(), 100_000); got != reached {
			t.Fatalf("seed %d: outcome %d after %d pivots", seed, got, e.pivots)
		}
		got := e.report(p, &s, Optimal)
		if math.Abs(got.Objective-want.Objective) > 1e-7 || p.Violation(got.X) > 1e-7 {
			t.Fatalf("seed %d: got %g, want %g", seed, got.Objective, want.Objective)
		}
	}
}

// assignment returns a program in which almost every basis is degenerate.
func assignment(rng *rand.Rand) *Problem {
	n := 2 + rng.IntN(6)
	p := New(Minimise)
	for range 2 * n {
		p.AddRow(1, 1)
	}
	for i := range n {
		for k := range n {
			p.AddColumn(float64(rng.IntN(5)), 0, 3, Entry{i, 1}, Entry{n + k, 1})
		}
	}
	return p
}

// TestListedSolveEqualsFull takes the same triangular system down both paths.
func TestListedSolveEqualsFull(t *testing.T) {
	for seed := range uint64(50) {
		rng := rand.New(rand.NewPCG(seed, 11))
		m := 5 + rng.IntN(60)
		store := &columnStore{cols: sparseColumns(rng, m, m), n: int32(m)}
		head := make([]int32, m)
		for k := range head {
			head[k] = int32(k)
		}
		f := newFactor(m)
		f.factorise(store, head)
		for _, tri := range []*triangle{&f.lower, &f.upper, &f.lowerT, &f.upperT} {
			a, b := newVec(m), newVec(m)
			for range 3 {
				if i := int32(rng.IntN(m)); a.val[i] == 0 {
					x := rng.NormFloat64()
					a.set(i, x)
					b.set(i, x)
				}
			}
			tri.solveListed(a, f.walk)
			tri.solveAll(b)
			for i := range a.val {
				if math.Abs(a.val[i]-b.val[i]) > 1e-9*(1+math.Abs(b.val[i])) {
					t.Fatalf("seed %d: %g and %g at %d", seed, a.val[i], b.val[i], i)
				}
			}
		}
	}
}
