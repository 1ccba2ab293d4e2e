package app

import (
	"fmt"
	"math"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// freshFor is how long a service's forecast goes before whatever the farm entered. [judgement]
const freshFor = 12 * time.Hour

// OwnForecast names the farm's own forecast among the sources.
const OwnForecast = "your own forecast"

// A ForecastSource is who speaks of some of the days ahead, and how old that is.
type ForecastSource struct {
	Name  string // "National Weather Service", or [OwnForecast]
	Own   bool
	Made  *time.Time // nil: nobody says
	Days  []calendar.Day
	Late  int  // by how many days its age moves each of its days further ahead
	Stale bool // a service's forecast past its freshness
	Near  string
	Cell  string
}

// Age returns how old the source is at now; ok is false where nobody says.
func (s *ForecastSource) Age(now time.Time) (age time.Duration, ok bool) {
	if s.Made == nil {
		return 0, false
	}
	return max(0, now.Sub(*s.Made)), true
}

// Names of the services, as a person says them.
const (
	NationalService = "National Weather Service"
	EnsembleService = "ensemble service"
)

// outlookAhead is what is said of the days ahead, day by day by the source that is trusted most.
type outlookAhead struct {
	days    []weather.Ahead
	of      []int // which source speaks of each day
	sources []ForecastSource
	notes   []string          // what was not used, and why
	doubts  []problem.Finding // of forecasts that are used
}

// voice is one source on its way to be trusted.
type voice struct {
	ForecastSource
	says     []weather.Ahead
	findings []problem.Finding
}

// trusted picks for each day ahead of a morning whom to believe.
func (mo *morning) trusted() (*outlookAhead, error) {
	return trust(mo.now, mo.zone, mo.season.Farm.At, mo.kept, mo.season.Outlook)
}

// trust picks for each day whom to believe: a service's forecast younger than twelve hours; else what the farm entered
// after that forecast was made; else the service's older one, whose age adds to how far ahead its days are; else what the
// farm entered before. Days nobody speaks of are left to the weather of other years.
func trust(now time.Time, zone *time.Location, at *farm.Point, kept []KeptForecast, own []farm.OutlookDay) (*outlookAhead, error) {
	out := &outlookAhead{}
	var fresh, stale []voice
	newest := time.Time{}
	for _, k := range kept {
		v, why := hear(k, now, zone, at)
		switch {
		case why != "":
			out.notes = append(out.notes, why)
			continue
		case v.Stale:
			stale = append(stale, v)
		default:
			fresh = append(fresh, v)
		}
		if k.Issued.After(newest) {
			newest = k.Issued
		}
	}
	later, earlier, err := ownVoices(own, now, zone, newest)
	if err != nil {
		return nil, err
	}
	order := append(fresh, later...)
	order = append(order, stale...)
	out.settle(append(order, earlier...), calendar.DayOf(now, zone))
	return out, nil
}

// hear returns what a kept forecast says; why is set where it is not used.
func hear(k KeptForecast, now time.Time, zone *time.Location, at *farm.Point) (v voice, why string) {
	age := now.Sub(k.Issued)
	switch {
	case age < 0:
		return v, fmt.Sprintf("The forecast of the %s of %s is not used: it was made after the moment this answer speaks of.", k.Service, k.Issued.In(zone).Format("2 Jan 2006 15:04"))
	case at == nil || !sameSpot(*at, k.At):
		return v, fmt.Sprintf("The forecast of the %s is not used: it was fetched for %.4f, %.4f, which is not the farm's place now.", k.Service, k.At.Lat, k.At.Lon)
	}
	v.Name, v.Made, v.Near, v.Cell = k.Service, &k.Issued, k.Near, k.Cell
	v.Late, v.Stale = lateBy(age), age >= freshFor
	v.says = k.Days.Ahead(calendar.HourOf(now), zone)
	for i := range v.says {
		v.says[i].Late += v.Late
	}
	v.findings = k.Findings
	return v, ""
}

// lateBy returns by how many days an age moves the days of a forecast further ahead.
func lateBy(age time.Duration) int { return int(math.Round(age.Hours() / 24)) }

// sameSpot reports whether two points are one as services are asked, to four places.
func sameSpot(a, b farm.Point) bool {
	return math.Abs(a.Lat-b.Lat) < 1e-4 && math.Abs(a.Lon-b.Lon) < 1e-4
}

// ownVoices parts the farm's own forecast into what was entered after a service's forecast was made, and the rest; each
// moment of entering is a source of its own.
func ownVoices(own []farm.OutlookDay, now time.Time, zone *time.Location, newest time.Time) (later, earlier []voice, err error) {
	today := calendar.DayOf(now, zone)
	for _, d := range own {
		if d.On.Before(today) {
			continue
		}
		ahead, err := manualDay(d).Ahead()
		if err != nil {
			return nil, nil, err
		}
		v := voice{ForecastSource: ForecastSource{Name: OwnForecast, Own: true, Made: d.Entered}}
		if d.Entered != nil {
			v.Late = max(0, lateBy(now.Sub(*d.Entered)))
			ahead.Late += v.Late
		}
		v.says = []weather.Ahead{ahead}
		if newest.IsZero() || d.Entered != nil && d.Entered.After(newest) {
			later = append(later, v)
		} else {
			earlier = append(earlier, v)
		}
	}
	return later, earlier, nil
}

// settle gives each day to the first voice that speaks of it well enough, in the order of the days.
func (o *outlookAhead) settle(order []voice, today calendar.Day) {
	last := today
	for _, v := range order {
		for _, a := range v.says {
			if a.On.After(last) {
				last = a.On
			}
		}
	}
	for day := today; !day.After(last); day = day.AddDays(1) {
		for _, v := range order {
			if a, ok := speaks(v.says, day, day == today); ok {
				o.days, o.of = append(o.days, a), append(o.of, o.sourceOf(v))
				source := &o.sources[o.of[len(o.of)-1]]
				source.Days = append(source.Days, day)
				break
			}
		}
	}
}

// speaks returns what is said of a day: high and low, or of today, whose dawn or afternoon may be past, anything.
func speaks(says []weather.Ahead, day calendar.Day, today bool) (weather.Ahead, bool) {
	for _, a := range says {
		if a.On == day && (a.High != nil && a.Low != nil || today) {
			return a, true
		}
	}
	return weather.Ahead{}, false
}

// sourceOf returns which source a voice belongs to; the farm's own entries of one moment are one.
func (o *outlookAhead) sourceOf(v voice) int {
	for i, s := range o.sources {
		same := s.Made == nil && v.Made == nil || s.Made != nil && v.Made != nil && s.Made.Equal(*v.Made)
		if s.Name == v.Name && same {
			return i
		}
	}
	o.sources = append(o.sources, v.ForecastSource)
	o.doubts = append(o.doubts, v.findings...)
	return len(o.sources) - 1
}

// sentence says who speaks, since when and of how many days.
func (s *ForecastSource) sentence(now time.Time) string {
	covers := fmt.Sprintf("covers %d days", len(s.Days))
	if len(s.Days) == 1 {
		covers = "covers one day"
	}
	when := ""
	if s.Made != nil {
		when = " of " + s.Made.In(now.Location()).Format("Mon 2 Jan 15:04")
	}
	if s.Own {
		return "Your own forecast" + when + " " + covers + "."
	}
	old, _ := s.Age(now)
	return fmt.Sprintf("The forecast of the %s%s, %s old, %s.", s.Name, when, age(old), covers)
}

// staleWords says what is too old to lean on, or nothing.
func (s *ForecastSource) staleWords(now time.Time) string {
	const oldEntry = 24 * time.Hour
	old, ok := s.Age(now)
	switch {
	case !ok:
		return ""
	case s.Own && old > oldEntry:
		return fmt.Sprintf("Your own forecast is %s old.", age(old))
	case !s.Own && s.Stale && s.Late > 0:
		return fmt.Sprintf("The forecast of the %s is %s old: each of its days counts as %s further ahead.", s.Name, age(old), days(s.Late))
	}
	return ""
}

// credit returns whom the answer's weather is owed to: the record's note and, where it speaks, the ensemble service's.
func (mo *morning) credit() string {
	set := &mo.season.Farm.Weather
	text := set.Note
	for _, s := range mo.ahead.sources {
		if s.Name == EnsembleService {
			text = strings.TrimSpace(text + " " + set.Ensemble.Credit)
		}
	}
	return text
}
