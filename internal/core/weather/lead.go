package weather

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
)

// A LeadIn is what is known about the weather of an ensemble: what has been, and what is said to come.
type LeadIn struct {
	Now      calendar.Hour // the first hour that is not observed yet
	Zone     *time.Location
	Observed *Series // nil: nothing; hours missing in it keep the members' own
	Days     []Ahead // in any order, each date once; days before today and past the 14th are passed over
	Root     [32]byte
	Errors   *ErrorTable // of the forecasts; nil: [DefaultErrors]
}

func (in *LeadIn) errors() ErrorTable {
	if in.Errors != nil {
		return *in.Errors
	}
	return DefaultErrors()
}

// ErrTwoForecasts: a date is forecast twice, and which counts is the caller's to say.
var ErrTwoForecasts = errors.New("two forecasts for one day")

// Lead returns the ensemble with what is known put into it: hours before Now as observed, the same in every
// member; days with a forecast drawn together around it, the closer the nearer they are; later hours
// untouched. For the high, low, mean dew point and √wind of a lead day L the members become
//
//	x' = forecast + s(L)·(x − mean of the members)
//
// with s from the table of forecast errors, so that the mean of the members is the forecast and their spread
// its error. A member keeps the shape of its days: its temperature is moved by what its own high and low
// need, on straight lines in between. Rain: as many members are wet as the chance asks for, reached by turning
// the fewest; see leadrain.go. Without any forecast, what was observed in the last 24 hours fades out of the
// members as fast as weather forgets. To be met by what was observed, members must hold hours before Now: an
// ensemble that begins a day or two earlier, cut by [Ensemble.From] afterwards.
//
// The members of the answer depend on each other through their mean: member i is not the same for another
// number of members.
func (e *Ensemble) Lead(in LeadIn) (*Ensemble, error) {
	if in.Zone == nil {
		panic("weather: a lead-in without a clock")
	}
	l := &lead{in: in, table: in.errors(), base: e, out: e.clone(), now: max(0, min(e.Hours, int(in.Now-e.Start)))}
	if err := l.choose(); err != nil {
		return nil, err
	}
	l.observe()
	if len(l.days) == 0 {
		l.persist()
	} else {
		l.blend()
	}
	l.out.settle()
	l.out.Note = e.Note + l.note()
	return l.out, nil
}

func (e *Ensemble) clone() *Ensemble {
	out := *e
	for v := range e.V {
		out.V[v] = slices.Clone(e.V[v])
	}
	out.Source = slices.Clone(e.Source)
	return &out
}

// From returns the ensemble from hour start on, which must lie inside it.
func (e *Ensemble) From(start calendar.Hour) *Ensemble {
	skip := int(start - e.Start)
	if skip < 0 || skip >= e.Hours {
		panic("weather: an ensemble cut outside its hours")
	}
	out := NewEnsemble(start, e.Hours-skip, e.Members)
	for m := range e.Members {
		for v := range Var(NVar) {
			copy(out.Row(v, m), e.Row(v, m)[skip:])
		}
	}
	copy(out.Source, e.Source)
	out.Note = e.Note
	return out
}

// settle holds the dew point at or below the temperature.
func (e *Ensemble) settle() {
	for m := range e.Members {
		temp, dew := e.Row(TempC, m), e.Row(DewC, m)
		for i := range dew {
			dew[i] = min(dew[i], temp[i])
		}
	}
}

// A lead carries one lead-in through its steps.
type lead struct {
	in     LeadIn
	table  ErrorTable
	base   *Ensemble
	out    *Ensemble
	now    int       // first hour not observed, counted from the start
	days   []leadDay // with a forecast, in order
	all    []DayView
	seen   bool      // some hours were observed
	dT, dD []float64 // by how much the last observed day differs from each member's own, °C
}

