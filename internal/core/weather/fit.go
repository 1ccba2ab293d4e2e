package weather

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/units"
)

// FitOptions say which of a record's years a climate is fitted to.
type FitOptions struct {
	Name     string
	Exclude  []int   // years not to be seen
	HalfLife float64 // years after which a year counts half; 0: all years alike
}

// DefaultHalfLife makes the years before a plan count more than those of thirty years ago, which were cooler. [judgement]
const DefaultHalfLife = 15.0

// leastDays of each month a record must have for its climate to be fitted: two years of a month have 56 or more.
// [judgement]
const leastDays = 50

// ErrNoClimate: a record is too short or too bare for a climate to be fitted.
var ErrNoClimate = errors.New("the weather record is too short for its climate")

// Fit fits a climate to a station's hourly record, whose days are by its standard time. [richardson-wright-1984]
func Fit(record *Series, st Station, o FitOptions) (*Climate, error) {
	spot := st.spot()
	zone := st.clock()
	clear := ClearSky(record.Start, record.Len(), spot)
	var days []fitDay
	for _, v := range Days(record.Start, record.End(), zone) {
		air := record.Summary(v.First, v.End)
		if !v.Whole || !air.Known {
			continue
		}
		d := newFitDay(v.Date, air.High, air.Low, air.Rain)
		d.x[dayDew], d.x[dayRoot] = air.Dew, math.Sqrt(air.Wind)
		if sky := sumMJ(clear[v.First-record.Start : v.End-record.Start]); sky > 0 {
			d.sun = air.SolarMJ / sky // NaN where an hour of sun is missing
		}
		days = append(days, d)
	}
	c, err := fitDays(days, o)
	if err != nil {
		return nil, err
	}
	c.Hours = dayShape(record, zone, spot, o.Exclude)
	return c, nil
}

// FitDays fits a climate to a station's record of days. A day counts that has high, low and rain. Dew point and wind of a
// station that did not measure them are the built-in climate's, the dew point as far from the low as there; so are sun and
// hours. [richardson-wright-1984]
func FitDays(record []DayRecord, st Station, o FitOptions) (*Climate, error) {
	height := assumedWindHeight
	if st.WindHeight != nil {
		height = *st.WindHeight
	}
	var days []fitDay
	for _, r := range record {
		if r.High == nil || r.Low == nil || r.Rain == nil || *r.High < *r.Low {
			continue
		}
		d := newFitDay(r.On, *r.High, *r.Low, *r.Rain)
		if r.Dew != nil {
			d.x[dayDew] = *r.Dew
		}
		if r.Wind != nil {
			d.x[dayRoot] = math.Sqrt(WindAt2m(units.Speed(max(0, *r.Wind)), height).MetersPerSecond())
		}
		days = append(days, d)
	}
	return fitDays(days, o)
}

// Place returns where the station is: as it says, else at 40° N on the middle line of its time zone.
func (st Station) Place() Spot { return st.spot() }

// clock returns the station's own clock, standard time all year.
func (st Station) clock() *time.Location {
	return time.FixedZone("standard", int(st.Standard.Seconds()))
}

// sumMJ turns hourly means in W/m² into energy, MJ/m².
func sumMJ(watts []float64) float64 {
	sum := 0.0
	for _, w := range watts {
		sum += w * 3600 / 1e6
	}
	return sum
}

// A fitDay is one usable day of a record.
type fitDay struct {
	on      calendar.Day
	weight  float64
	wet     bool
	rain    float64             // mm
	x       [quantities]float64 // NaN: missing
	z       [quantities]float64 // the same in standard deviations from the usual
	sun     float64             // share of a clear sky's energy; NaN: missing
	basis   [yearTerms]float64
	follows bool // the one before it is the day before
}

func newFitDay(on calendar.Day, high, low, rain float64) fitDay {
	return fitDay{
		on: on, weight: 1, wet: rain >= WetDayMM, rain: rain, sun: math.NaN(), basis: dayBasis(on),
		x: [quantities]float64{high, low, math.NaN(), math.NaN()},
	}
}

func fitDays(days []fitDay, o FitOptions) (*Climate, error) {
	days = slices.DeleteFunc(days, func(d fitDay) bool { return slices.Contains(o.Exclude, d.on.Year) })
	slices.SortFunc(days, func(a, b fitDay) int { return cmp.Compare(a.on.DaysSince(b.on), 0) })
	for i := range days {
		d := &days[i]
		d.follows = i > 0 && d.on.DaysSince(days[i-1].on) == 1
		if o.HalfLife > 0 {
			d.weight = math.Exp2(-float64(days[len(days)-1].on.Year-d.on.Year) / o.HalfLife)
		}
	}
	if err := enough(days); err != nil {
		return nil, err
	}
	c := &Climate{Name: o.Name, First: days[0].on.Year, Last: days[len(days)-1].on.Year, Days: len(days), Hours: BuiltIn().Hours}
	if without := yearsWithin(o.Exclude, c.First, c.Last); len(without) > 0 {
		c.Without = yearList(without)
	}
	dropConstant(days)
	c.fitRain(days)
	c.fitUsual(days)
	c.fitSteps(days)
	c.fitSun(days)
	return c, nil
}

// yearsWithin returns the years from first to last, in order.
func yearsWithin(years []int, first, last int) []int {
	out := slices.DeleteFunc(slices.Clone(years), func(y int) bool { return y < first || y > last })
	slices.Sort(out)
	return slices.Compact(out)
}

// leastVariance is what a measured quantity varies by at least, °C² or m/s; one that varies less was put in the place of a
// measurement. [judgement]
const leastVariance = 0.01

