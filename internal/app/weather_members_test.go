package app_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"io/fs"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"threshday/internal/app"
	"threshday/internal/demo"
)

// starter returns the starter farm with its season file changed, each pair a regular expression and what takes its place.
func starter(t *testing.T, pairs ...string) fstest.MapFS {
	t.Helper()
	files, err := demo.Starter()
	if err != nil {
		t.Fatal(err)
	}
	out := fstest.MapFS{}
	for name, data := range files {
		out[name] = &fstest.MapFile{Data: data}
	}
	text := out["season.toml"].Data
	for i := 0; i < len(pairs); i += 2 {
		re := regexp.MustCompile(pairs[i])
		if !re.Match(text) {
			t.Fatalf("the starter has nothing like %q", pairs[i])
		}
		text = re.ReplaceAll(text, []byte(pairs[i+1]))
	}
	out["season.toml"].Data = text
	return out
}

const record = "weather/champaign_il_hourly_2003_2007.csv.gz"

// firstRows returns the record's header and its first rows.
func firstRows(t *testing.T, files fs.FS, n int) []byte {
	t.Helper()
	f, err := files.Open(record)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return bytes.Join(bytes.SplitAfter(text, []byte("\n"))[:n+1], nil)
}

// Without a record, and with one too short for its climate, there is still a plan, and its first words say on what it stands.
func TestTheBuiltInClimateStandsInAndIsSaidLoudly(t *testing.T) {
	bare := starter(t, `(?m)^record = .*\n`, "")
	short := starter(t)
	short[record].Data = firstRows(t, short, 24*700)
	for name, c := range map[string]struct {
		files fs.FS
		want  string
	}{
		"no record":      {bare, "No weather record is loaded"},
		"a short record": {short, "too short for its climate"},
	} {
		s, err := wired(t).Plan(context.Background(), app.PlanRequest{Files: c.files, Season: "season.toml", Seed: 1, Members: 20})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(s.Stale) == 0 || !strings.Contains(strings.Join(s.Stale, " "), c.want) || !strings.Contains(strings.Join(s.Stale, " "), "built-in climate of central Illinois") {
			t.Errorf("%s: said only %q", name, s.Stale)
		}
		if !strings.Contains(s.Weather.Ensemble, "not from a record of this place") {
			t.Errorf("%s: %s", name, s.Weather.Ensemble)
		}
	}
	full, err := wired(t).Plan(context.Background(), app.PlanRequest{Files: starter(t), Season: "season.toml", Seed: 1, Members: 20})
	if err != nil || strings.Contains(strings.Join(full.Stale, " "), "built-in") || !strings.Contains(full.Weather.Ensemble, "without 2004") {
		t.Errorf("%v, %+v", err, full)
	}
}

// The odds of the days ahead are those of the members a plan stands on, with who speaks of them.
func TestTheDaysAheadAreShownWithWhatTheMembersMakeOfThem(t *testing.T) {
	r := app.PlanRequest{Files: starter(t), Season: "season.toml", Seed: 1, Members: 40}
	got, err := wired(t).ShowWeather(context.Background(), r)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Days) != 7 || len(got.Bands) != 14 || got.Members != 40 || len(got.Loud) != 0 || got.Observed == nil || got.Station != "rural: taken as measured" {
		t.Fatalf("%d days, %d bands, %+v", len(got.Days), len(got.Bands), got)
	}
	for i, b := range got.Bands {
		if b.High.P10 > b.High.Mean || b.High.Mean > b.High.P90 || b.Low.Mean >= b.High.Mean || b.RainOdds <= 0 || b.RainOdds >= 1 || b.CutHours.Mean < 0 || b.CutHours.Mean > 14 {
			t.Errorf("%s: %+v", b.On, b)
		}
		// Members surround the forecast by its error, half a spread of some 6 °C at most.
		if i > 0 && i < len(got.Days) && (b.High.Mean-*got.Days[i].High > 1.5 || *got.Days[i].High-b.High.Mean > 1.5) {
			t.Errorf("%s: members' high %.1f, forecast %.1f", b.On, b.High.Mean, *got.Days[i].High)
		}
	}
	near, far := got.Bands[1], got.Bands[13]
	if near.High.P90-near.High.P10 >= far.High.P90-far.High.P10 {
		t.Errorf("tomorrow is as unsure as in two weeks: %+v, %+v", near.High, far.High)
	}
	airport, err := wired(t).ShowWeather(context.Background(), app.PlanRequest{Files: starter(t, `station = "rural"`, `station = "airport"`), Season: "season.toml", Seed: 1, Members: 40})
	if err != nil || !strings.Contains(airport.Station, "raised by 1 °C") {
		t.Errorf("%v, %q", err, airport.Station)
	}
}
