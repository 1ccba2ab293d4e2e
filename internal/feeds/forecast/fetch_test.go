package forecast

import (
	"context"
	"crypto/x509"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
	"threshday/internal/feeds/outbound"
)

var (
	farm    = PlaceAt(41.98765, -93.5)
	morning = time.Date(2026, 10, 3, 10, 0, 0, 0, time.UTC)
)

// A reply is one answer of the service.
type reply struct {
	status int
	header map[string]string
	body   string
	late   time.Duration
}

// A service replays answers in the documented form: for each path a list, the last of which stands.
type service struct {
	t     *testing.T
	mu    sync.Mutex
	plays map[string][]reply
	asked []string // method, path and If-Modified-Since
	stop  chan struct{}
}

const pointBody = `{"properties":{"gridId":"ZZZ","gridX":41,"gridY":77,"timeZone":"America/Chicago","relativeLocation":{"properties":{"city":"Nowhere","state":"ZZ"}}}}`

// gridBody returns a raw grid made at a time: 18 °C for three days, a rain chance of 40 %.
func gridBody(made time.Time) string {
	return fmt.Sprintf(`{"properties":{"updateTime":%q,"gridId":"ZZZ","gridX":"41","gridY":"77",
		"temperature":{"uom":"wmoUnit:degC","values":[{"validTime":"2026-10-03T06:00:00+00:00/P3D","value":18}]},
		"dewpoint":{"uom":"wmoUnit:degC","values":[{"validTime":"2026-10-03T06:00:00+00:00/P3D","value":9}]},
		"probabilityOfPrecipitation":{"uom":"wmoUnit:percent","values":[{"validTime":"2026-10-03T00:00:00+00:00/P3D","value":40}]}}}`, made.Format(time.RFC3339))
}

const hourlyBody = `{"properties":{"updateTime":"2026-10-03T09:00:00Z","periods":[{"startTime":"2026-10-03T10:00:00Z","endTime":"2026-10-03T11:00:00Z","temperature":60,"temperatureUnit":"F",
	"windSpeed":"10 mph","probabilityOfPrecipitation":{"unitCode":"wmoUnit:percent","value":20}}]}}`

func problemBody(status int, kind string) string {
	return fmt.Sprintf(`{"correlationId":"c-1","title":"Trouble","type":"https://service.example/problems/%s","status":%d,"detail":"said so"}`, kind, status)
}

// heard returns what was asked from the n-th question on. A handler may still be at work when a question was given up.
func (s *service) heard(n int) []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.asked[n:])
}

// play sets what a path answers from now on.
func (s *service) play(path string, answers []reply) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.plays[path] = answers
}

func (s *service) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	s.asked = append(s.asked, strings.TrimSpace(r.URL.Path+" "+r.Header.Get("If-Modified-Since")))
	if r.Header.Get("User-Agent") != "Threshday/test (ada@farm.example)" {
		s.t.Errorf("asked as %q", r.Header.Get("User-Agent"))
	}
	list := s.plays[r.URL.Path]
	if len(list) > 1 {
		s.plays[r.URL.Path] = list[1:]
	}
	s.mu.Unlock()
	if len(list) == 0 {
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(http.StatusNotFound)
		_, _ = w.Write([]byte(problemBody(404, "InvalidPoint")))
		return
	}
	one := list[0]
	if one.late > 0 {
		<-s.stop
		return
	}
	w.Header().Set("Content-Type", "application/geo+json")
	if one.status >= 400 {
		w.Header().Set("Content-Type", "application/problem+json")
	}
	for k, v := range one.header {
		w.Header().Set(k, v)
	}
	w.WriteHeader(one.status)
	_, _ = w.Write([]byte(one.body))
}

const (
	pointPath  = "/points/41.9877,-93.5"
	gridPath   = "/gridpoints/ZZZ/41,77"
	hourlyPath = gridPath + "/forecast/hourly"
)

// A bench is a service, an asker of it and a clock.
type bench struct {
	*service
	Asker
	now time.Time
}

