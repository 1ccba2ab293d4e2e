package seasonfile

import (
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/problem"
)

// A Key is one key of the season file.
type Key struct {
	Path   string // "field.acres"; of what stands in a table that repeats, without brackets
	About  string // what it means, one sentence
	Want   string // what is accepted, with unit and range
	Need   bool   // it cannot be left out of its table
	Table  bool   // [path]: it has keys of its own
	Repeat bool   // [[path]] or a list: its keys may come many times
	Inline bool   // written as name = [{…}, {…}], not under a header
	Use    Use
}

// A Use says what becomes of a key.
type Use string

// The uses.
const (
	Used   Use = "used"    // an answer depends on it
	Shown  Use = "shown"   // kept and shown beside an answer
	NotYet Use = "not yet" // kept; no answer depends on it yet
)

// Keys returns every key of the season file in the order of the canonical text.
func Keys() []Key { return season.list("") }

// list returns the keys of t, whose own path is given.
func (t *table[T]) list(path string) []Key {
	var out []Key
	for _, k := range t.keys {
		below := k.name
		if path != "" {
			below = path + "." + k.name
		}
		key := Key{
			Path: below, About: k.about, Want: k.wanted(below), Need: k.need, Table: k.form == aTable, Repeat: k.form == aList,
			Inline: k.form == aList && k.tables == nil, Use: useOf(below),
		}
		out = append(out, key)
		if k.below != nil {
			out = append(out, k.below(below)...)
		}
	}
	return out
}

// shown and notYet name the keys no answer depends on; of a table that stands here, none of its keys. A key leaves
// notYet in the commit that makes an answer depend on it.
var (
	shown = []string{
		"farm.id", "farm.name", "farm.place", "farm.weather.note", "farm.weather.ensemble.credit", "field.name", "field.variety", "field.entrance.name", "field.entrance.note",
		"field.yield_how", "reading.id", "reading.by", "reading.note", "stage.id", "stage.by", "stage.note", "ground.id", "ground.by", "ground.note", "anchor.note", "combine.name",
		"combine.head.name", "combine.service_due", "cart.name", "truck.name", "outlet.name", "outlet.note", "outlet.phone", "bid.id", "bid.month",
		"premium.id", "bin.name", "dryer.name", "party.name", "contract.month", "contract.roll.to", "contract.roll.on",
	}
	notYet = []string{
		"field.lat", "field.lon", "field.entrance.lat", "field.entrance.lon",
		"combine.head.transfer",
		"outlet.lat", "outlet.lon",
	}
)

// useOf returns the use of a key, which is that of its table where the whole table is listed.
func useOf(path string) Use {
	for ; path != ""; path = path[:max(0, strings.LastIndexByte(path, '.'))] {
		if slices.Contains(shown, path) {
			return Shown
		}
		if slices.Contains(notYet, path) {
			return NotYet
		}
	}
	return Used
}

// NotUsed is the rule of findings about keys that were read and kept and that no answer depends on yet. Their label
// is the path of the key, or of the table where that holds for all of it.
const NotUsed = "key.not-used"

// notUsed returns a finding for each such key, at its first occurrence.
func (r *reader) notUsed() []problem.Finding {
	var out []problem.Finding
	for _, path := range notYet {
		n, ok := r.seen[path]
		if !ok {
			continue
		}
		out = append(out, problem.Finding{
			Rule: NotUsed, Severity: problem.Note, Where: r.place(n.key), Label: path,
			Say: fmt.Sprintf("%s is read and kept, but no answer uses it yet.", path),
		})
	}
	return out
}
