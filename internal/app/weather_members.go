package app

import (
	"context"
	"errors"
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// drawnFrom is what the members of an answer are drawn from.
type drawnFrom struct {
	climate *weather.Climate
	at      weather.Spot
	errors  weather.ErrorTable // of the forecasts
	learned [4]int             // of temperature, dew point, wind and rain: for how many lead days the farm's own archive taught it
	loud    []string           // what a person must know before believing it
}

// station returns what the season says of the place where its weather was recorded.
func (mo *morning) station() weather.Station {
	set := &mo.season.Farm.Weather
	st := weather.Station{Airport: set.StationKind == airport, Root: mo.root, Standard: standardTime(mo.zone)}
	if p := mo.season.Farm.At; p != nil {
		st.At = &weather.Spot{Lat: p.Lat, Lon: p.Lon}
	}
	return st
}

// standardTime returns a zone's standard time ahead of UTC, north of the equator.
func standardTime(zone *time.Location) time.Duration {
	_, seconds := time.Date(2001, 1, 1, 0, 0, 0, 0, zone).Zone()
	return time.Duration(seconds) * time.Second
}

// climate fits the climate of a season to its record, without the years named. Where there is no record, or one too
// short for it, the built-in climate stands in, and that is said.
func (mo *morning) climate(without ...int) (*drawnFrom, error) {
	d := &drawnFrom{at: mo.station().Place(), errors: weather.DefaultErrors()}
	if mo.record == nil {
		d.climate = weather.BuiltIn()
		d.loud = append(d.loud, "No weather record is loaded: the odds stand on the built-in climate of "+d.climate.Name+
			", not on your place. Name an hourly station record of two years or more under [farm.weather] record, or put one in with threshday weather import.")
		return d, nil
	}
	c, err := weather.Fit(mo.record.Series, mo.station(), weather.FitOptions{Name: mo.recordName(), Exclude: without, HalfLife: weather.DefaultHalfLife})
	switch {
	case errors.Is(err, weather.ErrNoClimate):
		d.climate = weather.BuiltIn()
		d.loud = append(d.loud, fmt.Sprintf("%s. The odds stand on the built-in climate of %s, not on your place: load a longer record.", capital(err.Error()), d.climate.Name))
	case err != nil:
		return nil, err
	default:
		d.climate = c
	}
	mo.learn(d)
	return d, nil
}

// learn puts into the error table what the archive teaches of it: services' forecasts made before now against what was
// observed before now.
func (mo *morning) learn(d *drawnFrom) {
	if mo.record == nil || len(mo.archive) == 0 {
		return
	}
	v := weather.Verify(issuesOf(mo.archive), mo.record.Series.Until(calendar.HourOf(mo.now)), d.climate, mo.zone)
	d.errors, d.learned = v.Table(weather.DefaultErrors())
}

// issuesOf returns forecasts as they are verified.
func issuesOf(kept []KeptForecast) []weather.Issue {
	var out []weather.Issue
	for _, k := range kept {
		days, ok := k.Days.(saidDays)
		if ok {
			out = append(out, weather.Issue{At: calendar.HourOf(k.Received), Days: days})
		}
	}
	return out
}

// recordName is what messages call the record.
func (mo *morning) recordName() string {
	if name := mo.season.Farm.Weather.Record; name != "" {
		return name
	}
	return "the weather in the data file"
}

// drawn returns the members of the hours from start to end, around what was observed up to now and what is said of the days
// ahead.
func (mo *morning) drawn(start, end calendar.Hour) (*weather.Ensemble, error) {
	in := weather.LeadIn{Now: calendar.HourOf(mo.now), Zone: mo.zone, Observed: mo.observed, Root: mo.root, Days: mo.ahead.days, Errors: &mo.from.errors}
	return mo.from.climate.Generate(weather.GenerateOptions{Start: start, Hours: int(end - start), Members: mo.members, At: mo.from.at}, in)
}

// readRecord reads the weather record, and what was observed up to now where that stands in another file. Both may be
// missing.
func (a *App) readRecord(ctx context.Context, r PlanRequest, mo *morning) error {
	reading := mo.reading()
	if name := mo.season.Farm.Weather.Record; name != "" {
		rec, err := a.Weather(r.Files, name, reading)
		if err != nil {
			return err
		}
		mo.record = rec
	}
	if r.Book != "" {
		if err := a.readArchive(ctx, r.Book, mo); err != nil {
			return err
		}
	}
	if mo.record != nil {
		mo.observed = mo.record.Series
	}
	if r.Observed == "" {
		return nil
	}
	files, name, err := a.Files(r.Observed)
	if err != nil {
		return err
	}
	latest, err := a.Weather(files, name, reading)
	if err != nil {
		return err
	}
	mo.observed = mo.observed.Over(latest.Series)
	return nil
}

// recordAssumed returns what was put in the place of what the record lacks.
func (mo *morning) recordAssumed() []Assumption {
	var out []Assumption
	if mo.record == nil {
		return nil
	}
	for _, f := range mo.record.Filled {
		if f.Assumed {
			out = append(out, Assumption{What: "Weather record: " + f.Var.String(), Value: f.Say, From: "not in the file"})
		}
	}
	return out
}

// observedUntil returns the end of what was observed before now; nil where nothing was.
func (mo *morning) observedUntil() *time.Time {
	if mo.observed == nil {
		return nil
	}
	end := min(mo.observed.End(), calendar.HourOf(mo.now))
	for end > mo.observed.Start {
		if _, ok := mo.observed.At(weather.TempC, end-1); ok {
			at := end.Start()
			return &at
		}
		end--
	}
	return nil
}
