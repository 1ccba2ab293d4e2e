package weather

import (
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
)

// fitSun fits the share of a clear sky's sun to the date and to the day's anomalies. A record without sun gets the built-in
// climate's.
func (c *Climate) fitSun(days []fitDay) {
	terms := c.terms()
	left := make([]float64, len(days)) // remainders in standard deviations; NaN: not known
	for i := range left {
		left[i] = math.NaN()
	}
	for status := range 2 {
		law := newFitter(terms + quantities)
		var known []int
		for i, d := range days {
			if statusOf(d.wet) == status && !math.IsNaN(d.sun+d.z[dayDew]+d.z[dayRoot]) {
				law.add(d.sunTerms(terms), d.sun, d.weight)
				known = append(known, i)
			}
		}
		if len(known) < leastDays {
			c.Sun = BuiltIn().Sun
			return
		}
		coef := law.solve()
		copy(c.Sun.Usual[status][:terms], coef)
		copy(c.Sun.By[status][:], coef[terms:])
		sq, n := 0.0, 0.0
		for _, i := range known {
			left[i] = days[i].sun - dot(coef, days[i].sunTerms(terms))
			sq += days[i].weight * left[i] * left[i]
			n += days[i].weight
		}
		c.Sun.SD[status] = math.Sqrt(sq / n)
		for _, i := range known {
			left[i] /= c.Sun.SD[status]
		}
	}
	c.Sun.Lag = lagOf(days, left)
}

func (d *fitDay) sunTerms(terms int) []float64 {
	return append(slices.Clone(d.basis[:terms]), d.z[:]...)
}

// lagOf returns the correlation of standardised values with those of the day before, NaN missing; not below zero.
func lagOf(days []fitDay, x []float64) float64 {
	sum, n := 0.0, 0.0
	for i, d := range days {
		if d.follows && !math.IsNaN(x[i]+x[i-1]) {
			sum += d.weight * x[i] * x[i-1]
			n += d.weight
		}
	}
	if n == 0 {
		return 0
	}
	return max(0, min(1, sum/n))
}

// The months whose hours shape the day: those of harvest. [judgement]
const (
	shapeFrom = time.June
	shapeTo   = time.November
)

// dayShape returns what is usual at each hour of the sun's day, the built-in climate's where a record has too little. Hours
// that were made of days show nothing.
func dayShape(record *Series, zone *time.Location, at Spot, exclude []int) DayShape {
	views := Days(record.Start, record.End(), zone)
	air := make([]DayAir, len(views))
	for i, v := range views {
		air[i] = record.Summary(v.First, v.End)
	}
	var out DayShape
	var n [2][24]float64
	for i := 1; i+1 < len(views); i++ {
		v := views[i]
		made := record.From[TempC][v.First-record.Start] == Filled && record.From[TempC][v.End-1-record.Start] == Filled
		if made || !air[i-1].Known || !air[i].Known || !air[i+1].Known || v.Date.Month < shapeFrom || v.Date.Month > shapeTo || slices.Contains(exclude, v.Date.Year) {
			continue
		}
		status := statusOf(air[i].Wet())
		for h := v.First; h < v.End; h++ {
			clock := sunHour(h, at)
			dew, _ := record.At(DewC, h)
			wind, _ := record.At(WindMS, h)
			n[status][clock]++
			out.Wind[status][clock] += wind / max(calm, air[i].Wind)
			out.Dew[status][clock] += dew - betweenNoons(air[i-1].Dew, air[i].Dew, air[i+1].Dew, float64(h-v.First)/24)
		}
	}
	for status := range n {
		for clock := range n[status] {
			if n[status][clock] < leastDays {
				return BuiltIn().Hours
			}
			out.Wind[status][clock] /= n[status][clock]
			out.Dew[status][clock] /= n[status][clock]
		}
		mean := meanOf(out.Dew[status][:]) // the day's mean is the day's own
		for clock := range n[status] {
			out.Dew[status][clock] -= mean
		}
	}
	return out
}

// sunHour returns the hour of the day by the mean sun of a place.
func sunHour(h calendar.Hour, at Spot) int {
	hour := int(math.Floor(math.Mod(float64(h)+at.Lon/15+0.5, 24)))
	return (hour + 24) % 24
}

// betweenNoons returns the value at a share of a day, 0 to 1 from midnight, on straight lines between daily means placed
// at noon.
func betweenNoons(before, today, after, share float64) float64 {
	if share < 0.5 {
		return before + (today-before)*(share+0.5)
	}
	return today + (after-today)*(share-0.5)
}

// A fitter gathers weighted least squares of a few terms.
type fitter struct {
	normal [][]float64 // the upper triangle of the normal matrix
	sums   []float64
	n      int
}

func newFitter(terms int) *fitter {
	f := &fitter{normal: make([][]float64, terms), sums: make([]float64, terms)}
	for i := range f.normal {
		f.normal[i] = make([]float64, terms)
	}
	return f
}

func (f *fitter) add(x []float64, y, weight float64) {
	f.n++
	for r := range x {
		for c := r; c < len(x); c++ {
			f.normal[r][c] += float64(weight * x[r] * x[c])
		}
		f.sums[r] += float64(weight * x[r] * y)
	}
}

// solve returns the coefficients, by Cholesky's factors of the normal matrix. A dozen terms need no library of linear algebra,
// which would be most of the program on a device that forecasts nothing. Panics where the terms are not independent: callers see
// to it that every month of the year has days.
func (f *fitter) solve() []float64 {
	n := len(f.sums)
	u := make([][]float64, n) // the upper factor
	for i := range u {
		u[i] = slices.Clone(f.normal[i])
	}
	for j := range n {
		for i := range j + 1 {
			for k := range i {
				u[i][j] -= float64(u[k][i] * u[k][j])
			}
			switch {
			case i < j:
				u[i][j] /= u[i][i]
			case !(u[j][j] > 0):
				panic("weather: fit to dependent terms")
			default:
				u[j][j] = math.Sqrt(u[j][j])
			}
		}
	}
	x := slices.Clone(f.sums)
	for i := range n {
		for k := range i {
			x[i] -= float64(u[k][i] * x[k])
		}
		x[i] /= u[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= float64(u[i][k] * x[k])
		}
		x[i] /= u[i][i]
	}
	return x
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += float64(a[i] * b[i])
	}
	return sum
}

// calm is the mean wind, m/s, below which a day has no shape to keep.
const calm = 0.05
