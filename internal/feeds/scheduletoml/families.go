package scheduletoml

import (
	"embed"
	"slices"
	"strings"
)

//go:embed families/*.toml
var families embed.FS

// Families returns the names of the starting points: common forms of posted schedules with invented figures, to be replaced with
// the buyer's.
func Families() []string {
	entries, err := families.ReadDir("families")
	if err != nil {
		panic("scheduletoml: " + err.Error()) // the folder is part of the program
	}
	var out []string
	for _, e := range entries {
		out = append(out, strings.TrimSuffix(e.Name(), ".toml"))
	}
	slices.Sort(out)
	return out
}

// Family returns the file of a starting point; false for a name that is none.
func Family(name string) ([]byte, bool) {
	if !slices.Contains(Families(), name) {
		return nil, false
	}
	text, err := families.ReadFile("families/" + name + ".toml")
	if err != nil {
		panic("scheduletoml: " + err.Error()) // it was just listed
	}
	return text, true
}
