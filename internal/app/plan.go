package app

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"runtime"
	"slices"
	"strconv"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/weather"
	"threshday/internal/core/worth"
)

// A PlanRequest asks for a day sheet.
type PlanRequest struct {
	Files    fs.FS  // the season file and what it names
	Season   string // name of the season file in Files
	Book     string // path of a data file to take the season from instead
	Now      *time.Time
	Seed     uint64
	Members  int
	Observed string         // path of another file of observed weather up to now; empty: the season's record alone
	Kept     string         // folder of forecasts that were fetched; empty: none
	Earlier  *EarlierOrders // of a plan made before; nil: none
}

// DefaultMembers are enough for odds to the nearest few in a hundred.
const DefaultMembers = 100

// longestSeason is how far ahead a plan looks, in days: past it nothing is known of weather or price.
const longestSeason = 75

// A morning is everything known when a plan is made: the season, its weather, its terms and the table built of them.
type morning struct {
	file      *SeasonFile
	season    *farm.Season
	zone      *time.Location
	now       time.Time
	seed      uint64
	members   int
	root      [32]byte
	terms     map[worth.TermsKey]*settlement.Terms
	record    *WeatherRecord
	observed  *weather.Series
	archive   []KeptForecast  // what services said before now of the farm's place, as the data file has it
	files     []WeatherInBook // recorded weather in the data file
	from      *drawnFrom
	ensemble  *weather.Ensemble
	kept      []KeptForecast
	ahead     *outlookAhead // what is said of the days ahead, and by whom
	build     *worth.Build
	repriced  []repricing       // the table with one bid lower, for the bids whose price is known
	firstRain []float64         // hours until rain wets the stand, by member
	stays     map[string][]stay // by outlet, how long loads were between its scales; nil: the plan is of no book
	notes     []worth.Assumed
	doubts    []problem.Finding // of the weather behind the answer
	earlier   *EarlierOrders    // of a plan made before; nil: none
}

// Plan makes the day sheet of a season: the table of what an acre is worth, the plan over it, and what to say about both.
func (a *App) Plan(ctx context.Context, r PlanRequest) (*DaySheet, error) {
	mo, err := a.morning(ctx, r)
	if err != nil {
		return nil, err
	}
	if err := a.doubtBins(ctx, r, mo); err != nil {
		return nil, err
	}
	plan, err := mo.plan(ctx, a.workers())
	if err != nil {
		return nil, err
	}
	return mo.sheet(plan), nil
}

// doubtBins adds a doubt for every bin whose grain has used up much of its storage life, by the data file's loads and the temperatures
// the owner read; where none was read nothing is known.
func (a *App) doubtBins(ctx context.Context, r PlanRequest, mo *morning) error {
	read := func(b farm.Bin) bool { return len(b.Readings) > 0 }
	if r.Book == "" || !slices.ContainsFunc(mo.season.Bins, read) {
		return nil
	}
	books, err := a.Books(ctx, BooksRequest{Files: r.Files, Season: r.Season, Book: r.Book, Now: r.Now})
	if err != nil {
		return err
	}
	for _, life := range books.Lives {
		if f, doubtful := life.Doubt(); doubtful {
			mo.doubts = append(mo.doubts, f)
		}
	}
	return nil
}

// workers is how many goroutines the heavy parts use.
func (a *App) workers() int {
	if a.Workers > 0 {
		return a.Workers
	}
	return runtime.GOMAXPROCS(0)
}

// opened reads the season, its terms and its weather record, and settles now, members and root.
func (a *App) opened(ctx context.Context, r PlanRequest) (*morning, error) {
	mo, err := a.settled(ctx, &r)
	if err != nil {
		return nil, err
	}
	mo.earlier = r.Earlier
	if mo.terms, err = a.terms(r.Files, mo.season); err != nil {
		return nil, err
	}
	return mo, a.readWeather(ctx, r, mo)
}

