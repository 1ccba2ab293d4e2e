package store_test

import (
	"compress/gzip"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/store"
	"threshday/internal/store/proof"
)

var makeMuseum = flag.String("make-museum", "", "write a data file of this version into the museum under this name; never over one that is there")

// An exhibit says what a museum file adds up to. It was counted by the version that wrote the file.
type exhibit struct {
	Program string       `json:"program"`
	Schema  int          `json:"schema"`
	Totals  proof.Totals `json:"totals"`
	Head    string       `json:"head"` // hash of the newest entry
	Waiting int          `json:"waiting"`
	// Forecasts and Weather count what is kept of either.
	Forecasts int `json:"forecasts"`
	Weather   int `json:"weather_files"`
}

// museumEvents are five hundred loads and every other kind of event.
func museumEvents() []journal.Event {
	season := journal.Season{Text: "[farm]\nname = \"Home\"\n", Names: []journal.Name{
		{Kind: "field", ID: "north-40"},
		{Kind: "field", ID: "west"},
		{Kind: "outlet", ID: "river"},
		{Kind: "outlet", ID: "mill"},
		{Kind: "truck", ID: "truck-0"},
		{Kind: "truck", ID: "truck-1"},
		{Kind: "truck", ID: "truck-2"},
		{Kind: "contract", ID: "c-1", Crop: "corn"},
	}}
	bid := farm.Bid{Outlet: "river", Crop: crop.Corn, Futures: ptr(trade.Price(4_50000)), Basis: ptr(trade.Price(-35000)), Month: "Dec 2031", Taken: start}
	events := []journal.Event{
		event(1001, "season.set", journal.SeasonBody(season), journal.Import),
		event(1002, "reading.recorded", journal.ReadingBody(farm.Reading{Field: "west", At: start, Moisture: 18_20, Device: "meter"}, journal.Typed{"moist_hundredth_pct": "18,2"}), journal.Form),
		event(1003, "stage.recorded", journal.StageBody(farm.Sighting{Field: "west", On: day, Stage: "black-layer"}, nil), journal.Form),
		event(1004, "bid.recorded", journal.BidBody(bid, nil), journal.Form),
		event(1005, "outlook.recorded", journal.OutlookBody(farm.OutlookDay{On: day, High: units.Fahrenheit(85), Low: units.Fahrenheit(58)}, nil), journal.Form),
		event(1007, "cheque.recorded", journal.ChequeBody(aCheque()), journal.Form),
		event(1008, "sheet.recorded", journal.SheetBody(aSheet()), journal.Form),
		event(1006, "book.restored", journal.RestoreBody(journal.Restore{Backup: "book-000001.db", At: start}), journal.Program),
	}
	for n := 1; n <= 500; n++ {
		events = append(events, load(n, func(l *journal.Load) {
			l.Day, l.Outlet = day.AddDays(-(n % 20)), []string{"river", "mill"}[n%2]
			if n%50 == 0 {
				l.Ticket = fmt.Sprintf("%06d", n-2) // looks like an earlier one
			}
			if n%77 == 0 {
				l.Weights = journal.Weights{Unit: journal.Kilograms, Net: ptr(int64(18_000 + n))}
			}
		}))
	}
	said := journal.Saying{Reason: "museum"}
	next := 2000
	add := func(kind journal.Kind, of int, f func(*journal.Saying)) {
		next++
		s := said
		s.Of, s.Saw = id(of), id(of)
		if f != nil {
			f(&s)
		}
		events = append(events, say(next, kind, s))
	}
	add("load.corrected", 10, func(s *journal.Saying) {
		s.To = loadBody(10, func(l *journal.Load) { l.Weights.Gross = ptr(int64(70_000)) })
	})
	add("load.corrected", 11, func(s *journal.Saying) { s.To = loadBody(11, nil) })
	add("load.corrected", 11, func(s *journal.Saying) { s.To = loadBody(12, nil) }) // a dispute
	add("load.set-aside", 11, func(s *journal.Saying) { s.Events = []journal.ID{id(2003)} })
	add("load.voided", 13, nil)
	add("load.merged", 14, func(s *journal.Saying) { s.Into = id(15) })
	add("load.kept", 50, nil)
	add("reading.corrected", 1002, func(s *journal.Saying) {
		s.To = journal.ReadingBody(farm.Reading{Field: "west", At: start, Moisture: 17_90, Device: "meter"}, nil)
	})
	add("stage.voided", 1003, nil)
	add("bid.kept", 1004, nil)
	add("outlook.voided", 1005, nil)
	add("cheque.corrected", 1007, func(s *journal.Saying) {
		c := aCheque()
		c.Total = 2_000_00
		s.To = journal.ChequeBody(c)
	})
	add("sheet.voided", 1008, nil)
	return events
}

