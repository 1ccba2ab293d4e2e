package weather

import (
	"math"

	"threshday/internal/core/calendar"
)

// fewestWetDays of a month speak for themselves; with fewer, its neighbours are counted in. [judgement]
const fewestWetDays = 20

// fitRain fits chain and amounts month by month.
func (c *Climate) fitRain(days []fitDay) {
	var counts [12]rainCount
	for i, d := range days {
		counts[d.on.Month-1].amount(d)
		if d.follows {
			counts[d.on.Month-1].follow(days[i-1].wet, d)
		}
	}
	for m := range c.Rain {
		n := counts[m]
		for reach := 1; n.wetDays < fewestWetDays && reach < 6; reach++ {
			n = n.plus(counts[(m+reach)%12]).plus(counts[(m+12-reach)%12])
		}
		c.Rain[m] = n.month()
	}
}

// A rainCount gathers the weighted days of one month.
type rainCount struct {
	wetDays           int
	after, wetAfter   [2]float64 // by the status of the day before
	wet, sum, logsSum float64    // of wet days: weight, mm, ln mm
}

func (n *rainCount) amount(d fitDay) {
	if d.wet {
		n.wetDays++
		n.wet += d.weight
		n.sum += d.weight * d.rain
		n.logsSum += d.weight * math.Log(d.rain)
	}
}

func (n *rainCount) follow(before bool, d fitDay) {
	n.after[statusOf(before)] += d.weight
	if d.wet {
		n.wetAfter[statusOf(before)] += d.weight
	}
}

func (n rainCount) plus(o rainCount) rainCount {
	for s := range n.after {
		n.after[s] += o.after[s]
		n.wetAfter[s] += o.wetAfter[s]
	}
	return rainCount{n.wetDays + o.wetDays, n.after, n.wetAfter, n.wet + o.wet, n.sum + o.sum, n.logsSum + o.logsSum}
}

func (n rainCount) month() RainMonth {
	mean := n.sum / n.wet
	return RainMonth{
		P01: n.wetAfter[0] / n.after[0], P11: n.wetAfter[1] / n.after[1],
		Mean: mean, Shape: shapeBeyond(mean, n.logsSum/n.wet),
	}
}

// ThomShape returns the shape of a gamma distribution with that mean and mean logarithm. [thom-1958]
func ThomShape(mean, meanLog float64) float64 {
	a := math.Log(mean) - meanLog
	return (1 + math.Sqrt(1+4*a/3)) / (4 * a)
}

// shapeBeyond returns the shape of the gamma number that, added to the least rain of a wet day, has the mean and the mean
// logarithm given: amounts drawn so have the Thom shape of those recorded, which a gamma fitted to them as they are, cut
// at the threshold, has not.
func shapeBeyond(mean, meanLog float64) float64 {
	lo, hi := 0.05, 5.0
	for range 40 {
		mid := math.Sqrt(lo * hi)
		if meanLogBeyond(mid, mean) < meanLog { // spread too wide
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Sqrt(lo * hi)
}

// meanLogBeyond returns the mean of ln(WetDayMM + G), G gamma of the shape given, where the mean of the sum is mean. The
// integral is over y = x^shape, which has no pole at zero, by Simpson's rule.
func meanLogBeyond(shape, mean float64) float64 {
	const steps = 256
	scale := (mean - WetDayMM) / shape
	end := math.Pow(40, shape)
	if shape > 1 {
		end = math.Pow(shape+12*math.Sqrt(shape), shape)
	}
	sum := 0.0
	for i := range steps + 1 {
		y := end * math.Pow(float64(i)/steps, 3) // closer together near zero, where the logarithm bends
		x := math.Pow(y, 1/shape)
		f := math.Log(WetDayMM+scale*x) * math.Exp(-x) * 3 * end * math.Pow(float64(i)/steps, 2) / steps
		w := 2.0
		switch {
		case i == 0 || i == steps:
			w = 1
		case i%2 == 1:
			w = 4
		}
		sum += w / 3 * f
	}
	return sum / (shape * math.Gamma(shape))
}

// A rainYear is the rain of a climate at any day of the year: the months' figures on straight lines between the middles of
// months, set so that each month's mean is the month's figure.
type rainYear struct{ p01, p11, mean, shape [12]float64 }

func (c *Climate) rainYear() rainYear {
	var y rainYear
	for m, r := range c.Rain {
		y.p01[m], y.p11[m], y.mean[m], y.shape[m] = r.P01, r.P11, r.Mean, r.Shape
	}
	return rainYear{meanKeeping(y.p01), meanKeeping(y.p11), meanKeeping(y.mean), y.shape}
}

// meanKeeping returns the values at the middles of months from which straight lines have each month's mean.
func meanKeeping(months [12]float64) [12]float64 {
	knots := months
	// The mean of a month is an eighth of each neighbour and six of its own; solved by repetition, which converges threefold.
	for range 40 {
		for m := range knots {
			knots[m] = (months[m] - (knots[(m+11)%12]+knots[(m+1)%12])/8) * 8 / 6
		}
	}
	return knots
}

// on returns the rain of a day.
func (y *rainYear) on(day calendar.Day) RainMonth {
	const monthDays = 30.5
	m := int(day.Month) - 1
	x := (float64(day.Date) - 0.5 - monthDays/2) / monthDays // months from the middle
	if x < 0 {
		m, x = (m+11)%12, x+1
	}
	between := func(knots *[12]float64) float64 { return knots[m]*(1-x) + knots[(m+1)%12]*x }
	return RainMonth{
		P01: max(0, min(1, between(&y.p01))), P11: max(0, min(1, between(&y.p11))),
		Mean: max(fewestWet, between(&y.mean)), Shape: y.shape[day.Month-1],
	}
}

// usualWet returns the long-run share of wet days around a date.
func (c *Climate) usualWet(on calendar.Day) float64 {
	y := c.rainYear()
	return y.on(on).Wet()
}

// fewestWet is the rain of a wet day at least, mm: the threshold and room for rounding.
const fewestWet = 0.26