func start(t *testing.T, plays map[string][]reply) *bench {
	t.Helper()
	if plays[pointPath] == nil {
		plays[pointPath] = []reply{{status: 200, body: pointBody}}
	}
	b := &bench{service: &service{t: t, plays: plays, stop: make(chan struct{})}, now: morning}
	srv := httptest.NewTLSServer(b.service)
	t.Cleanup(func() { close(b.stop); srv.Close() })
	roots := x509.NewCertPool()
	roots.AddCert(srv.Certificate())
	waits := outbound.DefaultWaits()
	waits.Retries, waits.Slow, waits.Answer = []time.Duration{0, 0, 0}, 0, 300*time.Millisecond
	b.Asker = Asker{
		Folder: Folder(filepath.Join(t.TempDir(), "forecasts")), Page: srv.URL, Now: func() time.Time { return b.now },
		Client: outbound.New(outbound.Settings{
			Agent: "Threshday/test (ada@farm.example)", OwnHost: true, Roots: roots, Jitter: func() float64 { return 0.5 }, Waits: waits, Hopeless: Hopeless,
		}),
	}
	return b
}

func (b *bench) ask() (*Outcome, error) { return b.National(context.Background(), farm) }

// must asks and wants a result.
func (b *bench) must(want Result) *Outcome {
	b.t.Helper()
	o, err := b.ask()
	if err != nil || o.Result != want {
		b.t.Fatalf("got %+v, %v; want %s", o, err, want)
	}
	return o
}

// fails asks and wants trouble by a rule.
func (b *bench) fails(rule string) *Trouble {
	b.t.Helper()
	o, err := b.ask()
	var trouble *Trouble
	if o != nil || !errors.As(err, &trouble) || trouble.Rule != rule {
		b.t.Fatalf("got %+v, %v; want %s", o, err, rule)
	}
	if trouble.Say == "" || trouble.Next == "" {
		b.t.Errorf("%s has no words: %+v", rule, trouble)
	}
	return trouble
}

func TestAForecastIsFetchedKeptAndAskedForAgainOnlyIfItChanged(t *testing.T) {
	made := morning.Add(-time.Hour)
	b := start(t, map[string][]reply{gridPath: {
		{status: 200, body: gridBody(made), header: map[string]string{"Last-Modified": "Sat, 03 Oct 2026 09:00:00 GMT"}},
		{status: 304},
		{status: 200, body: gridBody(morning.Add(50 * time.Minute))},
	}})
	o := b.must(New)
	if !o.Kept.Issued.Equal(made) || o.Kept.Cell != "ZZZ 41,77" || o.Kept.Near != "Nowhere, ZZ" || o.Kept.Zone != "America/Chicago" {
		t.Errorf("kept %+v", o.Kept)
	}
	b.now = morning.Add(29 * time.Minute)
	if soon := b.must(TooSoon); !soon.Next.Equal(morning.Add(30 * time.Minute)) {
		t.Errorf("again at %s", soon.Next)
	}
	b.now = morning.Add(31 * time.Minute)
	if same := b.must(Same); !same.Kept.Checked.Equal(b.now) || !same.Kept.Issued.Equal(made) {
		t.Errorf("kept %+v", same.Kept)
	}
	b.now = morning.Add(62 * time.Minute)
	b.must(New)
	want := []string{pointPath, gridPath, gridPath + " Sat, 03 Oct 2026 09:00:00 GMT", gridPath + " Sat, 03 Oct 2026 09:00:00 GMT"}
	if !slices.Equal(b.heard(0), want) {
		t.Errorf("asked %q, want %q", b.heard(0), want)
	}
	kept, doubts, err := b.Folder.Newest()
	if err != nil || len(doubts) != 0 || len(kept) != 1 || !kept[0].Issued.Equal(morning.Add(50*time.Minute)) {
		t.Fatalf("the folder has %+v, %v, %v", kept, doubts, err)
	}
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	days := kept[0].Says.Ahead(calendar.HourOf(b.now), zone)
	// One merged entry of three days is six blocks of 40 %; two of them in a day make 0.4+0.6·0.4·0.6 = 0.544, and
	// the parts of three blocks that a local day touches a little more.
	if len(days) == 0 || *days[1].High != 18 || *days[1].Rain < 0.544 || *days[1].Rain > 0.6 {
		t.Errorf("the days ahead are %+v", days)
	}
	if files, _ := filepath.Glob(filepath.Join(string(b.Folder), "*")); len(files) != 3 {
		t.Errorf("the folder holds %q, want two forecasts and the state", files)
	}
}

