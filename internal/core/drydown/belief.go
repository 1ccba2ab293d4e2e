package drydown

import "math"

// A belief is a normal distribution over a few unknowns.
type belief struct {
	mean []float64
	cov  [][]float64
}

// newBelief returns a belief of n unknowns, known to be 0.
func newBelief(n int) belief {
	b := belief{mean: make([]float64, n), cov: make([][]float64, n)}
	all := make([]float64, n*n)
	for i := range b.cov {
		b.cov[i] = all[i*n : (i+1)*n : (i+1)*n]
	}
	return b
}

// clone returns a copy that shares nothing.
func (b *belief) clone() belief {
	out := newBelief(len(b.mean))
	copy(out.mean, b.mean)
	for i := range b.cov {
		copy(out.cov[i], b.cov[i])
	}
	return out
}

// relate sets the covariance of unknowns i and j.
func (b *belief) relate(i, j int, cov float64) { b.cov[i][j], b.cov[j][i] = cov, cov }

// fade multiplies the deviations of unknown i by keep and adds variance.
func (b *belief) fade(i int, keep, variance float64) {
	b.mean[i] *= keep
	for j := range b.cov {
		b.cov[i][j] *= keep
		b.cov[j][i] *= keep
	}
	b.cov[i][i] += variance
}

// A sight is how much one observation depends on each unknown it depends on at all.
type sight []weight

type weight struct {
	at int
	by float64
}

// along returns the covariance of every unknown with the sum that h weighs them into.
func (b *belief) along(h sight) []float64 {
	out := make([]float64, len(b.mean))
	for _, w := range h {
		for i, c := range b.cov[w.at] { // rows are columns: the covariance is symmetric
			out[i] += float64(c * w.by)
		}
	}
	return out
}

// variance returns that of the sum that h weighs the unknowns into.
func (b *belief) variance(h sight) float64 { return h.dot(b.along(h)) }

func (h sight) dot(x []float64) float64 {
	var sum float64
	for _, w := range h {
		sum += float64(x[w.at] * w.by)
	}
	return sum
}

func dot(x, y []float64) float64 {
	var sum float64
	for i := range x {
		sum += float64(x[i] * y[i])
	}
	return sum
}

// learn takes in one observation of the sum that h weighs the unknowns into: miss is what was seen less what was
// expected, noise its own variance.
func (b *belief) learn(h sight, miss, noise float64) {
	along := b.along(h)
	s := h.dot(along) + noise
	b.shift(along, miss/s, 1/s)
}

// cut takes in that a yes or no was seen whose chance is a normal distribution's below margin, margin being in standard
// deviations √spread of the sum that h weighs the unknowns into together with what else is unsure of it; up is +1 where yes
// speaks for more of the sum, −1 for less. The normal of the same mean and spread takes the place of what is left [ep-probit].
func (b *belief) cut(h sight, margin, spread, up float64) {
	pull := math.Exp(-margin*margin/2) / math.Sqrt(2*math.Pi) / max(normalAbove(-margin, 0, 1), 1e-12)
	b.shift(b.along(h), up*pull/math.Sqrt(spread), pull*(margin+pull)/spread)
}

// shift moves the mean by the covariances along times by, and takes their product times taken from the covariance.
func (b *belief) shift(along []float64, by, taken float64) {
	for i, a := range along {
		if a == 0 {
			continue
		}
		b.mean[i] += float64(a * by)
		row := b.cov[i]
		for j, c := range along {
			row[j] -= float64(a * c * taken)
		}
	}
}

// How a blunder is told from a reading: a share of readings are mistyped or belong to another field, and those
// may read anything over a range. [judgement]
const (
	blunderShare = 0.05
	blunderRange = 50.0 // points
)

// bell returns the density of a normal distribution of a variance at a mean square off its middle.
func bell(square, variance float64) float64 {
	return math.Exp(-0.5*square/variance) / math.Sqrt(2*math.Pi*variance)
}

// sure returns how likely an observation is no blunder that misses what is believed by a mean square of square and should by
// its noise.
func sure(square, noise float64) float64 {
	odds := (1 - blunderShare) * bell(square, noise) / (blunderShare / blunderRange)
	return odds / (1 + odds)
}

// root returns the lower triangular factor L with L·Lᵀ = the covariance of the n unknowns from first on. An unknown
// without variance gets a row of zeros.
func (b *belief) root(first, n int) [][]float64 {
	l := make([][]float64, n)
	for i := range l {
		l[i] = make([]float64, n)
		for j := 0; j <= i; j++ {
			x := b.cov[first+i][first+j]
			for k := range j {
				x -= float64(l[i][k] * l[j][k])
			}
			switch {
			case i == j:
				l[i][i] = math.Sqrt(max(0, x))
			case l[j][j] > 1e-12:
				l[i][j] = x / l[j][j]
			}
		}
	}
	return l
}
