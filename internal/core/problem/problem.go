// Package problem says what can be wrong with what a person entered, in one form for every edge.
//
// An [InputError] stops the work: the entry cannot be used. A [Finding] stands beside a result: the
// entry was used, and somebody should look. A [Caution] stands where a person acts. The package formats nothing and knows no screen.
package problem

import (
	"fmt"
	"strings"
)

// Severity tells how loud a Finding is.
type Severity string

// The severities, from the one that stops the work to the one that only informs.
const (
	Error   Severity = "error"
	Warning Severity = "warning"
	Note    Severity = "note"
)

// A Place says where an entry stands: file, then line and column counted from 1, then the path of keys or
// the name of the column. Empty parts are unknown.
type Place struct {
	File   string
	Line   int
	Column int
	Path   string
}

// String returns the place as people write it, "season.toml, line 12, column 9, field 2 acres".
func (p Place) String() string {
	var parts []string
	if p.File != "" {
		parts = append(parts, p.File)
	}
	if p.Line > 0 {
		parts = append(parts, fmt.Sprintf("line %d", p.Line))
	}
	if p.Column > 0 {
		parts = append(parts, fmt.Sprintf("column %d", p.Column))
	}
	if p.Path != "" {
		parts = append(parts, p.Path)
	}
	return strings.Join(parts, ", ")
}

// An InputError says that something a person entered cannot be used.
type InputError struct {
	Rule  string // stable name of the rule, "moisture.range"; messages are catalogued by it
	Label string // as on the form or in the file: "Moisture", "fields.acres"
	Got   string // as typed; empty when nothing was given
	Want  string // what is accepted, with unit: "0 to 60 % wet basis"
	Where Place
	Next  string // what to do, one sentence; may be empty
}

// Error returns one sentence: where, what was got, what is accepted, what to do.
func (e *InputError) Error() string {
	var b strings.Builder
	if at := e.Where.String(); at != "" {
		b.WriteString(at)
		b.WriteString(": ")
	}
	b.WriteString(e.Label)
	if e.Got == "" {
		b.WriteString(" is missing")
	} else {
		fmt.Fprintf(&b, " is %q", e.Got)
	}
	if e.Want != "" {
		b.WriteString("; accepted: ")
		b.WriteString(e.Want)
	}
	b.WriteString(".")
	if e.Next != "" {
		b.WriteString(" ")
		b.WriteString(e.Next)
	}
	return b.String()
}

// A Finding is a doubt about a record that was nevertheless used.
type Finding struct {
	Rule     string
	Severity Severity
	Where    Place
	Label    string
	Got      string
	Want     string
	Say      string // one sentence for a person
	Next     string // what to do, one sentence
}

// A Caution is a text to show where a person acts, with the source behind its figures. Each package of the trade says its own.
type Caution struct {
	Rule string // stable name
	Say  string
	Key  string // of the source, in docs/sources; "common-practice-1": common practice, no source
}

// InputErrors are several entries that cannot be used, in the order of the file.
type InputErrors []*InputError

// Error returns the sentences, one a line.
func (e InputErrors) Error() string {
	lines := make([]string, len(e))
	for i, one := range e {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap lets errors.As find the single errors.
func (e InputErrors) Unwrap() []error {
	out := make([]error, len(e))
	for i, one := range e {
		out[i] = one
	}
	return out
}

// Or returns e as an error, or nil when nothing is wrong.
func (e InputErrors) Or() error {
	if len(e) == 0 {
		return nil
	}
	return e
}

// A NoAnswer says why a question has none, and what would change that.
type NoAnswer struct {
	Rule string
	Say  string
	Next string
}

func (e *NoAnswer) Error() string { return e.Say + " " + e.Next }

// A Refusal says that the parts of a question do not go together.
type Refusal struct {
	Rule, Label string
	Say, Next   string
}

func (e *Refusal) Error() string { return e.Say + " " + e.Next }
