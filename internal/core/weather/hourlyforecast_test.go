package weather_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

func chicago(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// p1 + (1−p1)·p2·(1−ρ) with ρ 0.4: 0.4 + 0.6·0.3·0.6 = 0.508, by hand.
func TestTwoBlocksOfADayMakeOneChance(t *testing.T) {
	blocks := []weather.RainChance{{Start: 0, End: 12, P: 0.3}, {Start: 12, End: 24, P: 0.4}}
	p, ok := weather.ChanceOf(blocks, 0, 24)
	if !ok || math.Abs(p-0.508) > 1e-12 {
		t.Errorf("got %.4f, %v; want 0.508", p, ok)
	}
}

// However blocks lie to a day, its chance is no less than that of the wettest block wholly inside and no more than that
// of independent blocks.
func TestAChanceLiesBetweenTheLargestAndIndependence(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var blocks []weather.RainChance
		at := calendar.Hour(rapid.IntRange(-12, 0).Draw(t, "start"))
		for at < 24 {
			length := calendar.Hour(rapid.IntRange(1, 12).Draw(t, "length"))
			blocks = append(blocks, weather.RainChance{Start: at, End: at + length, P: rapid.Float64Range(0, 1).Draw(t, "p")})
			at += length
		}
		p, ok := weather.ChanceOf(blocks, 0, 24)
		largest, dry := 0.0, 1.0
		for _, b := range blocks {
			dry *= 1 - b.P
			if b.Start >= 0 && b.End <= 24 {
				largest = max(largest, b.P)
			}
		}
		if !ok || p < largest-1e-12 || p > 1-dry+1e-12 {
			t.Fatalf("%v: %.4f outside %.4f to %.4f", blocks, p, largest, 1-dry)
		}
	})
}

func TestAChanceNeedsBlocksForNearlyAllHours(t *testing.T) {
	blocks := []weather.RainChance{{Start: 0, End: 12, P: 0.3}}
	if _, ok := weather.ChanceOf(blocks, 0, 24); ok {
		t.Error("half a day tells the chance of a day")
	}
	if _, ok := weather.ChanceOf(blocks, 0, 15); !ok {
		t.Error("three hours outside the blocks hide a chance")
	}
	if _, ok := weather.ChanceOf(nil, 0, 2); ok {
		t.Error("no block tells a chance")
	}
}

// forecastOf makes a forecast of n hours from start: a temperature that is lowest at 6 and highest at 15 on the clock.
func forecastOf(start calendar.Hour, n int, zone *time.Location) weather.HourlyForecast {
	s := weather.NewSeries(start, n)
	for h := start; h < s.End(); h++ {
		clock := float64(h.Start().In(zone).Hour())
		temp := 15 - 7*math.Cos((clock-3)*math.Pi/12)
		if clock >= 6 && clock <= 15 {
			temp = 15 - 7*math.Cos((clock-6)*math.Pi/9)
		}
		s.Set(weather.TempC, h, temp, weather.Forecast)
		s.Set(weather.DewC, h, 7, weather.Forecast)
		s.Set(weather.WindMS, h, 3, weather.Forecast)
		s.Set(weather.SkyFrac, h, 0.4, weather.Forecast)
		s.Set(weather.RainMM, h, 0, weather.Forecast)
	}
	return weather.HourlyForecast{Hours: s}
}

func TestAForecastSpeaksOfDays(t *testing.T) {
	zone := chicago(t)
	first, _ := calendar.MustDay("2026-10-05").Hours(zone)
	f := forecastOf(first-3, 24*3+3, zone)
	for h := first + 12; h < first+18; h++ {
		f.Hours.Set(weather.RainMM, h, 0.5, weather.Forecast)
	}
	f.Chances = []weather.RainChance{{first - 5, first + 7, 0.1}, {first + 7, first + 19, 0.6}, {first + 19, first + 31, 0.2}}
	days := f.Ahead(first+4, zone)
	if len(days) != 3 {
		t.Fatalf("%d days, want 3", len(days))
	}
	d := days[0]
	if d.On != calendar.MustDay("2026-10-05") || math.Abs(*d.High-22) > 1e-5 || math.Abs(*d.Low-8) > 1e-5 || *d.Dew != 7 || *d.Wind != 3 {
		t.Errorf("the day says %+v", d)
	}
	// From 4 o'clock: 3 of 12 hours of the first block, all of the second, 5 of 12 of the third. Spells of 4 h touch
	// (3+3)/15 and (5+3)/15 of the parts: 0.04 and 0.1067 beside 0.6. 0.6 + 0.4·0.1067·0.6 = 0.6256, then
	// + 0.3744·0.04·0.6 = 0.6346, by hand.
	if math.Abs(*d.Rain-0.6346) > 0.0001 {
		t.Errorf("chance %.4f, want 0.6346", *d.Rain)
	}
	// 3 mm expected over the chance is 4.73 mm if it rains; all of it falls between noon and six.
	if math.Abs(*d.Amount-3/0.6346) > 0.001 || d.Part != weather.Afternoon {
		t.Errorf("amount %.3f in the %s", *d.Amount, d.Part)
	}
	if days[1].Rain != nil || days[2].High == nil {
		t.Errorf("later days say %+v and %+v", days[1], days[2])
	}
}

