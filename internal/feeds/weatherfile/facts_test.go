package weatherfile

import (
	"bytes"
	"math"
	"os"
	"slices"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
)

const (
	champaign = "../../demo/farm/weather/champaign_il_hourly_2003_2007.csv.gz" // the one copy, its sources beside it
	ohare     = "testdata/isd_lite_725300_2016.txt.gz"
)

func open(t testing.TB, path string, o Options) (*weather.Series, Report) {
	t.Helper()
	s, rep, err := Open(path, o)
	if err != nil {
		t.Fatal(err)
	}
	return s, rep
}

var (
	bondville = weather.Spot{Lat: 40.05, Lon: -88.37}
	ohareAt   = weather.Spot{Lat: 41.98, Lon: -87.90}
	standard  = time.FixedZone("standard", -6*3600)
)

// means returns what the hours of one month of all years come to, wind back at the mast's 10 m.
func means(s *weather.Series, month time.Month) (temp, dew, rh, wind float64) {
	n := 0.0
	for h := s.Start; h < s.End(); h++ {
		if h.Start().In(standard).Month() != month {
			continue
		}
		t, _ := s.At(weather.TempC, h)
		d, _ := s.At(weather.DewC, h)
		w, _ := s.At(weather.WindMS, h)
		temp += t
		dew += d
		rh += weather.RelativeHumidity(t, d)
		wind += w / weather.WindAt2m(1, 10*units.Meter).MetersPerSecond()
		n++
	}
	return temp / n, dew / n, rh / n, wind / n
}

// Means of the same months, computed from the file by another program. [champaign-hourly]
func TestChampaignMeansAreTheKnownOnes(t *testing.T) {
	s, rep := open(t, champaign, Options{})
	if rep.Rows != 43_824 || s.Len() != 43_824 || rep.Format != "plain CSV" {
		t.Errorf("%d rows, %d hours of %s, want 43824 of plain CSV", rep.Rows, s.Len(), rep.Format)
	}
	for _, want := range []struct {
		month               time.Month
		temp, dew, rh, wind float64
	}{
		{time.September, 19.341, 12.426, .6847, 3.461},
		{time.October, 12.788, 6.743, .7018, 4.792},
		{time.November, 6.528, 2.185, .7576, 5.586},
	} {
		temp, dew, rh, wind := means(s, want.month)
		if math.Abs(temp-want.temp) > 0.0006 || math.Abs(wind-want.wind) > 0.0006 {
			t.Errorf("%s: temperature %.4f wind %.4f, want %.3f and %.3f [champaign-hourly]", want.month, temp, wind, want.temp, want.wind)
		}
		// Rain spread into dry hours dampens them, so humidity may lie above the file's own, not below.
		if dew < want.dew-0.001 || dew > want.dew+0.1 || rh < want.rh-0.0001 || rh > want.rh+0.006 {
			t.Errorf("%s: dew point %.4f humidity %.4f, want little above %.3f and %.4f [champaign-hourly]", want.month, dew, rh, want.dew, want.rh)
		}
	}
}

