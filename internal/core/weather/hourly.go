package weather

import (
	"math"

	"threshday/internal/core/calendar"
)

// A DayRecord is what a station wrote down of one of its own days, which go by standard time. Nil is missing.
type DayRecord struct {
	On   calendar.Day
	High *float64 // °C
	Low  *float64 // °C, of the morning
	Dew  *float64 // mean dew point, °C
	Wind *float64 // mean at the station's height, m/s
	Rain *float64 // total, mm
}

// Limits and stand-ins of hours made from days.
const (
	longestDayGap = 2  // days without a high or a low that a straight line may bridge [judgement]
	noon          = 12 // hour of the station's day at which its mean dew point is placed [judgement]
)

// FromDays turns a record of days into hours and says what it filled. No hour of it was measured: all values are
// Filled. Temperature follows [DayCurve] with [DefaultTempShape]; the dew point is a straight line from noon to
// noon between the days' means, and where humidity was not measured a mean below or above the day's low drawn as
// often as rural nights have no, light or heavy dew; cloud follows from the range of the day's temperature; a day's
// rain falls in hours drawn from its stream, its total kept. Wind is the day's mean in every hour. What weather
// does within a day besides, a front at midnight above all, is not in it.
//
// Days may stand in any order. A day without high or low stays missing unless its neighbours bridge it, and so does
// rain of a day without a total. Panics when there is no day or one comes twice.
func FromDays(days []DayRecord, st Station) (*Series, []Filling) {
	d := newDaily(days, st)
	bridged := bridgeDays(d.high) + bridgeDays(d.low)
	m := &Measured{Start: d.start(), Hours: 24 * d.n}
	m.Temp = d.temperatures()
	drawn := d.drawDew()
	m.Dew = d.dewPoints()
	m.Sky = d.cloud()
	m.Wind, m.DayRain = d.spreadEven(d.wind, 1), d.spreadEven(d.rain, 1.0/24)
	s, filled := m.Series(st)
	for v := range s.From {
		for i, from := range s.From[v] {
			if from == Observed {
				s.From[v][i] = Filled
			}
		}
	}
	return s, append(d.notes(bridged, drawn), filled...)
}

// A daily carries days on their way to hours: one value a day from the first to the last, NaN where missing.
type daily struct {
	st                         Station
	spot                       Spot
	first                      calendar.Day
	n                          int
	high, low, dew, wind, rain []float64
}

func newDaily(days []DayRecord, st Station) *daily {
	if len(days) == 0 {
		panic("weather: no days")
	}
	first, last := days[0].On, days[0].On
	for _, r := range days {
		if r.On.Before(first) {
			first = r.On
		}
		if r.On.After(last) {
			last = r.On
		}
	}
	d := &daily{st: st, spot: st.spot(), first: first, n: last.DaysSince(first) + 1}
	seen := make([]bool, d.n)
	columns := []struct {
		of   func(DayRecord) *float64
		into *[]float64
	}{
		{func(r DayRecord) *float64 { return r.High }, &d.high},
		{func(r DayRecord) *float64 { return r.Low }, &d.low},
		{func(r DayRecord) *float64 { return r.Dew }, &d.dew},
		{func(r DayRecord) *float64 { return r.Wind }, &d.wind},
		{func(r DayRecord) *float64 { return r.Rain }, &d.rain},
	}
	for _, c := range columns {
		*c.into = missingDays(d.n)
	}
	for _, r := range days {
		i := r.On.DaysSince(first)
		if seen[i] {
			panic("weather: a day recorded twice: " + r.On.String())
		}
		seen[i] = true
		for _, c := range columns {
			if x := c.of(r); x != nil {
				(*c.into)[i] = *x
			}
		}
	}
	return d
}

func missingDays(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	return out
}

// midnight returns the beginning of the station's i-th day, in hours since 1970 UTC.
func (d *daily) midnight(i int) float64 {
	return float64(d.first.AddDays(i).DaysSince(calendar.Day{Year: 1970, Month: 1, Date: 1})*24) - d.st.Standard.Hours()
}

// start returns the cell that begins the first day; of a clock that lies a fraction of an hour off UTC, the one that
// holds its midnight.
func (d *daily) start() calendar.Hour { return calendar.Hour(math.Floor(d.midnight(0))) }

// bridgeDays draws straight lines over gaps of up to longestDayGap days and returns how many days it filled.
func bridgeDays(days []float64) int {
	last, filled := -1, 0
	for i, x := range days {
		if math.IsNaN(x) {
			continue
		}
		if gap := i - last - 1; last >= 0 && gap > 0 && gap <= longestDayGap {
			for k := 1; k <= gap; k++ {
				days[last+k] = days[last] + (x-days[last])*float64(k)/float64(gap+1)
			}
			filled += gap
		}
		last = i
	}
	return filled
}

// temperatures returns the hours' temperatures. The morning before the first day's low continues a day like it.
func (d *daily) temperatures() []float64 {
	out := missingDays(24 * d.n)
	for i := -1; i < d.n; i++ {
		c, ok := d.curve(i)
		if !ok {
			continue
		}
		from, to := c.lowAt(c.Rise), c.lowAt(c.NextRise)
		for h := max(0, int(math.Ceil(from))-int(d.start())); h < len(out) && float64(int(d.start())+h) < to; h++ {
			out[h] = c.At(float64(int(d.start()) + h))
		}
	}
	return out
}

