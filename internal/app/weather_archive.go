package app

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"slices"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
	"threshday/internal/store"
)

// saidDays are the days of a forecast as the archive has them.
type saidDays []weather.Ahead

// Ahead returns the days from today on.
func (d saidDays) Ahead(now calendar.Hour, zone *time.Location) []weather.Ahead {
	today := calendar.DayOf(now.Start(), zone)
	return slices.DeleteFunc(slices.Clone(d), func(a weather.Ahead) bool { return a.On.Before(today) })
}

// readArchive takes from a data file what services said and what was recorded: the newest forecasts beside those of the
// folder, all of them as what the error of forecasts is learned from, and files of weather over the season's own record.
func (a *App) readArchive(ctx context.Context, path string, mo *morning) error {
	b, err := a.book(ctx, path, look)
	if err != nil {
		return err
	}
	defer func() { _ = b.Close() }() // nothing was written
	said, err := b.store.Forecasts(ctx, b.Farm)
	if err != nil {
		return troubled(err)
	}
	for _, f := range said {
		k := keptOf(f)
		if mo.season.Farm.At == nil || !sameSpot(*mo.season.Farm.At, k.At) || f.Made.After(mo.now) {
			continue
		}
		mo.archive = append(mo.archive, k)
		i := slices.IndexFunc(mo.kept, func(o KeptForecast) bool { return o.Service == k.Service })
		switch {
		case i < 0:
			mo.kept = append(mo.kept, k)
		case mo.kept[i].Issued.After(mo.now) || mo.kept[i].Issued.Before(k.Issued):
			mo.kept[i] = k
		}
	}
	files, err := b.store.WeatherFiles(ctx, b.Farm)
	if err != nil {
		return troubled(err)
	}
	for _, f := range files {
		rec, err := a.archived(f, mo)
		if err != nil {
			return err
		}
		mo.addRecord(rec)
		mo.files = append(mo.files, WeatherInBook{f.Name, f.First, f.End, f.Imported, f.Station})
	}
	return nil
}

// addRecord lays a record over what is recorded so far.
func (mo *morning) addRecord(rec *WeatherRecord) {
	if mo.record == nil {
		mo.record = rec
		return
	}
	mo.record = &WeatherRecord{Series: mo.record.Series.Over(rec.Series), Filled: append(slices.Clone(mo.record.Filled), rec.Filled...)}
}

func keptOf(f store.Forecast) KeptForecast {
	return KeptForecast{
		Service: f.Source, At: farm.Point{Lat: float64(f.LatE4) / 1e4, Lon: float64(f.LonE4) / 1e4},
		Issued: f.Made, Received: f.Received, Checked: f.Received, Days: saidDays(f.Days),
	}
}

// A WeatherInBook is a file of recorded weather in the data file.
type WeatherInBook struct {
	Name                 string
	First, End, Imported time.Time
	Station              string
}

// reading says how the season's record is to be read.
func (mo *morning) reading() WeatherReading {
	set := &mo.season.Farm.Weather
	return WeatherReading{Zone: mo.zone, Airport: set.StationKind == airport, WindHeight: set.WindHeight, Stamp: set.Stamp, At: mo.season.Farm.At, Root: mo.root}
}

const airport = "airport"

// archived reads a file of weather from the archive.
func (a *App) archived(f store.WeatherFile, mo *morning) (*WeatherRecord, error) {
	reading := mo.reading()
	reading.Stamp = f.Stamp
	if f.Station != "" {
		reading.Airport = f.Station == airport
	}
	if f.WindHeight != nil {
		reading.WindHeight = f.WindHeight
	}
	rec, err := a.Weather(oneFile{f.Name, f.Packed}, f.Name, reading)
	if err != nil {
		return nil, fmt.Errorf("read the weather in the data file: %w", err)
	}
	return rec, nil
}

