package weatherfile

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

func read(t *testing.T, text string, o Options) (*weather.Series, Report) {
	t.Helper()
	s, rep, err := Read(strings.NewReader(text), "w.csv", o)
	if err != nil {
		t.Fatal(err)
	}
	return s, rep
}

func hourOf(t *testing.T, stamp string) calendar.Hour {
	t.Helper()
	at, err := time.Parse(time.RFC3339, stamp)
	if err != nil {
		t.Fatal(err)
	}
	return calendar.HourOf(at)
}

// Every form of the file that means the same two hours: 12 °C, then 13 °C with half an inch of rain.
func TestEveryFormOfTheSameTwoHours(t *testing.T) {
	chicago, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	offset := -6 * time.Hour
	for name, c := range map[string]struct {
		text string
		o    Options
	}{
		"utc":                {"time_utc,temp_c,rain_mm\n2030-01-14T06:00Z,12,0\n2030-01-14T07:00Z,13,12.7\n", Options{Strict: true}},
		"utc without a Z":    {"time_utc,temp_c,rain_mm\n2030-01-14T06:00,12,0\n2030-01-14 07:00:00,13,12.7\n", Options{Strict: true}},
		"utc with an offset": {"time_utc,temp_c,rain_mm\n2030-01-14T00:00:00-06:00,12,0\n2030-01-14T01:00-0600,13,12.7\n", Options{Strict: true}},
		"local zone":         {"time_local,temp_c,rain_mm\n2030-01-14T00:00,12,0\n2030-01-14T01:00,13,12.7\n", Options{Zone: chicago}},
		"local offset":       {"time_local,temp_c,rain_mm\n2030-01-14T00:00,12,0\n2030-01-14T01:00,13,12.7\n", Options{Offset: &offset}},
		"standard column":    {"time_lst,utc_offset_h,temp_c,rain_mm\n2030-01-14T00:00,-6,12,0\n2030-01-14T01:00,-6,13,12.7\n", Options{Strict: true}},
		"fahrenheit, inches": {"TIME_UTC,Temp_F,Rain_In\n2030-01-14T06:00Z,53.6,0\n2030-01-14T07:00Z,55.4,0.5\n", Options{}},
		"decimal comma":      {"time_utc;temp_c;rain_mm\n2030-01-14T06:00Z;12,0;0\n2030-01-14T07:00Z;13;12,7\n", Options{}},
		"tabs, CRLF, BOM":    {"\xef\xbb\xbftime_utc\ttemp_c\train_mm\r\n2030-01-14T06:00Z\t12\t0\r\n2030-01-14T07:00Z\t13\t1.27e1\r\n", Options{}},
		"quotes and spaces":  {"\"time_utc\", temp_c ,rain_mm\n\"2030-01-14T06:00Z\", 12 ,\"0\"\n2030-01-14T07:00Z,+13,12.70\n\n", Options{}},
		"no last line break": {"time_utc,temp_c,rain_mm\n2030-01-14T06:00Z,12,0\n2030-01-14T07:00Z,13,12.7", Options{Strict: true}},
		"rain at its end":    {"time_utc,temp_c,rain_mm\n2030-01-14T06:00Z,12,5\n2030-01-14T07:00Z,13,0\n2030-01-14T08:00Z,14,12.7\n", Options{Stamp: Ends}},
		"rain in the middle": {"time_utc,temp_c,rain_mm\n2030-01-14T06:00Z,12,0\n2030-01-14T07:00Z,13,0\n2030-01-14T08:00Z,14,25.4\n", Options{Stamp: Middle}},
		"rows out of order":  {"time_utc,temp_c,rain_mm\n2030-01-14T07:00Z,13,12.7\n2030-01-14T06:00Z,12,0\n", Options{}},
		"unused column":      {"time_utc,temp_c,note,rain_mm\n2030-01-14T06:00Z,12,fog,0\n2030-01-14T07:00Z,13,,12.7\n", Options{}},
	} {
		t.Run(name, func(t *testing.T) {
			s, _ := read(t, c.text, c.o)
			start := hourOf(t, "2030-01-14T06:00:00Z")
			for i, want := range []struct{ temp, rain float64 }{{12, 0}, {13, 12.7}} {
				temp, _ := s.At(weather.TempC, start+calendar.Hour(i))
				rain, _ := s.At(weather.RainMM, start+calendar.Hour(i))
				if math.Abs(temp-want.temp) > 1e-5 || math.Abs(rain-want.rain) > 1e-5 {
					t.Errorf("hour %d: %v °C %v mm, want %v and %v", i, temp, rain, want.temp, want.rain)
				}
			}
		})
	}
}

