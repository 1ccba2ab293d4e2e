package main

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"threshday/internal/app"
	"threshday/internal/cli"
	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/weather"
)

// A loopback is the national service, replayed on this machine, and a program whose clock the test turns.
type loopback struct {
	t      *testing.T
	srv    *httptest.Server
	grid   func() string // what the grid says now
	status int           // other than 200: the answer of the service
	keyed  bool          // the ensemble service was asked under the farm's key
	folder string
	now    time.Time
}

func startLoopback(t *testing.T) *loopback {
	t.Helper()
	l := &loopback{t: t, status: http.StatusOK, now: time.Date(2004, 10, 6, 11, 0, 0, 0, time.UTC)}
	l.srv = httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if agent := r.Header.Get("User-Agent"); !strings.HasPrefix(agent, "Threshday/") || !strings.HasSuffix(agent, "(ada@farm.example)") {
			t.Errorf("asked as %q", agent)
		}
		w.Header().Set("Content-Type", "application/geo+json")
		switch {
		case strings.HasPrefix(r.URL.Path, "/points/"):
			_, _ = fmt.Fprint(w, `{"properties":{"gridId":"ZZZ","gridX":41,"gridY":77,"timeZone":"America/Chicago","relativeLocation":{"properties":{"city":"Nowhere","state":"ZZ"}}}}`)
		case r.URL.Path == "/v1/ensemble":
			l.keyed = strings.Contains(r.URL.RawQuery, "secret-key")
			_, _ = fmt.Fprint(w, runs(l.now))
		case l.status != http.StatusOK:
			w.WriteHeader(l.status)
		default:
			_, _ = fmt.Fprint(w, l.grid())
		}
	}))
	t.Cleanup(l.srv.Close)
	cert := filepath.Join(t.TempDir(), "cert.pem")
	if err := os.WriteFile(cert, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: l.srv.Certificate().Raw}), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("SSL_CERT_FILE", cert) // read at the first question of this process
	l.folder = filepath.Join(t.TempDir(), "farm")
	if _, err := startFarm(l.folder); err != nil {
		t.Fatal(err)
	}
	season := filepath.Join(l.folder, "season.toml")
	text, err := os.ReadFile(season)
	if err != nil {
		t.Fatal(err)
	}
	before, _, _ := strings.Cut(string(text), "[[outlook]]") // the farm says nothing of its own
	var kept []string
	for line := range strings.Lines(before) {
		if !strings.HasPrefix(line, "as_of") {
			kept = append(kept, line)
		}
	}
	if err := os.WriteFile(season, []byte(strings.Join(kept, "")), 0o600); err != nil {
		t.Fatal(err)
	}
	l.want(0, "import", season, "--data", l.data())
	return l
}

func (l *loopback) data() string { return filepath.Join(l.folder, "farm.db") }

// run runs the program at the test's clock.
func (l *loopback) run(args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	env := environment()
	env.Stdout, env.Stderr, env.Progress, env.Color, env.Width = &out, &errs, nil, false, 0
	env.App.Now = func() time.Time { return l.now }
	env.Now = env.App.Now
	code = cli.Run(context.Background(), args, env)
	return code, out.String(), errs.String()
}

// want runs the program and holds its exit code.
func (l *loopback) want(code int, args ...string) (stdout, stderr string) {
	l.t.Helper()
	got, stdout, stderr := l.run(args...)
	if got != code {
		l.t.Fatalf("%v: exit %d, want %d\n%s%s", args, got, code, stdout, stderr)
	}
	return stdout, stderr
}

func (l *loopback) fetch(code int) (stdout, stderr string) {
	l.t.Helper()
	return l.want(code, "weather", "fetch", "--data", l.data(), "--service", l.srv.URL, "--contact", "ada@farm.example")
}

// contains fails where text lacks one of the parts.
func (l *loopback) contains(text string, parts ...string) {
	l.t.Helper()
	flat := strings.Join(strings.Fields(text), " ")
	for _, p := range parts {
		if !strings.Contains(flat, p) {
			l.t.Errorf("%q is not said in:\n%s", p, text)
		}
	}
}

