package weather

import (
	"fmt"
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
)

// GenerateOptions say which hours an ensemble covers and where.
type GenerateOptions struct {
	Start   calendar.Hour
	Hours   int
	Members int
	At      Spot // for sunrise, sunset and the height of the sun
}

// Generate draws members from the climate, around what is known.
//
// Every day's anomaly is z = f + s·u, where f is what the forecast or the last observed day says, s the share of the
// climate's spread that this leaves open, and u the climate's own recursion. Without a forecast s grows to 1 as the
// recursion forgets, and where a forecast ends what it said fades in the same way, so that a member slides into the
// climate without a seam. Rain follows the chain of wet and dry days with the forecast's chances as exact frequencies.
// Hours before Now are as observed; after it temperature and dew point set out from what was observed last.
//
// The draws of a date are functions of root, member, date and purpose alone, and the recursion starts so many days
// before that it has forgotten its start: member i is the same for any number of members, and tomorrow's plan draws
// the same weather, moved by what has become known.
func (c *Climate) Generate(o GenerateOptions, in LeadIn) (*Ensemble, error) {
	if o.Hours <= 0 || o.Members <= 0 || in.Zone == nil {
		panic("weather: nothing to generate")
	}
	g := newGeneration(c, o, in)
	if err := g.listen(); err != nil {
		return nil, err
	}
	g.plan()
	e := NewEnsemble(o.Start, o.Hours, o.Members)
	m := newMember(g)
	for i := range o.Members {
		m.draw(i)
		m.put(e, i)
		e.Source[i] = fmt.Sprintf("drawn %d of %d", i%drawGroups+1, drawGroups)
	}
	e.Note = c.note(o.Members) + g.note()
	return e, nil
}

// drawGroups parts the members, which share nothing, so that a rule can be learned on some and tried on others.
const drawGroups = 4

func (c *Climate) note(members int) string {
	if c.BuiltIn {
		return fmt.Sprintf("%d weathers drawn from the built-in climate of %s, not from a record of this place", members, c.Name)
	}
	return fmt.Sprintf("%d weathers drawn from %s", members, c.Described())
}

// Described says what the climate is fitted to, as part of a sentence.
func (c *Climate) Described() string {
	without := ""
	if c.Without != "" {
		without = " without " + c.Without
	}
	return fmt.Sprintf("the climate of %d recorded days, %d to %d%s", c.Days, c.First, c.Last, without)
}

// warmDays are drawn before the first day that is kept: the slowest anomaly keeps .8 from day to day, and .8 to the
// thirtieth is a thousandth.
const warmDays = 30

// A drawDay is one local day of a generation: what is the same in every member. Hours count from the frame's first.
type drawDay struct {
	date       calendar.Day
	first, end int
	rise, set  float64
	ahead      *Ahead // what is forecast; nil: nothing
	lead       int    // lead day whose error it has

	usual, sd [2][quantities]float64 // on a dry and on a wet day
	step      *Step
	sun       [2]float64 // usual share of a clear sky's energy
	rain      RainMonth  // as the climate has it on the date

	rains    [2]float64 // probability of rain in what is left of the day, after a dry and after a wet one
	rainFrom int        // first hour of what is left
	isWet    bool       // observed so

	mean, spread [quantities]float64 // over dry and wet members, knowing nothing
	centre       [quantities]float64 // what members surround
	open         [quantities]float64 // share of their spread that is left
	shift        [quantities]float64 // share of the difference between wet and dry days that is left

	cloudSaid                      bool
	cloudTo, cloudUsual, cloudOpen float64 // forecast, what members surround without it, share of their spread
}

// A generation is what all members share.
type generation struct {
	c     *Climate
	o     GenerateOptions
	in    LeadIn
	table ErrorTable

	start calendar.Hour // the frame: whole local days around the hours asked for
	hours int
	now   int // first hour not observed
	days  []drawDay
	warm  []drawDay // before the frame
	rain  rainYear
	clear []float64 // W/m²
	clock []int     // hour of the sun's day
	said  int       // days with a forecast
	until calendar.Day
	seen  bool // an hour of the frame was observed
}