// dropConstant takes quantities that never change for not measured.
func dropConstant(days []fitDay) {
	for k := range quantities {
		n, sum, square := 0.0, 0.0, 0.0
		for _, d := range days {
			if x := d.x[k]; !math.IsNaN(x) {
				n, sum, square = n+1, sum+x, square+x*x
			}
		}
		if n > 0 && square/n-sum/n*sum/n >= leastVariance {
			continue
		}
		for i := range days {
			days[i].x[k] = math.NaN()
		}
	}
}

// enough reports what a record lacks.
func enough(days []fitDay) error {
	var months [12]int
	wet, afterWet := 0, 0
	for i, d := range days {
		months[d.on.Month-1]++
		wet += statusOf(d.wet)
		if d.follows && days[i-1].wet {
			afterWet++
		}
	}
	for m, n := range months {
		if n < leastDays {
			return fmt.Errorf("%w: it has high, low and rain of %d days of %s; two years of every month are needed, %d days", ErrNoClimate, n, time.Month(m+1), leastDays)
		}
	}
	if min(wet, len(days)-wet, afterWet) < leastDays {
		return fmt.Errorf("%w: it has %d wet days, %d dry ones and %d that follow a wet one; %d of each are needed", ErrNoClimate, wet, len(days)-wet, afterWet, leastDays)
	}
	return nil
}

// From how many years on a year's course is told from the weather of a few of its months: by two harmonics, three, four.
// [judgement]
const (
	thirdHarmonicFrom  = 10
	fourthHarmonicFrom = 20
)

// terms returns how many terms of a [Yearly] the record is long enough for.
func (c *Climate) terms() int {
	years := float64(c.Days) * 24 / hoursOfYear
	switch {
	case years >= fourthHarmonicFrom:
		return yearTerms
	case years >= thirdHarmonicFrom:
		return yearTerms - 2
	}
	return yearTerms - 4
}

// fitUsual fits mean and variance of each quantity through the year, on dry and on wet days, and standardises the days.
func (c *Climate) fitUsual(days []fitDay) {
	for status := range 2 {
		for k := range quantities {
			c.fitQuantity(days, status, k)
		}
	}
	for i := range days {
		d := &days[i]
		status := statusOf(d.wet)
		for k := range quantities {
			d.z[k] = (d.x[k] - c.Usual[status][k].On(d.on)) / sdOn(c.Spread[status][k], d.on)
		}
	}
}

func (c *Climate) fitQuantity(days []fitDay, status, k int) {
	terms := c.terms()
	fit := func(y func(fitDay) float64) (out Yearly, n int) {
		f := newFitter(terms)
		for _, d := range days {
			if statusOf(d.wet) == status && !math.IsNaN(d.x[k]) {
				f.add(d.basis[:terms], y(d), d.weight)
			}
		}
		if f.n < leastDays {
			return out, f.n
		}
		copy(out[:], f.solve())
		return out, f.n
	}
	mean, n := fit(func(d fitDay) float64 { return d.x[k] })
	if n >= leastDays {
		c.Usual[status][k] = mean
		c.Spread[status][k], _ = fit(func(d fitDay) float64 { return math.Pow(d.x[k]-mean.On(d.on), 2) })
		return
	}
	spare := BuiltIn()
	c.Usual[status][k], c.Spread[status][k] = spare.Usual[status][k], spare.Spread[status][k]
	if k == dayDew {
		for h := range yearTerms {
			c.Usual[status][k][h] += c.Usual[status][dayLow][h] - spare.Usual[status][dayLow][h]
		}
	}
}

// fitSteps estimates the recursion of each quarter from the days within it; what was not measured goes with the rest as in
// the built-in climate.
func (c *Climate) fitSteps(days []fitDay) {
	spare := BuiltIn()
	for q := range c.Step {
		m0 := spare.Step[q].Covariance()
		m1 := spare.Step[q].A.mul(m0)
		for i := range quantities {
			for j := range quantities {
				if r, ok := correlation(days, q, i, j, false); ok {
					m0[i][j] = r
				}
				if r, ok := correlation(days, q, i, j, true); ok {
					m1[i][j] = r
				}
			}
		}
		c.Step[q] = StepOf(m0, m1)
	}
}

// correlation returns that of quantity i on a day of the quarter with j on the same day, or on the day before where late.
// It is false where too few days have both.
func correlation(days []fitDay, quarter, i, j int, late bool) (float64, bool) {
	var n, mi, mj, ii, jj, ij float64
	pairs := 0
	for k, d := range days {
		other := d
		if late {
			if !d.follows {
				continue
			}
			other = days[k-1]
		}
		if quarterOf(d.on) != quarter || quarterOf(other.on) != quarter || math.IsNaN(d.z[i]+other.z[j]) {
			continue
		}
		w, a, b := d.weight, d.z[i], other.z[j]
		pairs++
		n += w
		mi += w * a
		mj += w * b
		ii += w * a * a
		jj += w * b * b
		ij += w * a * b
	}
	if pairs < 2*leastDays {
		return 0, false
	}
	mi, mj = mi/n, mj/n
	return (ij/n - mi*mj) / math.Sqrt((ii/n-mi*mi)*(jj/n-mj*mj)), true
}

// yearList writes years as people do: "2003 to 2006", "2003, 2005", "no year".
func yearList(years []int) string {
	if len(years) == 0 {
		return "no year"
	}
	if n := len(years); n > 2 && years[n-1]-years[0] == n-1 {
		return fmt.Sprintf("%d to %d", years[0], years[n-1])
	}
	words := make([]string, len(years))
	for i, y := range years {
		words[i] = strconv.Itoa(y)
	}
	return strings.Join(words, ", ")
}
