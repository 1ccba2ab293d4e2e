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

// Three hundred stories of one field in each of thirty weathers over ten days.
func BenchmarkOutlook300Stories30Members240Hours(b *testing.B) {
	const stories, members, hours = 300, 30, 240
	for _, k := range []crop.Kind{crop.Soybean, crop.Corn} {
		b.Run(k.String(), func(b *testing.B) {
			p, _ := drydown.DefaultParams(k, crop.AnyWheat)
			d := drydown.NewDrivers(p, season(members, hours))
			f := drydown.NewField(p, drydown.Even)
			start := f.Start(0, 72, drydown.Chances{})
			out := drydown.NewTrack(0, hours, members)
			b.ReportAllocs()
			for b.Loop() {
				for range stories {
					for m := range members {
						s := start
						f.Run(d, m, &s, hours, out)
					}
				}
			}
		})
	}
}

// A farm of sixty fields: its evidence of 120 readings, then sixty members of each ten days ahead, on one core.
func BenchmarkSixtyFieldsSixtyMembers(b *testing.B) {
	var cases []drydown.Case
	for i := range 60 {
		c := autumn(b, crop.Soybean, 2003)
		c.Ripe.Hour += calendar.Hour(24 * (i % 12))
		c.Now = hourOn("2003-10-02") + 6
		c.Readings = []drydown.Reading{meter("a", c.Now-60+calendar.Hour(i%7), 20), meter("b", c.Now-12, 16)}
		cases = append(cases, c)
	}
	b.ReportAllocs()
	for b.Loop() {
		s, err := drydown.AssimilateAll(cases)
		if err != nil {
			b.Fatal(err)
		}
		for i, post := range s.Posteriors {
			out := drydown.NewTrack(post.At, 240, 1)
			for _, state := range post.States([32]byte{byte(i)}, 60) {
				cases[i].Field.Run(cases[i].Record, 0, &state, post.At+240, out)
			}
		}
	}
}

// One more reading of one field, answered with a hundred members ten days ahead.
func BenchmarkAddedReading(b *testing.B) {
	c := autumn(b, crop.Soybean, 2003)
	c.Now = c.Ripe.Hour + 24*20
	for i := range 4 {
		c.Readings = append(c.Readings, meter(string(rune('a'+i)), c.Now-calendar.Hour(24*i), 16))
	}
	b.ReportAllocs()
	for b.Loop() {
		post, _, err := drydown.Assimilate(c)
		if err != nil {
			b.Fatal(err)
		}
		out := drydown.NewTrack(post.At, 240, 1)
		for _, state := range post.States([32]byte{1}, 100) {
			c.Field.Run(c.Record, 0, &state, post.At+240, out)
		}
	}
}
