package weather_test

import (
	"testing"

	"threshday/internal/core/weather"
)

// A made day: damp and calm by night, sun from 6 to 18 o'clock, dry air from a given hour to another.
func madeDay(dryFrom, dryTo int, rainAt int) (temp, dew, wind, rain, solar []float32) {
	for h := range 24 {
		td := float32(14.8)
		if h >= dryFrom && h < dryTo {
			td = 8
		}
		temp, dew, wind, rain, solar = append(temp, 15), append(dew, td), append(wind, 1), append(rain, 0), append(solar, 0)
		if h >= 6 && h < 18 {
			solar[h] = 400
		}
		if h == rainAt {
			rain[h] = 5
		}
	}
	return temp, dew, wind, rain, solar
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
		temp, dew, wind, rain, solar := madeDay(c.from, c.to, c.rain)
		got := weather.HarvestDays(temp, dew, wind, rain, solar)
		if len(got) != 1 || got[0] != c.want {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
}
