package weather_test

import (
	"math"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

func TestWordsAPersonUsesForADay(t *testing.T) {
	d := weather.ManualDay{
		On: calendar.MustDay("2024-10-01"), High: 20, Low: 8, Chance: ptr(0.3), Amount: "medium", Part: "night",
		Dew: "heavy", Wind: "breezy", Sky: "part",
	}
	got, err := d.Ahead()
	if err != nil {
		t.Fatal(err)
	}
	// 5 m/s at 10 m times 0.748 [fao-56] eq. 47; heavy dew 0.7 °C above the low [champaign-hourly].
	for _, c := range []struct {
		name      string
		got, want float64
	}{{"dew", *got.Dew, 8.7}, {"wind", *got.Wind, 3.74}, {"sky", *got.Sky, 0.5}, {"amount", *got.Amount, 8}} {
		if math.Abs(c.got-c.want) > 0.001 {
			t.Errorf("%s: got %.3f, want %.3f", c.name, c.got, c.want)
		}
	}
	for name, change := range map[string]func(*weather.ManualDay){
		"word":   func(d *weather.ManualDay) { d.Amount = "lots" },
		"part":   func(d *weather.ManualDay) { d.Part = "lunch" },
		"high":   func(d *weather.ManualDay) { d.High = 5 },
		"chance": func(d *weather.ManualDay) { d.Chance = ptr(30) },
	} {
		bad := d
		change(&bad)
		if _, err := bad.Ahead(); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}