// steady is a grid of a week at 25 and 9 °C.
func steady(made time.Time) string {
	var temps []string
	for h := range 7 * 24 {
		at := made.Truncate(time.Hour).Add(time.Duration(h) * time.Hour)
		value := 17 + 8*math.Sin(2*math.Pi*float64(at.Hour()-14)/24)
		temps = append(temps, fmt.Sprintf(`{"validTime":"%s/PT1H","value":%.1f}`, at.Format(time.RFC3339), value))
	}
	return gridText(made, strings.Join(temps, ","), 4, 70)
}

func gridText(made time.Time, temps string, dew float64, chance int) string {
	week := made.Truncate(24*time.Hour).Format(time.RFC3339) + "/P8D"
	return fmt.Sprintf(`{"properties":{"updateTime":%q,"gridId":"ZZZ","gridX":"41","gridY":"77",
		"temperature":{"uom":"wmoUnit:degC","values":[%s]},"dewpoint":{"uom":"wmoUnit:degC","values":[{"validTime":%q,"value":%.1f}]},
		"probabilityOfPrecipitation":{"uom":"wmoUnit:percent","values":[{"validTime":%q,"value":%d}]}}}`, made.Format(time.RFC3339), temps, week, dew, week, chance)
}

// A fetched forecast is what plan and outlook stand on, with its source and age in the answer; without a network it stays, and
// its growing age is said; fetched too soon, nobody is asked.
func TestPlansStandOnWhatTheServiceSays(t *testing.T) {
	l := startLoopback(t)
	made := l.now.Add(-time.Hour)
	l.grid = func() string { return steady(made) }
	plan := func() string {
		out, _ := l.want(0, "plan", "--data", l.data(), "--members", "20")
		return out
	}
	l.contains(plan(), "! No forecast of the days ahead is entered")

	out, _ := l.fetch(0)
	l.contains(out, "National Weather Service: a new forecast, made Wed 6 Oct 2004 05:00, 1 h old, near Nowhere, ZZ.")
	l.contains(plan(), "The forecast of the National Weather Service of Wed 6 Oct 05:00, 60 min old, covers", "forecast for 7 days up to 2004-10-12")
	out, _ = l.want(0, "outlook", "--data", l.data(), "creek-80", "--members", "20", "--json")
	var doc struct {
		Forecasts []struct {
			Source   string
			AgeHours float64 `json:"age_hours"`
			Days     int
		}
	}
	if err := json.Unmarshal([]byte(out), &doc); err != nil || len(doc.Forecasts) != 1 || doc.Forecasts[0].AgeHours != 1 || doc.Forecasts[0].Days < 6 {
		t.Errorf("the outlook stands on %+v, %v", doc.Forecasts, err)
	}
	l.contains(func() string { out, _ := l.want(0, "weather", "show", "--data", l.data()); return out }(), "a The forecast of the National Weather Service", "Thu 10-07 76 (")

	l.now = l.now.Add(10 * time.Minute)
	out, _ = l.fetch(0)
	l.contains(out, "may be asked again after")

	l.now = l.now.Add(30 * time.Hour)
	l.status = http.StatusForbidden // of the service's own kind: it is not asked again within the question
	out, stderr := l.fetch(3)
	l.contains(out, "no new forecast.", "! In use stays the old one, made Wed 6 Oct 2004 05:00, 31 h old")
	l.contains(stderr, "stays in use")
	l.contains(plan(), "! The forecast of the National Weather Service is 31 h old: each of its days counts as a day further ahead.")

	l.status = http.StatusOK
	l.now = l.now.Add(time.Hour)
	l.want(0, "weather", "enter", "--data", l.data(), "Friday 66/60, 80 % light rain in the evening, heavy dew")
	l.contains(plan(), "Your own forecast of Thu 7 Oct 13:10 covers one day.", "The forecast of the National Weather Service")

	if err := os.RemoveAll(filepath.Join(l.folder, "forecasts")); err != nil { // the archive still has it
		t.Fatal(err)
	}
	l.contains(plan(), "The forecast of the National Weather Service of Wed 6 Oct 05:00")
	out, stderr = l.want(2, "weather", "fetch", "--data", l.data(), "--service", l.srv.URL)
	l.contains(out+stderr, "contact under [farm.weather]", "a mail address")
}

