package weatherfile

import (
	"math"
	"testing"
	"time"

	"threshday/internal/core/weather"
)

// An airport sees the damp air of a field half as often: relative humidity of 0.90 in 11 of 100 autumn hours
// against 21. The correction for airports must close part of that gap, not more. [isd-lite-725300]
// [champaign-hourly]
func TestAirportNightsAreBroughtTowardsTheField(t *testing.T) {
	damp := func(s *weather.Series) float64 {
		n, humid := 0.0, 0.0
		for h := s.Start; h < s.End(); h++ {
			temp, ok1 := s.At(weather.TempC, h)
			dew, ok2 := s.At(weather.DewC, h)
			if m := h.Start().In(standard).Month(); m < time.September || m > time.November || !ok1 || !ok2 {
				continue
			}
			n++
			if weather.RelativeHumidity(temp, dew) >= 0.90 {
				humid++
			}
		}
		return humid / n
	}
	plain, _ := open(t, ohare, Options{Station: weather.Station{At: &ohareAt}})
	moved, _ := open(t, ohare, Options{Station: weather.Station{At: &ohareAt, Airport: true}})
	field, _ := open(t, champaign, Options{})
	airport, corrected, rural := damp(plain), damp(moved), damp(field)
	t.Logf("hours of 0.90 and more: airport %.3f, corrected %.3f, field %.3f", airport, corrected, rural)
	if math.Abs(airport-0.11) > 0.01 {
		t.Errorf("airport %.3f, want 0.11 [isd-lite-725300]", airport)
	}
	if corrected < airport+0.03 || corrected > rural+0.02 {
		t.Errorf("corrected %.3f, want between the airport's %.3f and the field's %.3f", corrected, airport, rural)
	}
}
