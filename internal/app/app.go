// Package app holds the use cases, one a file: make the morning's plan, show a field's outlook, settle a load.
// It is where the clock, the seed and the files meet the core. It parses nothing and lays nothing out; the reasons of an
// answer it says in sentences, for a reason is part of the answer.
package app

import (
	"context"
	"io/fs"
	"sync"
	"sync/atomic"
	"time"

	"threshday/internal/core/farm"
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/weather"
)

// An App joins the core to its sources. Every field must be set.
type App struct {
	Season   func(fsys fs.FS, name string) (*SeasonFile, error)
	Schedule func(fsys fs.FS, name string) (*settlement.Schedule, error)
	// ParseSchedule reads the text of a schedule in either of its forms; name is what messages call it.
	ParseSchedule func(name string, text []byte) (settlement.Schedule, error)
	Weather       func(fsys fs.FS, name string, set WeatherReading) (*WeatherRecord, error)
	Zone          func(name string) (*time.Location, error)
	// ParseSeason reads the text of a season file; name is what messages call it. WriteSeason gives the canonical text.
	ParseSeason func(name string, text []byte) (*SeasonFile, error)
	WriteSeason func(*farm.Season) []byte
	Program     string // name and version, as messages of the data file say them
	// ReadLoads and ReadCheques read CSV files of tickets, on the farm's clock, and of cheques.
	ReadLoads   func(name string, data []byte, zone *time.Location) ([]ledger.Entry, error)
	ReadCheques func(name string, data []byte) ([]ledger.Cheque, error)
	// ReadSheets reads a JSON list of settlement sheets.
	ReadSheets func(name string, data []byte) ([]ledger.Printed, error)
	// Demo returns the invented farm: its files and the name of its season file.
	Demo func() (fs.FS, string, error)
	// DemoBooks fills in where the tickets of the invented farm lie, and the later day that its books are of.
	DemoBooks func(BooksRequest) BooksRequest
	// Files returns the folder of a season file and its name in it.
	Files func(path string) (fs.FS, string, error)
	// Start writes a small farm to change into a folder and returns the names of its files.
	Start func(folder string) ([]string, error)
	// Forecasts returns the newest forecast of each service that a folder keeps, most trusted first. None is no error.
	Forecasts func(folder string) ([]KeptForecast, []problem.Finding, error)
	// AllForecasts returns every forecast that a folder keeps, the oldest first.
	AllForecasts func(folder string) ([]KeptForecast, []problem.Finding, error)
	// OutlookWords reads days of the farm's own forecast as a person says them; now is on the farm's clock.
	OutlookWords func(text string, now time.Time) ([]farm.OutlookDay, error)
	// ForecastFile reads a forecast as a service sends it, or hourly weather to come as plain CSV.
	ForecastFile func(name string, data []byte, zone *time.Location) (*KeptForecast, error)
	// Fetch asks one service and keeps the answer. Trouble with the service is part of the result.
	Fetch   func(ctx context.Context, o FetchOrder) (*Fetched, error)
	Now     func() time.Time
	Workers int // goroutines for the heavy parts; 0: one per processor

	// Place writes a new file onto the disk, whole or not at all, and its folder where there is none; it refuses where a file is.
	Place func(path string, text []byte) error

	placing sync.Mutex           // files are placed for one entry at a time
	held    atomic.Pointer[Held] // the data file that the process holds open; nil: none
}

// A SeasonFile is a season as read, with what was noticed while reading.
type SeasonFile struct {
	Season   *farm.Season
	Findings []problem.Finding
	NotUsed  []string // keys that were read and that no part of the program uses yet
}

// WeatherReading says how a record is to be read: what the file does not say itself.
type WeatherReading struct {
	Zone       *time.Location
	Airport    bool
	WindHeight *float64 // metres; nil: not known
	At         *farm.Point
	Root       [32]byte // chance for the hours of daily totals
	Stamp      string   // "start", "middle" or "end": what a row's time marks of its hour; empty: start
	Strict     bool     // refuse gaps, empty cells and unknown columns
}

// A WeatherRecord is a station's hours with what had to be filled.
type WeatherRecord struct {
	Series *weather.Series
	Filled []weather.Filling // quantities that were not in the file, and what stands in for them
}

// A NoAnswer says why a question has none, and what would change that.
type NoAnswer = problem.NoAnswer