// The repeated hour of autumn: the first is daylight time, the second standard time.
func TestRepeatedHourOfAutumn(t *testing.T) {
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	s, rep := read(t, `time_local,temp_c
2026-11-01T00:00,10
2026-11-01T01:00,11
2026-11-01T01:00,12
2026-11-01T02:00,13
`, Options{Strict: true, Zone: zone})
	if s.Start != hourOf(t, "2026-11-01T05:00:00Z") || s.Len() != 4 || len(rep.Findings) != 0 {
		t.Fatalf("%d hours from %s, findings %v", s.Len(), s.Start.Start(), rep.Findings)
	}
	if want := []float32{10, 11, 12, 13}; !slices.Equal(s.V[weather.TempC], want) {
		t.Errorf("got %v, want %v", s.V[weather.TempC], want)
	}
	// In spring the hour after 01:00 is 03:00.
	s, _ = read(t, "time_local,temp_c\n2026-03-08T01:00,1\n2026-03-08T03:00,3\n", Options{Strict: true, Zone: zone})
	if s.Len() != 2 {
		t.Errorf("%d hours in spring, want 2", s.Len())
	}
}

func TestDoubtfulRowsAreUsedAndReported(t *testing.T) {
	s, rep := read(t, `time_utc,temp_c,rain_mm,station
2030-09-14T00:00,10,0,a
2030-09-14T01:00,11,0,a
2030-09-14T01:00,11.5,0,a
2030-09-14T04:00,14.5,NA,a
2030-09-14T05:00,15,,a
2030-09-14T06:00,16,0,a
`, Options{})
	if rep.Rows != 6 || s.Len() != 7 {
		t.Errorf("%d rows, %d hours", rep.Rows, s.Len())
	}
	if got := s.V[weather.TempC]; !slices.Equal(got, []float32{10, 11.5, 12.5, 13.5, 14.5, 15, 16}) {
		t.Errorf("temperature %v: the last of a repeated hour counts, two hours are bridged", got)
	}
	if rep.Missing[weather.RainMM] != 4 {
		t.Errorf("%d hours of rain missing, want the gap of four", rep.Missing[weather.RainMM])
	}
	for rule, got := range map[string]string{
		"weather.columns.unknown": "station", "weather.time.twice": "1 row", "weather.time.gap": "2 hours", "weather.cell.empty": "2 cells",
	} {
		if !slices.ContainsFunc(rep.Findings, func(f problem.Finding) bool { return f.Rule == rule && f.Got == got }) {
			t.Errorf("no finding %s %q in %+v", rule, got, rep.Findings)
		}
	}
}

// Invented lines, decoded by hand from the format. [isd-lite]
func TestISDLiteLines(t *testing.T) {
	s, rep := read(t, `2024 10 03 11    56    44 10172     0     0     0     0 -9999
2024 10 03 12    61    50 10175   190    21     4    -1 -9999
2024 10 03 13    72 -9999 10177   200    31     8    13 -9999
`, Options{})
	start := hourOf(t, "2024-10-03T11:00:00Z")
	if rep.Format != "ISD-Lite" || s.Start != start || s.Len() != 3 {
		t.Fatalf("%s from %s, %d hours", rep.Format, s.Start.Start(), s.Len())
	}
	for i, want := range []struct{ temp, dew, wind, sky, rain float64 }{
		{5.6, 4.4, 0, 0, 0}, {6.1, 5.0, 2.1 * .748, .5, 1.3}, {7.2, math.NaN(), 3.1 * .748, 1, math.NaN()},
	} {
		for v, x := range map[weather.Var]float64{
			weather.TempC: want.temp, weather.DewC: want.dew, weather.WindMS: want.wind, weather.SkyFrac: want.sky, weather.RainMM: want.rain,
		} {
			got, ok := s.At(v, start+calendar.Hour(i))
			if ok == math.IsNaN(x) || ok && math.Abs(got-x) > 0.0005 {
				t.Errorf("line %d: %s is %v (%v), want %v", i+1, v, got, ok, x)
			}
		}
	}
}

