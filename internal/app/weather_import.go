package app

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"path/filepath"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
	"threshday/internal/store"
)

// A WeatherImport is a file to put into the data file: a station's record, or a forecast as a service sends it.
type WeatherImport struct {
	Data       string // the data file
	File       string
	Station    string   // "rural" or "airport"; empty: as the season says
	Stamp      string   // what a row's time marks of its hour; empty: as the season says
	WindHeight *float64 // metres; nil: as the season says
}

// An ImportedWeather says what became of it.
type ImportedWeather struct {
	Name     string
	Data     string
	Again    bool // was there already; what is said of its station now counts
	Zone     *time.Location
	First    time.Time
	End      time.Time
	Hours    int // of its span
	Missing  int // of these without a temperature
	Station  string
	Filled   []weather.Filling // what was not in the file, and what stands in for it
	Climate  string            // what the record in the data file is now enough for
	Forecast *KeptForecast     // it was a forecast; nil: a record
	Days     int               // of the forecast
}

// ImportWeather puts a file of weather into the data file, whole or not at all.
func (a *App) ImportWeather(ctx context.Context, r WeatherImport) (*ImportedWeather, error) {
	files, name, err := a.Files(r.File)
	if err != nil {
		return nil, err
	}
	data, err := readAll(files, name)
	if err != nil {
		return nil, err
	}
	plan := PlanRequest{Book: r.Data}
	mo, err := a.settled(ctx, &plan)
	if err != nil {
		return nil, err
	}
	out := &ImportedWeather{Name: name, Data: r.Data, Zone: mo.zone}
	if bytes.HasPrefix(bytes.TrimSpace(data), []byte("{")) {
		return a.importForecast(ctx, r, mo, data, out)
	}
	f := store.WeatherFile{Name: name, Station: r.Station, Stamp: r.Stamp, WindHeight: r.WindHeight, Imported: a.Now().UTC()}
	set := &mo.season.Farm.Weather
	if f.Station == "" {
		f.Station = set.StationKind
	}
	if f.Stamp == "" {
		f.Stamp = set.Stamp
	}
	if f.Packed, err = packed(data); err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	f.Digest = hex.EncodeToString(sum[:])
	rec, err := a.archived(f, mo)
	if err != nil {
		return nil, err
	}
	s := rec.Series
	f.First, f.End = s.Start.Start(), s.End().Start()
	b, err := a.book(ctx, r.Data, write)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	if out.Again, err = b.store.KeepWeather(ctx, b.Farm, f); err != nil {
		return nil, troubled(err)
	}
	out.First, out.End, out.Hours, out.Filled = f.First.In(mo.zone), f.End.In(mo.zone), s.Len(), rec.Filled
	for _, from := range s.From[weather.TempC] {
		if from == weather.Missing {
			out.Missing++
		}
	}
	out.Station = kindSaid(f.Station)
	return out, a.enoughFor(ctx, plan, mo, out)
}

// enoughFor says what all that is recorded is now enough for.
func (a *App) enoughFor(ctx context.Context, plan PlanRequest, mo *morning, out *ImportedWeather) error {
	mo.record = nil
	if err := a.readWeather(ctx, plan, mo); err != nil {
		return err
	}
	from, err := mo.climate(calendar.DayOf(mo.now, mo.zone).Year)
	if err != nil {
		return err
	}
	if len(from.loud) > 0 {
		out.Climate = from.loud[0]
		return nil
	}
	out.Climate = from.climate.Described()
	return nil
}

// importForecast puts a forecast that came some other way into the archive. The file does not say for which place: the
// farm's.
func (a *App) importForecast(ctx context.Context, r WeatherImport, mo *morning, data []byte, out *ImportedWeather) (*ImportedWeather, error) {
	if mo.season.Farm.At == nil {
		return nil, noPlace()
	}
	k, err := a.ForecastFile(out.Name, data, mo.zone)
	if err != nil {
		return nil, err
	}
	k.At, k.Received = *mo.season.Farm.At, a.Now().UTC()
	if k.Issued.After(k.Received) {
		return nil, &problem.InputError{
			Rule: "forecast.future", Label: "issue time", Got: k.Issued.In(mo.zone).Format(time.RFC3339), Want: "not later than now, " + k.Received.In(mo.zone).Format(time.RFC3339),
			Where: problem.Place{File: filepath.Base(out.Name)}, Next: "Check the clock of this computer.",
		}
	}
	out.Forecast, out.Days = k, len(k.Days.Ahead(calendar.HourOf(k.Received), mo.zone))
	if out.Days == 0 {
		return nil, &NoAnswer{Rule: "weather.nothing", Say: "The forecast says nothing of today or later days.", Next: "Ask for a newer one."}
	}
	return out, a.keepForecast(ctx, r.Data, mo.zone, k)
}
