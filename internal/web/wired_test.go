package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"io/fs"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/feeds/schedulefile"
	"threshday/internal/feeds/scheduletoml"
	"threshday/internal/feeds/seasonfile"
	"threshday/internal/web"
)

// morning is when these tests begin.
var morning = time.Date(2031, 9, 16, 11, 10, 0, 0, time.UTC)

func parse(name string, data []byte) (*app.SeasonFile, error) {
	season, findings, err := seasonfile.Read(name, data)
	if err != nil {
		return nil, err
	}
	return &app.SeasonFile{Season: season, Findings: findings}, nil
}

func parseSchedule(name string, text []byte) (settlement.Schedule, error) {
	if strings.HasPrefix(strings.TrimSpace(string(text)), "{") {
		return schedulefile.ReadSchedule(name, text)
	}
	return scheduletoml.Read(name, text)
}

// useCases joins the app to the real readers, as the program does.
func useCases(minutes *atomic.Int64, disk *sync.RWMutex) *app.App {
	return &app.App{
		ParseSeason: parse, WriteSeason: seasonfile.Write, Program: "Threshday in a test", Zone: time.LoadLocation,
		Now: func() time.Time { return morning.Add(time.Duration(minutes.Load()) * time.Minute) },
		Files: func(path string) (fs.FS, string, error) {
			return os.DirFS(filepath.Dir(path)), filepath.Base(path), nil
		},
		Schedule: func(files fs.FS, name string) (*settlement.Schedule, error) {
			disk.RLock()
			defer disk.RUnlock()
			data, err := fs.ReadFile(files, name)
			if err != nil {
				return nil, err
			}
			s, err := parseSchedule(name, data)
			return &s, err
		},
		ParseSchedule: parseSchedule,
		Place: func(path string, text []byte) error {
			if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
				return err
			}
			return os.WriteFile(path, text, 0o600)
		},
	}
}

// A shop is a running server with its data file.
type shop struct {
	t      testing.TB
	url    string
	data   string
	server *web.Server
	// minutes is how long after morning it is.
	minutes *atomic.Int64
	// disk lets schedules be read while nobody holds it.
	disk *sync.RWMutex
}

// open starts a server on a data file; an empty path is a new one.
func open(t testing.TB, data string) *shop {
	t.Helper()
	if data == "" {
		data = filepath.Join(t.TempDir(), "farm.db")
	}
	minutes, disk := new(atomic.Int64), new(sync.RWMutex)
	a := useCases(minutes, disk)
	held, err := a.Hold(t.Context(), data, "a test")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	s, err := web.New(ctx, web.Settings{
		App: a, Data: data, Log: slog.New(slog.DiscardHandler),
		Schedule: func(s settlement.Schedule) any { return schedulefile.Write(s) },
		Statement: func(terms *settlement.Terms, s settlement.Statement, r *settlement.Rejection, doubts []problem.Finding) any {
			return schedulefile.NewAnswer(terms, s, r)
		},
		Source: func(key string) (any, bool) { return map[string]string{"key": key}, key == "fao-56" },
	})
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(s.Handler())
	t.Cleanup(func() {
		srv.Close()
		stop()
		s.Wait()
		if err := held.Release(); err != nil {
			t.Error(err)
		}
	})
	return &shop{t, srv.URL, data, s, minutes, disk}
}

// An answer of the server.
type got struct {
	status int
	head   http.Header
	body   []byte
}

