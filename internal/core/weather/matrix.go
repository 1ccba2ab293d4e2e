package weather

import "math"

// A Matrix is square over the daily quantities, row by row.
type Matrix [quantities][quantities]float64

func (m Matrix) times(x [quantities]float64) (out [quantities]float64) {
	for i := range m {
		for k := range x {
			out[i] += float64(m[i][k] * x[k])
		}
	}
	return out
}

func (m Matrix) mul(n Matrix) (out Matrix) {
	for i := range m {
		for j := range n[0] {
			for k := range n {
				out[i][j] += float64(m[i][k] * n[k][j])
			}
		}
	}
	return out
}

func (m Matrix) transposed() (out Matrix) {
	for i := range m {
		for j := range m[i] {
			out[j][i] = m[i][j]
		}
	}
	return out
}

func (m Matrix) minus(n Matrix) Matrix {
	for i := range m {
		for j := range m[i] {
			m[i][j] -= n[i][j]
		}
	}
	return m
}

// leastPivot is how far from singular a covariance must stay: a variance left to chance of one part in 10,000.
const leastPivot = 1e-4

// cholesky returns the lower triangular L with L·Lᵀ = m; ok is false where m is not positive definite by leastPivot.
func (m Matrix) cholesky() (lower Matrix, ok bool) {
	for i := range m {
		for j := range i + 1 {
			sum := m[i][j]
			for k := range j {
				sum -= float64(lower[i][k] * lower[j][k])
			}
			if i != j {
				lower[i][j] = sum / lower[j][j]
				continue
			}
			if !(sum >= leastPivot) {
				return Matrix{}, false
			}
			lower[i][i] = math.Sqrt(sum)
		}
	}
	return lower, true
}

// solve returns x with L·Lᵀ·x = b for the lower triangle L.
func (lower Matrix) solve(b [quantities]float64) [quantities]float64 {
	for i := range b {
		for k := range i {
			b[i] -= float64(lower[i][k] * b[k])
		}
		b[i] /= lower[i][i]
	}
	for i := quantities - 1; i >= 0; i-- {
		for k := i + 1; k < quantities; k++ {
			b[i] -= float64(lower[k][i] * b[k])
		}
		b[i] /= lower[i][i]
	}
	return b
}

// shrinkBy is by how much correlations are drawn in at a time until a covariance is one. [judgement]
const shrinkBy = 0.98

// mostShrinking leaves nothing of a correlation.
const mostShrinking = 1000

// drawnIn returns the matrix, off its diagonal drawn in until it is positive definite, with its Cholesky factor. Panics where
// that cannot be: a diagonal of variances is positive.
func (m Matrix) drawnIn() (definite, lower Matrix) {
	for range mostShrinking {
		if lower, ok := m.cholesky(); ok {
			return m, lower
		}
		for i := range m {
			for j := range m[i] {
				if i != j {
					m[i][j] *= shrinkBy
				}
			}
		}
	}
	panic("weather: variances are not above zero")
}

// StepOf returns the recursion with correlations m0 within a day and m1 with the day before (row: today, column:
// yesterday): A = M1·M0⁻¹, B·Bᵀ = M0 − A·M1ᵀ [richardson-1981] eq. 5, 6. Estimates from a short record may not belong
// together; m0, then m1 are then drawn in until they do.
func StepOf(m0, m1 Matrix) Step {
	m0, lower := m0.drawnIn()
	for range mostShrinking {
		var a Matrix
		for i := range m1 {
			a[i] = lower.solve(m1[i]) // a row of M1·M0⁻¹, since M0 is symmetric
		}
		if b, ok := m0.minus(a.mul(m1.transposed())).cholesky(); ok {
			return Step{A: a, B: b}
		}
		for i := range m1 {
			for j := range m1[i] {
				m1[i][j] *= shrinkBy
			}
		}
	}
	panic("weather: correlations are not numbers")
}

// Covariance returns the M0 that the recursion settles at.
func (s Step) Covariance() Matrix {
	noise := s.B.mul(s.B.transposed())
	m := noise
	for range settleSteps {
		next := s.A.mul(m).mul(s.A.transposed())
		for i := range next {
			for j := range next[i] {
				next[i][j] += noise[i][j]
			}
		}
		m = next
	}
	return m
}

// settleSteps days forget a start: anomalies last a few days.
const settleSteps = 60
