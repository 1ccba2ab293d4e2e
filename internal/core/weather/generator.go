package weather

import (
	"math"

	"threshday/internal/core/calendar"
)

// A Climate is how a place's weather usually goes from day to day: what a weather generator of the kind of WGEN
// draws from. Rain comes and goes as a chain of wet and dry days with gamma amounts; high, low, dew point and
// wind, given whether the day is wet, follow a first-order recursion around what is usual for the date.
// [richardson-1981] [richardson-wright-1984]
type Climate struct {
	Name  string // the record it is fitted to, as messages name it
	First int    // year, first of the record
	Last  int
	Days  int // days that were used
	// Without names the years in between that were left out; empty: none.
	Without string
	// BuiltIn: not the farm's own place.
	BuiltIn bool

	Rain   [12]RainMonth
	Usual  [2][quantities]Yearly // dry days, wet days: mean
	Spread [2][quantities]Yearly // variance around it
	Step   [4]Step               // by quarter: December to February, March to May, and so on
	Sun    SunLaw
	Hours  DayShape
}

// The daily quantities, in order: highest and lowest temperature, °C, mean dew point, °C, and the square root of the
// mean wind at 2 m in m/s, which is nearly normal where wind itself is not.
const (
	dayHigh = iota
	dayLow
	dayDew
	dayRoot
	quantities
)

// A RainMonth is how it rains in one month of the year.
type RainMonth struct {
	P01   float64 // probability that a day is wet after a dry one
	P11   float64 // after a wet one
	Mean  float64 // rain of a wet day, mm
	Shape float64 // gamma shape of what a wet day has beyond WetDayMM
}

// Wet returns the long-run share of wet days. [richardson-1981]
func (m RainMonth) Wet() float64 {
	if m.P01 == 0 {
		return 0
	}
	return m.P01 / (1 + m.P01 - m.P11)
}

// A Yearly is a quantity through the year: a mean and four harmonics, as coefficients of 1, cos, sin, cos 2, sin 2 to cos 4,
// sin 4 of the time of year.
type Yearly [yearTerms]float64

const yearTerms = 9

// On returns the value on a day.
func (y Yearly) On(day calendar.Day) float64 {
	basis := dayBasis(day)
	return dot(y[:], basis[:])
}

func dayBasis(day calendar.Day) (basis [yearTerms]float64) {
	x := 2 * math.Pi * (float64(day.YearDay()) - 0.5) * 24 / hoursOfYear
	basis[0] = 1
	for k := 1; k < yearTerms; k += 2 {
		harmonic := float64(k+1) / 2
		basis[k], basis[k+1] = math.Cos(harmonic*x), math.Sin(harmonic*x)
	}
	return basis
}

// hoursOfYear is the mean length of a calendar year.
const hoursOfYear = 365.2425 * 24

// A Step is the recursion u' = A·u + B·ε of standardised daily anomalies, ε independent standard normals, u of unit
// variance. [richardson-1981] eq. 4
type Step struct{ A, B Matrix }

// A SunLaw is the share of a clear sky's energy that a day gets, on dry and on wet days: usual for the date, moved by the
// day's standardised anomalies, with a remainder that lasts from day to day.
type SunLaw struct {
	Usual [2]Yearly
	By    [2][quantities]float64
	SD    [2]float64 // of the remainder
	Lag   float64    // correlation of the remainder with that of the day before, both over their SD
}

// A DayShape is what is usual at each hour of the day by the mean sun, counted from its midnight, on dry and on wet days:
// wind as a share of the day's mean, and by how much the dew point differs from a straight line between daily means, °C.
type DayShape struct {
	Wind [2][24]float64
	Dew  [2][24]float64
}

// quarterOf returns which of the four steps holds on a day.
func quarterOf(day calendar.Day) int { return int(day.Month) % 12 / 3 }

// sdOn returns the standard deviation of a quantity, never below half of what it is over the year: harmonics of a short
// record may run low.
func sdOn(variance Yearly, day calendar.Day) float64 {
	return math.Sqrt(max(variance.On(day), variance[0]/4))
}

func statusOf(wet bool) int {
	if wet {
		return 1
	}
	return 0
}
