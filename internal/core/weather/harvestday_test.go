package weather_test

import (
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// A made day: damp and calm by night, sun from 6 to 18 o'clock, dry air from a given hour to another.
func madeDay(dryFrom, dryTo int, rainAt int) *weather.Ensemble {
	e := weather.NewEnsemble(0, 24, 1)
	for h := range e.Hours {
		e.Row(weather.TempC, 0)[h], e.Row(weather.DewC, 0)[h], e.Row(weather.WindMS, 0)[h] = 15, 14.8, 1
		if h >= dryFrom && h < dryTo {
			e.Row(weather.DewC, 0)[h] = 8
		}
		if h >= 6 && h < 18 {
			e.Row(weather.SolarWM2, 0)[h] = 400
		}
		if h == rainAt {
			e.Row(weather.RainMM, 0)[h] = 5
		}
	}
	return e
}

func TestHoursToCutIn(t *testing.T) {
	for name, c := range map[string]struct {
		from, to, rain int
		want           weather.HarvestDay
	}{
		// Six damp hours leave 0.31 mm at sunrise; sun takes 0.08 an hour, so that it is gone in the hour from nine. Dry air
		// takes 0.11 more: of the shower 0.40, 0.21 and 0.018 mm are left at one, two and three o'clock.
		"dry from ten":       {10, 18, -1, weather.HarvestDay{Hours: 8, Window: true, DewOff: 9, Dew: true}},
		"three dry hours":    {12, 15, -1, weather.HarvestDay{Hours: 3, Window: false, DewOff: 9, Dew: true}},
		"damp all day":       {24, 24, -1, weather.HarvestDay{Hours: 0, Window: false, DewOff: 9, Dew: true}},
		"a shower at noon":   {10, 18, 12, weather.HarvestDay{Hours: 6, Window: true, DewOff: 9, Dew: true}},
		"dry since midnight": {0, 24, -1, weather.HarvestDay{Hours: 12, Window: true, DewOff: -1, Dew: false}},
	} {
		e := madeDay(c.from, c.to, c.rain)
		got := e.HarvestDays(0, weather.Days(0, 24, time.UTC))
		if len(got) != 1 || got[0] != c.want {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
}

// The day on which clocks go back has 25 hours, and all of them are looked at; the next begins where it ends.
func TestHarvestDaysOfTheChangeOfClocks(t *testing.T) {
	zone := central(t)
	start := calendar.HourOf(time.Date(2026, 10, 31, 0, 0, 0, 0, zone))
	e := weather.NewEnsemble(start, 24+25+24, 1)
	for h := range e.Hours {
		e.Row(weather.TempC, 0)[h], e.Row(weather.DewC, 0)[h] = 20, 2
		if clock := (start + calendar.Hour(h)).Start().In(zone).Hour(); clock >= 7 && clock < 18 {
			e.Row(weather.SolarWM2, 0)[h] = 300
		}
	}
	for i, d := range e.HarvestDays(0, weather.Days(start, e.End(), zone)) {
		if d.Hours != 11 || !d.Window || d.Dew {
			t.Errorf("day %d: %+v, want 11 hours by the clock", i+1, d)
		}
	}
	s := weather.NewSeries(start, e.Hours)
	if d := s.HarvestDays(weather.Days(start, s.End(), zone)); len(d) != 3 || d[0].Hours != 0 {
		t.Errorf("hours nobody knows count: %+v", d)
	}
}
