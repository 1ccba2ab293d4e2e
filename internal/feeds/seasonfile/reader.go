package seasonfile

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sort"
	"strings"
	"time"
	"unicode/utf8"

	"threshday/internal/core/problem"
)

// maxErrors is how many errors one reading collects; a file with more is not a season file.
const maxErrors = 200

// A reader collects what is wrong with a file while its tree is turned into records.
type reader struct {
	file    string
	src     []byte
	lines   []int          // offset of the first byte of each line
	zone    *time.Location // the farm's; nil while unknown
	partial bool           // the file could not be read to its end: what is missing is not known to be missing

	errs    []located
	more    int // errors past maxErrors
	ids     map[string]map[string]*node
	refs    []reference
	records map[string]*node // by the name messages give them
	seen    map[string]*node // by the path of their key, first occurrence
}

type located struct {
	offset int
	err    *problem.InputError
}

// A reference is the ID of another record, to be found once all are read.
type reference struct {
	kinds []string // sections the record may stand in
	id    string
	label string
	node  *node
}

func newReader(file string, src []byte) *reader {
	r := &reader{
		file: file, src: src, lines: []int{0},
		ids: map[string]map[string]*node{}, records: map[string]*node{}, seen: map[string]*node{},
	}
	for i, b := range src {
		if b == '\n' {
			r.lines = append(r.lines, i+1)
		}
	}
	return r
}

// place returns line and column of an offset, counted from 1 in characters.
func (r *reader) place(offset int) problem.Place {
	line := sort.SearchInts(r.lines, offset+1)
	start := r.lines[line-1]
	return problem.Place{File: r.file, Line: line, Column: utf8.RuneCount(r.src[start:offset]) + 1}
}

// line returns the line an offset is on, from 1.
func (r *reader) line(offset int) int { return sort.SearchInts(r.lines, offset+1) }

// A refusal is an InputError in the making; its place is that of the node it is about.
type refusal struct {
	rule, label, got, want, next string
}

// refuse reports that a value cannot be used.
func (r *reader) refuse(n *node, why refusal) {
	n.refused = true
	r.refuseAt(n.offset, why)
}

// full reports whether no more errors are kept, so that their words need not be found.
func (r *reader) full() bool { return len(r.errs) >= maxErrors }

func (r *reader) refuseAt(offset int, why refusal) {
	if r.full() {
		r.more++
		return
	}
	r.errs = append(r.errs, located{offset, &problem.InputError{
		Rule: why.rule, Label: why.label,
		Got: shorten(why.got), Want: why.want, Where: r.place(offset), Next: why.next,
	}})
}

// refuseWith reports the error of a parser of single values, which knows neither the place nor the fences; want says
// what is accepted here, "" that the parser knows.
func (r *reader) refuseWith(n *node, label, want string, err error) {
	e := inputError(err)
	if want == "" {
		want = e.Want
	}
	r.refuse(n, refusal{e.Rule, label, n.shown(), want, e.Next})
}

// inputError returns what parsers of single values refuse with; they know no other error.
func inputError(err error) *problem.InputError {
	var e *problem.InputError
	if !errors.As(err, &e) {
		panic("seasonfile: " + err.Error())
	}
	return e
}

// wrongForm reports a value of another form than its key takes.
func (r *reader) wrongForm(n *node, label, want string, takes form) {
	next, single := "", n.form != aTable && n.form != aList
	switch {
	case takes == aText && single:
		next = "Write it in double quotes."
	case takes == aList && single:
		next = "Put it in brackets, also when it is only one."
	case takes == anInstant && n.form == aDate:
		next = "Add the time of day."
	case takes != aTable && n.form == aText:
		next = "Write it without quotes."
	}
	r.refuse(n, refusal{"value.type", label, n.shown(), want, next})
}