// Each row: what the service answers at the second question, and which trouble that is. The forecast of the first
// question stays in every case.
func TestWhateverGoesWrongTheKeptForecastStays(t *testing.T) {
	html := map[string]string{"Content-Type": "text/html"}
	for name, c := range map[string]struct {
		second []reply
		rule   string
		say    string
		asked  int // questions for the grid in the second round
	}{
		"no such user":              {[]reply{{status: 403, body: problemBody(403, "Forbidden")}}, "forecast.refused", "request c-1", 1},
		"refused by what is before": {[]reply{{status: 403, body: "<html>Access Denied</html>", header: html}}, "forecast.slow-down", "too often", 4},
		"too often":                 {[]reply{{status: 429, header: map[string]string{"Retry-After": "7200"}}}, "forecast.slow-down", "too often", 1},
		"bad question":              {[]reply{{status: 400, body: problemBody(400, "BadRequest")}}, "forecast.refused", "status 400", 1},
		"not there":                 {[]reply{{status: 404, body: problemBody(404, "NotFound")}}, "forecast.outside", "41.9877,-93.5", 1},
		"no new grid":               {[]reply{{status: 503, body: problemBody(503, "ForecastGridExpired")}}, "forecast.expired", "local office", 1},
		"unavailable":               {[]reply{{status: 503, body: problemBody(503, "UnavailableWebService")}}, "forecast.troubled", "status 503", 4},
		"unexpected problem":        {[]reply{{status: 500, body: problemBody(500, "UnexpectedProblem")}}, "forecast.troubled", "status 500", 4},
		"cut short":                 {[]reply{{status: 200, body: gridBody(morning), header: map[string]string{"Content-Length": "100000"}}}, "forecast.unreachable", "EOF", 4},
		"half a document":           {[]reply{{status: 200, body: gridBody(morning)[:300]}}, "forecast.unreadable", "properties", 1},
		"thousands of degrees":      {[]reply{{status: 200, body: strings.Replace(gridBody(morning), "18}", "1800}", 1)}}, "forecast.unreadable", "1800", 1},
		"a page":                    {[]reply{{status: 200, body: "<html>", header: html}}, "forecast.unreadable", "status 200", 1},
		"days old":                  {[]reply{{status: 200, body: gridBody(morning.Add(-72 * time.Hour))}}, "forecast.older", "3 days", 1},
		"sent on":                   {[]reply{{status: 302, header: map[string]string{"Location": "https://elsewhere.example/"}}}, "forecast.unsafe", "elsewhere", 1},
		"slow":                      {[]reply{{late: time.Hour}}, "forecast.unreachable", "reached", 4},
	} {
		t.Run(name, func(t *testing.T) {
			b := start(t, map[string][]reply{gridPath: {{status: 200, body: gridBody(morning)}}})
			b.must(New)
			b.now = morning.Add(time.Hour)
			b.play(gridPath, c.second)
			before := len(b.heard(0))
			trouble := b.fails(c.rule)
			if trouble.Kept == nil || !strings.Contains(trouble.Say, c.say) || !strings.Contains(trouble.Say, "stays in use") {
				t.Errorf("said %q, kept %v", trouble.Say, trouble.Kept)
			}
			grids := 0
			for _, path := range b.heard(before) {
				if path == gridPath {
					grids++
				}
			}
			if grids != c.asked && name != "not there" {
				t.Errorf("asked %d times for the grid, want %d", grids, c.asked)
			}
			kept, doubts, err := b.Folder.Newest()
			if err != nil || len(doubts) != 0 || len(kept) != 1 || !kept[0].Issued.Equal(morning) {
				t.Errorf("the folder has %+v, %v, %v", kept, doubts, err)
			}
		})
	}
}

func TestTheHourlyFormStandsInForTheGrid(t *testing.T) {
	for name, grid := range map[string]reply{
		"one late period is empty": {status: 503, body: problemBody(503, "ForecastMissingData")},
		"no temperature":           {status: 200, body: `{"properties":{"updateTime":"2026-10-03T09:00:00Z"}}`},
		"trouble":                  {status: 500, body: problemBody(500, "UnexpectedProblem")},
	} {
		b := start(t, map[string][]reply{gridPath: {grid}, hourlyPath: {{status: 200, body: hourlyBody, header: map[string]string{"Last-Modified": "Sat, 03 Oct 2026 09:00:00 GMT"}}}})
		o := b.must(New)
		if o.Kept.Form != "hourly" {
			t.Errorf("%s: form %s", name, o.Kept.Form)
		}
		b.now = morning.Add(time.Hour)
		if _, err := b.ask(); err != nil || strings.Contains(strings.Join(b.heard(0), "\n"), "GMT") {
			t.Errorf("%s: the grid is asked for by the age of the hourly form: %q, %v", name, b.heard(0), err)
		}
	}
}

