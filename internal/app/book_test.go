package app_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/demo"
)

// kept returns the app with a clock, and a folder with the starter farm in it.
func kept(t *testing.T) (*app.App, string) {
	t.Helper()
	a := wired(t)
	now := time.Date(2004, 10, 6, 12, 0, 0, 0, time.UTC)
	a.Now = func() time.Time { now = now.Add(time.Minute); return now }
	dir := t.TempDir()
	files, err := demo.Starter()
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return a, dir
}

// Whatever is entered: what the book exports goes into an empty book and into itself, and comes out the same.
func TestExportImportExportIsTheSame(t *testing.T) {
	ctx := context.Background()
	a, dir := kept(t)
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		n++
		data := filepath.Join(dir, fmt.Sprintf("farm%d.db", n))
		if _, err := a.Import(ctx, filepath.Join(dir, "season.toml"), data, "Ada"); err != nil {
			r.Fatal(err)
		}
		var ids []string
		for range rapid.IntRange(0, 4).Draw(r, "entries") {
			ids = append(ids, enterSomething(r, a, data))
		}
		for _, id := range ids {
			if rapid.IntRange(0, 3).Draw(r, "void") == 0 {
				if _, err := a.Void(ctx, data, id, "a mistake", "Ada"); err != nil {
					r.Fatal(err)
				}
			}
		}
		first := export(r, a, data)
		out := filepath.Join(dir, "out.toml")
		if err := os.WriteFile(out, first, 0o600); err != nil {
			r.Fatal(err)
		}
		other := filepath.Join(dir, fmt.Sprintf("other%d.db", n))
		for _, into := range []string{other, data} {
			if _, err := a.Import(ctx, out, into, "Ada"); err != nil {
				r.Fatalf("what was exported does not go in again: %v\n%s", err, first)
			}
			if second := export(r, a, into); !bytes.Equal(first, second) {
				r.Fatalf("into %s:\n%s\n---\n%s", filepath.Base(into), first, second)
			}
		}
	})
}

func export(r *rapid.T, a *app.App, data string) []byte {
	text, _, err := a.Export(context.Background(), data)
	if err != nil {
		r.Fatal(err)
	}
	return text
}

// enterSomething enters a reading, a stage, a bid or a day of forecast and returns its id.
func enterSomething(r *rapid.T, a *app.App, data string) string {
	ctx := context.Background()
	field := rapid.SampledFrom([]string{"home-quarter", "creek-80", "pump-house"}).Draw(r, "field")
	day := calendar.MustDay("2004-10-01").AddDays(rapid.IntRange(0, 20).Draw(r, "day"))
	at := time.Date(2004, 10, 5, 12, rapid.IntRange(0, 59).Draw(r, "minute"), 0, 0, time.UTC)
	var e *app.Entered
	var err error
	switch rapid.IntRange(0, 3).Draw(r, "kind") {
	case 0:
		e, err = a.AddReading(ctx, data, farm.Reading{
			Field: field, At: at, Moisture: trade.Percent(rapid.IntRange(800, 3500).Draw(r, "moisture")),
			Device: rapid.SampledFrom([]string{"meter", "combine"}).Draw(r, "device"), Spots: rapid.IntRange(0, 9).Draw(r, "spots"),
		}, nil, "")
	case 1:
		e, err = a.AddStage(ctx, data, farm.Sighting{Field: field, On: calendar.MustDay("2004-09-20").AddDays(rapid.IntRange(0, 14).Draw(r, "seen")), Stage: "R7"}, nil, "")
	case 2:
		cash := trade.Price(rapid.IntRange(300000, 1400000).Draw(r, "cash"))
		e, err = a.AddBid(ctx, data, farm.Bid{Outlet: "ossing", Crop: crop.Soybean, Cash: &cash, Taken: at}, nil, app.Signed{By: "Ada"})
	default:
		entered := at
		high := float64(rapid.IntRange(40, 90).Draw(r, "high"))
		e, err = a.AddForecast(ctx, data, farm.OutlookDay{
			On: day, High: units.Fahrenheit(high), Low: units.Fahrenheit(high - 15), Entered: &entered,
		}, nil, app.Signed{By: "Ada"})
	}
	if err != nil {
		r.Fatal(err)
	}
	return e.ID
}