// A leadDay is one day with a forecast.
type leadDay struct {
	Ahead
	view       DayView
	at         int       // index among all days
	first, end int       // hours still to come, counted from the start
	cut        bool      // the ensemble begins within the day
	age        int       // lead day that the error is looked up for
	own        []DayAir  // each member's own day, before any change
	wetter     []float64 // per member: +1 turned wet, −1 turned dry, 0 left
	wet        []bool    // per member, where a chance of rain is given
	high, low  []float64 // per member: where its temperature goes; nil where not said
	dew        []float64
}

// choose finds the days with a forecast that lie in the ensemble.
func (l *lead) choose() error {
	today := calendar.DayOf(l.in.Now.Start(), l.in.Zone)
	l.all = Days(l.base.Start, l.base.End(), l.in.Zone)
	for at, view := range l.all {
		said := slices.IndexFunc(l.in.Days, func(a Ahead) bool { return a.On == view.Date })
		first, end := max(l.now, int(view.First-l.base.Start)), int(view.End-l.base.Start)
		number := view.Date.DaysSince(today) + 1
		if said < 0 || first >= end || number < 1 || number > LongestLead {
			continue
		}
		if slices.ContainsFunc(l.in.Days[said+1:], func(a Ahead) bool { return a.On == view.Date }) {
			return fmt.Errorf("%w: %s", ErrTwoForecasts, view.Date)
		}
		d := leadDay{Ahead: l.in.Days[said], view: view, at: at, first: first, end: end}
		d.age = number + d.Late
		d.withoutWhatIsPast(l.in.Zone)
		for m := range l.base.Members {
			d.own = append(d.own, l.base.Summary(m, int(view.First-l.base.Start), end))
		}
		l.days = append(l.days, d)
	}
	return nil
}

// withoutWhatIsPast drops what the forecast says of hours that the ensemble does not hold: of a day it begins
// within, the low, which comes at dawn, and from noon on the high. An ensemble that begins a day before Now
// holds them all, and [Ensemble.From] cuts it afterwards.
func (d *leadDay) withoutWhatIsPast(zone *time.Location) {
	midnight, _ := d.view.Date.Hours(zone)
	d.cut = d.view.First > midnight
	if !d.cut {
		return
	}
	d.Low = nil
	if d.view.First.Start().In(zone).Hour() >= 12 {
		d.High = nil
	}
}

// observe copies what was observed into every member.
func (l *lead) observe() {
	l.dT, l.dD = make([]float64, l.base.Members), make([]float64, l.base.Members)
	if l.in.Observed == nil {
		return
	}
	for v := range Var(NVar) {
		for i := range l.now {
			if x, ok := l.in.Observed.At(v, l.base.Start+calendar.Hour(i)); ok {
				l.seen = true
				for m := range l.base.Members {
					l.out.Row(v, m)[i] = float32(x)
				}
			}
		}
	}
	l.anomaly(TempC, l.dT)
	l.anomaly(DewC, l.dD)
}

// anomaly sets by how much the last observed 24 hours differ from each member's own; zero where fewer than
// half of them are known.
func (l *lead) anomaly(v Var, into []float64) {
	n := 0.0
	sums := make([]float64, len(into))
	for i := max(0, l.now-24); i < l.now; i++ {
		x, ok := l.in.Observed.At(v, l.base.Start+calendar.Hour(i))
		if !ok {
			continue
		}
		n++
		for m := range sums {
			sums[m] += x - float64(l.base.Row(v, m)[i])
		}
	}
	if n >= 12 {
		for m := range into {
			into[m] = sums[m] / n
		}
	}
}

// persist lets the observed anomaly fade. For a weather whose anomalies follow a first-order recursion this
// is exactly the recursion continued from what was observed.
func (l *lead) persist() {
	for m := range l.base.Members {
		temp, dew := l.out.Row(TempC, m), l.out.Row(DewC, m)
		for i := l.now; i < l.base.Hours; i++ {
			days := (float64(i-l.now) + 12) / 24 // the middle of the observed day lies 12 hours back
			temp[i] += float32(l.dT[m] * math.Pow(tempPersists, days))
			dew[i] += float32(l.dD[m] * math.Pow(dewPersists, days))
		}
	}
}