func TestAPlaceThatMovedOnTheGridIsLookedUpAgain(t *testing.T) {
	b := start(t, map[string][]reply{gridPath: {{status: 200, body: gridBody(morning)}}})
	b.must(New)
	b.now = morning.Add(time.Hour)
	b.plays[gridPath] = nil
	b.plays[pointPath] = []reply{{status: 200, body: strings.Replace(pointBody, "41", "42", 1)}}
	b.plays["/gridpoints/ZZZ/42,77"] = []reply{{status: 200, body: gridBody(morning.Add(30 * time.Minute))}}
	if o := b.must(New); o.Kept.Cell != "ZZZ 42,77" {
		t.Errorf("cell %s", o.Kept.Cell)
	}
}

func TestAPlaceOnTheGridIsBelievedForAWeek(t *testing.T) {
	b := start(t, map[string][]reply{gridPath: {{status: 200, body: gridBody(morning)}}})
	points := func() (n int) {
		for _, path := range b.heard(0) {
			if path == pointPath {
				n++
			}
		}
		return n
	}
	b.must(New)
	b.now = morning.Add(6 * 24 * time.Hour)
	b.must(Same)
	if points() != 1 {
		t.Errorf("looked up %d times within a week", points())
	}
	b.now = morning.Add(8 * 24 * time.Hour)
	o := b.must(Same)
	if points() != 2 {
		t.Errorf("looked up %d times after a week", points())
	}
	if len(o.Kept.Findings) != 1 || o.Kept.Findings[0].Rule != "forecast.old" {
		t.Errorf("nothing says that the forecast is 8 days old: %v", o.Kept.Findings)
	}
}

func TestTheServiceSaysWhenItMayBeAskedAgain(t *testing.T) {
	b := start(t, map[string][]reply{gridPath: {{status: 200, body: gridBody(morning), header: map[string]string{"Cache-Control": "public, max-age=3600, s-maxage=120"}}}})
	if o := b.must(New); !o.Next.Equal(morning.Add(time.Hour)) {
		t.Errorf("again at %s, want an hour later", o.Next)
	}
	b.now = morning.Add(59 * time.Minute)
	b.must(TooSoon)
	b.plays[gridPath] = []reply{{status: 429, header: map[string]string{"Retry-After": "7200"}}}
	b.now = morning.Add(61 * time.Minute)
	b.fails("forecast.slow-down")
	b.now = morning.Add(3 * time.Hour)
	b.must(TooSoon)
	b.plays[gridPath] = []reply{{status: 200, body: gridBody(morning)}}
	b.now = morning.Add(3*time.Hour + 2*time.Minute)
	b.must(Same)
}

func TestAClockThatWasWrongLocksNobodyOut(t *testing.T) {
	b := start(t, map[string][]reply{gridPath: {{status: 200, body: gridBody(morning)}}})
	b.now = morning.Add(365 * 24 * time.Hour)
	b.must(New)
	b.now = morning
	b.must(Same)
}

func TestNoConnectionMayBeTriedAgainAtOnce(t *testing.T) {
	b := start(t, map[string][]reply{gridPath: {{status: 200, body: gridBody(morning)}}})
	page := b.Page
	b.Page = "https://127.0.0.1:1"
	if trouble := b.fails("forecast.unreachable"); trouble.Kept != nil {
		t.Errorf("kept %v", trouble.Kept)
	}
	b.Page = page
	b.must(New)
}

func TestGivingUpIsNoTroubleOfTheService(t *testing.T) {
	b := start(t, map[string][]reply{gridPath: {{status: 200, body: gridBody(morning)}}})
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := b.National(ctx, farm); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	b.must(New)
}

func TestAnotherPlaceHasAForecastOfItsOwn(t *testing.T) {
	b := start(t, map[string][]reply{gridPath: {{status: 200, body: gridBody(morning)}}, "/points/40,-90": {{status: 200, body: strings.Replace(pointBody, "77", "78", 1)}}, "/gridpoints/ZZZ/41,78": {{status: 200, body: gridBody(morning)}}})
	b.must(New)
	o, err := b.National(context.Background(), PlaceAt(40, -90))
	if err != nil || o.Result != New || o.Kept.At != (Place{40, -90}) {
		t.Errorf("got %+v, %v", o, err)
	}
}