// morning reads everything a plan stands on and builds the table.
func (a *App) morning(ctx context.Context, r PlanRequest) (*morning, error) {
	mo, err := a.opened(ctx, r)
	if err != nil {
		return nil, err
	}
	if err := a.weather(mo); err != nil {
		return nil, err
	}
	if r.Book != "" {
		if mo.stays, err = a.stays(ctx, r.Book, mo.season.Farm.Year); err != nil {
			return nil, err
		}
	}
	mo.build, err = worth.New(worth.Inputs{
		Season: mo.season, Terms: mo.terms, Record: mo.observed, Ensemble: mo.ensemble, Now: mo.ensemble.Start,
		Zone: mo.zone, Root: mo.root, Workers: a.workers(),
	})
	return mo, err
}

// rootOf returns the root of every draw of a season: the farm, the year and the seed, never the forecast, so that a new
// forecast does not shuffle the weather.
func rootOf(s *farm.Season, seed uint64) [32]byte {
	text := []byte("threshday\x00" + s.Farm.ID + "\x00" + strconv.Itoa(s.Farm.Year) + "\x00")
	return sha256.Sum256(binary.LittleEndian.AppendUint64(text, seed))
}

// terms reads every schedule the season names, in order, so that the same one of several that are missing is told.
func (a *App) terms(files fs.FS, s *farm.Season) (map[worth.TermsKey]*settlement.Terms, error) {
	out := map[worth.TermsKey]*settlement.Terms{}
	for _, o := range s.Outlets {
		for _, kind := range slices.Sorted(maps.Keys(o.Schedules)) {
			name := o.Schedules[kind]
			schedule, err := a.Schedule(files, name)
			if errors.Is(err, fs.ErrNotExist) {
				return nil, noSchedule(o.ID, kind, name)
			}
			if err != nil {
				return nil, fmt.Errorf("outlet %q, schedule for %s: %w", o.ID, kind, err)
			}
			terms, _, err := settlement.Prepare(*schedule)
			if err != nil {
				return nil, inFile(err, name)
			}
			out[worth.TermsKey{Outlet: o.ID, Crop: kind}] = terms
		}
	}
	return out, nil
}

// inFile names the file in input errors that do not know theirs.
func inFile(err error, name string) error {
	var many problem.InputErrors
	if !errors.As(err, &many) {
		return fmt.Errorf("%s: %w", name, err)
	}
	for _, one := range many {
		if one.Where.File == "" {
			one.Where.File = name
		}
	}
	return many
}

// weather makes the ensemble: members drawn from the climate, around what was observed and what is said of the days ahead.
func (a *App) weather(mo *morning) error {
	start := calendar.HourOf(mo.now)
	first := calendar.DayOf(mo.now, mo.zone)
	last := mo.season.Prefer.SeasonEnd
	if last.IsZero() {
		last = first.AddDays(longestSeason)
		mo.notes = append(mo.notes, worth.Assumed{What: "End of the season", Value: last.String(), From: "not given"})
	}
	if !last.After(first) {
		return &NoAnswer{
			Rule: "season.over", Say: fmt.Sprintf("The season ended on %s; now is %s.", last, first),
			Next: "Set a later season_end under [prefer], or ask for an earlier day with --now.",
		}
	}
	if limit := first.AddDays(longestSeason); last.After(limit) {
		last = limit
	}
	_, end := last.Hours(mo.zone)
	var err error
	if mo.ahead, err = mo.trusted(); err != nil {
		return err
	}
	if mo.from, err = mo.climate(first.Year); err != nil {
		return err
	}
	mo.ahead.notes = append(mo.from.loud, mo.ahead.notes...)
	mo.ensemble, err = mo.drawn(start, end)
	return err
}

// manualDay turns a line of the farm's own forecast into weather's units.
func manualDay(d farm.OutlookDay) weather.ManualDay {
	out := weather.ManualDay{
		On: d.On, High: d.High.Celsius(), Low: d.Low.Celsius(), Amount: weather.Amount(d.Amount), Part: weather.Part(d.When),
		Dew: weather.Dew(d.Dew), Wind: weather.Wind(d.Wind), Sky: weather.Sky(d.Sky),
	}
	if d.RainPct != nil {
		chance := *d.RainPct / 100
		out.Chance = &chance
	}
	return out
}
