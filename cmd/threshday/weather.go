package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
	"threshday/internal/feeds/ensemblejson"
	"threshday/internal/feeds/forecast"
	"threshday/internal/feeds/gridpoint"
	"threshday/internal/feeds/outbound"
	"threshday/internal/feeds/seasonfile"
	"threshday/internal/feeds/weatherfile"
)

// keptForecasts returns the newest forecast of each service that a folder keeps.
func keptForecasts(folder string) ([]app.KeptForecast, []problem.Finding, error) {
	kept, doubts, err := forecast.Folder(folder).Newest()
	var out []app.KeptForecast
	for i := range kept {
		out = append(out, *keptForecast(&kept[i]))
	}
	return out, doubts, err
}

// allForecasts returns every forecast that a folder keeps.
func allForecasts(folder string) ([]app.KeptForecast, []problem.Finding, error) {
	kept, doubts, err := forecast.Folder(folder).All()
	var out []app.KeptForecast
	for i := range kept {
		out = append(out, *keptForecast(&kept[i]))
	}
	return out, doubts, err
}

func keptForecast(k *forecast.Kept) *app.KeptForecast {
	if k == nil {
		return nil
	}
	return &app.KeptForecast{
		Service: serviceName(k.Source), Form: k.Form, Cell: k.Cell, Near: k.Near, Zone: k.Zone, At: farm.Point{Lat: k.At.Lat, Lon: k.At.Lon},
		Issued: k.Issued, Received: k.Received, Checked: k.Checked, Days: k.Says, Findings: k.Findings,
	}
}

func serviceName(s forecast.Source) string {
	if s == forecast.Ensemble {
		return app.EnsembleService
	}
	return app.NationalService
}

// fetchForecast asks one service.
func fetchForecast(ctx context.Context, o app.FetchOrder) (*app.Fetched, error) {
	if !seasonfile.IsContact(o.Contact) {
		return nil, &problem.InputError{Rule: "weather.contact", Label: "contact", Got: o.Contact, Want: "a mail address as farm@example.com, or a page that begins with https://"}
	}
	set := outbound.Settings{
		Agent:  "Threshday/" + strings.ReplaceAll(buildVersion(), " ", "-") + " (" + o.Contact + ")",
		Jitter: rand.Float64, Waits: outbound.DefaultWaits(),
	}
	asker := forecast.Asker{Folder: forecast.Folder(o.Folder), Page: strings.TrimSuffix(o.Page, "/"), Now: func() time.Time { return o.Now }}
	at := forecast.PlaceAt(o.At.Lat, o.At.Lon)
	if o.Ensemble.URL != "" {
		set.OwnHost = true
		asker.Client = outbound.New(set)
		result, err := asker.Ensemble(ctx, at, o.Ensemble.URL, o.Key)
		return fetched(app.EnsembleService, result, err)
	}
	set.Hopeless = forecast.Hopeless
	set.OwnHost = asker.Page != ""
	if !set.OwnHost {
		asker.Page = forecast.ServicePage
	}
	asker.Client = outbound.New(set)
	result, err := asker.National(ctx, at)
	return fetched(app.NationalService, result, err)
}

// fetched turns what came of asking into the app's words.
func fetched(service string, o *forecast.Outcome, err error) (*app.Fetched, error) {
	var trouble *forecast.Trouble
	switch {
	case errors.As(err, &trouble):
		return &app.Fetched{
			Service: service, Result: app.FetchTroubled, Kept: keptForecast(trouble.Kept),
			Trouble: &app.Trouble{Rule: trouble.Rule, Say: trouble.Say, Next: trouble.Next},
		}, nil
	case err != nil:
		return nil, err
	}
	result := map[forecast.Result]app.FetchResult{forecast.New: app.FetchedNew, forecast.Same: app.FetchedSame, forecast.TooSoon: app.FetchTooSoon}[o.Result]
	return &app.Fetched{Service: service, Result: result, Kept: keptForecast(o.Kept), Next: o.Next}, nil
}

// readForecast reads a forecast from a file: as a service sends it, packed or not, or hourly weather as plain CSV.
func readForecast(name string, data []byte, zone *time.Location) (*app.KeptForecast, error) {
	data, err := forecast.Unpack(data)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	if !bytes.HasPrefix(bytes.TrimSpace(data), []byte("{")) {
		return readHours(name, data, zone)
	}
	var form struct{ Hourly json.RawMessage }
	if json.Unmarshal(data, &form) == nil && form.Hourly != nil {
		runs, err := ensemblejson.Read(name, data)
		if err != nil {
			return nil, err
		}
		return &app.KeptForecast{Service: app.EnsembleService, Form: "ensemble", Days: runs, Issued: runs.Members[0].Start.Start()}, nil
	}
	f, err := gridpoint.Read(name, data)
	if err != nil {
		return nil, err
	}
	k := &app.KeptForecast{Service: app.NationalService, Form: string(f.Form), Cell: f.Cell, Days: f.Weather, Issued: f.Issued, Findings: f.Findings}
	if k.Issued.IsZero() {
		k.Issued = f.Weather.Hours.Start.Start()
	}
	return k, nil
}

// hours is a forecast that says hours and no chances.
type hours struct{ *weather.Series }

// Ahead returns what the hours say of days they hold whole.
func (h hours) Ahead(now calendar.Hour, zone *time.Location) []weather.Ahead {
	out := weather.AheadOf(h.Series, zone)
	today := calendar.DayOf(now.Start(), zone)
	return slices.DeleteFunc(out, func(a weather.Ahead) bool { return a.On.Before(today) })
}

// readHours reads hourly weather to come from a plain file.
func readHours(name string, data []byte, zone *time.Location) (*app.KeptForecast, error) {
	series, report, err := weatherfile.Read(bytes.NewReader(data), name, weatherfile.Options{Zone: zone})
	if err != nil {
		return nil, err
	}
	return &app.KeptForecast{Service: "file " + name, Form: report.Format, Days: hours{series}, Issued: series.Start.Start(), Findings: report.Findings}, nil
}
