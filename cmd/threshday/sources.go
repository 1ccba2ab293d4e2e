package main

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
	"threshday/internal/demo"
	"threshday/internal/feeds/loadfile"
	"threshday/internal/feeds/outlookline"
	"threshday/internal/feeds/schedulefile"
	"threshday/internal/feeds/seasonfile"
	"threshday/internal/feeds/weatherfile"
)

// useCases joins the use cases to the readers of files.
func useCases() *app.App {
	return &app.App{
		Season:        readSeason,
		ParseSeason:   parseSeason,
		WriteSeason:   seasonfile.Write,
		Program:       "Threshday " + buildVersion(),
		Schedule:      readSchedule,
		ParseSchedule: parseSchedule,
		Weather:       readWeather,
		ReadLoads:     loadfile.Read,
		ReadCheques:   loadfile.ReadCheques,
		ReadSheets:    readSheets,
		Zone:          time.LoadLocation,
		Demo:          func() (fs.FS, string, error) { return demo.Farm(), demo.Season, nil },
		DemoBooks:     demoBooks,
		Files:         folderOf,
		Start:         startFarm,
		Place:         placeFile,
		Forecasts:     keptForecasts,
		AllForecasts:  allForecasts,
		OutlookWords:  outlookline.Parse,
		Fetch:         fetchForecast,
		ForecastFile:  readForecast,
		Now:           time.Now,
	}
}

// folderOf returns the folder of a file, which everything the file names is relative to, and its name there.
func folderOf(path string) (fs.FS, string, error) {
	dir, name := filepath.Split(filepath.Clean(path))
	if dir == "" {
		dir = "."
	}
	if _, err := os.Stat(path); err != nil {
		return nil, "", fmt.Errorf("read %s: %w", path, err)
	}
	return os.DirFS(dir), name, nil
}

func readSeason(files fs.FS, name string) (*app.SeasonFile, error) {
	data, err := fs.ReadFile(files, name)
	if err != nil {
		return nil, fmt.Errorf("read the season file: %w", err)
	}
	return parseSeason(name, data)
}

func parseSeason(name string, data []byte) (*app.SeasonFile, error) {
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

func readSchedule(files fs.FS, name string) (*settlement.Schedule, error) {
	data, err := fs.ReadFile(files, filepath.ToSlash(name))
	if err != nil {
		return nil, fmt.Errorf("read the schedule: %w", err)
	}
	s, err := parseSchedule(name, data)
	return &s, err
}

func readSheets(name string, data []byte) ([]ledger.Printed, error) {
	sheets, err := schedulefile.ReadSheets(name, data)
	out := make([]ledger.Printed, len(sheets))
	for i, s := range sheets {
		out[i] = ledger.Printed{Outlet: s.Outlet, Ticket: s.Ticket, Sheet: s.Sheet, Where: s.Where}
	}
	return out, err
}

func readWeather(files fs.FS, name string, set app.WeatherReading) (*app.WeatherRecord, error) {
	f, err := files.Open(filepath.ToSlash(name))
	if err != nil {
		return nil, fmt.Errorf("read the weather record: %w", err)
	}
	defer f.Close() //nolint:errcheck // nothing was written
	o := weatherfile.Options{Zone: set.Zone, Strict: set.Strict, Stamp: stampOf(set.Stamp), Station: weather.Station{Airport: set.Airport, Root: set.Root}}
	if set.At != nil {
		o.Station.At = &weather.Spot{Lat: set.At.Lat, Lon: set.At.Lon}
	}
	if set.WindHeight != nil {
		h := units.Length(*set.WindHeight) * units.Meter
		o.Station.WindHeight = &h
	}
	series, report, err := weatherfile.Read(f, name, o)
	if err != nil {
		return nil, err
	}
	return &app.WeatherRecord{Series: series, Filled: report.Filled}, nil
}

// startFarm writes the starter farm into a folder that does not exist or is empty, and returns the names of its files.
func startFarm(folder string) ([]string, error) {
	entries, err := os.ReadDir(folder)
	if err == nil && len(entries) > 0 {
		return nil, &problem.InputError{
			Rule: "start.folder", Label: "folder", Got: folder, Want: "a folder that is empty or does not exist yet",
			Next: "Nothing was written. Name another.",
		}
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("look into %s: %w", folder, err)
	}
	files, err := demo.Starter()
	if err != nil {
		return nil, err
	}
	names := slices.Sorted(maps.Keys(files))
	for _, name := range names {
		path := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
			return nil, fmt.Errorf("make the folder of %s: %w", path, err)
		}
		if err := os.WriteFile(path, files[name], 0o600); err != nil {
			return nil, fmt.Errorf("write %s: %w", path, err)
		}
	}
	return names, nil
}

// stampOf returns what a row's time marks of its hour; the start unless told otherwise.
func stampOf(s string) weatherfile.Stamp {
	switch s {
	case "middle":
		return weatherfile.Middle
	case "end":
		return weatherfile.Ends
	default:
		return weatherfile.Starts
	}
}

// createFile writes a new file; one that is there stays as it is.
func createFile(path string, text []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600) //nolint:gosec // the person names the file
	if errors.Is(err, fs.ErrExist) {
		return &problem.InputError{Rule: "file.exists", Label: "file", Got: path, Want: "the name of a file that does not exist yet", Next: "Nothing was written. Name another."}
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if _, err := f.Write(text); err != nil {
		_ = f.Close() // the first error is the one to tell
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}

// demoBooks fills in where the invented farm's tickets lie. Its books are of a day two weeks after its plan.
func demoBooks(r app.BooksRequest) app.BooksRequest {
	r.Beside, r.Loads, r.Cheques, r.Sheets = demo.Farm(), demo.Loads, demo.Cheques, demo.Sheets
	if r.Now == nil {
		at := demo.BooksAt()
		r.Now = &at
	}
	return r
}
