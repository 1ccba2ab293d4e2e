package app

import (
	"context"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// ForecastDays is what a forecast says of the days to come.
type ForecastDays interface {
	Ahead(now calendar.Hour, zone *time.Location) []weather.Ahead
}

// A KeptForecast is a forecast that a service made and that was kept.
type KeptForecast struct {
	Service  string // as a person says it: "National Weather Service"
	Form     string // "grid", "hourly" or "ensemble"
	Cell     string // of the service's grid; empty: none is known
	Near     string // the town that the service names; empty: none
	Zone     string // of the clock there, as the service says; empty: it does not
	At       farm.Point
	Issued   time.Time
	Received time.Time
	Checked  time.Time // when the service last said that it still stands
	Days     ForecastDays
	Findings []problem.Finding
}

// A FetchOrder says whom to ask, for what place, and where to keep the answer.
type FetchOrder struct {
	Folder  string
	At      farm.Point
	Contact string
	Page    string // of the national service or one that stands in for it; empty: its own
	// Ensemble is the service of the owner's choice, asked in the place of the national one where its URL is set.
	Ensemble farm.Ensemble
	Key      string // its licence key
	Now      time.Time
}

// A FetchResult says what came of asking one service.
type FetchResult string

// The results.
const (
	FetchedNew    FetchResult = "new"      // a forecast that was not there before
	FetchedSame   FetchResult = "same"     // the one kept still stands
	FetchTooSoon  FetchResult = "too-soon" // it was not asked: that was done a while ago
	FetchTroubled FetchResult = "trouble"  // there is no new one; what was kept stays
)

// A Fetched is what came of asking one service.
type Fetched struct {
	Service string
	Result  FetchResult
	Kept    *KeptForecast // what is kept now; nil: nothing
	Next    time.Time     // when it may be asked again; zero: at any time
	Trouble *Trouble
}

// A FetchRequest asks for the days ahead of a season.
type FetchRequest struct {
	Files   fs.FS  // the season file and what it names
	Season  string // name of the season file in Files
	Book    string // path of a data file to take the season from instead
	Folder  string // where forecasts are kept
	Contact string // in the place of the season's own; empty: that
	Page    string // of a service that stands in for the national one; empty: that
}

// A FetchReport is what came of asking every service of a season.
type FetchReport struct {
	Zone     *time.Location
	Now      time.Time
	Services []Fetched
	Findings []problem.Finding // what hindered the archive
}

// FetchWeather asks the services of a season for the days ahead, and keeps what they say. Trouble with a service is in
// the report, for what was kept stays in use.
func (a *App) FetchWeather(ctx context.Context, r FetchRequest) (*FetchReport, error) {
	plan := PlanRequest{Files: r.Files, Season: r.Season, Book: r.Book}
	mo, err := a.settled(ctx, &plan)
	if err != nil {
		return nil, err
	}
	f := &mo.season.Farm
	order := FetchOrder{Folder: r.Folder, Contact: r.Contact, Page: r.Page, Now: a.Now()}
	if order.Contact == "" {
		order.Contact = f.Weather.Contact
	}
	switch {
	case f.At == nil:
		return nil, noPlace()
	case order.Contact == "":
		return nil, &problem.InputError{
			Rule: "weather.contact", Label: "contact under [farm.weather]", Want: "a mail address as farm@example.com, or a page that begins with https://",
			Next: "The service wants to know who asks; it is sent with every question, and to nobody else.",
		}
	}
	order.At = *f.At
	report := &FetchReport{Zone: mo.zone, Now: a.Now().In(mo.zone)}
	orders := []FetchOrder{order}
	if own := f.Weather.Ensemble; own.URL != "" {
		order.Ensemble = own
		if order.Key, err = keyOf(plan.Files, own.KeyFile); err != nil {
			return nil, err
		}
		orders = append(orders, order)
	}
	for _, o := range orders {
		fetched, err := a.Fetch(ctx, o)
		if err != nil {
			return nil, err
		}
		report.Services = append(report.Services, *fetched)
	}
	if r.Book != "" {
		a.archiveFetched(ctx, r.Book, report)
	}
	return report, nil
}

// noPlace says that the farm's place is not known.
func noPlace() error {
	return &problem.InputError{
		Rule: "weather.place", Label: "lat and lon under [farm]", Want: "degrees, as lat = 41.9876 and lon = -93.5012",
		Next: "A forecast is of a place.",
	}
}

// settled reads a season and settles now, zone, seed and members; r.Files is afterwards where what the season names stands.
func (a *App) settled(ctx context.Context, r *PlanRequest) (*morning, error) {
	var file *SeasonFile
	var err error
	if r.Book != "" {
		file, r.Files, err = a.bookSeason(ctx, r.Book)
	} else {
		file, err = a.Season(r.Files, r.Season)
	}
	if err != nil {
		return nil, err
	}
	mo := &morning{file: file, season: file.Season, seed: r.Seed, members: r.Members, root: rootOf(file.Season, r.Seed)}
	if mo.members == 0 {
		mo.members = DefaultMembers
	}
	if mo.zone, err = a.Zone(mo.season.Farm.Zone); err != nil {
		return nil, fmt.Errorf("load the zone %q: %w", mo.season.Farm.Zone, err)
	}
	mo.now = a.moment(r.Now, mo.season.Farm.AsOf).In(mo.zone)
	return mo, nil
}

// readWeather reads what was forecast and what was recorded.
func (a *App) readWeather(ctx context.Context, r PlanRequest, mo *morning) error {
	a.readKept(r.Kept, mo)
	return a.readRecord(ctx, r, mo)
}

// keyOf reads a licence key, which a file of its own holds.
func keyOf(files fs.FS, name string) (string, error) {
	if name == "" {
		return "", nil
	}
	text, err := fs.ReadFile(files, name)
	if err != nil {
		return "", fmt.Errorf("read the licence key: %w", err)
	}
	key := strings.TrimSpace(string(text))
	if key == "" || strings.ContainsAny(key, " \t\r\n") || len(key) > 200 {
		return "", &problem.InputError{Rule: "weather.key", Label: "licence key", Got: "text that is none", Want: "one word in the file", Where: problem.Place{File: name}}
	}
	return key, nil
}

// readKept reads the forecasts kept in a folder; what cannot be read is a doubt, not a reason to have no plan.
func (a *App) readKept(folder string, mo *morning) {
	if folder == "" {
		return
	}
	kept, doubts, err := a.Forecasts(folder)
	if err != nil {
		doubts = append(doubts, problem.Finding{
			Rule: "forecast.unreadable", Severity: problem.Warning, Where: problem.Place{File: folder}, Label: "kept forecasts",
			Say: "The kept forecasts cannot be read: " + err.Error(), Next: "Fetch anew into another folder with --cache, or take the damaged file away.",
		})
	}
	mo.kept = kept
	mo.doubts = append(mo.doubts, doubts...)
}
