// Package pencil holds the sums that people do with a pencil and that need no farm: each prints its result, the formula with the
// numbers put in, where the formula comes from, and what to mind. It reads flags and nothing else, so that the command line and
// the program on a device reckon alike.
package pencil

import (
	"time"

	"threshday/internal/core/land"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/internal/flags"
	"threshday/internal/words"
)

// A Desk is what a pencil needs beside its flags.
type Desk struct {
	Metric bool // metric units first
	// Answer is given the result.
	Answer     func(Sum) error
	Zone       func(name string) (*time.Location, error)
	Read       func(name flags.Filename) ([]byte, error)
	Boundaries func(file string, data []byte) ([]Boundary, error)
	// Source looks up a key of the table of sources.
	Source func(key string) (Source, bool)
}

// A Boundary is the outline of one field, in one part or several.
type Boundary struct {
	Name  string
	Parts []land.Polygon
	Where problem.Place
}

// A Source is a text that a figure comes from.
type Source struct {
	Key       string `json:"key"`
	Title     string `json:"title"`
	Publisher string `json:"publisher,omitempty"`
	Year      string `json:"year,omitempty"`
	How       string `json:"how"` // read, computed, measured, judgement or memory
}

// A Sum is a pencil's result.
type Sum struct {
	Doc  Result
	Lead string // the result as a person reads it
	Is   string // what it is
	Rows []Row
}

// A Row is one further figure below the result.
type Row struct{ Name, Value string }

// A Result is a pencil's answer in its JSON form, with what stands behind it.
type Result interface{ Reasons() Why }

// Why is what stands behind a result; it is part of every pencil's JSON form.
type Why struct {
	Formula  []string `json:"formula,omitempty"` // with the numbers put in
	Sources  []Source `json:"sources,omitempty"`
	Assumed  []string `json:"assumed,omitempty"` // what was not given, and what stood in for it
	Cautions []string `json:"cautions,omitempty"`
}

// Reasons returns what stands behind a result.
func (w Why) Reasons() Why { return w }

// answer hands over a result.
func (s *Desk) answer(doc Result, lead, is string, rows ...Row) error {
	return s.Answer(Sum{doc, lead, is, rows})
}

// sources returns the rows of the table of sources for keys, each once.
func (s *Desk) sources(keys ...string) []Source {
	var out []Source
	seen := map[string]bool{}
	for _, key := range keys {
		if key == "" || seen[key] {
			continue
		}
		seen[key] = true
		src, ok := s.Source(key)
		if !ok {
			src = Source{Key: key, Title: key} // a test holds the two together; an answer does not fail for it
		}
		out = append(out, src)
	}
	return out
}

func refuse(rule, label, say, next string) error {
	return &problem.Refusal{Rule: rule, Label: label, Say: say, Next: next}
}

// both returns a US and a metric form, the one the person asked for first and the other in parentheses.
func (s *Desk) both(us, metric string) string {
	if s.Metric {
		us, metric = metric, us
	}
	return us + " (" + metric + ")"
}

func (s *Desk) temperature(t units.Temperature) string {
	return s.both(words.Short(t.Fahrenheit(), 1)+" °F", words.Short(t.Celsius(), 1)+" °C")
}

func (s *Desk) length(l units.Length) string {
	return s.both(words.Short(l.Feet(), 2)+" ft", words.Short(l.Meters(), 2)+" m")
}

func (s *Desk) mass(m units.Mass) string {
	return s.both(words.Short(m.Pounds(), 0)+" lb", words.Short(m.Kilograms(), 0)+" kg")
}

func (s *Desk) speed(v units.Speed) string {
	return s.both(words.Short(v.MilesPerHour(), 2)+" mph", words.Short(v.KilometersPerHour(), 2)+" km/h")
}
