// Package demo holds an invented farm in an invented place, large enough to look like one: fields, machines, outlets with
// schedules of our own making, contracts, readings. Its weather is a real record, credited beside it as data only.
// Nothing in the program depends on it.
package demo

import (
	"embed"
	"io/fs"
	"time"
)

//go:embed farm starter
var files embed.FS

// Season is the name of the season file in Farm.
const Season = "season.toml"

// Names of the tickets, cheques and settlement sheets in Farm, of the two weeks after the season file's own day.
const (
	Loads   = "books/loads.csv"
	Cheques = "books/cheques.csv"
	Sheets  = "books/sheets.json"
)

// BooksAt is the evening that the tickets are added up on.
func BooksAt() time.Time { return time.Date(2004, time.October, 21, 23, 0, 0, 0, time.UTC) }

// Farm returns the farm's files: season.toml, schedules and the weather record.
func Farm() fs.FS {
	sub, err := fs.Sub(files, "farm")
	if err != nil {
		panic("demo: " + err.Error()) // the folder is embedded at build time
	}
	return sub
}

// Starter returns the files of a small farm for a newcomer to change, by the name each has in the farm's folder.
func Starter() (map[string][]byte, error) {
	out := map[string][]byte{}
	for name, from := range map[string]string{
		"season.toml":                                  "starter/season.toml",
		"README.txt":                                   "starter/README.txt",
		"schedules/ossing-soybean.json":                "farm/schedules/ossing-soybean.json",
		"schedules/ossing-corn.json":                   "farm/schedules/ossing-corn.json",
		"schedules/pell-soybean.json":                  "farm/schedules/pell-soybean.json",
		"schedules/quern-corn.json":                    "farm/schedules/quern-corn.json",
		"weather/SOURCES.md":                           "farm/weather/SOURCES.md",
		"weather/champaign_il_hourly_2003_2007.csv.gz": "farm/weather/champaign_il_hourly_2003_2007.csv.gz",
	} {
		data, err := files.ReadFile(from)
		if err != nil {
			return nil, err
		}
		out[name] = data
	}
	return out, nil
}
