package seasonfile_test

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/feeds/seasonfile"
)

// A shelf is a folder of data files, and the use cases that fill and empty them.
type shelf struct {
	*rapid.T
	app *app.App
	dir string
}

func newShelf(t *rapid.T, dir string, year int) shelf {
	now := time.Date(year, time.October, 20, 12, 0, 0, 0, time.UTC)
	return shelf{t, &app.App{
		ParseSeason: func(name string, text []byte) (*app.SeasonFile, error) {
			s, findings, err := seasonfile.Read(name, text)
			return &app.SeasonFile{Season: s, Findings: findings}, err
		},
		WriteSeason: seasonfile.Write,
		Files: func(path string) (fs.FS, string, error) {
			_, err := os.Stat(path)
			return os.DirFS(filepath.Dir(path)), filepath.Base(path), err
		},
		Zone:    time.LoadLocation,
		Program: "Threshday in a test",
		Now:     func() time.Time { now = now.Add(time.Second); return now },
	}, dir}
}

func (s shelf) file(name string) string { return filepath.Join(s.dir, name) }

// put puts a text into a data file.
func (s shelf) put(text []byte, data string) {
	s.Helper()
	if err := os.WriteFile(s.file("season.toml"), text, 0o600); err != nil {
		s.Fatal(err)
	}
	if _, err := s.app.Import(context.Background(), s.file("season.toml"), s.file(data), "Ada"); err != nil {
		s.Fatalf("into %s: %v\n%s", data, err, text)
	}
}

// out takes the season out of a data file.
func (s shelf) out(data string) string {
	s.Helper()
	text, _, err := s.app.Export(context.Background(), s.file(data))
	if err != nil {
		s.Fatal(err)
	}
	return string(text)
}

func (s shelf) same(what, got, want string) {
	s.Helper()
	if got != want {
		s.Fatalf("%s (-want +got):\n%s", what, cmp.Diff(want, got))
	}
}

// Any season goes through a data file byte for byte. With anything entered, corrected and voided beside it, what comes out
// goes in again, into an empty file and into its own, and comes out the same.
func TestAnySeasonGoesThroughADataFile(t *testing.T) {
	base := t.TempDir()
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		n++
		season := seasons(rapid.Bool().Draw(r, "full")).Draw(r, "season")
		s := newShelf(r, filepath.Join(base, fmt.Sprint(n)), season.Farm.Year)
		if err := os.Mkdir(s.dir, 0o700); err != nil {
			r.Fatal(err)
		}
		defer func() { _ = os.RemoveAll(s.dir) }() // room for the next
		text := seasonfile.Write(season)
		s.put(text, "farm.db")
		s.same("with nothing entered", s.out("farm.db"), string(text))
		var ids []string
		for range rapid.IntRange(0, 5).Draw(r, "entries") {
			if id := s.enter(season); id != "" {
				ids = append(ids, id)
			}
		}
		for _, id := range ids {
			if rapid.IntRange(0, 4).Draw(r, "void") == 0 {
				if _, err := s.app.Void(context.Background(), s.file("farm.db"), id, "a slip", "Ada"); err != nil {
					r.Fatal(err)
				}
			}
		}
		first := s.out("farm.db")
		s.put([]byte(first), "other.db")
		s.same("through another file", s.out("other.db"), first)
		s.put([]byte(first), "farm.db")
		s.same("through its own file", s.out("farm.db"), first)
	})
}

// enter enters something about a field or outlet of the season and returns its id, or nothing where it has none.
func (s shelf) enter(season *farm.Season) string {
	ctx, data := context.Background(), s.file("farm.db")
	at := time.Date(season.Farm.Year, time.October, rapid.IntRange(1, 18).Draw(s.T, "day"), 12, rapid.IntRange(0, 2).Draw(s.T, "minute"), 0, 0, time.UTC)
	day := calendar.DayOf(at, time.UTC)
	var e *app.Entered
	var err error
	switch kind := rapid.IntRange(0, 3).Draw(s.T, "kind"); {
	case kind == 0 && len(season.Fields) > 0:
		e, err = s.app.AddReading(ctx, data, farm.Reading{
			Field: rapid.SampledFrom(season.Fields).Draw(s.T, "field").ID, At: at, Moisture: trade.Percent(rapid.IntRange(1, 60_00).Draw(s.T, "moisture")),
			Device: rapid.SampledFrom([]string{"meter", "combine"}).Draw(s.T, "device"), Spots: rapid.IntRange(0, 9).Draw(s.T, "spots"),
		}, nil, "")
	case kind == 1 && len(season.Fields) > 0:
		e, err = s.app.AddStage(ctx, data, farm.Sighting{
			Field: rapid.SampledFrom(season.Fields).Draw(s.T, "field").ID, On: day, Stage: rapid.SampledFrom([]string{"R7", "ripe", "green"}).Draw(s.T, "stage"),
		}, nil, "")
	case kind == 2 && len(season.Outlets) > 0:
		cash := trade.Price(rapid.IntRange(1_00000, 19_00000).Draw(s.T, "cash"))
		e, err = s.app.AddBid(ctx, data, farm.Bid{
			Outlet: rapid.SampledFrom(season.Outlets).Draw(s.T, "outlet").ID, Crop: rapid.SampledFrom(crop.Kinds()).Draw(s.T, "crop"), Cash: &cash, Taken: at,
		}, nil, app.Signed{})
	case kind == 3:
		high := float64(rapid.IntRange(-20, 110).Draw(s.T, "high"))
		e, err = s.app.AddForecast(ctx, data, farm.OutlookDay{On: day, High: units.Fahrenheit(high), Low: units.Fahrenheit(high - 15), Entered: &at}, nil, app.Signed{})
	default:
		return ""
	}
	if err != nil {
		s.Fatal(err)
	}
	return e.ID
}