// Counts of the year, taken with a text tool. [isd-lite-725300]
func TestOHareCountsAreTheKnownOnes(t *testing.T) {
	s, rep := open(t, ohare, Options{})
	if rep.Rows != 8_782 || rep.Format != "ISD-Lite" {
		t.Errorf("%d lines of %s, want 8782 of ISD-Lite", rep.Rows, rep.Format)
	}
	observed := func(v weather.Var) (n int, sum float64) {
		for i, from := range s.From[v] {
			if from == weather.Observed {
				n++
				sum += float64(s.V[v][i])
			}
		}
		return n, sum
	}
	for _, want := range []struct {
		v       weather.Var
		missing int
	}{{weather.WindMS, 0}, {weather.SkyFrac, 4531}, {weather.RainMM, 40}} {
		n, _ := observed(want.v)
		missing := rep.Rows - n // the first line's rain, of the year before, is missing anyhow
		if missing != want.missing {
			t.Errorf("%s: %d lines without, want %d [isd-lite-725300]", want.v, missing, want.missing)
		}
	}
	if _, total := observed(weather.RainMM); math.Abs(total-694.1) > 0.01 {
		t.Errorf("rain of the year %.1f mm, want 694.1 [isd-lite-725300]", total)
	}
	october := func(v weather.Var) float64 {
		sum, n := 0.0, 0.0
		for h := s.Start; h < s.End(); h++ {
			if x, ok := s.At(v, h); ok && h.Start().Month() == time.October {
				sum += x
				n++
			}
		}
		return sum / n
	}
	if temp, dew := october(weather.TempC), october(weather.DewC); math.Abs(temp-14.188) > 0.001 || math.Abs(dew-9.237) > 0.001 {
		t.Errorf("October temperature %.3f dew point %.3f, want 14.188 and 9.237 [isd-lite-725300]", temp, dew)
	}
	trace := false
	for _, f := range rep.Findings {
		trace = trace || f.Rule == "weather.rain.trace" && f.Got == "708 hours"
	}
	if !trace {
		t.Errorf("findings %v, want 708 hours with a trace [isd-lite-725300]", rep.Findings)
	}
}

// Autumn of the same year: rain at hour start, days of standard time, wet from 0.25 mm. [isd-lite-725300]
func TestOHareAutumnRain(t *testing.T) {
	s, _ := open(t, ohare, Options{})
	days, wet, hours := 0, 0, 0
	for day := calendar.MustDay("2016-09-01"); day.Before(calendar.MustDay("2016-12-01")); day = day.AddDays(1) {
		first, end := day.Hours(standard)
		total, rainy := 0.0, 0
		for h := first; h < end; h++ {
			i := int(h - s.Start)
			if mm := float64(s.V[weather.RainMM][i]); s.From[weather.RainMM][i] == weather.Observed && mm > 0 {
				total += mm
				rainy++
			}
		}
		days++
		if total >= 0.25 {
			wet++
			hours += rainy
		}
	}
	if days != 91 || wet != 27 || math.Abs(float64(hours)/float64(wet)-4.19) > 0.005 {
		t.Errorf("%d days, %d wet, %.2f wet hours each, want 91, 27, 4.19 [isd-lite-725300]", days, wet, float64(hours)/float64(wet))
	}
}

// The record's radiation is of the hour around its stamp. Put into hours so, mornings get as much of the clear
// sky as afternoons do, within 2 %. Its clearest days come to within 5 % of a clear sky by [fao-56] eq. 36.
// [champaign-hourly]
func TestRadiationFitsTheClearSky(t *testing.T) {
	s, _ := open(t, champaign, Options{Stamp: Middle, Station: weather.Station{At: &bondville}})
	clear := weather.ClearSky(s.Start, s.Len(), bondville)
	var got, sky [2]float64
	var clearest []float64
	for day := 0; day+24 <= s.Len(); day += 24 {
		var sum, full float64
		for k := range 24 {
			x := float64(s.V[weather.SolarWM2][day+k])
			got[k/12] += x
			sky[k/12] += clear[day+k]
			sum += x
			full += clear[day+k]
		}
		clearest = append(clearest, sum/full)
	}
	slices.Sort(clearest)
	if am, pm := got[0]/sky[0], got[1]/sky[1]; math.Abs(am/pm-1) > 0.02 {
		t.Errorf("mornings get %.3f of the clear sky, afternoons %.3f [champaign-hourly]", am, pm)
	}
	if top := clearest[len(clearest)*99/100]; math.Abs(top-1) > 0.05 {
		t.Errorf("the clearest days come to %.3f of a clear sky [fao-56]", top)
	}
}

func BenchmarkReadFiveYears(b *testing.B) {
	raw, err := os.ReadFile(champaign)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(raw)))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Read(bytes.NewReader(raw), "champaign", Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
