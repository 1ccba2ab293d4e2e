package drydown

import "math"

// A belief is a normal distribution over a few unknowns.
type belief struct {
	mean []float64
	cov  [][]float64
}

// newBelief returns a belief of n independent unknowns with mean 0 and the given standard deviations.
func newBelief(sd ...float64) belief {
	b := belief{mean: make([]float64, len(sd)), cov: make([][]float64, len(sd))}
	for i := range sd {
		b.cov[i] = make([]float64, len(sd))
		b.cov[i][i] = sd[i] * sd[i]
	}
	return b
}

// grow adds an unknown with mean 0, independent of the others, and returns its index.
func (b *belief) grow(sd float64) int {
	n := len(b.mean)
	for i := range b.cov {
		b.cov[i] = append(b.cov[i], 0)
	}
	b.mean = append(b.mean, 0)
	b.cov = append(b.cov, make([]float64, n+1))
	b.cov[n][n] = sd * sd
	return n
}

// fade multiplies the deviations of unknown i by keep and adds variance.
func (b *belief) fade(i int, keep, variance float64) {
	b.mean[i] *= keep
	for j := range b.cov {
		b.cov[i][j] *= keep
		b.cov[j][i] *= keep
	}
	b.cov[i][i] += variance
}

// along returns the covariance of every unknown with the sum that h weighs them into.
func (b *belief) along(h []float64) []float64 {
	out := make([]float64, len(b.mean))
	for i, row := range b.cov {
		for j, w := range h {
			out[i] += float64(row[j] * w)
		}
	}
	return out
}

// variance returns that of the sum that h weighs the unknowns into.
func (b *belief) variance(h []float64) float64 { return dot(h, b.along(h)) }

func dot(x, y []float64) float64 {
	var sum float64
	for i := range x {
		sum += float64(x[i] * y[i])
	}
	return sum
}

// learn takes in one observation of the sum that h weighs the unknowns into: miss is what was seen less what was
// expected, noise its own variance. weight is how far it counts, see sure; an observation that may be a blunder
// moves the mean by its share and leaves the doubt in the covariance. It returns by how much each unknown
// moved.
//
// The mean and covariance are those of the mixture of both cases. [bar-shalom-pda]
func (b *belief) learn(h []float64, miss, noise, weight float64) []float64 {
	along := b.along(h)
	s := dot(h, along) + noise
	moved := make([]float64, len(b.mean))
	for i := range b.mean {
		gain := along[i] / s
		moved[i] = weight * gain * miss
		b.mean[i] += moved[i]
	}
	left := weight * (1 - weight) * miss * miss
	for i := range b.cov {
		for j := range b.cov[i] {
			gains := along[i] * along[j] / s
			b.cov[i][j] += float64(left*gains/s) - float64(weight*gains)
		}
	}
	return moved
}

// How a blunder is told from a reading: a share of readings are mistyped or belong to another field, and those
// may read anything over a range. [judgement]
const (
	blunderShare = 0.05
	blunderRange = 50.0 // points
)

// sure returns how far an observation counts, 0 to 1, that misses what was expected by miss when it should by a
// standard deviation of √variance. The odds that it is no blunder are squared: a normal belief cannot hold
// both stories, one of two far apart must win. [judgement]
func sure(miss, variance float64) float64 {
	good := (1 - blunderShare) * math.Exp(-0.5*miss*miss/variance) / math.Sqrt(2*math.Pi*variance)
	odds := good / (blunderShare / blunderRange)
	return float64(odds*odds) / (1 + float64(odds*odds))
}

// root returns the lower triangular factor L with L·Lᵀ = the leading n×n block of the covariance. An unknown
// without variance gets a row of zeros.
func (b *belief) root(n int) [][]float64 {
	l := make([][]float64, n)
	for i := range l {
		l[i] = make([]float64, n)
		for j := 0; j <= i; j++ {
			x := b.cov[i][j]
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
