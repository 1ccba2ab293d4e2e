package gridpoint

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

var issued = time.Date(2026, 10, 3, 9, 12, 0, 0, time.UTC)

func TestValidTimes(t *testing.T) {
	published.Each(t, "interval", func(t *testing.T, r published.Row) {
		from, to, ok := parseInterval(r.Text("valid_time"), issued)
		if ok != r.Has("from") {
			t.Fatalf("%s: taken %v", r.Text("valid_time"), ok)
		}
		if ok {
			r.CheckText("from", from.Format(time.RFC3339))
			r.CheckText("to", to.Format(time.RFC3339))
		}
	})
	if _, _, ok := parseInterval("NOW/PT1H", time.Time{}); ok {
		t.Error("NOW of a forecast made at no time is taken")
	}
}

func sample(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func read(t *testing.T, data []byte) *Forecast {
	t.Helper()
	f, err := Read("forecast", data)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func near(t *testing.T, f *Forecast, v weather.Var, at calendar.Hour, want float64) {
	t.Helper()
	got, ok := f.Weather.Hours.At(v, at)
	if !ok || math.Abs(got-want) > 1e-4 {
		t.Errorf("%s at %s: %.5f (%v), want %.5f", v, at.Start().Format("15:04"), got, ok, want)
	}
}

// Expanded by hand: 12 UTC 5.6; 13 and 14 UTC 8.3; two missing hours bridged to 12.2 at 17; 1.2 mm over six hours are
// 0.2 mm in each; 14.8 km/h are 4.111 m/s at 10 m, times 0.748 at 2 m ([fao-56] eq. 47).
func TestTheRawGridBecomesHours(t *testing.T) {
	f := read(t, sample(t, "grid.json"))
	if f.Form != Grid || f.Cell != "ZZZ 41,77" || !f.Issued.Equal(issued) {
		t.Errorf("form %s, cell %q, issued %s", f.Form, f.Cell, f.Issued)
	}
	at := calendar.HourOf(time.Date(2026, 10, 3, 12, 0, 0, 0, time.UTC))
	if f.Weather.Hours.Start != at || f.Weather.Hours.Len() != 6 {
		t.Errorf("%d hours from %s", f.Weather.Hours.Len(), f.Weather.Hours.Start.Start())
	}
	near(t, f, weather.TempC, at, 5.6)
	near(t, f, weather.TempC, at+1, 8.3)
	near(t, f, weather.TempC, at+2, 8.3)
	near(t, f, weather.TempC, at+3, 8.3+3.9/3)
	near(t, f, weather.TempC, at+5, 12.2)
	near(t, f, weather.DewC, at+2, 4.4)
	// Half of saturation at 12.2 °C: 0.6108·exp(17.27·12.2/249.5)/2 = 0.7106 kPa, dew point 2.10 °C ([fao-56] eq. 11).
	if dew, _ := f.Weather.Hours.At(weather.DewC, at+5); math.Abs(dew-2.098) > 0.002 {
		t.Errorf("dew point from humidity %.3f, want 2.098", dew)
	}
	near(t, f, weather.WindMS, at, 4.1111*0.74795)
	near(t, f, weather.SkyFrac, at, 0.35)
	if _, ok := f.Weather.Hours.At(weather.SkyFrac, at+3); ok {
		t.Error("a value that is null is known")
	}
	for h := at; h < at+6; h++ {
		near(t, f, weather.RainMM, h, 0.2)
	}
	if got := f.Weather.Chances; len(got) != 1 || got[0] != (weather.RainChance{Start: at, End: at + 6, P: 0.3}) {
		t.Errorf("chances %v", got)
	}
	if len(f.Findings) != 0 {
		t.Errorf("findings %v", f.Findings)
	}
}

// A total over an interval that begins within an hour is shared by overlap: 3 mm from 10:30 to 12:00 are 1.0 mm in the
// cell of 10 and 2.0 mm in that of 11.
func TestTotalsAreSharedByOverlap(t *testing.T) {
	from := time.Date(2026, 10, 3, 10, 30, 0, 0, time.UTC).Unix()
	start := calendar.HourOf(time.Date(2026, 10, 3, 10, 0, 0, 0, time.UTC))
	got := totals([]entry{{from, from + 90*60, 3}}, start, 3)
	if math.Abs(got[0]-1) > 1e-12 || math.Abs(got[1]-2) > 1e-12 || !math.IsNaN(got[2]) {
		t.Errorf("got %v, want 1, 2, none", got)
	}
}

func TestTheHourlyFormIsReadInBothShapes(t *testing.T) {
	f := read(t, sample(t, "hourly.json"))
	if f.Form != Hourly || !f.Issued.Equal(issued) {
		t.Errorf("form %s, issued %s", f.Form, f.Issued)
	}
	at := f.Weather.Hours.Start
	near(t, f, weather.TempC, at, 10) // 50 °F
	near(t, f, weather.TempC, at+1, 11.5)
	near(t, f, weather.WindMS, at, 7.5*0.44704*0.74795)
	near(t, f, weather.WindMS, at+1, 15/3.6*0.74795)
	near(t, f, weather.WindMS, at+2, 15*0.44704*0.74795)
	near(t, f, weather.DewC, at, 4.4)
	// 30 and 35 % of two hours within one block of six are one chance of 35 %.
	if got := f.Weather.Chances; len(got) != 1 || got[0] != (weather.RainChance{Start: at, End: at + 2, P: 0.35}) {
		t.Errorf("chances %v", got)
	}
}

func TestChancesAreOfBlocksNotOfHours(t *testing.T) {
	const day = 24 * 1000 // a midnight UTC
	hours := func(from, to int, p float64) entry { return entry{int64(day+from) * hour, int64(day+to) * hour, p} }
	block := func(from, to int, p float64) weather.RainChance {
		return weather.RainChance{Start: calendar.Hour(day + from), End: calendar.Hour(day + to), P: p}
	}
	for name, c := range map[string]struct {
		entries []entry
		want    []weather.RainChance
	}{
		"twelve hours are one":                     {[]entry{hours(0, 12, 0.3)}, []weather.RainChance{block(0, 12, 0.3)}},
		"equal neighbours were merged":             {[]entry{hours(6, 30, 0.3)}, []weather.RainChance{block(6, 12, 0.3), block(12, 24, 0.3), block(24, 30, 0.3)}},
		"hour by hour":                             {[]entry{hours(0, 1, 0.1), hours(1, 3, 0.2), hours(3, 6, 0.15), hours(6, 7, 0.4)}, []weather.RainChance{block(0, 6, 0.2), block(6, 7, 0.4)}},
		"the later one counts":                     {[]entry{hours(0, 12, 0.3), hours(6, 12, 0.5)}, []weather.RainChance{block(0, 6, 0.3), block(6, 12, 0.5)}},
		"nothing said in between":                  {[]entry{hours(0, 6, 0.3), hours(6, 12, math.NaN()), hours(12, 18, 0.2)}, []weather.RainChance{block(0, 6, 0.3), block(12, 18, 0.2)}},
		"a short one beside a long one is its own": {[]entry{hours(3, 6, 0.3), hours(6, 18, 0.2)}, []weather.RainChance{block(3, 6, 0.3), block(6, 18, 0.2)}},
	} {
		got := chances(c.entries, day, day+48)
		if len(got) != len(c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%s: %v, want %v", name, got, c.want)
			}
		}
	}
}

// What is odd about one layer takes that layer out; what is odd about the temperature, the whole forecast.
func TestOddLayersAreLeftOut(t *testing.T) {
	change := func(from, to string) []byte {
		text := string(sample(t, "grid.json"))
		if !strings.Contains(text, from) {
			t.Fatalf("the sample has no %q", from)
		}
		return []byte(strings.Replace(text, from, to, 1))
	}
	for name, c := range map[string]struct {
		data []byte
		v    weather.Var
		rule string
		say  string
	}{
		"unit not known":    {change("wmoUnit:km_h-1", "wmoUnit:furlong"), weather.WindMS, "forecast.unit", `"wmoUnit:furlong"`},
		"unit of another":   {change(`"wmoUnit:mm"`, `"wmoUnit:degC"`), weather.RainMM, "forecast.unit", "degC"},
		"storm of 400 m/s":  {change("14.8", "1480"), weather.WindMS, "forecast.range", "windSpeed"},
		"negative rain":     {change("1.2}", "-1.2}"), weather.RainMM, "forecast.range", "quantitativePrecipitation"},
		"not finite":        {change("14.8", "1e999"), weather.WindMS, "forecast.range", "2026-10-03 12:00 UTC"},
		"words for figures": {change("14.8", `"fast"`), weather.WindMS, "forecast.range", "windSpeed"},
		"a time that is none": {
			change(`2026-10-03T12:00:00+00:00/PT3H","value":14.8`, `2026-10-03/PT3H","value":14.8`), weather.WindMS, "forecast.time", "value 1",
		},
		"another form": {change(`"windSpeed":{`, `"windSpeed":[1],"x":{`), weather.WindMS, "forecast.layer", "another form"},
	} {
		f := read(t, c.data)
		if len(f.Findings) != 1 || f.Findings[0].Rule != c.rule || !strings.Contains(f.Findings[0].Say+f.Findings[0].Got, c.say) {
			t.Errorf("%s: findings %v", name, f.Findings)
		}
		if _, ok := f.Weather.Hours.At(c.v, f.Weather.Hours.Start); ok {
			t.Errorf("%s: %s is there", name, c.v)
		}
	}
	wet := read(t, change(`"value":4.4`, `"value":9.9`)) // 9.9 °C of dew point in air of 5.6 and 8.3 °C
	if _, ok := wet.Weather.Hours.At(weather.DewC, wet.Weather.Hours.Start); ok || len(wet.Findings) != 1 || wet.Findings[0].Rule != "forecast.dew-above" {
		t.Errorf("dew point above the temperature: %v", wet.Findings)
	}
	for name, data := range map[string][]byte{
		"thousands of degrees": change("5.6", "5600"), "temperature not finite": change("5.6", "1e999"), "unit of temperature": change("wmoUnit:degC", "wmoUnit:degX"),
		"no temperature": change(`"temperature"`, `"temperatur"`), "no properties": []byte(`{"type":"Feature"}`), "a page": []byte("<html>Access Denied</html>"),
		"cut short": sample(t, "grid.json")[:600], "empty": nil, "nested": []byte(strings.Repeat(`{"a":`, 20000)),
		"a list": []byte(`[1,2]`), "large": append([]byte(`{"a":"`), make([]byte, MaxBytes)...),
	} {
		f, err := Read("forecast", data)
		var e *problem.InputError
		if f != nil || !errors.As(err, &e) || e.Want == "" || e.Rule == "" {
			t.Errorf("%s: %v, %v", name, f, err)
		}
	}
}

func TestHumidityJustAboveAHundredIsAHundred(t *testing.T) {
	data := strings.Replace(string(sample(t, "grid.json")), `"value":50`, `"value":101`, 1)
	f := read(t, []byte(data))
	at := f.Weather.Hours.Start
	near(t, f, weather.DewC, at+5, 12.2)
}

func TestAPlaceOnTheGrid(t *testing.T) {
	p, err := ReadPoint("points", []byte(`{"properties":{"gridId":"ZZZ","gridX":41,"gridY":77,"timeZone":"America/Chicago",
		"relativeLocation":{"properties":{"city":"Nowhere","state":"ZZ"}},"forecastGridData":"https://elsewhere.example/x"}}`))
	if err != nil || p != (Point{"ZZZ", 41, 77, "America/Chicago", "Nowhere, ZZ"}) {
		t.Errorf("got %v, %v", p, err)
	}
	for _, bad := range []string{`{}`, `{"properties":{"gridId":"../","gridX":1,"gridY":2}}`, `{"properties":{"gridId":"ZZZ","gridX":-1,"gridY":2}}`, `{"properties":{"gridId":"ZZZ","gridX":1.5,"gridY":2}}`} {
		if p, err := ReadPoint("points", []byte(bad)); err == nil {
			t.Errorf("%s: taken as %v", bad, p)
		}
	}
}

func TestRefusalsOfTheServiceAndOfWhatStandsBefore(t *testing.T) {
	r, ok := ReadRefusal([]byte(`{"correlationId":"abc","title":"Forecast Grid Expired","type":"https://service.example/problems/ForecastGridExpired","status":503,"detail":"The requested forecast grid was issued 2026-10-01 and has expired."}`))
	if !ok || !strings.HasSuffix(r.Type, "ForecastGridExpired") || r.Status != 503 || r.CorrelationID != "abc" {
		t.Errorf("got %+v, %v", r, ok)
	}
	for _, other := range []string{"<html><body>Access Denied</body></html>", "", "{}", "null"} {
		if _, ok := ReadRefusal([]byte(other)); ok {
			t.Errorf("%q is taken as the service's own", other)
		}
	}
}

// Whatever comes, it is refused with words, or every value is one that can be.
func FuzzRead(f *testing.F) {
	f.Add(sample(f, "grid.json"))
	f.Add(sample(f, "hourly.json"))
	f.Add([]byte(`{"properties":{"temperature":{"uom":"K","values":[{"validTime":"P1Y/2026-10-03T12:00:00Z","value":280},{"validTime":"2026-10-03T12:00:00Z/P9999D","value":null}]}}}`))
	f.Add([]byte(`{"properties":{"periods":[{"startTime":"2026-10-03T12:00:00Z","temperature":1e3,"temperatureUnit":"F","windSpeed":"5 to 5 to 5 mph"}]}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := Read("forecast", data)
		var e *problem.InputError
		if err != nil {
			if got != nil || !errors.As(err, &e) || e.Rule == "" {
				t.Fatalf("%v, %v", got, err)
			}
			return
		}
		s := got.Weather.Hours
		if s.Len() == 0 || s.Len() > longestForecast {
			t.Fatalf("%d hours", s.Len())
		}
		limits := map[weather.Var][2]float64{weather.TempC: {-60, 60}, weather.DewC: {-120, 60}, weather.WindMS: {0, 75}, weather.RainMM: {0, 1e6}, weather.SkyFrac: {0, 1}}
		for v, limit := range limits {
			for i := range s.Len() {
				x, ok := s.At(v, s.Start+calendar.Hour(i))
				if ok && !(x >= limit[0] && x <= limit[1]) {
					t.Fatalf("%s is %v", v, x)
				}
			}
		}
		for i, c := range got.Weather.Chances {
			if !(c.P >= 0 && c.P <= 1) || c.End <= c.Start || c.End-c.Start > longestBlock || i > 0 && c.Start < got.Weather.Chances[i-1].End {
				t.Fatalf("chances %v", got.Weather.Chances)
			}
		}
		got.Weather.Ahead(s.Start, time.UTC)
	})
}

func FuzzReadRefusal(f *testing.F) {
	f.Add([]byte(`{"title":"x","type":"y","status":503}`))
	f.Add([]byte(`{"properties":{"gridId":"ZZZ","gridX":1,"gridY":2}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		ReadRefusal(data)
		if p, err := ReadPoint("points", data); err == nil && (!isOffice(p.Office) || p.X < 0 || p.Y < 0) {
			t.Fatalf("%v", p)
		}
	})
}
