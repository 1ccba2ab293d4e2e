package drydown_test

import (
	"math"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/weather"
)

// season is 60 days of smooth weather in which members differ, with rain every fifth day.
func season(members, hours int) *weather.Ensemble {
	e := weather.NewEnsemble(0, hours, members)
	for m := range members {
		off := float64(m%11) - 5
		for i := range hours {
			h := float64(i % 24)
			t := 17 + off/2 - float64(i)/24/8 + 6.5*math.Cos(math.Pi*(h-15)/12)
			e.Row(weather.TempC, m)[i] = float32(t)
			e.Row(weather.DewC, m)[i] = float32(math.Min(9+off/3, t))
			e.Row(weather.WindMS, m)[i] = 2.5
			e.Row(weather.SkyFrac, m)[i] = 0.4
			if h > 6 && h < 18 {
				e.Row(weather.SolarWM2, m)[i] = float32(500 * math.Sin(math.Pi*(h-6)/12))
			}
			if i/24%5 == m%5 && h < 6 {
				e.Row(weather.RainMM, m)[i] = 1.5
			}
		}
	}
	return e
}

const (
	benchMembers = 100
	benchHours   = 60 * 24
)

func BenchmarkDriversSeason(b *testing.B) {
	p, _ := drydown.DefaultParams(crop.Soybean, crop.AnyWheat)
	e := season(benchMembers, benchHours)
	b.ReportAllocs()
	for b.Loop() {
		drydown.NewDrivers(p, e)
	}
}

func benchmarkField(b *testing.B, k crop.Kind) {
	p, _ := drydown.DefaultParams(k, crop.AnyWheat)
	d := drydown.NewDrivers(p, season(benchMembers, benchHours))
	f := drydown.NewField(p, drydown.Even)
	start := f.Start(0, 72, drydown.Chances{})
	states := make([]drydown.State, benchMembers)
	out := drydown.NewTrack(0, benchHours, benchMembers)
	b.ReportAllocs()
	for b.Loop() {
		for m := range states {
			states[m] = start
		}
		f.RunAll(d, states, calendar.Hour(benchHours), out)
	}
}

func BenchmarkFieldSeasonSoybean(b *testing.B) { benchmarkField(b, crop.Soybean) }
func BenchmarkFieldSeasonCorn(b *testing.B)    { benchmarkField(b, crop.Corn) }

// The evidence of one field six weeks after maturity, and its hundred members.
func BenchmarkAssimilate(b *testing.B) {
	c := autumn(b, crop.Soybean, 2003)
	c.Now = c.Ripe.Hour + 24*20
	for i := range 5 {
		c.Readings = append(c.Readings, meter("r", c.Now-calendar.Hour(24*i), 16))
	}
	b.ReportAllocs()
	for b.Loop() {
		post, _, err := drydown.Assimilate(c)
		if err != nil {
			b.Fatal(err)
		}
		post.States([32]byte{1}, benchMembers)
	}
}