func (s *shop) ask(method, path, body string, change ...func(*http.Request)) got {
	s.t.Helper()
	r, err := http.NewRequestWithContext(s.t.Context(), method, s.url+path, strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for _, c := range change {
		c(r)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer func() { _ = res.Body.Close() }()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return got{res.StatusCode, res.Header, text}
}

// doc reads a document out of an answer of that status.
func doc[T any](t testing.TB, g got, status int) T {
	t.Helper()
	var v T
	if g.status != status {
		t.Fatalf("status %d, want %d: %s", g.status, status, g.body)
	}
	if err := json.Unmarshal(g.body, &v); err != nil {
		t.Fatalf("%s: %v", g.body, err)
	}
	return v
}

type complaint struct{ Rule, Label, Where, Say, Next string }

type failure struct {
	Error    complaint
	Findings []complaint
}

// refused reads why a question was not answered.
func (g got) refused(t testing.TB, status int, rule string) failure {
	t.Helper()
	f := doc[failure](t, g, status)
	if f.Error.Rule != rule || f.Error.Say == "" {
		t.Errorf("rule %q, want %q; says %q", f.Error.Rule, rule, f.Error.Say)
	}
	return f
}

// firstSteps is a farm of three fields on the morning of these tests.
const firstSteps = `{"id": "01a212aa-397a-7a11-b9a3-ee2d1028c9e1",
 "farm": {"name": "North Farm", "place": "Ossing", "zone": "America/Chicago", "lat": "40.05", "lon": "-88.37"},
 "limits": {"soybean": "15"},
 "fields": [{"name": "Creek 80", "acres": "78", "crop": "soybean", "yield": "52", "mature": "2031-09-10", "moisture": "14.6"},
  {"name": "Home Quarter", "acres": "148", "crop": "soybean", "yield": "58", "mature": "2031-09-08", "moisture": "13.2"},
  {"name": "Pump House", "acres": "40", "crop": "soybean", "yield": "50", "mature": "2031-09-24"}],
 "combine": {"name": "Combine", "head": "30 ft", "speed": "4 mph", "holds": "300"},
 "truck": {"name": "Semi", "count": "2", "gross": "80000 lb", "tare": "26500 lb", "per_mile": "$2.15", "per_hour": "$28"},
 "outlet": {"name": "Ossing Elevator", "miles": "8", "open": "07:00", "close": "19:00", "saturday_close": "17:00"},
 "schedule": {"moisture_base": "13", "per": "0.5", "discount": "1.25", "unit": "percent", "reject": "18"},
 "bids": [{"crop": "soybean", "cash": "$9.87", "until": "2031-10-31"}],
 "outlook": [{"on": "2031-09-16", "high": "79 F", "low": "55 F", "rain": "5"}, {"on": "2031-09-17", "high": "80 F", "low": "58 F", "rain": "10"}]}`

// begun starts a server with the farm of firstSteps.
func begun(t testing.TB) *shop {
	t.Helper()
	s := open(t, "")
	doc[map[string]any](t, s.ask("POST", "/api/start", firstSteps), 201)
	s.minutes.Store(20)
	return s
}

type entered struct {
	ID, Status, Record, Say string
	Seq                     int64
	Findings                []complaint
	Error                   *complaint
}

// hand hands commands in; each is its type and body, with an id made of n.
func (s *shop) hand(n int, kind, body string) entered {
	s.t.Helper()
	out := doc[struct{ Answers []entered }](s.t, s.ask("POST", "/api/commands", commands(command(n, kind, body))), 200)
	return out.Answers[0]
}

func idOf(n int) string {
	return "01a212aa-397a-7a11-b9a3-" + "ee2d1028" + hex4(n)
}

func hex4(n int) string {
	const digits = "0123456789abcdef"
	return string([]byte{digits[n>>12&15], digits[n>>8&15], digits[n>>4&15], digits[n&15]})
}

func command(n int, kind, body string) string {
	return `{"id":"` + idOf(n) + `","device":"lap","seq":` + itoa(n) + `,"device_time":"2031-09-16T06:25:00-05:00","type":"` + kind + `","by":"Ada","body":` + body + `}`
}

func itoa(n int) string {
	b, _ := json.Marshal(n)
	return string(b)
}

func commands(all ...string) string { return `{"commands":[` + strings.Join(all, ",") + `]}` }

type snapshot struct {
	Head struct {
		Seq  int64
		Hash string
	}
	Farm     *struct{ ID, Name string }
	Fields   []struct{ ID string }
	Readings []struct {
		ID, Version, Field string
		Moisture           string `json:"moisture_pct"`
		Entered            bool
	}
	Loads struct {
		Loads []struct {
			ID, Ticket string
			Counted    bool
			Settlement *struct {
				Price     *string `json:"price_usd"`
				Statement *struct {
					Net string `json:"net_usd"`
				}
				WhyNot *string `json:"why_not"`
			}
		}
		All struct {
			Loads int64
			NetLb int64 `json:"net_lb"`
		}
	}
	Plan *struct {
		ID     string
		Behind int64
		Sheet  struct {
			Fields  []struct{ Field, Advice string }
			Earlier *struct{ Say string } `json:"earlier_orders"`
		}
	}
	Changed *struct {
		Because []string
		Fields  []struct {
			Field   string
			Because []string
		}
	}
	Job struct{ State, Say string }
}

func (s *shop) snapshot() snapshot {
	s.t.Helper()
	return doc[snapshot](s.t, s.ask("GET", "/api/snapshot", ""), 200)
}

// plan makes a plan and waits for it.
func (s *shop) plan() {
	s.t.Helper()
	g := s.ask("POST", "/api/plan", "{}")
	if g.status != http.StatusAccepted {
		s.t.Fatalf("%d %s", g.status, g.body)
	}
	s.server.Wait()
	if is := s.snapshot().Job; is.State != "idle" {
		s.t.Fatalf("the plan ended as %+v: %s", is, bytes.TrimSpace(s.ask("GET", "/api/plan", "").body))
	}
}
