package drydown

import (
	"fmt"
	"math"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
)

// A Maturity is the day the median plant of a field reaches the stage from which the model dries it: R7 of
// soybean, black layer of corn and sorghum, hard dough or ripe color of the others.
type Maturity struct {
	Day    calendar.Day
	SDDays float64
	How    []string // how it was made, a sentence each, for the explanation
}

// Hour returns the cell the model takes for the maturity: noon of the day in loc.
func (m Maturity) Hour(loc *time.Location) calendar.Hour {
	first, _ := m.Day.Hours(loc)
	return first + 12
}

// AssumedOwnerSDDays is taken for an owner's date that comes without an error. [judgement]
const AssumedOwnerSDDays = 3

// OwnerMaturity returns the owner's own date. A nil sdDays is AssumedOwnerSDDays, and said so.
func OwnerMaturity(day calendar.Day, sdDays *float64) Maturity {
	m := Maturity{Day: day, SDDays: AssumedOwnerSDDays, How: []string{fmt.Sprintf("The owner says %s.", day)}}
	if sdDays != nil {
		m.SDDays = *sdDays
		return m
	}
	m.How = append(m.How, fmt.Sprintf("How sure is not said: %d days one way or the other are assumed.", AssumedOwnerSDDays))
	return m
}

// HeatUnits returns the corn heat units (growing degree days) of a day, °F: the mean of high and low, each held
// in 50 to 86 °F, over 50 °F. 22 for 88/58. [purdue-gdd]
func HeatUnits(high, low units.Temperature) float64 {
	hold := func(t units.Temperature) float64 { return min(max(t.Fahrenheit(), 50), 86) }
	return (hold(high)+hold(low))/2 - 50
}

// A DayRange is one day's temperatures and where they come from: recorded, forecast, or Filled from the climate.
type DayRange struct {
	Day       calendar.Day
	High, Low units.Temperature
	From      weather.Origin
}

// CornHeat says how much heat a hybrid needs from planting to black layer, °F.
type CornHeat struct {
	At111      float64 // black layer of a hybrid of relative maturity 111
	PerDay     float64 // more per day of relative maturity
	LatePerDay float64 // less per day planted after LateFrom
	LateFrom   calendar.Day
	SDShare    float64 // spread between hybrids, ratings, years, as a share of the need
	DailySD    float64 // spread of a day's heat units around the climate
	DailyLag   float64 // correlation of that from one day to the next
}

// DefaultCornHeat returns one company's ratings drawn out to other maturities, the late-planting correction of
// the eastern Corn Belt trials, and the spread of daily heat in a 30-year record.
func DefaultCornHeat() CornHeat {
	return CornHeat{
		At111: 2680, PerDay: 25, // line through relative maturity 107 and 111 [seed-heat-ratings]
		LatePerDay: 6.8, LateFrom: calendar.Day{Month: time.May, Date: 1}, // [nielsen-thomison-2002]
		SDShare: 0.05,                // [judgement]; needs vary 10–20 % between years and sites
		DailySD: 5.5, DailyLag: 0.64, // July and August [milwaukee-1961-1990]
	}
}

// Coefficients lists the numbers of the heat model with their sources.
func (c CornHeat) Coefficients() []Coefficient { return list(cornEntries, c) }

// With returns c with one coefficient changed. The error is a *problem.InputError that names what is accepted.
func (c CornHeat) With(name string, value float64) (CornHeat, error) {
	err := set(cornEntries, &c, "corn heat", name, value)
	return c, err
}

var cornEntries = []entry[CornHeat]{
	{"heat-111", "heat units °F", "planting to black layer at relative maturity 111", 1500, 4000, "seed-heat-ratings", func(c *CornHeat) *float64 { return &c.At111 }},
	{"heat-per-day", "heat units °F", "more per day of relative maturity", 0, 60, "seed-heat-ratings", func(c *CornHeat) *float64 { return &c.PerDay }},
	{"heat-late", "heat units °F", "less per day planted after May 1", 0, 20, "nielsen-thomison-2002", func(c *CornHeat) *float64 { return &c.LatePerDay }},
	{"heat-sd", "", "spread of the need, share of it", 0, 0.3, "", func(c *CornHeat) *float64 { return &c.SDShare }},
	{"heat-day-sd", "heat units °F", "spread of a day's heat around the climate", 0, 15, "milwaukee-1961-1990", func(c *CornHeat) *float64 { return &c.DailySD }},
	{"heat-day-lag", "", "correlation of that from day to day", 0, 0.95, "milwaukee-1961-1990", func(c *CornHeat) *float64 { return &c.DailyLag }},
}

