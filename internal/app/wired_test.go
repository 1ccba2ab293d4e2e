package app_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/settlement"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
	"threshday/internal/demo"
	"threshday/internal/feeds/schedulefile"
	"threshday/internal/feeds/seasonfile"
	"threshday/internal/feeds/weatherfile"
)

func parse(name string, data []byte) (*app.SeasonFile, error) {
	season, findings, err := seasonfile.Read(name, data)
	if err != nil {
		return nil, err
	}
	out := &app.SeasonFile{Season: season}
	for _, f := range findings {
		if f.Rule == seasonfile.NotUsed {
			out.NotUsed = append(out.NotUsed, f.Label)
		} else {
			out.Findings = append(out.Findings, f)
		}
	}
	return out, nil
}

// wired joins the app to the real readers, as the program does.
func wired(t testing.TB) *app.App {
	t.Helper()
	return &app.App{
		Season: func(files fs.FS, name string) (*app.SeasonFile, error) {
			data, err := fs.ReadFile(files, name)
			if err != nil {
				return nil, err
			}
			return parse(name, data)
		},
		ParseSeason: parse,
		WriteSeason: seasonfile.Write,
		Program:     "Threshday in a test",
		Files: func(path string) (fs.FS, string, error) {
			return os.DirFS(filepath.Dir(path)), filepath.Base(path), nil
		},
		Schedule: func(files fs.FS, name string) (*settlement.Schedule, error) {
			data, err := fs.ReadFile(files, name)
			if err != nil {
				return nil, err
			}
			s, err := schedulefile.ReadSchedule(name, data)
			return &s, err
		},
		Weather: func(files fs.FS, name string, set app.WeatherReading) (*app.WeatherRecord, error) {
			f, err := files.Open(name)
			if err != nil {
				return nil, err
			}
			defer f.Close()
			station := weather.Station{Airport: set.Airport, Root: set.Root}
			if set.At != nil {
				station.At = &weather.Spot{Lat: set.At.Lat, Lon: set.At.Lon}
			}
			if set.WindHeight != nil {
				h := units.Length(*set.WindHeight)
				station.WindHeight = &h
			}
			series, report, err := weatherfile.Read(f, name, weatherfile.Options{Zone: set.Zone, Station: station, Strict: set.Strict, Stamp: map[string]weatherfile.Stamp{"middle": weatherfile.Middle, "end": weatherfile.Ends}[set.Stamp]})
			if err != nil {
				return nil, err
			}
			return &app.WeatherRecord{Series: series, Filled: report.Filled}, nil
		},
		Zone: time.LoadLocation,
		Demo: func() (fs.FS, string, error) { return demo.Farm(), demo.Season, nil },
		Now:  func() time.Time { t.Fatal("the demo has a time of its own"); return time.Time{} },
	}
}
