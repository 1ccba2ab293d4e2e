package app

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/farm"
	"threshday/internal/core/planner"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// A FieldOutlook is the moisture of one field to come, and what is known of it.
type FieldOutlook struct {
	Field    *farm.Field
	AsOf     time.Time
	Members  int
	LimitPct float64
	Limits   []float64 // those that shares and odds speak of, % wet basis; the first is LimitPct
	Outlook  drydown.Outlook
	Readings []Evidence
	Devices  []DeviceBelief
	Ground   GroundState
	Maturity []string
	Weather  WeatherState
	Stale    []string
	Assumed  []Assumption
	Cautions []Caution
	Sample   *SampleAdvice // where to read it next, by the season's plan; nil: nothing is left to decide
}

// An OutlookRequest asks for the outlook of one field.
type OutlookRequest struct {
	PlanRequest
	Field string
	Hours int // ahead; 0: ten days
}

// outlookHours is how far ahead an outlook goes unless told otherwise.
const outlookHours = 240

// Outlook returns the field's moisture hour by hour over the same weathers the plan stands on.
func (a *App) Outlook(ctx context.Context, r OutlookRequest) (*FieldOutlook, error) {
	mo, err := a.morning(ctx, r.PlanRequest)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	f, err := mo.fieldCalled(r.Field)
	if err != nil {
		return nil, err
	}
	hours := r.Hours
	if hours == 0 {
		hours = outlookHours
	}
	plan, err := planner.Make(ctx, mo.build.Table, planner.Settings{Workers: a.workers()})
	if err != nil {
		return nil, err
	}
	out := mo.outlook(f, hours)
	out.Sample = mo.sample(plan, f)
	return out, nil
}

// outlook returns what is to come in field f.
func (mo *morning) outlook(f, hours int) *FieldOutlook {
	facts := &mo.build.Fields[f]
	limit := mo.build.Table.Fields[f].LimitPct
	limits := []float64{limit}
	if base := facts.Field.Yield.Base.Float(); base != limit {
		limits = append(limits, base)
	}
	track := facts.Look(min(hours, mo.build.Table.Hours), limits)
	out := &FieldOutlook{
		Field: facts.Field, AsOf: mo.now, Members: mo.build.Table.Members, LimitPct: limit, Limits: limits, Maturity: facts.Maturity,
		Weather: mo.weatherState(), Stale: mo.stale(), Devices: mo.devices(facts), Ground: mo.groundState(facts),
		Outlook: drydown.Summarize(track, drydown.Working{
			LimitWB: limit, From: mo.season.Prefer.WorkFrom, Until: mo.season.Prefer.WorkUntil, MinHours: drydown.DefaultMinHours, LoadSDWB: facts.LoadSDPct,
		}, mo.zone),
	}
	for _, l := range facts.Lessons {
		out.Readings = append(out.Readings, mo.evidence(l))
	}
	for _, s := range mo.build.Assumed {
		if strings.HasPrefix(s.What, facts.Field.Name+":") || strings.HasPrefix(s.What, "Weather") || strings.HasPrefix(s.What, "Cloud") {
			out.Assumed = append(out.Assumed, Assumption(s))
		}
	}
	out.Cautions = mo.outlookCautions(facts, &out.Outlook)
	return out
}

// fieldCalled returns the place of a field, by its id or name.
func (mo *morning) fieldCalled(name string) (int, error) {
	var known []string
	for i, f := range mo.season.Fields {
		known = append(known, f.ID)
		if f.ID == name || strings.EqualFold(f.Name, name) {
			return i, nil
		}
	}
	return 0, &problem.InputError{Rule: "field.unknown", Label: "field", Got: name, Want: strings.Join(known, ", ")}
}

// A SingleRequest asks for the plain physics of one stratum on one weather, for checking.
type SingleRequest struct {
	Crop       crop.Kind
	Class      crop.WheatClass
	Files      fs.FS
	Weather    string
	MoistureWB float64 // at the beginning, % wet basis
	At         time.Time
	Hours      int // 0: to the end of the file
	WindHeight *float64
	Zone       *time.Location
}

// A Single is the plain physics and what the weather file did not have.
type Single struct {
	Hours  []drydown.PlainHour
	Filled []weather.Filling
}

// Single runs the hourly equations with one stratum and no readings.
func (a *App) Single(r SingleRequest) (*Single, error) {
	params, ok := drydown.DefaultParams(r.Crop, r.Class)
	if !ok {
		return nil, &problem.InputError{Rule: "outlook.crop", Label: "crop", Got: r.Crop.String(), Want: "soybean, corn, wheat, sorghum, canola or sunflower"}
	}
	if !(r.MoistureWB >= 2 && r.MoistureWB <= 80) {
		return nil, &problem.InputError{Rule: "outlook.moisture", Label: "moisture", Got: fmt.Sprintf("%g", r.MoistureWB), Want: "2 to 80 % wet basis"}
	}
	rec, err := a.Weather(r.Files, r.Weather, WeatherReading{Zone: r.Zone, WindHeight: r.WindHeight, Strict: true})
	if err != nil {
		return nil, err
	}
	from := calendar.HourOf(r.At)
	s := rec.Series
	if from < s.Start || from >= s.End() {
		return nil, &problem.InputError{
			Rule: "outlook.at", Label: "at", Got: r.At.Format(time.RFC3339),
			Want: fmt.Sprintf("a time in the weather file, %s to %s", s.Start.Start().Format(time.RFC3339), s.End().Start().Format(time.RFC3339)),
		}
	}
	end := s.End()
	if r.Hours > 0 {
		end = min(end, from+calendar.Hour(r.Hours))
	}
	e := weather.NewEnsemble(from, int(end-from), 1)
	for v := weather.Var(0); v < weather.NVar; v++ {
		row := e.Row(v, 0)
		for h := range row {
			x, ok := s.At(v, from+calendar.Hour(h))
			if !ok {
				x = math.NaN()
				if v == weather.SkyFrac {
					x, ok = 0.5, true // the cloud cover nobody recorded; the reader says so
				}
			}
			if !ok {
				return nil, &problem.InputError{
					Rule: "outlook.weather", Label: v.String(), Want: "a value in every hour",
					Where: problem.Place{File: r.Weather, Path: (from + calendar.Hour(h)).Start().Format(time.RFC3339)},
				}
			}
			row[h] = float32(x)
		}
	}
	return &Single{Hours: drydown.Plain(params, e, 0, from, end, r.MoistureWB), Filled: rec.Filled}, nil
}