// Seventy mornings of forecasts are archived and scored against what came, and from then on the farm's own errors are used.
func TestTheErrorTableIsLearnedFromTheArchive(t *testing.T) {
	l := startLoopback(t)
	record := recordOf(t, l.folder)
	chance := rand.New(rand.NewPCG(1, 2))
	l.grid = func() string { return wrongBy(record, l.now, chance) }
	l.now = time.Date(2004, 9, 10, 11, 0, 0, 0, time.UTC)
	l.contains(func() string { _, e := l.want(1, "weather", "score", "--data", l.data()); return e }(), "No forecast has been kept yet")
	l.fetch(0)
	l.contains(func() string { _, e := l.want(1, "weather", "score", "--data", l.data()); return e }(), "was observed whole")
	use := useCases()
	use.Now = func() time.Time { return l.now }
	for range 70 {
		l.now = l.now.Add(24 * time.Hour)
		got, err := use.FetchWeather(context.Background(), app.FetchRequest{Book: l.data(), Folder: filepath.Join(l.folder, "forecasts"), Contact: "ada@farm.example", Page: l.srv.URL})
		if err != nil || got.Services[0].Result != app.FetchedNew || len(got.Findings) != 0 {
			t.Fatalf("%+v, %v", got, err)
		}
	}
	out, _ := l.want(0, "weather", "score", "--data", l.data(), "--json")
	var doc struct {
		Sources []struct {
			Forecasts int
			Leads     []struct {
				Lead int `json:"lead_day"`
				High struct {
					N         int
					Bias, MAE float64
					Skill     float64
					Within    float64 `json:"within_80_pct"`
					MembersN  int     `json:"members_n"`
				}
				Rain struct{ N int }
			}
		}
		Table struct {
			Learned int       `json:"learned_temperature_leads"`
			Temp    []float64 `json:"temperature"`
		} `json:"error_table"`
	}
	if err := json.Unmarshal([]byte(out), &doc); err != nil || len(doc.Sources) != 1 || len(doc.Sources[0].Leads) != 7 {
		t.Fatalf("%v in %s", err, out)
	}
	// The highs were made 2 °C too high, give or take 3 °C more for each day ahead.
	day3 := doc.Sources[0].Leads[2]
	if day3.High.N < 60 || math.Abs(day3.High.Bias-2) > 1.2 || day3.High.MAE < 1 || day3.Rain.N < 60 || day3.High.MembersN < 60 || day3.High.Within < 60 {
		t.Errorf("day 3: %+v", day3)
	}
	if doc.Table.Learned < 5 || doc.Table.Temp[0] == weather.DefaultErrors().Temp[0] {
		t.Errorf("learned %d lead days: %v", doc.Table.Learned, doc.Table.Temp)
	}
	out, _ = l.want(0, "weather", "show", "--data", l.data())
	l.contains(out, "This farm's own errors of forecasts")
	// From the season file alone the folder is the archive.
	out, _ = l.want(0, "weather", "score", filepath.Join(l.folder, "season.toml"))
	l.contains(out, "National Weather Service: forecasts of 71 days, 2004-09-10 to 2004-11-19", "This farm's own errors of forecasts", "Rain of")
}