// blend puts the forecast into the members, rain first: a member that turns wet has the temperatures of a
// wet day.
func (l *lead) blend() {
	usual := l.usualRain()
	for k := range l.days {
		d := &l.days[k]
		d.wetter = make([]float64, l.base.Members)
		if d.Rain != nil {
			l.occurrence(d, usual)
		}
		d.high = d.towards(d.High, l.table.Temp, -wetCools, func(own DayAir) float64 { return own.High })
		d.low = d.towards(d.Low, l.table.Temp, wetWarmsNight, func(own DayAir) float64 { return own.Low })
		d.dew = d.towards(d.Dew, l.table.Dew, wetMoistens, func(own DayAir) float64 { return own.Dew })
		d.order()
		d.dewWithNight()
	}
	for m := range l.base.Members {
		l.moveTemperature(m)
		l.moveDew(m)
		for k := range l.days {
			l.moveSky(&l.days[k], m)
		}
	}
	for k := range l.days {
		l.moveWind(&l.days[k])
	}
	for m := range l.base.Members {
		dampen(l.out.Row(TempC, m)[l.now:l.horizon()], l.out.Row(DewC, m)[l.now:l.horizon()], l.out.Row(RainMM, m)[l.now:l.horizon()])
	}
}

// horizon returns the hour after the last day with a forecast.
func (l *lead) horizon() int { return l.days[len(l.days)-1].end }

// What a wet day is to a dry one: highs lower, lows higher, dew points higher, °C, October. [champaign-hourly]
const (
	wetCools      = 2.58
	wetWarmsNight = 1.26
	wetMoistens   = 2.91
)

// towards returns each member's value drawn towards the forecast; nil where nothing is said. A member that a
// chance of rain turned counts with what the turn does to the quantity.
func (d *leadDay) towards(forecast *float64, table [LongestLead]float64, whenWet float64, of func(DayAir) float64) []float64 {
	if forecast == nil {
		return nil
	}
	x := make([]float64, len(d.own))
	mean := 0.0
	for m, own := range d.own {
		x[m] = of(own) + d.wetter[m]*whenWet
		mean += x[m] / float64(len(x))
	}
	s := atLead(table, d.age)
	for m := range x {
		x[m] = *forecast + s*(x[m]-mean)
	}
	return x
}

// order keeps each member's high above its low where both are said: their errors are drawn apart and cross
// only where high and low of the forecast lie within a few degrees.
func (d *leadDay) order() {
	if d.high == nil || d.low == nil {
		return
	}
	for m := range d.high {
		if d.high[m] < d.low[m] {
			mid := (d.high[m] + d.low[m]) / 2
			d.high[m], d.low[m] = mid, mid
		}
	}
}

// dewWithNight gives members a dew point where the forecast has a low but no word of dew: as far from the
// night's low as the member's own, so that its damp nights stay damp. After rain there is at least a light dew.
func (d *leadDay) dewWithNight() {
	if d.low == nil {
		return
	}
	said := d.dew != nil
	if !said {
		d.dew = make([]float64, len(d.own))
	}
	for m, own := range d.own {
		if !said {
			d.dew[m] = d.low[m] + own.Dew - own.Low + d.wetter[m]*(wetMoistens-wetWarmsNight)
		}
		if d.wet != nil && d.wet[m] {
			d.dew[m] = max(d.dew[m], d.low[m]+lightDew)
		}
	}
}

func (l *lead) note() string {
	if !l.seen && len(l.days) == 0 {
		return ""
	}
	say := ""
	if l.seen {
		say = "; observed up to " + l.in.Now.Start().In(l.in.Zone).Format("2006-01-02 15:04")
	}
	if n := len(l.days); n > 0 {
		say += fmt.Sprintf("; forecast for %d days up to %s, with the usual error of its age", n, l.days[n-1].On)
	}
	return say
}