func newGeneration(c *Climate, o GenerateOptions, in LeadIn) *generation {
	g := &generation{c: c, o: o, in: in, table: in.errors(), rain: c.rainYear()}
	first := calendar.DayOf(o.Start.Start(), in.Zone)
	last := calendar.DayOf((o.Start + calendar.Hour(o.Hours) - 1).Start(), in.Zone)
	from, _ := first.AddDays(-1).Hours(in.Zone)
	_, to := last.AddDays(1).Hours(in.Zone)
	g.start, g.hours = from, int(to-from)
	g.now = max(0, min(g.hours, int(in.Now-from)))
	g.clear = ClearSky(from, g.hours, o.At)
	g.clock = make([]int, g.hours)
	for i := range g.clock {
		g.clock[i] = sunHour(from+calendar.Hour(i), o.At)
	}
	for n := warmDays; n > 0; n-- {
		g.warm = append(g.warm, g.day(first.AddDays(-1-n)))
	}
	for date := first.AddDays(-1); !date.After(last.AddDays(1)); date = date.AddDays(1) {
		g.days = append(g.days, g.day(date))
	}
	for i := range g.now {
		g.seen = g.seen || g.known(RainMM, i)
	}
	return g
}

// known reports whether an hour of the frame was observed.
func (g *generation) known(v Var, hour int) bool {
	if g.in.Observed == nil || hour >= g.now {
		return false
	}
	_, ok := g.in.Observed.At(v, g.start+calendar.Hour(hour))
	return ok
}

// day fills in what the climate says of a date.
func (g *generation) day(date calendar.Day) drawDay {
	c := g.c
	first, end := date.Hours(g.in.Zone)
	sun := SunOn(date, g.o.At)
	hour := func(t time.Time) float64 { return float64(t.Unix())/3600 - float64(g.start) }
	d := drawDay{date: date, first: int(first - g.start), end: int(end - g.start), step: &c.Step[quarterOf(date)]}
	d.rise, d.set = hour(sun.Noon)-6, hour(sun.Noon)+6 // in the polar night and day, where there is no field
	if !sun.NeverRises && !sun.NeverSets {
		d.rise, d.set = hour(sun.Rise), hour(sun.Set)
	}
	for status := range 2 {
		for k := range quantities {
			d.usual[status][k] = c.Usual[status][k].On(date)
			d.sd[status][k] = sdOn(c.Spread[status][k], date)
		}
		d.sun[status] = c.Sun.Usual[status].On(date)
	}
	d.rain = g.rain.on(date)
	d.rains, d.rainFrom = [2]float64{d.rain.P01, d.rain.P11}, d.first
	return d
}

func (g *generation) note() string {
	say := ""
	if g.seen {
		say = "; observed up to " + g.in.Now.Start().In(g.in.Zone).Format("2006-01-02 15:04")
	}
	if g.said > 0 {
		say += fmt.Sprintf("; forecast for %d days up to %s, with the usual error of its age", g.said, g.until)
	}
	return say
}

// listen finds what is forecast for the frame's days.
func (g *generation) listen() error {
	today := calendar.DayOf(g.in.Now.Start(), g.in.Zone)
	for i := range g.days {
		d := &g.days[i]
		said := slices.IndexFunc(g.in.Days, func(a Ahead) bool { return a.On == d.date })
		number := d.date.DaysSince(today) + 1
		if said < 0 || number < 1 || number > LongestLead {
			continue
		}
		if slices.ContainsFunc(g.in.Days[said+1:], func(a Ahead) bool { return a.On == d.date }) {
			return fmt.Errorf("%w: %s", ErrTwoForecasts, d.date)
		}
		d.ahead = &g.in.Days[said]
		d.lead = number + d.ahead.Late
		g.said, g.until = g.said+1, d.date
	}
	return nil
}

// observedAir returns what the observed hours of a day come to; known is false where more than a quarter of the day is
// still to come or an hour is missing.
func (g *generation) observedAir(d *drawDay) (air DayAir, known bool) {
	if g.in.Observed == nil {
		return DayAir{}, false
	}
	end := min(d.end, g.now)
	if 4*(end-d.first) < 3*(d.end-d.first) {
		return DayAir{}, false
	}
	air = g.in.Observed.Summary(g.start+calendar.Hour(d.first), g.start+calendar.Hour(end))
	return air, air.Known
}

// observedRain returns the rain seen so far on a day, mm, and in how many of its hours it was looked for.
func (g *generation) observedRain(d *drawDay) (mm float64, hours int) {
	for i := d.first; i < min(d.end, g.now); i++ {
		if g.known(RainMM, i) {
			x, _ := g.in.Observed.At(RainMM, g.start+calendar.Hour(i))
			mm += x
			hours++
		}
	}
	return mm, hours
}

// anomaly returns a day's air in standard deviations from the usual of dry or wet days.
func (d *drawDay) anomaly(status int, x [quantities]float64) (z [quantities]float64) {
	for k := range x {
		z[k] = (x[k] - d.usual[status][k]) / d.sd[status][k]
	}
	return z
}

func airVector(a DayAir) [quantities]float64 {
	return [quantities]float64{a.High, a.Low, a.Dew, math.Sqrt(max(0, a.Wind))}
}
