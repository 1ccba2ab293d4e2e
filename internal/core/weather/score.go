package weather

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// CRPS returns the continuous ranked probability score of equally likely members against what came true, in the unit of
// both: the mean distance of the members from it, less half their mean distance from each other. Zero is perfect; for one
// member it is the absolute error. Fair takes the members as drawn from a larger crowd, so that ensembles of different
// size compare; it needs two members. Panics without members. [hersbach-2000] [ferro-2014]
func CRPS(members []float64, truth float64, fair bool) float64 {
	n := len(members)
	if n == 0 || (fair && n == 1) {
		panic("weather: too few members to score")
	}
	sorted := slices.Clone(members)
	slices.Sort(sorted)
	away, among := 0.0, 0.0 // mean distance from the truth; sum over pairs, each once
	for i, x := range sorted {
		away += math.Abs(x-truth) / float64(n)
		among += float64(2*i-n+1) * x
	}
	pairs := float64(n * n)
	if fair {
		pairs = float64(n * (n - 1))
	}
	return away - among/pairs
}

// GaussianCRPS returns the score of a normal distribution. [gneiting-2005]
func GaussianCRPS(mean, sd, truth float64) float64 {
	w := (truth - mean) / sd
	return sd * (w*math.Erf(w/math.Sqrt2) + math.Sqrt(2/math.Pi)*math.Exp(-w*w/2) - 1/math.Sqrt(math.Pi))
}

// Rank returns how many members lie below what came true, 0 to their number; ties are broken evenly by u, a number
// between 0 and 1 drawn for the purpose.
func Rank(members []float64, truth, u float64) int {
	below, equal := 0, 0
	for _, x := range members {
		switch {
		case x < truth:
			below++
		case x == truth:
			equal++
		}
	}
	return below + int(u*float64(equal+1))
}

// RankTest returns the probability of a rank histogram as uneven as that of the ranks given, were every rank from 0 to
// members equally likely: chi-square over bins, for which members+1 must be divisible by bins. Close to 0: the members are
// too narrow, too wide or beside the truth.
func RankTest(ranks []int, members, bins int) float64 {
	if (members+1)%bins != 0 || len(ranks) == 0 {
		panic("weather: ranks do not fill the bins evenly")
	}
	counts := make([]float64, bins)
	for _, r := range ranks {
		counts[r*bins/(members+1)]++
	}
	expected, chi2 := float64(len(ranks))/float64(bins), 0.0
	for _, n := range counts {
		chi2 += (n - expected) * (n - expected) / expected
	}
	return mathext.GammaIncRegComp(float64(bins-1)/2, chi2/2)
}

// Covers reports whether what came true lies between the members' quantiles that leave (1−share)/2 out on either side.
func Covers(members []float64, truth, share float64) bool {
	sorted := slices.Clone(members)
	slices.Sort(sorted)
	tail := (1 - share) / 2
	return truth >= quantile(sorted, tail) && truth <= quantile(sorted, 1-tail)
}

// quantile returns the value below which a share p of a sorted sample of a distribution lies, without bias for the share:
// the k-th of n at p = k/(n+1). [hyndman-fan-1996] definition 6
func quantile(sorted []float64, p float64) float64 {
	x := p*float64(len(sorted)+1) - 1
	i := int(math.Floor(x))
	switch {
	case i < 0:
		return sorted[0]
	case i+1 >= len(sorted):
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (x-float64(i))*(sorted[i+1]-sorted[i])
}

// A Chance is a forecast probability and whether the event came.
type Chance struct {
	P    float64
	Came bool
}

// Brier returns the mean squared distance of probabilities from what came, 0 to 1, 0 perfect. [brier-1950]
func Brier(chances []Chance) float64 {
	sum := 0.0
	for _, c := range chances {
		off := c.P
		if c.Came {
			off--
		}
		sum += off * off
	}
	return sum / float64(len(chances))
}

// A ReliabilityRow is one bin of a reliability table.
type ReliabilityRow struct {
	From, To  float64 // probabilities in it
	N         int
	Forecast  float64 // their mean
	Frequency float64 // how often the event came
	Low, High float64 // where 9 in 10 frequencies lie if the forecasts are right
}

// Reliability returns the table of ten bins; empty bins are left out.
func Reliability(chances []Chance) []ReliabilityRow {
	var out []ReliabilityRow
	for bin := range 10 {
		row := ReliabilityRow{From: float64(bin) / 10, To: float64(bin+1) / 10}
		came := 0.0
		for _, c := range chances {
			if min(9, int(c.P*10)) == bin {
				row.N++
				row.Forecast += c.P
				if c.Came {
					came++
				}
			}
		}
		if row.N == 0 {
			continue
		}
		n := float64(row.N)
		row.Forecast, row.Frequency = row.Forecast/n, came/n
		row.Low, row.High = binomialBand(row.N, row.Forecast)
		out = append(out, row)
	}
	return out
}

// binomialBand returns the frequencies below and above which one case in twenty lies.
func binomialBand(n int, p float64) (low, high float64) {
	const tail = 0.05
	low, high = 0, 1
	atMost := func(k int) float64 { // probability of k or fewer
		if k >= n {
			return 1
		}
		return mathext.RegIncBeta(float64(n-k), float64(k+1), 1-p)
	}
	for k := 0; k <= n; k++ {
		if k < n && atMost(k) <= tail {
			low = float64(k+1) / float64(n)
		}
		if atMost(k) >= 1-tail {
			return low, float64(k) / float64(n)
		}
	}
	return low, high
}
