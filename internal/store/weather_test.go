package store_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"threshday/internal/core/weather"
	"threshday/internal/store"
)

func aForecast(made time.Time, high float64) store.Forecast {
	return store.Forecast{
		Source: "National Weather Service", LatE4: 419877, LonE4: -935000, Made: made, Received: made.Add(time.Hour),
		Days: []weather.Ahead{
			{On: day, High: &high, Low: ptr(6.5), Rain: ptr(0.4), Amount: ptr(3.25), Part: weather.Evening},
			{On: day.AddDays(1), High: ptr(high + 1), Dew: ptr(-2.5), Wind: ptr(1.75), Sky: ptr(0.125)},
		},
	}
}

func aWeatherFile() store.WeatherFile {
	return store.WeatherFile{
		Digest: "ab12", Name: "station.csv", Station: "airport", Stamp: "end", WindHeight: ptr(10.0), First: start.Add(-48 * time.Hour), End: start, Imported: start, Packed: []byte{0x1f, 0x8b, 0, 255},
	}
}

// What services said is kept as it was received, once, whatever is sent again; files of weather take what is said later of
// their station.
func TestWeatherIsKeptAsItCame(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	older, newer := aForecast(start, 21), aForecast(start.Add(6*time.Hour), 23)
	for _, f := range []store.Forecast{newer, older, aForecast(start, 99)} {
		if err := s.KeepForecast(t.Context(), "home", f); err != nil {
			t.Fatal(err)
		}
	}
	got, err := s.Forecasts(t.Context(), "home")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]store.Forecast{older, newer}, got); diff != "" {
		t.Errorf("forecasts (-want +got):\n%s", diff)
	}
	if other, err := s.Forecasts(t.Context(), "away"); err != nil || len(other) != 0 {
		t.Errorf("another farm has %v, %v", other, err)
	}

	f := aWeatherFile()
	again, err := s.KeepWeather(t.Context(), "home", f)
	if err != nil || again {
		t.Fatalf("%v, %v", again, err)
	}
	f.Station, f.WindHeight = "rural", nil
	if again, err = s.KeepWeather(t.Context(), "home", f); err != nil || !again {
		t.Fatalf("%v, %v", again, err)
	}
	files, err := s.WeatherFiles(t.Context(), "home")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]store.WeatherFile{f}, files); diff != "" {
		t.Errorf("files (-want +got):\n%s", diff)
	}
	if err := s.ForgetWeather(t.Context(), "home", f.Digest); err != nil {
		t.Fatal(err)
	}
	if files, err = s.WeatherFiles(t.Context(), "home"); err != nil || len(files) != 0 {
		t.Errorf("%v, %v", files, err)
	}
	sound(t, s)
}

// Weather goes with the file into a backup; the totals of the book do not know it.
func TestWeatherGoesWithABackup(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	put(t, s, load(1, nil))
	before, err := s.Totals(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.KeepForecast(t.Context(), "home", aForecast(start, 21)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.KeepWeather(t.Context(), "home", aWeatherFile()); err != nil {
		t.Fatal(err)
	}
	m, err := s.Backup(t.Context(), "asked")
	if err != nil || m.Totals != before {
		t.Fatalf("%+v, %v; want %+v", m.Totals, err, before)
	}
	dir, list, err := store.BackupsOf(s.Path())
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	o := options()
	o.ReadOnly = true
	copied := open(t, dir+"/"+m.File, o)
	forecasts, err := copied.Forecasts(t.Context(), "home")
	if err != nil || len(forecasts) != 1 {
		t.Errorf("the backup has %d forecasts, %v", len(forecasts), err)
	}
	if files, err := copied.WeatherFiles(t.Context(), "home"); err != nil || len(files) != 1 {
		t.Errorf("the backup has %d files, %v", len(files), err)
	}
	if err := copied.KeepForecast(t.Context(), "home", aForecast(start, 1)); err == nil {
		t.Error("a file that is only read takes a forecast")
	}
}

// A file of the version before, opened to be read only, stays as it is and has no weather.
func TestAFileOfBeforeHasNoWeather(t *testing.T) {
	t.Parallel()
	path := t.TempDir() + "/book.db"
	unpack(t, "testdata/museum/schema-2.db.gz", path)
	o := options()
	o.ReadOnly = true
	s := open(t, path, o)
	forecasts, err := s.Forecasts(t.Context(), "home")
	files, err2 := s.WeatherFiles(t.Context(), "home")
	if err != nil || err2 != nil || len(forecasts)+len(files) != 0 {
		t.Errorf("%v, %v, %v, %v", forecasts, files, err, err2)
	}
}
