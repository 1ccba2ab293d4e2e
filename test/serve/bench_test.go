package serve

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/seasonfile"
	"threshday/internal/store"
)

const (
	manyFields  = 60
	manyTickets = 50_000
	clients     = 50
)

// bigFarm is a season of 60 fields.
func bigFarm(year int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "[farm]\nid = \"big\"\nname = \"Big farm\"\nzone = \"America/Chicago\"\nyear = %d\nlat = 40.05\nlon = -88.37\n\n[prefer]\nlimits = {soybean = \"15%%\"}\nwork = \"08:00-22:00\"\n", year)
	for f := range manyFields {
		fmt.Fprintf(&b, "\n[[field]]\nid = \"f%02d\"\nname = \"Field %d\"\ncrop = \"soybean\"\nacres = 80\nmature = %d-12-20\nyield = \"55bu/ac\"\nbase = \"13%%\"\n", f, f, year)
	}
	b.WriteString("\n[[combine]]\nid = \"c\"\nname = \"Combine\"\ntank = \"300bu\"\nunload = \"3bu/s\"\n[[combine.head]]\nname = \"Head\"\ncrops = [\"soybean\"]\nwidth = \"30ft\"\nspeed = \"4mph\"\n")
	b.WriteString("\n[[truck]]\nid = \"semi\"\nname = \"Semi\"\ncount = 3\ngross = \"80000lb\"\ntare = \"26500lb\"\nper_mile = \"$2.15\"\nper_hour = \"$28\"\n")
	for _, outlet := range []string{"ossing", "pell"} {
		fmt.Fprintf(&b, "\n[[outlet]]\nid = %q\nmiles = \"8mi\"\nhours = {mon-sat = \"07:00-19:00\"}\nschedule = {soybean = \"soybean.json\"}\n", outlet)
		fmt.Fprintf(&b, "\n[[bid]]\noutlet = %q\ncrop = \"soybean\"\ncash = \"$9.87\"\ntaken = %d-01-02T08:00:00-06:00\n", outlet, year)
	}
	for c := range 20 {
		fmt.Fprintf(&b, "\n[[contract]]\nid = \"k%02d\"\noutlet = \"ossing\"\ncrop = \"soybean\"\nkind = \"cash\"\nbushels = \"50000bu\"\nprice = \"$10.05\"\nuntil = %d-12-31\n", c, year)
	}
	return b.String()
}

// bigBook writes a data file of 50,000 tickets.
func bigBook(b *testing.B, now time.Time) string {
	b.Helper()
	data := filepath.Join(b.TempDir(), "farm.db")
	st, err := store.Open(b.Context(), data, store.Options{Now: func() time.Time { return now }})
	if err != nil {
		b.Fatal(err)
	}
	schedule, err := os.ReadFile(filepath.Join("..", "..", "internal", "demo", "farm", "schedules", "ossing-soybean.json"))
	if err != nil {
		b.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(filepath.Dir(data), "soybean.json"), schedule, 0o600); err != nil {
		b.Fatal(err)
	}
	text := bigFarm(now.Year())
	season, _, err := seasonfile.Read("season.toml", []byte(text))
	if err != nil {
		b.Fatal(err)
	}
	events := []journal.Event{{
		Farm: "big", ID: st.NewID(), Kind: "season.set", Origin: journal.Import, At: now, Day: calendar.DayOf(now, time.UTC),
		Body: journal.SeasonBody(journal.Season{Text: text, Names: journal.SeasonNames(*season)}),
	}}
	moisture := trade.Percent(13_10)
	quality := farmQuality(5650, 120, 100, 0, 800)
	for i := range manyTickets {
		gross, tare := int64(60_000+i%20_000), int64(26_000)
		net := gross - tare
		day := calendar.DayOf(now, time.UTC).AddDays(-i % 60)
		events = append(events, journal.Event{
			Farm: "big", ID: st.NewID(), Kind: "load.recorded", Origin: journal.Import, At: now, Day: day,
			Body: journal.LoadBody(journal.Load{
				Ticket: fmt.Sprintf("T%d", i), Outlet: []string{"ossing", "pell"}[i%2], Quality: quality, Contract: contract(i), Crop: crop.Soybean, CropYear: now.Year(), From: []journal.Part{{Field: fmt.Sprintf("f%02d", i%manyFields), Share: 1}},
				Weights: journal.Weights{Unit: journal.Pounds, Gross: &gross, Tare: &tare, Net: &net}, Moisture: &moisture, Day: day,
			}),
		})
	}
	for part := range slices.Chunk(events, 900) {
		answers, err := st.AppendAll(context.Background(), part)
		if err != nil {
			b.Fatal(err)
		}
		for _, a := range answers {
			if a.Status == journal.Refused {
				b.Fatalf("%+v", a.Problems)
			}
		}
	}
	if err := st.Close(); err != nil {
		b.Fatal(err)
	}
	return data
}

