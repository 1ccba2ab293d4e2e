package store_test

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"threshday/internal/core/journal"
	"threshday/internal/store"
)

var (
	tickets = flag.Int("tickets", 5_000, "loads in the file that benchmarks read")
	keep    = flag.String("bench-file", "", "where to keep that file between runs; empty: in a temporary folder")
)

// BenchmarkAppend measures one entry a request. A commit is what callers wait for; several share one.
func BenchmarkAppend(b *testing.B) {
	for _, writers := range []int{1, 50} {
		b.Run(fmt.Sprint(writers, " writers"), func(b *testing.B) {
			s := open(b, filepath.Join(b.TempDir(), "book.db"), options())
			var next atomic.Int64
			var mu sync.Mutex
			var waits []time.Duration
			b.ReportAllocs()
			b.ResetTimer()
			var all sync.WaitGroup
			for range writers {
				all.Go(func() {
					var mine []time.Duration
					for {
						n := int(next.Add(1))
						if n > b.N {
							break
						}
						e := ticket(n)
						start := time.Now()
						if _, err := s.Append(context.Background(), e); err != nil {
							b.Error(err)
							return
						}
						mine = append(mine, time.Since(start))
					}
					mu.Lock()
					waits = append(waits, mine...)
					mu.Unlock()
				})
			}
			all.Wait()
			b.StopTimer()
			report(b, waits)
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "entries/s")
		})
	}
}

// BenchmarkSameTicket enters loads that all say the same ticket, as a file does whose numbers were lost: each is looked at beside
// all before it, and settles none of them anew.
func BenchmarkSameTicket(b *testing.B) {
	s := open(b, filepath.Join(b.TempDir(), "book.db"), options())
	for n := 1; b.Loop(); n++ {
		put(b, s, load(n, func(l *journal.Load) { l.Ticket = "n/a" }))
	}
}

func report(b *testing.B, waits []time.Duration) {
	slices.Sort(waits)
	at := func(share float64) float64 {
		return float64(waits[int(share*float64(len(waits)-1))].Microseconds()) / 1000
	}
	b.ReportMetric(at(0.5), "p50-ms")
	b.ReportMetric(at(0.99), "p99-ms")
	b.ReportMetric(at(1), "max-ms")
}

// scaled opens a file with as many loads as the flag says, over ten seasons. A file that is there is filled up.
func scaled(b *testing.B) *store.Store {
	b.Helper()
	path := *keep
	if path == "" {
		path = filepath.Join(b.TempDir(), "book.db")
	}
	o := options()
	o.Now = func() time.Time { return start.AddDate(0, 6, 0) } // after the last season
	s := open(b, path, o)
	have, _, err := s.Head(b.Context(), "home")
	if err != nil {
		b.Fatal(err)
	}
	const chunk = 1000 // so that no backup is made before each
	for from := int(have) + 1; from <= *tickets; from += chunk {
		var events []journal.Event
		for n := from; n < min(from+chunk, *tickets+1); n++ {
			events = append(events, ticket(n))
		}
		answers, err := s.AppendAll(b.Context(), events)
		if err != nil {
			b.Fatal(err)
		}
		if answers[0].Status != journal.Stored {
			b.Fatalf("%+v", answers[0])
		}
	}
	return s
}

// seasons is over how many years the loads of the scaled file are spread, sixty days each, in the order of harvest.
const seasons = 10

// ticket is load n of the scaled file.
func ticket(n int) journal.Event {
	place := float64(n) / float64(*tickets+1) * seasons
	year := 2022 + int(place)%seasons
	return load(n, func(l *journal.Load) {
		l.CropYear = year
		l.Day = day.InYear(year).AddDays(int((place - float64(int(place))) * 60))
		l.Weights.Gross = ptr(int64(50_000 + n%30_000))
		l.Outlet = fmt.Sprint("outlet-", n%7)
		l.From = []journal.Part{{Field: fmt.Sprint("field-", n%23), Share: 1}}
		at := l.Day.Start(time.UTC).Add(time.Duration(n%1440) * time.Minute)
		l.In = &at
	})
}

func BenchmarkListPage(b *testing.B) {
	s := scaled(b)
	rng := rand.New(rand.NewPCG(1, 1))
	var waits []time.Duration
	b.ReportAllocs()
	for b.Loop() {
		q := store.LoadQuery{Farm: "home"}
		switch rng.IntN(4) {
		case 0:
			q.Outlet = fmt.Sprint("outlet-", rng.IntN(7))
		case 1:
			q.Field = fmt.Sprint("field-", rng.IntN(23))
		case 2:
			q.CropYear, q.Outlet = 2022+rng.IntN(10), fmt.Sprint("outlet-", rng.IntN(7))
		}
		if rng.IntN(2) == 0 {
			year := 2022 + rng.IntN(10)
			q.After = store.Cursor{CropYear: year, Day: day.InYear(year).AddDays(rng.IntN(60)), ID: id(rng.IntN(*tickets))}
		}
		start := time.Now()
		if _, _, _, err := s.Loads(b.Context(), q); err != nil {
			b.Fatal(err)
		}
		waits = append(waits, time.Since(start))
	}
	report(b, waits)
}

func BenchmarkSeasonTotal(b *testing.B) {
	s := scaled(b)
	var waits []time.Duration
	for b.Loop() {
		start := time.Now()
		if _, err := s.LoadTotals(b.Context(), "crop", store.LoadQuery{Farm: "home", CropYear: 2031, Outlet: "outlet-3"}); err != nil {
			b.Fatal(err)
		}
		waits = append(waits, time.Since(start))
	}
	report(b, waits)
}

func BenchmarkBackup(b *testing.B) {
	s := scaled(b)
	for b.Loop() {
		if _, err := s.Backup(b.Context(), "asked"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRestore(b *testing.B) {
	s := scaled(b)
	m, err := s.Backup(b.Context(), "asked")
	if err != nil {
		b.Fatal(err)
	}
	from := filepath.Join(filepath.Dir(s.Path()), "backups", m.File)
	for b.Loop() {
		r, err := store.Restore(b.Context(), filepath.Join(b.TempDir(), "book.db"), from, options())
		if err != nil {
			b.Fatal(err)
		}
		if r.Now.NetLb != m.Totals.NetLb {
			b.Fatalf("restored %+v, want %+v", r.Now, m.Totals)
		}
	}
}

func BenchmarkChain(b *testing.B) {
	s := scaled(b)
	for b.Loop() {
		report, err := s.Doctor(b.Context(), false)
		if err != nil {
			b.Fatal(err)
		}
		if !report.Checks[1].OK() {
			b.Fatalf("%+v", report.Checks[1])
		}
	}
}
