package weather_test

import (
	"math"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

func TestWetMembersAreAsManyAsTheChanceAsksFor(t *testing.T) {
	e, in := autumn(t)
	first, end := hoursOf(e, in, "2024-09-26") // lead day 2: k = .95
	usual := 0.0                               // of the days 15 either way, all of which the ensemble holds from its first
	days := 0
	for _, view := range weather.Days(e.Start, e.End(), in.Zone) {
		if view.Date.After(calendar.MustDay("2024-10-11")) {
			continue
		}
		days++
		for m := range e.Members {
			if e.Summary(m, int(view.First-e.Start), int(view.End-e.Start)).Wet() {
				usual++
			}
		}
	}
	usual /= float64(days * e.Members)
	for _, chance := range []float64{0, 0.1, 0.3, 0.5, 0.7, 1} {
		in.Days = []weather.Ahead{{On: calendar.MustDay("2024-09-26"), Rain: ptr(chance)}}
		out := mustLead(t, e, in)
		wet, turned := 0, 0
		own := 0
		for m := range e.Members {
			was, is := e.Summary(m, first, end).Wet(), out.Summary(m, first, end).Wet()
			if was {
				own++
			}
			if is {
				wet++
			}
			if was != is {
				turned++
			}
		}
		p := math.Max(0.02, math.Min(0.98, usual+.95*(chance-usual)))
		if want := int(math.Round(p * members)); wet != want {
			t.Errorf("chance %.1f: %d members wet, want %d", chance, wet, want)
		}
		if fewest := max(wet-own, own-wet); turned != fewest {
			t.Errorf("chance %.1f: %d members turned, %d would do", chance, turned, fewest)
		}
	}
}

func TestForecastAmountAndPartAreKept(t *testing.T) {
	e, in := autumn(t)
	first, end := hoursOf(e, in, "2024-09-25")
	in.Days = []weather.Ahead{{On: calendar.MustDay("2024-09-25"), Rain: ptr(0.8), Amount: ptr(8), Part: weather.Afternoon}}
	out := mustLead(t, e, in)
	wet, total, inPart := 0.0, 0.0, 0.0
	for m := range out.Members {
		if !out.Summary(m, first, end).Wet() {
			continue
		}
		wet++
		for i, mm := range out.Row(weather.RainMM, m)[first:end] {
			total += float64(mm)
			if i >= 12 {
				inPart += float64(mm)
			}
		}
	}
	want := .97*8 + .03*wetDayMean(e, in)
	if mean := total / wet; math.Abs(mean-want) > 0.001 {
		t.Errorf("mean rain of wet members %.3f mm, want %.3f", mean, want)
	}
	if share := inPart / total; share < 0.9 {
		t.Errorf("%.0f %% of the rain falls from noon on, want nearly all", 100*share)
	}
}

// wetDayMean is the mean rain of the wet days of all members.
func wetDayMean(e *weather.Ensemble, in weather.LeadIn) float64 {
	sum, n := 0.0, 0.0
	for _, view := range weather.Days(e.Start, e.End(), in.Zone) {
		for m := range e.Members {
			if d := e.Summary(m, int(view.First-e.Start), int(view.End-e.Start)); d.Wet() {
				sum += d.Rain
				n++
			}
		}
	}
	return sum / n
}
