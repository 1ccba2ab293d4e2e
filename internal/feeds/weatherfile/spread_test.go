package weatherfile

import (
	"math"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// dailyOnly returns O'Hare's autumn of 2016 with its hourly rain replaced by the days' totals, and the hours of
// rain that were. Missing rain counts as none.
func dailyOnly(t *testing.T, withHumidity bool) (*weather.Measured, []float64) {
	t.Helper()
	s, _ := open(t, ohare, Options{})
	start, _ := calendar.MustDay("2016-09-01").Hours(standard)
	end, _ := calendar.MustDay("2016-12-01").Hours(standard)
	m := &weather.Measured{Start: start, Hours: int(end - start)}
	var real []float64
	for h := start; h < end; h++ {
		temp, _ := s.At(weather.TempC, h)
		dew, _ := s.At(weather.DewC, h)
		rain, _ := s.At(weather.RainMM, h)
		m.Temp = append(m.Temp, temp)
		if withHumidity {
			m.Dew = append(m.Dew, dew)
		}
		real = append(real, rain)
	}
	for i := 0; i < m.Hours; i += 24 {
		total := 0.0
		for _, mm := range real[i : i+24] {
			total += mm
		}
		if total < 0.25 {
			total = 0
		}
		for range 24 {
			m.DayRain = append(m.DayRain, total/24)
		}
	}
	return m, real
}

// Spread from its daily totals, an autumn's rain must look like the hours that fell: as many wet hours a day,
// as clustered, and mostly in the hours that were damp. The autumn counts 4.19 wet hours a wet day and rain
// after a wet hour in two of three hours. [isd-lite-725300]
func TestSpreadRainLooksLikeTheRainThatFell(t *testing.T) {
	measured, _ := dailyOnly(t, true)
	humidity := func(i int) float64 { return weather.RelativeHumidity(measured.Temp[i], measured.Dew[i]) }
	measure := func(withHumidity bool) (hours, again, damp float64) {
		m, _ := dailyOnly(t, withHumidity)
		wet, wetDays, followed := 0.0, 0.0, 0.0
		for seed := range 40 {
			s, _ := m.Series(weather.Station{Standard: -6 * time.Hour, Root: [32]byte{byte(seed)}})
			rain := s.V[weather.RainMM]
			for i, mm := range rain {
				if i%24 == 0 && m.DayRain[i] > 0 {
					wetDays++
				}
				if mm <= 0 {
					continue
				}
				wet++
				if i+1 < len(rain) && rain[i+1] > 0 {
					followed++
				}
				damp += humidity(i)
			}
		}
		return wet / wetDays, followed / wet, damp / wet
	}
	hours, again, blind := measure(false)
	if math.Abs(hours-4.19) > 0.5 {
		t.Errorf("%.2f wet hours a wet day, want 4.19 [isd-lite-725300]", hours)
	}
	if math.Abs(again-0.66) > 0.08 {
		t.Errorf("rain after a wet hour in %.2f, want 0.66 [isd-lite-725300]", again)
	}
	_, _, led := measure(true)
	_, real := dailyOnly(t, true)
	fell, n := 0.0, 0.0
	for i, mm := range real {
		if mm > 0 {
			fell += humidity(i)
			n++
		}
	}
	fell /= n
	t.Logf("mean humidity of wet hours: %.3f where it fell, %.3f placed at random, %.3f led by humidity", fell, blind, led)
	if math.Abs(led-fell) > 0.5*math.Abs(blind-fell) {
		t.Errorf("hours led by humidity have %.3f, at random %.3f, the hours it fell %.3f [isd-lite-725300]", led, blind, fell)
	}
}