// curve returns the temperature from the low of day i to the next day's; ok is false where a figure is missing.
func (d *daily) curve(i int) (c DayCurve, ok bool) {
	day, next := max(i, 0), min(i+1, d.n-1)
	rise, set := d.sun(i)
	nextRise, _ := d.sun(i + 1)
	c = DayCurve{Low: d.low[day], High: d.high[day], NextLow: d.low[next], Rise: rise, Set: set, NextRise: nextRise, Shape: DefaultTempShape()}
	if math.IsNaN(c.NextLow) {
		c.NextLow = c.Low
	}
	return c, !math.IsNaN(c.Low) && !math.IsNaN(c.High)
}

// sun returns sunrise and sunset of day i in hours since 1970 UTC. Where the sun stays up or down, six hours to
// either side of its noon.
func (d *daily) sun(i int) (rise, set float64) {
	sun := SunOn(d.first.AddDays(i), d.spot)
	if sun.NeverRises || sun.NeverSets {
		at := float64(sun.Noon.Unix()) / 3600
		return at - 6, at + 6
	}
	return float64(sun.Rise.Unix()) / 3600, float64(sun.Set.Unix()) / 3600
}

// How often rural nights without rain have no, light and heavy dew, September to November. [champaign-hourly]
const (
	noDewNights    = 0.55
	lightDewNights = 0.32
)

// dewOfDay is what a day's dew is drawn for.
const dewOfDay Purpose = 60

// drawDew gives days a mean dew point where the station has none, and returns how many: as far from the day's low as
// nights without, with light or with heavy dew have it. After rain there is at least a light dew.
func (d *daily) drawDew() int {
	drawn := 0
	for i := range d.dew {
		if !math.IsNaN(d.dew[i]) || math.IsNaN(d.low[i]) {
			continue
		}
		s := NewStream(d.st.Root, 0, d.first.AddDays(i), dewOfDay)
		kind, u := 2, s.Uniform() // heavy
		switch {
		case u < noDewNights:
			kind = 0
		case u < noDewNights+lightDewNights:
			kind = 1
		}
		off := dewClasses[kind].value
		if d.rain[i] >= WetDayMM {
			off = max(off, lightDew)
		}
		d.dew[i] = d.low[i] + off
		drawn++
	}
	return drawn
}

// dewPoints returns the hours' dew points: straight lines between the days' means, placed at noon.
func (d *daily) dewPoints() []float64 {
	out := missingDays(24 * d.n)
	for h := range out {
		x := (float64(h) - noon) / 24
		i := int(math.Floor(x))
		a, b := d.dew[max(0, i)], d.dew[min(d.n-1, i+1)]
		switch {
		case math.IsNaN(a):
			a = b
		case math.IsNaN(b):
			b = a
		}
		if !math.IsNaN(d.dew[h/24]) {
			out[h] = a + (b-a)*(x-float64(i))
		}
	}
	return out
}

// rangeToSun is the share of extraterrestrial radiation that reaches the ground inland, over the root of the day's
// range of temperature in °C. [fao-56] eq. 50, from memory
const rangeToSun = 0.16

// cloud returns the hours' cloud cover: the one under which as much sun comes through as the day's range of
// temperature tells.
func (d *daily) cloud() []float64 {
	cover := missingDays(d.n)
	for i := range cover {
		if span := d.high[i] - d.low[i]; span >= 0 { // not where one is missing
			cover[i] = coverFrom(rangeToSun * math.Sqrt(span) / (overcastShare + sunnyShare))
		}
	}
	return d.spreadEven(cover, 1)
}

// spreadEven gives every hour its day's value times scale; nil where no day has one.
func (d *daily) spreadEven(days []float64, scale float64) []float64 {
	out := make([]float64, 24*d.n)
	some := false
	for h := range out {
		out[h] = days[h/24] * scale
		some = some || !math.IsNaN(out[h])
	}
	if !some {
		return nil
	}
	return out
}

func (d *daily) notes(bridged, drawn int) []Filling {
	f := filler{}
	hours := 0
	for i := range d.n {
		if !math.IsNaN(d.high[i]) && !math.IsNaN(d.low[i]) {
			hours += 24
		}
	}
	f.note(TempC, 24*bridged, true, "days-bridged", "%d missing highs and lows bridged by a straight line, gaps of up to %d days", bridged, longestDayGap)
	f.note(TempC, hours, true, "from-days", "hourly temperature drawn between each day's high and low, by day a sine, by night fading; an hour is off by 1.2 °C on average")
	f.note(DewC, hours, true, "from-days", "dew point on straight lines from day to day")
	f.note(DewC, 24*drawn, true, "drawn", "humidity was not measured: on %d days the dew point was drawn around the day's low as often as nights have no, light or heavy dew", drawn)
	f.note(SkyFrac, hours, true, "from-range", "cloud from the range of the day's temperature")
	return f.done
}