// Need returns the heat units from planting to black layer of a hybrid of relative maturity rm days.
// Meant for 75 to 125 days.
func (c CornHeat) Need(planted calendar.Day, rm float64) float64 {
	may1 := calendar.Day{Year: planted.Year, Month: c.LateFrom.Month, Date: c.LateFrom.Date}
	late := max(0, planted.DaysSince(may1))
	return c.At111 + float64(c.PerDay*(rm-111)) - float64(c.LatePerDay*float64(late))
}

// Relative maturities of corn a rating can have, days.
const (
	leastCornRM = 70
	mostCornRM  = 130
)

// slowestHeat is the pace, heat units °F a day, below which a date is not given: corn that slow is stopped by
// frost, not by heat. [judgement]
const slowestHeat = 2

// heatPaceDays is over how many days before maturity the pace is averaged. [judgement]
const heatPaceDays = 10

// BlackLayer returns when corn planted on a day reaches black layer, counting heat over days, which must run on
// without a gap from the day of planting. The error is a *problem.InputError that says which temperatures are
// missing and what to do.
func (c CornHeat) BlackLayer(planted calendar.Day, rm float64, days []DayRange) (Maturity, error) {
	if !(rm >= leastCornRM && rm <= mostCornRM) {
		return Maturity{}, &problem.InputError{
			Rule: "maturity.corn.rm", Label: "Relative maturity of corn", Got: fmt.Sprintf("%g", rm),
			Want: fmt.Sprintf("%d to %d days", leastCornRM, mostCornRM), Next: "Take it from the seed tag.",
		}
	}
	for len(days) > 0 && days[0].Day.Before(planted) {
		days = days[1:]
	}
	need := c.Need(planted, rm)
	var sum float64
	unseen := 0
	for i, d := range days {
		if expect := planted.AddDays(i); d.Day != expect {
			return Maturity{}, missingHeat(expect, planted, sum, need)
		}
		sum += HeatUnits(d.High, d.Low)
		if d.From != weather.Observed {
			unseen++
		}
		if sum >= need {
			return c.reached(days[:i+1], planted, rm, need, unseen)
		}
	}
	return Maturity{}, missingHeat(planted.AddDays(len(days)), planted, sum, need)
}

// reached makes the answer from the days up to and including the one that brought the heat.
func (c CornHeat) reached(days []DayRange, planted calendar.Day, rm, need float64, unseen int) (Maturity, error) {
	last := days[max(0, len(days)-heatPaceDays):]
	var pace float64
	for _, d := range last {
		pace += HeatUnits(d.High, d.Low) / float64(len(last))
	}
	on := days[len(days)-1].Day
	if pace < slowestHeat {
		return Maturity{}, &problem.InputError{
			Rule: "maturity.corn.cold", Label: "Black layer by heat", Got: on.String(),
			Want: "a date while days still bring heat", Next: "Frost will stop this corn before heat ripens it: look at the kernels and enter the day it is mature.",
		}
	}
	// The heat of unseen days wanders as a chain in which one day remembers the last.
	wander := c.DailySD * math.Sqrt(float64(unseen)*(1+c.DailyLag)/(1-c.DailyLag))
	m := Maturity{Day: on, SDDays: math.Hypot(c.SDShare*need, wander) / pace}
	m.How = append(m.How,
		fmt.Sprintf("Planted %s, relative maturity %g: black layer needs about %.0f heat units, give or take %.0f.", planted, rm, need, c.SDShare*need),
		fmt.Sprintf("%d days of it are recorded, %d are forecast or an average year; near the end a day brings %.0f.", len(days)-unseen, unseen, pace))
	return m, nil
}

func missingHeat(from, planted calendar.Day, have, need float64) error {
	return &problem.InputError{
		Rule: "maturity.corn.weather", Label: "Daily high and low from " + from.String() + " on",
		Want: fmt.Sprintf("every day from planting on %s to black layer; %.0f of %.0f heat units are counted so far", planted, have, need),
		Next: "Import a station record or a climate for the place, or look at the kernels and enter the day the field is mature.",
	}
}

// list returns the coefficients of p.
func list[P any](entries []entry[P], p P) []Coefficient {
	out := make([]Coefficient, len(entries))
	for i, e := range entries {
		out[i] = e.coefficient(&p)
	}
	return out
}