func TestADamagedFolderIsToldAndMended(t *testing.T) {
	b := start(t, map[string][]reply{gridPath: {{status: 200, body: gridBody(morning)}}})
	b.must(New)
	files, err := filepath.Glob(filepath.Join(string(b.Folder), "national-*"))
	if err != nil || len(files) != 1 {
		t.Fatal(files, err)
	}
	if err := os.WriteFile(files[0], []byte("no gzip"), 0o600); err != nil {
		t.Fatal(err)
	}
	kept, doubts, err := b.Folder.Newest()
	if err != nil || len(kept) != 0 || len(doubts) != 1 || doubts[0].Next == "" {
		t.Errorf("got %v, %v, %v", kept, doubts, err)
	}
	b.now = morning.Add(time.Hour)
	b.must(New)
	for _, text := range []string{"{", `{"format":2,"sources":{}}`, `[]`} {
		if err := os.WriteFile(filepath.Join(string(b.Folder), stateName), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, _, err := b.Folder.Newest(); err == nil {
			t.Errorf("%s is taken", text)
		}
		if _, err := b.ask(); err == nil {
			t.Errorf("%s is taken", text)
		}
	}
	sly, err := json.Marshal(state{Format: formatNow, Sources: map[Source]*history{National: {Lat: 41.9877, Lon: -93.5, Newest: &keptState{File: "../../secret.json.gz"}}, Ensemble: nil}})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(string(b.Folder), stateName), sly, 0o600); err != nil {
		t.Fatal(err)
	}
	if kept, doubts, err := b.Folder.Newest(); err != nil || len(kept) != 0 || len(doubts) != 1 {
		t.Errorf("a file outside the folder: %v, %v, %v", kept, doubts, err)
	}
}

func TestAnEmptyFolderKeepsNothing(t *testing.T) {
	kept, doubts, err := Folder(filepath.Join(t.TempDir(), "none")).Newest()
	if err != nil || len(kept) != 0 || len(doubts) != 0 {
		t.Errorf("got %v, %v, %v", kept, doubts, err)
	}
}

const ensembleBody = `{"utc_offset_seconds":0,"hourly_units":{"temperature_2m":"°C","precipitation":"mm"},"hourly":{"time":["2026-10-03T12:00","2026-10-03T13:00"],
	"temperature_2m":[5.1,7.9],"temperature_2m_member01":[4.8,7.2],"precipitation":[0.0,0.4],"precipitation_member01":[0.0,0.0]}}`

func TestAnEnsembleIsAskedOnThePageOfTheOwner(t *testing.T) {
	b := start(t, map[string][]reply{"/v1/ensemble": {{status: 200, body: ensembleBody}, {status: 400, body: `{"error":true,"reason":"apikey is not valid"}`}, {status: 503, body: "x"}}})
	ask := func() (*Outcome, error) {
		return b.Ensemble(context.Background(), farm, b.Page+"/v1/ensemble?models=a", "secret-key")
	}
	o, err := ask()
	if err != nil || o.Result != New || !o.Kept.Issued.Equal(morning) || len(o.Kept.Says.(weather.EnsembleForecast).Members) != 2 {
		t.Fatalf("got %+v, %v", o, err)
	}
	for _, want := range []string{"forecast.refused", "forecast.troubled"} {
		b.now = b.now.Add(time.Hour)
		_, err = ask()
		var trouble *Trouble
		if !errors.As(err, &trouble) || trouble.Rule != want || trouble.Kept == nil || strings.Contains(err.Error(), "secret-key") {
			t.Errorf("got %v, want %s", err, want)
		}
	}
	b.now = b.now.Add(time.Hour)
	_, err = b.Ensemble(context.Background(), farm, "https://127.0.0.1:1/v1", "secret-key")
	if err == nil || strings.Contains(err.Error(), "secret-key") {
		t.Errorf("got %v", err)
	}
	for _, file := range []string{stateName} {
		if data, err := os.ReadFile(filepath.Join(string(b.Folder), file)); err != nil || strings.Contains(string(data), "secret-key") {
			t.Errorf("%s holds the key: %v", file, err)
		}
	}
}