// keepForecast puts what a service said into the archive of a data file.
func (a *App) keepForecast(ctx context.Context, path string, zone *time.Location, k *KeptForecast) error {
	b, err := a.book(ctx, path, write)
	if err != nil {
		return err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	e4 := func(x float64) int64 { return int64(math.Round(x * 1e4)) }
	return troubled(b.store.KeepForecast(ctx, b.Farm, store.Forecast{
		Source: k.Service, LatE4: e4(k.At.Lat), LonE4: e4(k.At.Lon), Made: k.Issued, Received: k.Received,
		Days: k.Days.Ahead(calendar.HourOf(k.Received), zone),
	}))
}

// archiveFetched puts what is kept now into the data file; what hinders that is a doubt, for the forecast itself is kept.
func (a *App) archiveFetched(ctx context.Context, path string, report *FetchReport) {
	for _, f := range report.Services {
		if f.Kept == nil {
			continue
		}
		var t *Trouble
		switch err := a.keepForecast(ctx, path, report.Zone, f.Kept); {
		case errors.As(err, &t):
			report.Findings = append(report.Findings, problem.Finding{
				Rule: t.Rule, Severity: problem.Warning, Label: "archive", Say: "The forecast is kept, but not in the data file: " + t.Say, Next: "Fetch again later: it goes in then.",
			})
			return
		case err != nil:
			report.Findings = append(report.Findings, problem.Finding{
				Rule: "forecast.archive", Severity: problem.Warning, Label: "archive", Say: "The forecast is kept, but not in the data file: " + err.Error() + ".", Next: "Fetch again later: it goes in then.",
			})
			return
		}
	}
}

// oneFile is a folder with one file in it.
type oneFile struct {
	name string
	data []byte
}

// Open implements fs.FS.
func (f oneFile) Open(name string) (fs.File, error) {
	if name != f.name {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &openFile{f, bytes.NewReader(f.data)}, nil
}

type openFile struct {
	oneFile
	*bytes.Reader
}

func (f *openFile) Stat() (fs.FileInfo, error) { return f, nil }
func (f *openFile) Close() error               { return nil }
func (f *openFile) Name() string               { return f.name }
func (f *openFile) Size() int64                { return int64(len(f.data)) }
func (f *openFile) Mode() fs.FileMode          { return 0o400 }
func (f *openFile) ModTime() time.Time         { return time.Time{} }
func (f *openFile) IsDir() bool                { return false }
func (f *openFile) Sys() any                   { return nil }

// packed returns data as gzip; what is packed already stays as it is.
func packed(data []byte) ([]byte, error) {
	if bytes.HasPrefix(data, []byte{0x1f, 0x8b}) {
		return data, nil
	}
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	if _, err := io.Copy(z, bytes.NewReader(data)); err != nil {
		return nil, fmt.Errorf("pack the weather: %w", err)
	}
	if err := z.Close(); err != nil {
		return nil, fmt.Errorf("pack the weather: %w", err)
	}
	return out.Bytes(), nil
}

// WeatherInData lists what a data file holds of recorded weather, in the order of import, and how many forecasts.
func (a *App) WeatherInData(ctx context.Context, path string) (files []WeatherInBook, forecasts int, err error) {
	b, err := a.book(ctx, path, look)
	if err != nil {
		return nil, 0, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	kept, err := b.store.WeatherFiles(ctx, b.Farm)
	if err != nil {
		return nil, 0, troubled(err)
	}
	for _, f := range kept {
		files = append(files, WeatherInBook{f.Name, f.First, f.End, f.Imported, f.Station})
	}
	said, err := b.store.Forecasts(ctx, b.Farm)
	return files, len(said), troubled(err)
}

// ForgetWeather takes a file of recorded weather out of a data file; imported again it is back.
func (a *App) ForgetWeather(ctx context.Context, path, name string) error {
	b, err := a.book(ctx, path, write)
	if err != nil {
		return err
	}
	defer func() { _ = b.Close() }() // what was taken out is out already
	kept, err := b.store.WeatherFiles(ctx, b.Farm)
	if err != nil {
		return troubled(err)
	}
	var names []string
	for _, f := range kept {
		if f.Name == name {
			return troubled(b.store.ForgetWeather(ctx, b.Farm, f.Digest))
		}
		names = append(names, f.Name)
	}
	if len(names) == 0 {
		return &NoAnswer{Rule: "weather.no-records", Say: "The data file holds no recorded weather.", Next: "threshday weather import puts some in."}
	}
	return &problem.InputError{Rule: "weather.record.unknown", Label: "file", Got: name, Want: strings.Join(names, ", ")}
}