func TestTheMuseumStillOpens(t *testing.T) {
	t.Parallel()
	if *makeMuseum != "" {
		writeExhibit(t, *makeMuseum)
	}
	files, err := filepath.Glob("testdata/museum/*.db.gz")
	if err != nil || len(files) == 0 {
		t.Fatalf("the museum is empty: %v", err)
	}
	for _, f := range files {
		t.Run(filepath.Base(f), func(t *testing.T) {
			t.Parallel()
			var want exhibit
			text, err := os.ReadFile(strings.TrimSuffix(f, ".db.gz") + ".json")
			if err == nil {
				err = json.Unmarshal(text, &want)
			}
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(t.TempDir(), "book.db")
			unpack(t, f, path)
			s := open(t, path, options())
			got := describe(t, s)
			got.Program, got.Schema = want.Program, want.Schema // these the file no longer says
			if got != want {
				t.Errorf("got %+v, want %+v", got, want)
			}
			backups, err := s.Backups()
			if err != nil {
				t.Fatal(err)
			}
			if want.Schema < store.Schema && (len(backups) != 1 || backups[0].Totals != want.Totals) {
				t.Errorf("before the tables changed these backups were made: %+v; want one that adds up to %+v", backups, want.Totals)
			}
			sound(t, s)
		})
	}
}

// describe counts a file as its exhibit does.
func describe(t *testing.T, s *store.Store) exhibit {
	t.Helper()
	totals, err := s.Totals(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	_, head, err := s.Head(t.Context(), "home")
	if err != nil {
		t.Fatal(err)
	}
	waiting, err := s.Waiting(t.Context(), "home")
	if err != nil {
		t.Fatal(err)
	}
	forecasts, err := s.Forecasts(t.Context(), "home")
	if err != nil {
		t.Fatal(err)
	}
	files, err := s.WeatherFiles(t.Context(), "home")
	if err != nil {
		t.Fatal(err)
	}
	return exhibit{Totals: totals, Head: head.String(), Waiting: len(waiting), Forecasts: len(forecasts), Weather: len(files)}
}

func unpack(t *testing.T, from, to string) {
	t.Helper()
	in, err := os.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	z, err := gzip.NewReader(in)
	if err != nil {
		t.Fatal(err)
	}
	out, err := os.Create(to)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(out, io.LimitReader(z, 64<<20)); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
}

// writeExhibit fills a file with this version and puts it into the museum.
func writeExhibit(t *testing.T, name string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.db")
	o := options()
	o.Program = name
	s, err := store.Open(t.Context(), path, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range put(t, s, museumEvents()...) {
		if !a.InBook() {
			t.Fatalf("%+v", a)
		}
	}
	if err := s.KeepForecast(t.Context(), "home", aForecast(start, 21)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.KeepWeather(t.Context(), "home", aWeatherFile()); err != nil {
		t.Fatal(err)
	}
	e := describe(t, s)
	e.Program, e.Schema = name, store.Schema
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	text, err := json.MarshalIndent(e, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	base := filepath.Join("testdata/museum", name)
	out, err := os.OpenFile(base+".db.gz", os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		t.Fatal(err)
	}
	z := gzip.NewWriter(out)
	content, err := os.ReadFile(path)
	if err == nil {
		_, err = z.Write(content)
	}
	if err == nil {
		err = z.Close()
	}
	if err == nil {
		err = out.Close()
	}
	if err == nil {
		err = os.WriteFile(base+".json", append(text, '\n'), 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
}