// farmQuality is what a ticket shows beside moisture, in hundredths.
func farmQuality(testWeight, fm, damage, heat, splits trade.Percent) farm.Quality {
	return farm.Quality{TestWeight: &testWeight, ForeignMaterial: &fm, Damage: &damage, Heat: &heat, Splits: &splits}
}

// contract is the contract of ticket i: every third one of those to ossing has one.
func contract(i int) string {
	if i%6 != 0 {
		return ""
	}
	return fmt.Sprintf("k%02d", i/6%20)
}

// quantile returns the p quantile of times in milliseconds.
func quantile(times []time.Duration, p float64) float64 {
	slices.Sort(times)
	return times[min(len(times)-1, int(p*float64(len(times))))].Seconds() * 1000
}

// BenchmarkPages asks for every page of a farm of 60 fields and 50,000 tickets, half of the snapshots right after an entry.
func BenchmarkPages(b *testing.B) {
	now := time.Now()
	data := bigBook(b, now)
	p := run(b, build(b), data)
	defer p.kill(b)
	d := &device{}
	var job map[string]any
	if err := p.post("/api/plan", "{}", &job); err != nil {
		b.Fatal(err)
	}
	for {
		var is struct{ Job struct{ State string } }
		p.get(b, "/api/plan", &is)
		if is.Job.State != "running" {
			b.Logf("the plan of 60 fields ended as %+v", is)
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	for _, page := range []string{
		"/", "/api/price?field=f07&moisture=14.2", "/api/books", "/api/books after an entry", "/api/books/trace?figure=field:f07", "/api/snapshot", "/api/snapshot after an entry", "/api/fields/f07/outlook", "/api/outlets", "/api/loads?field=f07", "/api/loads?by=field&limit=200", "/api/entries", "/api/season",
		"/print/day-sheet", "/print/loads",
	} {
		b.Run(strings.ReplaceAll(strings.TrimPrefix(page, "/"), "/", " "), func(b *testing.B) {
			path, entry, _ := strings.Cut(page, " ")
			var times []time.Duration
			for b.Loop() {
				if entry != "" {
					if !d.send(b, p, bigLoad(d)) {
						b.Fatal("not saved")
					}
				}
				began := time.Now()
				r, err := http.Get(p.url + path) //nolint:noctx // of this computer
				if err != nil {
					b.Fatal(err)
				}
				_, _ = io.Copy(io.Discard, r.Body)
				_ = r.Body.Close()
				times = append(times, time.Since(began))
			}
			b.ReportMetric(quantile(times, 0.5), "p50-ms")
			b.ReportMetric(quantile(times, 0.99), "p99-ms")
		})
	}
}

// bigLoad is a load of the big farm.
func bigLoad(d *device) *sent {
	s := d.next()
	s.body = strings.Replace(s.body, "creek-80", "f01", 1)
	return s
}

// BenchmarkSaves has 50 clients save a load at the same moment, again and again.
func BenchmarkSaves(b *testing.B) {
	data := bigBook(b, time.Now())
	p := run(b, build(b), data)
	defer p.kill(b)
	d := &device{}
	var mu sync.Mutex
	var times []time.Duration
	round := func() {
		var all sync.WaitGroup
		for range clients {
			s := bigLoad(d)
			all.Go(func() {
				began := time.Now()
				if !d.send(b, p, s) {
					b.Error("not saved")
				}
				took := time.Since(began)
				mu.Lock()
				defer mu.Unlock()
				times = append(times, took)
			})
		}
		all.Wait()
	}
	var books map[string]any
	p.get(b, "/api/books", &books) // it has read the season
	round()                        // opens the connections
	times = nil
	for b.Loop() {
		round()
	}
	b.ReportMetric(quantile(times, 0.5), "p50-ms")
	b.ReportMetric(quantile(times, 0.99), "p99-ms")
}

// BenchmarkStart measures how long the program takes to answer on a season of 60 fields and 50,000 tickets, and what it holds then.
func BenchmarkStart(b *testing.B) {
	data := bigBook(b, time.Now())
	bin := build(b)
	var first, snapshot []time.Duration
	for b.Loop() {
		began := time.Now()
		p := run(b, bin, data)
		var ready, snap map[string]any
		p.get(b, "/api/ready", &ready)
		first = append(first, time.Since(began))
		p.get(b, "/api/snapshot", &snap)
		snapshot = append(snapshot, time.Since(began))
		b.ReportMetric(resident(b, p.cmd.Process.Pid), "resident-MB")
		p.kill(b)
	}
	b.ReportMetric(quantile(first, 0.5), "answer-ms")
	b.ReportMetric(quantile(snapshot, 0.5), "snapshot-ms")
}

// resident returns the megabytes that a process holds.
func resident(b *testing.B, pid int) float64 {
	b.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		b.Logf("resident memory is not known here: %v", err)
		return 0
	}
	_, rest, _ := strings.Cut(string(text), "VmRSS:")
	var kb float64
	if _, err := fmt.Sscan(rest, &kb); err != nil {
		b.Fatal(err)
	}
	return kb / 1024
}
