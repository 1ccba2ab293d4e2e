package worth

import (
	"math"
)

// A Knowing says what it would be worth today to know more of one field's moisture: how the dollars of each choice go with it.
//
// Members are hypothetical truths: each has a moisture now and what every choice earns in it, all choices in the same weather.
// What a choice d earns above the best one without further knowledge is taken for a straight line in the moisture, a + b z with
// z in standard deviations of what is believed. A look that would take away part r of the variance will move the expected z
// to one drawn from N(0, r). Whoever looks then takes what is best there, so the look is worth
//
//	E[ max(0, max over d of (a + b √r Z)) ],  Z ~ N(0, 1),
//
// the unit normal loss integral where there are two choices [raiffa-schlaifer-1961]. It is never negative and grows with r.
// Slopes are found from few members and much weather; noise in them would make every look seem worth something. Each is drawn
// to 0 by b (1 − (s/b)²), s its standard error, and is 0 where it is less than that; [Knowing.AtMost] leaves them as they are.
// [judgement]
type Knowing struct {
	whole   lines
	parts   [blocks]lines // each without one block of the members
	bluntly lines         // slopes as found
}

// blocks is how many parts of the members are left out in turn for the standard error.
const blocks = 10

// A line is what a choice earns above the best without knowledge, dollars: at the mean moisture, and more per standard deviation.
type line struct{ at, slope float64 }

type lines []line

// NewKnowing takes the moisture of every member now and, per choice, what it earns in each, dollars. Any zero will do that is
// the same for all choices of a member.
func NewKnowing(moisture []float64, usd [][]float64) *Knowing {
	k := &Knowing{whole: linesOf(moisture, usd, -1, drawnIn), bluntly: linesOf(moisture, usd, -1, func(slope, _ float64) float64 { return slope })}
	for i := range k.parts {
		k.parts[i] = linesOf(moisture, usd, i, drawnIn)
	}
	return k
}

// Worth returns what a look is worth that takes away part tells of the variance of the field's moisture, and the standard error
// by leaving out parts of the members in turn, dollars.
func (k *Knowing) Worth(tells float64) (usd, se float64) {
	usd = k.whole.worth(tells)
	var mean, squares float64
	for _, p := range k.parts {
		x := p.worth(tells)
		mean += x / blocks
		squares += x * x / blocks
	}
	return usd, math.Sqrt(max(0, squares-mean*mean) * (blocks - 1))
}

// AtMost returns what a look would be worth if the members' weather had no part in how the choices go with moisture: too much
// by that, and so a bound.
func (k *Knowing) AtMost(tells float64) float64 { return k.bluntly.worth(tells) }

// linesOf fits the lines over all members but those of block out, which is every tenth from there; −1: none. Slopes go through
// believe with their variance.
func linesOf(moisture []float64, usd [][]float64, out int, believe func(slope, variance float64) float64) lines {
	var members []int
	for m := range moisture {
		if m%blocks != out {
			members = append(members, m)
		}
	}
	n := float64(len(members))
	var mean, squares float64
	for _, m := range members {
		mean += moisture[m] / n
		squares += moisture[m] * moisture[m] / n
	}
	sd := math.Sqrt(max(0, squares-mean*mean))
	best, most := 0, math.Inf(-1)
	for d := range usd {
		var sum float64
		for _, m := range members {
			sum += usd[d][m]
		}
		if sum > most {
			best, most = d, sum
		}
	}
	fit := make(lines, len(usd))
	if n < 3 || sd == 0 {
		return fit
	}
	for d := range usd {
		var at, along float64
		for _, m := range members {
			more := usd[d][m] - usd[best][m]
			at += more / n
			along += more * (moisture[m] - mean) / sd / n
		}
		var rest float64
		for _, m := range members {
			off := usd[d][m] - usd[best][m] - at - along*(moisture[m]-mean)/sd
			rest += off * off
		}
		fit[d] = line{at, believe(along, rest/(n-2)/n)}
	}
	return fit
}

// drawnIn returns a slope drawn to 0 by how unsure it is, a variance.
func drawnIn(slope, variance float64) float64 {
	if slope == 0 {
		return 0
	}
	return slope * max(0, 1-variance/(slope*slope))
}

// worthSteps is how many equally likely values stand for the normal number of a look; with 400 two choices that are level come
// out right to a thousandth.
const worthSteps = 400

func (l lines) worth(tells float64) float64 {
	reach := math.Sqrt(max(0, min(1, tells)))
	var sum float64
	for i := range worthSteps {
		z := math.Sqrt2 * math.Erfinv((2*float64(i)+1)/worthSteps-1)
		best := 0.0
		for _, c := range l {
			best = max(best, c.at+float64(c.slope*reach*z))
		}
		sum += best
	}
	return sum / worthSteps
}
