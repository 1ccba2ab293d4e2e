package seasonfile

import (
	"slices"
	"testing"
)

func TestTheListsOfUsesNameKeysThatExist(t *testing.T) {
	var paths []string
	for _, k := range Keys() {
		paths = append(paths, k.Path)
	}
	for _, path := range slices.Concat(shown, notYet) {
		if !slices.Contains(paths, path) {
			t.Errorf("%s is no key", path)
		}
	}
	for _, path := range notYet {
		if slices.Contains(shown, path) {
			t.Errorf("%s is both shown and not used yet", path)
		}
	}
}

func TestMisspellingsFindTheirKey(t *testing.T) {
	names := []string{"acres", "crop", "planted", "mature", "miles", "moves_to"}
	for word, want := range map[string]string{
		"acers": "acres", "acre": "acres", "Acres": "acres", "croop": "crop", "plantd": "planted", "mile": "miles",
		"moves": "moves_to", "colour": "", "x": "", "": "", "quality": "",
	} {
		if got := nearest(word, names); got != want {
			t.Errorf("nearest(%q) = %q, want %q", word, got, want)
		}
	}
}