func TestISDLiteRejectsWhatCannotBe(t *testing.T) {
	_, rep := read(t, `2024 10 03 11    56    44 10172     0     0     0     0 -9999
2024 10 03 12   261    50 10175   190    21     4     0 -9999
2024 10 03 13    72    95 10177   200    31     8     0 -9999
2024 10 03 14    74    40 10177   200    31    12     0 -9999
`, Options{})
	for _, rule := range []string{"weather.temp.jump", "weather.dew.above"} {
		if !slices.ContainsFunc(rep.Findings, func(f problem.Finding) bool { return f.Rule == rule && f.Got == "1 hour" }) {
			t.Errorf("no finding %s in %+v", rule, rep.Findings)
		}
	}
}

// A strict file with every quantity, as a single run of the crop needs it: nothing is assumed but the mast.
func TestStrictFileWithEverything(t *testing.T) {
	s, rep := read(t, `time_utc,temp_c,dew_c,wind_ms,rain_mm,sky_pct,solar_wm2
2030-09-14T05:00:00Z,12,10,4,0,25,0
2030-09-14T06:00:00Z,11.5,10,3.9,0.4,100,-2
`, Options{Strict: true})
	if len(rep.Filled) != 1 || rep.Filled[0].Rule != "wind_ms.height" || len(rep.Findings) != 0 {
		t.Errorf("filled %+v, findings %+v", rep.Filled, rep.Findings)
	}
	if x, _ := s.At(weather.SolarWM2, s.Start+1); x != 0 {
		t.Errorf("radiation of an instrument's night is %v, want 0", x)
	}
	if x, _ := s.At(weather.SkyFrac, s.Start); x != 0.25 {
		t.Errorf("cloud %v, want 0.25", x)
	}
}

func TestNumbersReadLikeTheStandardLibrary(t *testing.T) {
	for text, want := range map[string]float64{
		"0": 0, "-0.5": -0.5, "+7": 7, "12.375": 12.375, ".5": 0.5, "5.": 5, "123456789012345": 123456789012345,
		"1234567890.12345678": 1234567890.12345678, "-6.94e-18": -6.94e-18, "0.1": 0.1, "2.2250738585072014e-308": 2.2250738585072014e-308,
	} {
		if got, ok := parseNumber([]byte(text), '.'); !ok || got != want {
			t.Errorf("%q: got %v %v, want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "-", ".", "1.2.3", "1,2", "0x10", "1_000", "Inf", "nan", "1e999", "12C", "--1"} {
		if got, ok := parseNumber([]byte(text), '.'); ok {
			t.Errorf("%q: read as %v", text, got)
		}
	}
	if got, ok := parseNumber([]byte("12,5"), ','); !ok || got != 12.5 {
		t.Errorf("decimal comma: %v %v", got, ok)
	}
	if _, ok := parseNumber([]byte("1.234,5"), ','); ok {
		t.Error("a point between thousands was read")
	}
}

func TestCivilDaysAgreeWithTheCalendar(t *testing.T) {
	for at := time.Date(1896, 1, 1, 0, 0, 0, 0, time.UTC); at.Year() < 2105; at = at.AddDate(0, 0, 1).Add(time.Hour) {
		c := civil{year: at.Year(), month: int(at.Month()), day: at.Day(), hour: at.Hour()}
		if got, ok := c.at(0); !ok || got != calendar.HourOf(at) {
			t.Fatalf("%s: got cell %d, want %d", at, got, calendar.HourOf(at))
		}
	}
}