// A forecast that came some other way goes into the data file, and a service of the farm's own choice is asked beside the
// national one, under its key, with its credit beside the answer.
func TestOtherWaysToAForecast(t *testing.T) {
	l := startLoopback(t)
	l.grid = func() string { return steady(l.now) }
	file := filepath.Join(l.folder, "sent.json")
	if err := os.WriteFile(file, []byte(steady(l.now.Add(-2*time.Hour))), 0o600); err != nil {
		t.Fatal(err)
	}
	out, _ := l.want(0, "weather", "import", file, "--data", l.data())
	l.contains(out, "the forecast of the National Weather Service of Wed 6 Oct 2004 04:00, 7 days.")
	out, _ = l.want(0, "plan", "--data", l.data(), "--members", "20")
	l.contains(out, "The forecast of the National Weather Service of Wed 6 Oct 04:00, 2 h old")
	out, _ = l.want(0, "weather", "show", "--data", l.data(), "--forecast", file)
	l.contains(out, "sent.json: the days ahead, as of Wed 6 Oct 2004 04:00", "Thu 10-07 77 48")
	l.now = l.now.Add(-24 * time.Hour)
	_, stderr := l.want(2, "weather", "import", file, "--data", l.data())
	l.contains(stderr, "not later than now")
	l.now = l.now.Add(20 * 24 * time.Hour)
	_, stderr = l.want(1, "weather", "import", file, "--data", l.data())
	l.contains(stderr, "says nothing of today or later days")

	season := filepath.Join(l.folder, "season.toml")
	text, err := os.ReadFile(season)
	if err != nil {
		t.Fatal(err)
	}
	own := "[farm.weather.ensemble]\nurl = \"" + l.srv.URL + "/v1/ensemble?models=a\"\nkey_file = \"key.txt\"\ncredit = \"By the cloud people\"\n\n[prefer]"
	if err := os.WriteFile(season, []byte(strings.Replace(string(text), "[prefer]", own, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(l.folder, "key.txt"), []byte("secret-key\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	l.want(0, "import", season, "--data", l.data())
	l.now = time.Date(2004, 10, 9, 11, 0, 0, 0, time.UTC)
	out, stderr = l.fetch(0)
	l.contains(out, "National Weather Service: a new forecast", "Ensemble service: a new forecast")
	out, _ = l.want(0, "weather", "show", "--data", l.data(), "--members", "20")
	l.contains(out, "b The forecast of the ensemble service", "By the cloud people")
	if strings.Contains(out+stderr, "secret-key") || !l.keyed {
		t.Errorf("the key was sent: %v; it is shown or not in\n%s", l.keyed, out)
	}
}

// runs is an ensemble of two members over ten days, one 4 °C warmer than the other.
func runs(now time.Time) string {
	var times, low, high []string
	for h := range 10 * 24 {
		at := now.Truncate(24 * time.Hour).Add(time.Duration(h) * time.Hour)
		times = append(times, strconv.Quote(at.Format("2006-01-02T15:04")))
		x := 12 + 6*math.Sin(2*math.Pi*float64(at.Hour()-14)/24)
		low, high = append(low, fmt.Sprintf("%.1f", x)), append(high, fmt.Sprintf("%.1f", x+4))
	}
	return fmt.Sprintf(`{"utc_offset_seconds":0,"hourly_units":{"temperature_2m":"°C"},"hourly":{"time":[%s],"temperature_2m":[%s],"temperature_2m_member01":[%s]}}`,
		strings.Join(times, ","), strings.Join(low, ","), strings.Join(high, ","))
}

// recordOf reads the starter farm's weather record.
func recordOf(t *testing.T, folder string) *weather.Series {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	rec, err := readWeather(os.DirFS(folder), "weather/champaign_il_hourly_2003_2007.csv.gz", app.WeatherReading{Zone: zone, Stamp: "middle", At: &farm.Point{Lat: 40.05, Lon: -88.37}})
	if err != nil {
		t.Fatal(err)
	}
	return rec.Series
}

// wrongBy returns a forecast of a week, each day of it 2 °C too warm and off by chance, more so the further ahead.
func wrongBy(record *weather.Series, now time.Time, chance *rand.Rand) string {
	var temps []string
	start := calendar.HourOf(now) - 6
	off := 0.0
	for h := range 7*24 + 6 {
		if h%24 == 0 {
			off = 2 + chance.NormFloat64()*(1+0.5*float64(h/24))
		}
		x, ok := record.At(weather.TempC, start+calendar.Hour(h))
		if ok {
			temps = append(temps, fmt.Sprintf(`{"validTime":"%s/PT1H","value":%.1f}`, (start+calendar.Hour(h)).Start().Format(time.RFC3339), x+off))
		}
	}
	return gridText(now.Add(-time.Hour), strings.Join(temps, ","), -5, 30)
}