// shown returns a value as a message repeats it.
func (n *node) shown() string {
	switch n.form {
	case aTable:
		if n.headed {
			return "a table in single brackets"
		}
		return "{…}"
	case aList:
		if n.headed {
			return "a table in double brackets"
		}
		return "[…]"
	default:
		if n.text == "" {
			return `""`
		}
		return n.text
	}
}

// repeated reports the keys of a table that were given more than once.
func (r *reader) repeated(n *node, label, path string) {
	for _, again := range n.again {
		what := join(label, again.name)
		place := fmt.Sprintf("It stands in line %d already", r.line(again.first.key))
		why := refusal{"key.twice", what + " (again)", again.again.shown(), "each key once", place + "; keep one of the two."}
		if again.header {
			why.got = "[" + join(path, again.name) + "]"
			why.want = "each table once"
			if again.first.form == aList && again.first.headed {
				why.next = place + " with double brackets; write [[" + strings.ReplaceAll(join(path, again.name), " ", ".") + "]] for one more."
			}
		}
		r.refuseAt(again.again.key, why)
	}
}

// all reports whether each key was given and could be used, so that a rule about all of them can be asked.
func (n *node) all(keys ...string) bool {
	for _, k := range keys {
		if c := n.child(k); c == nil || c.refused {
			return false
		}
	}
	return true
}

// missing reports that a table lacks a key, unless a misspelling of it has been reported.
func (r *reader) missing(n *node, label, key, want, next string) {
	if slices.Contains(n.meant, key) {
		return
	}
	r.refuseAt(n.key, refusal{"key.missing", join(label, key), "", want, next})
}

// resolve reports references to records that the file does not have.
func (r *reader) resolve() {
	for _, ref := range r.refs {
		if slices.ContainsFunc(ref.kinds, func(kind string) bool { return r.ids[kind][ref.id] != nil }) {
			continue
		}
		if r.full() {
			r.more++
			continue
		}
		var known []string
		for _, kind := range ref.kinds {
			known = slices.AppendSeq(known, maps.Keys(r.ids[kind]))
		}
		slices.Sort(known)
		sections := "[[" + strings.Join(ref.kinds, "]] or [[") + "]]"
		why := refusal{"ref.unknown", ref.label, ref.id, "the id of a " + sections + " of this file", ""}
		switch near := nearest(ref.id, known); {
		case near != "":
			why.next = fmt.Sprintf("Write %s if that is the one meant.", near)
		case len(known) == 0:
			why.next = fmt.Sprintf("The file has none; add a %s with id = %q.", "[["+ref.kinds[0]+"]]", ref.id)
		default:
			why.want += ": " + list(known)
		}
		r.refuse(ref.node, why)
	}
}

// errors returns what was refused, in the order of the file.
func (r *reader) errors() error {
	slices.SortStableFunc(r.errs, func(a, b located) int { return cmp.Compare(a.offset, b.offset) })
	out := make(problem.InputErrors, 0, len(r.errs)+1)
	for _, l := range r.errs {
		out = append(out, l.err)
	}
	if r.more > 0 {
		out = append(out, &problem.InputError{
			Rule: "file.errors", Label: "the number of errors",
			Got: fmt.Sprint(maxErrors + r.more), Want: "none", Where: problem.Place{File: r.file},
			Next: fmt.Sprintf("Only the first %d are shown; mend those and read the file again.", maxErrors),
		})
	}
	return out.Or()
}

// join puts a key behind the label of what it belongs to.
func join(label, key string) string {
	if label == "" {
		return key
	}
	return label + " " + key
}

// maxListed is how many names a message lists before it stops.
const maxListed = 12

// list returns names for a message: "a, b, c".
func list(names []string) string {
	if len(names) > maxListed {
		return strings.Join(names[:maxListed], ", ") + ", …"
	}
	return strings.Join(names, ", ")
}

// maxGot is how much of what was typed a message repeats, in characters.
const maxGot = 60

func shorten(s string) string {
	if r := []rune(s); len(r) > maxGot {
		return string(r[:maxGot-1]) + "…"
	}
	return s
}
