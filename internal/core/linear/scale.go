package linear

import (
	"math"
	"slices"
	"sync"
	"sync/atomic"
)

// A scaling holds powers of two, so that scaling loses nothing: row i is multiplied by row[i], column j by
// col[j], the objective by cost. The unit column of row i is multiplied by 1/row[i] to stay a unit column.
type scaling struct {
	row, col []float64
	cost     float64
}

// A shape is what a solve needs of the coefficients: their scaling, and the columns and rows as scaled. It is
// worked out by the first solve and serves all problems that share the coefficients.
type shape struct {
	once       sync.Once
	handed     atomic.Bool // a solve or a clone may hold it
	scaling    scaling     // without cost
	cols, rows matrix
}

// reshape takes a shape of its own for coefficients that change.
func (p *Problem) reshape() {
	if p.shape.handed.Load() {
		p.shape = &shape{}
	}
}

// shaped returns the shape of the coefficients.
func (p *Problem) shaped() *shape {
	s := p.shape
	s.handed.Store(true)
	s.once.Do(func() {
		s.scaling = p.scaleMatrix()
		s.cols = s.scaling.apply(p)
		s.rows = s.cols.transpose(p.Rows())
	})
	return s
}

// scale returns the scaling of a problem: that of its coefficients, and one that brings the largest cost near one.
func (p *Problem) scale() scaling {
	s := p.shaped().scaling
	largest := 0.0
	for j, c := range p.cost {
		largest = max(largest, abs(c)*s.col[j])
	}
	if largest > 0 {
		s.cost = math.Ldexp(1, 1-exponent(largest))
	}
	return s
}

// scaleMatrix chooses factors that bring coefficients near one: geometric means of the largest and smallest by row,
// then by column, a few times over. [koberstein-2005]
func (p *Problem) scaleMatrix() scaling {
	s := scaling{row: ones(p.Rows()), col: ones(p.Columns()), cost: 1}
	for range scalePasses {
		small, large := extremes(p.Rows()), make([]float64, p.Rows())
		for j := range p.cost {
			for k := p.start[j]; k < p.start[j+1]; k++ {
				a, i := abs(p.value[k])*s.col[j], p.index[k]
				small[i], large[i] = min(small[i], a), max(large[i], a)
			}
		}
		for i := range s.row {
			if large[i] > 0 {
				s.row[i] = 1 / math.Sqrt(small[i]*large[i])
			}
		}
		for j := range p.cost {
			lo, hi := math.Inf(1), 0.0
			for k := p.start[j]; k < p.start[j+1]; k++ {
				a := abs(p.value[k]) * s.row[p.index[k]]
				lo, hi = min(lo, a), max(hi, a)
			}
			if hi > 0 {
				s.col[j] = 1 / math.Sqrt(lo*hi)
			}
		}
	}
	toPowers(s.row)
	toPowers(s.col)
	return s
}

// apply returns the columns as scaled.
func (s *scaling) apply(p *Problem) matrix {
	value := make([]float64, len(p.value))
	for j := range p.cost {
		for k := p.start[j]; k < p.start[j+1]; k++ {
			value[k] = p.value[k] * s.row[p.index[k]] * s.col[j]
		}
	}
	return packed(p.start, slices.Clip(p.index), value)
}

func toPowers(f []float64) {
	for k := range f {
		f[k] = math.Ldexp(1, int(math.Round(math.Log2(f[k]))))
	}
}

// exponent returns e with x in [2^(e-1), 2^e).
func exponent(x float64) int {
	_, e := math.Frexp(x)
	return e
}

func ones(n int) []float64 {
	f := make([]float64, n)
	for k := range f {
		f[k] = 1
	}
	return f
}

func extremes(n int) []float64 {
	f := make([]float64, n)
	for k := range f {
		f[k] = math.Inf(1)
	}
	return f
}
