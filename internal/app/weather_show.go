package app

import (
	"context"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
)

// A DayAhead is what is said of one day, by the source that is believed about it. What is nil is not said.
type DayAhead struct {
	weather.Ahead
	Source *ForecastSource
}

// Wind10m returns the day's mean wind at the height that forecasts speak of.
func (d DayAhead) Wind10m() (wind units.Speed, ok bool) {
	if d.Wind == nil {
		return 0, false
	}
	return units.Speed(*d.Wind) / weather.WindAt2m(1, 10*units.Meter), true
}

// DewWord returns "none", "light" or "heavy" for the morning; empty where low or dew point is not said.
func (d DayAhead) DewWord() weather.Dew {
	if d.Dew == nil || d.Low == nil {
		return ""
	}
	return weather.DewWord(*d.Low, *d.Dew)
}

// DaysAhead is what is said of the days ahead, and by whom.
type DaysAhead struct {
	Farm     string
	AsOf     time.Time // in the farm's zone
	Days     []DayAhead
	Sources  []ForecastSource
	Who      []string // who speaks, since when and of how many days, a sentence each
	Stale    []string // what is too old to lean on, or is not used
	Findings []problem.Finding
	Credit   string

	Bands    []DayBand  // of each day, what the members make of it; empty: of a single forecast none are drawn
	Members  int        // weathers behind Bands
	Learned  [4]int     // of temperature, dew point, wind and rain: lead days whose error the farm's own archive taught
	Ensemble string     // how they were made
	Loud     []string   // what a person must know before believing them
	Station  string     // where the record was measured, and what that does
	Observed *time.Time // end of what was observed; nil: nothing was
}

// ShowWeather returns the days ahead as a plan takes them: who says what of them, and what the members make of it.
func (a *App) ShowWeather(ctx context.Context, r PlanRequest) (*DaysAhead, error) {
	mo, err := a.settled(ctx, &r)
	if err != nil {
		return nil, err
	}
	if err := a.readWeather(ctx, r, mo); err != nil {
		return nil, err
	}
	if mo.ahead, err = mo.trusted(); err != nil {
		return nil, err
	}
	today := calendar.DayOf(mo.now, mo.zone)
	if mo.from, err = mo.climate(today.Year); err != nil {
		return nil, err
	}
	out := mo.ahead.shown(mo.now)
	out.Farm, out.Credit, out.Findings = mo.season.Farm.Name, mo.credit(), append(mo.doubts, mo.ahead.doubts...)
	out.Loud, out.Station, out.Observed = mo.from.loud, mo.stationSaid(), mo.observedUntil()
	out.Members, out.Learned = mo.members, mo.from.learned
	start, _ := today.Hours(mo.zone)
	_, end := today.AddDays(weather.LongestLead - 1).Hours(mo.zone)
	members, err := mo.drawn(start, end)
	if err != nil {
		return nil, err
	}
	out.Ensemble = members.Note
	out.Bands = bands(members, mo.zone)
	return out, nil
}

// moment returns the time an answer speaks of: the one asked for, the season's own, or now.
func (a *App) moment(asked, asOf *time.Time) time.Time {
	switch {
	case asked != nil:
		return *asked
	case asOf != nil:
		return *asOf
	}
	return a.Now()
}

// ShowForecast returns what one forecast says of the days from its first hours on, on the clock of a zone.
func (a *App) ShowForecast(name string, data []byte, zone *time.Location) (*DaysAhead, error) {
	k, err := a.ForecastFile(name, data, zone)
	if err != nil {
		return nil, err
	}
	made := k.Issued.In(zone)
	one := voice{ForecastSource: ForecastSource{Name: k.Service, Made: &made, Cell: k.Cell}, says: k.Days.Ahead(calendar.HourOf(made), zone), findings: k.Findings}
	ahead := &outlookAhead{}
	ahead.settle([]voice{one}, calendar.DayOf(made, zone))
	out := ahead.shown(made)
	out.Farm, out.Findings = name, ahead.doubts
	if len(out.Days) == 0 {
		return nil, &NoAnswer{Rule: "weather.nothing", Say: "The forecast holds no day to speak of.", Next: "A day needs its hours from dawn to late afternoon."}
	}
	return out, nil
}

// shown lays out who says what.
func (o *outlookAhead) shown(now time.Time) *DaysAhead {
	out := &DaysAhead{AsOf: now, Sources: o.sources, Stale: o.notes}
	for i, d := range o.days {
		out.Days = append(out.Days, DayAhead{d, &o.sources[o.of[i]]})
	}
	for i := range o.sources {
		s := &o.sources[i]
		out.Who = append(out.Who, s.sentence(now))
		if say := s.staleWords(now); say != "" {
			out.Stale = append(out.Stale, say)
		}
	}
	return out
}

// A DayRow is one day ahead: what is said of it and what the members make of it; either may be missing.
type DayRow struct {
	On   calendar.Day
	Said *DayAhead
	Band *DayBand
}

// Rows returns the days in order.
func (d *DaysAhead) Rows() []DayRow {
	var out []DayRow
	for i := range d.Bands {
		out = append(out, DayRow{On: d.Bands[i].On, Band: &d.Bands[i]})
	}
	for i := range d.Days {
		said := &d.Days[i]
		at, found := slices.BinarySearchFunc(out, said.On, func(r DayRow, on calendar.Day) int { return r.On.DaysSince(on) })
		if !found {
			out = slices.Insert(out, at, DayRow{On: said.On})
		}
		out[at].Said = said
	}
	return out
}

// SeasonZone returns the zone of the farm's clock.
func (a *App) SeasonZone(ctx context.Context, r PlanRequest) (*time.Location, error) {
	mo, err := a.settled(ctx, &r)
	if err != nil {
		return nil, err
	}
	return mo.zone, nil
}
