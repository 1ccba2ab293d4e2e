package app

import (
	"strings"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
)

// said is a forecast that says the same high for a run of days.
type said struct {
	from calendar.Day
	days int
	high float64
}

func (s said) Ahead(_ calendar.Hour, _ *time.Location) []weather.Ahead {
	var out []weather.Ahead
	for i := range s.days {
		high, low := s.high, s.high-10
		out = append(out, weather.Ahead{On: s.from.AddDays(i), High: &high, Low: &low})
	}
	return out
}

var (
	now   = time.Date(2026, 10, 5, 11, 0, 0, 0, time.UTC)
	today = calendar.MustDay("2026-10-05")
	spot  = farm.Point{Lat: 41.98765, Lon: -93.5}
)

func hoursAgo(h float64) time.Time { return now.Add(-time.Duration(h * float64(time.Hour))) }

func service(name string, old float64, days int, high float64) KeptForecast {
	return KeptForecast{Service: name, At: farm.Point{Lat: 41.9877, Lon: -93.5}, Issued: hoursAgo(old), Days: said{today, days, high}}
}

// entered is the farm's own forecast of some days; old below zero: nobody said when.
func entered(from, days int, old, high float64) []farm.OutlookDay {
	var out []farm.OutlookDay
	for i := range days {
		d := farm.OutlookDay{On: today.AddDays(from + i), High: units.Celsius(high), Low: units.Celsius(high - 10)}
		if old >= 0 {
			at := hoursAgo(old)
			d.Entered = &at
		}
		out = append(out, d)
	}
	return out
}

const (
	nationalHigh = 21.0
	ensembleHigh = 22.0
	ownHigh      = 23.0
)

// Each row: what is kept and entered, and for each day ahead whose high counts and by how many days it is late. A
// service younger than twelve hours goes first, then what was entered after its forecast was made, then the older
// service, then what was entered before; an entry is a day late by itself.
func TestWhoIsBelievedForWhichDay(t *testing.T) {
	type day struct {
		high float64
		late int
	}
	for name, c := range map[string]struct {
		kept []KeptForecast
		own  []farm.OutlookDay
		want []day
	}{
		"nobody speaks":       {},
		"own alone":           {own: entered(0, 2, 1, ownHigh), want: []day{{ownHigh, 1}, {ownHigh, 1}}},
		"own of two days ago": {own: entered(0, 1, 48, ownHigh), want: []day{{ownHigh, 3}}},
		"own without a time":  {own: entered(0, 1, -1, ownHigh), want: []day{{ownHigh, 1}}},
		"fresh service goes before a later entry": {
			[]KeptForecast{service("n", 3, 2, nationalHigh)}, entered(0, 3, 1, ownHigh), []day{{nationalHigh, 0}, {nationalHigh, 0}, {ownHigh, 1}},
		},
		"later entry goes before an older service": {
			[]KeptForecast{service("n", 20, 3, nationalHigh)}, entered(0, 2, 1, ownHigh), []day{{ownHigh, 1}, {ownHigh, 1}, {nationalHigh, 1}},
		},
		"older service goes before an earlier entry": {
			[]KeptForecast{service("n", 30, 1, nationalHigh)}, entered(0, 2, 40, ownHigh), []day{{nationalHigh, 1}, {ownHigh, 3}},
		},
		"entry without a time counts as earlier": {
			[]KeptForecast{service("n", 60, 1, nationalHigh)}, entered(0, 2, -1, ownHigh), []day{{nationalHigh, 3}, {ownHigh, 1}},
		},
		"the ensemble speaks beyond the national service": {
			[]KeptForecast{service("n", 1, 1, nationalHigh), service("e", 1, 3, ensembleHigh)}, nil, []day{{nationalHigh, 0}, {ensembleHigh, 0}, {ensembleHigh, 0}},
		},
		"a fresh ensemble goes before an older national forecast": {
			[]KeptForecast{service("n", 13, 2, nationalHigh), service("e", 1, 1, ensembleHigh)}, nil, []day{{ensembleHigh, 0}, {nationalHigh, 1}},
		},
		"a forecast of the future is not used": {[]KeptForecast{service("n", -1, 2, nationalHigh)}, nil, nil},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := trust(now, time.UTC, &spot, c.kept, c.own)
			if err != nil {
				t.Fatal(err)
			}
			if len(got.days) != len(c.want) {
				t.Fatalf("%d days, want %d", len(got.days), len(c.want))
			}
			for i, w := range c.want {
				d := got.days[i]
				if d.On != today.AddDays(i) || *d.High != w.high || d.Late != w.late {
					t.Errorf("%s: high %.0f, late by %d; want %.0f, %d", d.On, *d.High, d.Late, w.high, w.late)
				}
			}
		})
	}
}

func TestAForecastForAnotherPlaceIsNotUsedAndSaidSo(t *testing.T) {
	for name, at := range map[string]*farm.Point{"moved": {Lat: 41.9, Lon: -93.5}, "nowhere": nil} {
		got, err := trust(now, time.UTC, at, []KeptForecast{service("National Weather Service", 1, 2, nationalHigh)}, nil)
		if err != nil || len(got.days) != 0 || len(got.notes) != 1 || !strings.Contains(got.notes[0], "41.9877, -93.5000") {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
}

func TestEverySourceIsToldWithItsAge(t *testing.T) {
	k := service("National Weather Service", 31, 2, nationalHigh)
	k.Findings = []problem.Finding{{Rule: "forecast.unit"}}
	got, err := trust(now, time.UTC, &spot, []KeptForecast{k}, entered(0, 3, 40, ownHigh))
	if err != nil || len(got.sources) != 2 || len(got.doubts) != 1 {
		t.Fatalf("%+v, %v", got, err)
	}
	var said []string
	for _, s := range got.sources {
		said = append(said, s.sentence(now), s.staleWords(now))
	}
	want := []string{
		"The forecast of the National Weather Service of Sun 4 Oct 04:00, 31 h old, covers 2 days.",
		"The forecast of the National Weather Service is 31 h old: each of its days counts as a day further ahead.",
		"Your own forecast of Sat 3 Oct 19:00 covers one day.",
		"Your own forecast is 40 h old.",
	}
	for i := range want {
		if said[i] != want[i] {
			t.Errorf("said %q, want %q", said[i], want[i])
		}
	}
}