func TestADayInPartSaysWhatItsPartTells(t *testing.T) {
	zone := chicago(t)
	first, _ := calendar.MustDay("2026-10-05").Hours(zone)
	f := forecastOf(first+10, 14+10, zone) // from 10 o'clock to 10 o'clock
	days := f.Ahead(first+10, zone)
	if len(days) != 2 {
		t.Fatalf("%d days, want 2", len(days))
	}
	if days[0].High == nil || days[0].Low != nil || days[0].Dew == nil {
		t.Errorf("from 10 o'clock: %+v", days[0])
	}
	if days[1].High != nil || days[1].Low == nil || days[1].Dew != nil {
		t.Errorf("up to 10 o'clock: %+v", days[1])
	}
	if later := f.Ahead(first+24, zone); len(later) != 1 {
		t.Errorf("tomorrow has %d days, want 1", len(later))
	}
	if gone := f.Ahead(first+48, zone); len(gone) != 0 {
		t.Errorf("a forecast that is over says %v", gone)
	}
}

// On 1 November 2026 clocks in Chicago go back: the day has 25 hours, and all of them count.
func TestADayOfTwentyFiveHours(t *testing.T) {
	zone := chicago(t)
	first, end := calendar.MustDay("2026-11-01").Hours(zone)
	f := forecastOf(first, int(end-first), zone)
	f.Chances = []weather.RainChance{{first, end, 0.3}}
	days := f.Ahead(first, zone)
	if len(days) != 1 || end-first != 25 || math.Abs(*days[0].Rain-0.3) > 1e-12 || days[0].High == nil || days[0].Low == nil {
		t.Errorf("%d hours: %+v", end-first, days)
	}
}

// Three runs: highs of 20, 22 and 27 °C have the mean 23; two of three are wet, with 4 and 8 mm.
func TestRunsOfAnEnsembleSpeakThroughTheirMiddle(t *testing.T) {
	zone := chicago(t)
	first, _ := calendar.MustDay("2026-10-05").Hours(zone)
	var runs []*weather.Series
	for _, c := range []struct{ shift, rain float64 }{{-2, 4}, {0, 0}, {5, 8}} {
		s := forecastOf(first, 48, zone).Hours
		for h := s.Start; h < s.End(); h++ {
			x, _ := s.At(weather.TempC, h)
			s.Set(weather.TempC, h, x+c.shift, weather.Forecast)
		}
		s.Set(weather.RainMM, first+15, c.rain, weather.Forecast)
		runs = append(runs, s)
	}
	runs[1].From[weather.DewC][30], runs[1].From[weather.WindMS][3] = weather.Missing, weather.Missing
	for h := first + 24 + 5; h < first+24+8; h++ {
		runs[2].From[weather.TempC][h-first] = weather.Missing // dawn of the second day
	}
	days := weather.EnsembleForecast{Members: runs}.Ahead(first+6, zone)
	if len(days) != 2 {
		t.Fatalf("%d days, want 2", len(days))
	}
	d := days[0]
	if math.Abs(*d.High-23) > 1e-5 || math.Abs(*d.Rain-2.0/3) > 1e-12 || math.Abs(*d.Amount-6) > 1e-5 {
		t.Errorf("high %.3f, chance %.4f, amount %.3f", *d.High, *d.Rain, *d.Amount)
	}
	if days[1].Low != nil || days[1].High == nil || days[1].Amount != nil || *days[1].Rain != 0 {
		t.Errorf("the second day says %+v", days[1])
	}
}

// Midway between what no dew, light and heavy dew are: 1.4 °C below the low and 0.25 °C above it. [champaign-hourly]
func TestADewPointHasTheNearestWord(t *testing.T) {
	for _, c := range []struct {
		dew  float64
		want weather.Dew
	}{{3, "none"}, {8.5, "none"}, {8.7, "light"}, {10.2, "light"}, {10.3, "heavy"}, {12, "heavy"}} {
		if got := weather.DewWord(10, c.dew); got != c.want {
			t.Errorf("low 10, dew point %.1f: %s, want %s", c.dew, got, c.want)
		}
	}
}
