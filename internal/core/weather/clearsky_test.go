package weather_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

func TestExtraterrestrialRadiationMatchesWorkedExamples(t *testing.T) {
	published.Each(t, "clearsky", func(t *testing.T, r published.Row) {
		got := weather.ExtraterrestrialMJ(calendar.MustDay(r.Text("day")), r.Float("lat"))
		if math.Abs(got-r.Float("want")) > r.Float("tol") {
			t.Errorf("got %.3f MJ/m², want %s [%s]", got, r.Text("want"), r.Text("source"))
		}
	})
}

// The hours of a day hold what the day's clear sky gives, three quarters of what arrives above the air.
// [fao-56] eq. 36
func TestClearSkyHoursAddUpToTheDay(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		day := drawDay(r)
		at := weather.Spot{Lat: rapid.Float64Range(25, 60).Draw(r, "lat"), Lon: rapid.Float64Range(-125, -65).Draw(r, "lon")}
		noon := calendar.HourOf(weather.SunOn(day, at).Noon)
		sum := 0.0
		for _, w := range weather.ClearSky(noon-12, 24, at) {
			if w < 0 {
				r.Fatalf("%v W/m²", w)
			}
			sum += w * 3600 / 1e6
		}
		want := 0.75 * weather.ExtraterrestrialMJ(day, at.Lat)
		if math.Abs(sum-want) > 0.01*want {
			r.Fatalf("%s at %v: hours hold %.3f MJ/m², the day %.3f", day, at, sum, want)
		}
	})
}

func TestClearSkyByNightIsDark(t *testing.T) {
	at := weather.Spot{Lat: 42, Lon: -93.6}
	day := calendar.MustDay("2026-10-15")
	sun := weather.SunOn(day, at)
	start := calendar.HourOf(sun.Rise) - 8
	for i, w := range weather.ClearSky(start, 40, at) {
		h := start + calendar.Hour(i)
		lit := h.End().After(sun.Rise) && h.Start().Before(sun.Set)
		if next := weather.SunOn(day.AddDays(1), at); h.End().After(next.Rise) {
			lit = h.Start().Before(next.Set)
		}
		if lit != (w > 0) {
			t.Errorf("%s: %.2f W/m², sun up %v", h.Start(), w, lit)
		}
	}
	if got := weather.ClearSky(0, 48, weather.Spot{Lat: 85, Lon: 0}); got[12] != 0 {
		t.Errorf("polar night has %v W/m²", got[12])
	}
}
