// Package demo holds an invented farm in an invented place, large enough to look like one: fields, machines, outlets with
// schedules of our own making, contracts, readings. Its weather is a real record, credited beside it as data only.
// Nothing in the program depends on it.
package demo

import (
	"embed"
	"io/fs"
)

//go:embed farm
var files embed.FS

// Season is the name of the season file in Farm.
const Season = "season.toml"

// Farm returns the farm's files: season.toml, schedules and the weather record.
func Farm() fs.FS {
	sub, err := fs.Sub(files, "farm")
	if err != nil {
		panic("demo: " + err.Error()) // the folder is embedded at build time
	}
	return sub
}
