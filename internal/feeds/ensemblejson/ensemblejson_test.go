package ensemblejson

import (
	"errors"
	"fmt"
	"math"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

func sample(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("testdata/answer.json")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// Rain and sun are of the hour before their time; 18 km/h are 5 m/s at 10 m and 3.74 at 2 m ([fao-56] eq. 47).
func TestRunsBecomeHours(t *testing.T) {
	f, err := Read("answer", []byte(sample(t)))
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Members) != 2 || f.Members[0].Len() != 3 {
		t.Fatalf("%d members", len(f.Members))
	}
	at := f.Members[0].Start
	if !at.Start().Equal(time.Date(2026, 10, 3, 12, 0, 0, 0, time.UTC)) {
		t.Errorf("begins %s", at.Start())
	}
	for _, c := range []struct {
		member int
		v      weather.Var
		hour   int
		want   float64 // NaN: missing
	}{
		{0, weather.TempC, 0, 5.1},
		{1, weather.TempC, 1, 7.2},
		{1, weather.TempC, 2, math.NaN()},
		{0, weather.RainMM, 0, 0.4},
		{0, weather.RainMM, 1, 0},
		{0, weather.RainMM, 2, math.NaN()},
		{1, weather.RainMM, 1, 0.3},
		{0, weather.SolarWM2, 0, 80},
		{0, weather.SolarWM2, 1, 210},
		{1, weather.SolarWM2, 1, math.NaN()},
		{0, weather.WindMS, 1, 3.7398},
		{0, weather.SkyFrac, 1, 0.5},
		{1, weather.DewC, 0, 4.0},
		{1, weather.DewC, 2, math.NaN()},
	} {
		s := f.Members[c.member]
		got, ok := s.At(c.v, at+calendar.Hour(c.hour))
		if ok == math.IsNaN(c.want) || ok && math.Abs(got-c.want) > 1e-4 {
			t.Errorf("member %d %s hour %d: %v (%v), want %v", c.member, c.v, c.hour, got, ok, c.want)
		}
	}
	// 90 % at 5.1 °C: 0.9·0.6108·exp(17.27·5.1/242.4) = 0.7906 kPa, dew point 3.60 °C ([fao-56] eq. 11).
	if d, _ := f.Members[0].At(weather.DewC, at); math.Abs(d-3.60) > 0.01 {
		t.Errorf("dew point from humidity %.3f, want 3.60", d)
	}
}

func TestAClockThatIsNotUTC(t *testing.T) {
	text := strings.Replace(sample(t), `"utc_offset_seconds":0`, `"utc_offset_seconds":-18000`, 1)
	f, err := Read("answer", []byte(text))
	if err != nil || !f.Members[0].Start.Start().Equal(time.Date(2026, 10, 3, 17, 0, 0, 0, time.UTC)) {
		t.Errorf("got %v, %v", f, err)
	}
}

func TestAnswersAreRefusedWhole(t *testing.T) {
	for name, c := range map[string]struct{ from, to, rule, got string }{
		"lengths differ":   {"[0.0,0.4,0.0]", "[0.0,0.4]", "ensemble.length", "2 values"},
		"unit not known":   {`"precipitation":"mm"`, `"precipitation":"cm"`, "ensemble.unit", "cm"},
		"unit missing":     {`"wind_speed_10m":"km/h",`, "", "ensemble.unit", ""},
		"too hot":          {"7.9", "79", "ensemble.range", "79"},
		"not finite":       {"7.9", "1e999", "ensemble.range", "1e999"},
		"words":            {"7.9", `"warm"`, "ensemble.range", `"warm"`},
		"negative rain":    {"0.4", "-0.4", "ensemble.range", "-0.4"},
		"hours not in row": {"T13:00", "T15:00", "ensemble.time", "2026-10-03T15:00"},
		"half hours":       {"T13:00", "T12:30", "ensemble.time", "2026-10-03T12:30"},
		"no clock":         {`"utc_offset_seconds":0,`, "", "ensemble.offset", ""},
		"no temperature":   {"temperature_2m", "temperature_80m", "ensemble.members", "0 runs"},
		"no times":         {`"time":[`, `"times":[`, "ensemble.hours", "0 times"},
		"refused":          {`"latitude":41.9`, `"error":true,"reason":"Parameter 'models' is required"`, "ensemble.refused", "Parameter 'models' is required"},
		"no JSON":          {`{"latitude"`, `<"latitude"`, "ensemble.json", ""},
	} {
		text := strings.ReplaceAll(sample(t), c.from, c.to)
		if name != "no temperature" {
			text = strings.Replace(sample(t), c.from, c.to, 1)
		}
		f, err := Read("answer", []byte(text))
		var e *problem.InputError
		if len(f.Members) != 0 || !errors.As(err, &e) || e.Rule != c.rule || e.Got != c.got {
			t.Errorf("%s: %v, %v", name, f, err)
		}
	}
	var many strings.Builder
	for i := range MaxMembers {
		fmt.Fprintf(&many, `"temperature_2m_member%02d":[1,2,3],`, i+2)
	}
	crowded := strings.Replace(sample(t), `"cloud_cover":[`, many.String()+`"cloud_cover":[`, 1)
	if _, err := Read("answer", []byte(crowded)); err == nil {
		t.Error("more runs than can be are taken")
	}
	if _, err := Read("answer", []byte(strings.Repeat("[", 5_000_000))); err == nil {
		t.Error("brackets without end are taken")
	}
	if _, err := Read("answer", make([]byte, MaxBytes+1)); err == nil {
		t.Error("an answer without end is taken")
	}
}

func TestTheQuestionKeepsWhatTheOwnerWrote(t *testing.T) {
	page, err := Question("https://weather.example/v1/ensemble?models=a,b", 41.98765, -93.5, "k&y")
	if err != nil {
		t.Fatal(err)
	}
	u, err := url.Parse(page)
	if err != nil {
		t.Fatal(err)
	}
	q := u.Query()
	for key, want := range map[string]string{"models": "a,b", "latitude": "41.9877", "longitude": "-93.5000", "timezone": "GMT", "wind_speed_unit": "ms", "apikey": "k&y"} {
		if q.Get(key) != want {
			t.Errorf("%s is %q, want %q", key, q.Get(key), want)
		}
	}
	if u.Host != "weather.example" || !strings.Contains(q.Get("hourly"), "precipitation") {
		t.Errorf("the page is %s", page)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(sample(f)))
	f.Add([]byte(`{"error":true,"reason":"no"}`))
	f.Add([]byte(`{"utc_offset_seconds":9e18,"hourly_units":{"temperature_2m":"°F"},"hourly":{"time":["2026-10-03T12:00","2026-10-03T13:00"],"temperature_2m":[1e308,null]}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := Read("answer", data)
		var e *problem.InputError
		if err != nil {
			if len(got.Members) != 0 || !errors.As(err, &e) || e.Want == "" {
				t.Fatalf("%v, %v", got, err)
			}
			return
		}
		for _, s := range got.Members {
			for i := range s.Len() {
				temp, dew := s.V[weather.TempC][i], s.V[weather.DewC][i]
				if temp < -60.1 || temp > 60.1 || dew > temp || s.V[weather.RainMM][i] < 0 || s.V[weather.WindMS][i] > 75 || s.V[weather.SkyFrac][i] > 1.001 || s.V[weather.SolarWM2][i] < 0 {
					t.Fatalf("hour %d is no weather", i)
				}
			}
		}
		got.Ahead(got.Members[0].Start, time.UTC)
	})
}
