package loadfile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"threshday/internal/core/problem"
)

// The bounds of a file. A season of a large farm is a few thousand loads.
const (
	maxBytes  = 64 << 20
	maxErrors = 50 // told at once; the rest would say the same
	maxText   = 200
)

// A table is a CSV file with its header.
type table struct {
	file    string
	columns map[string]int
	known   []string
	errs    problem.InputErrors
}

// A row is one record with the line it begins on.
type row struct {
	*table
	line  int
	cells []string
}

// read parses data and calls each for every record. known lists the columns there may be, must those there have to be. The error
// holds everything wrong, up to a bound.
func read(file string, data []byte, known, must []string, each func(row)) error {
	t := &table{file: file, columns: map[string]int{}, known: known}
	if err := t.text(data); err != nil {
		return err
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))))
	r.FieldsPerRecord = -1
	head, err := r.Read()
	if err != nil {
		return t.broken(err)
	}
	t.header(head, must)
	if len(t.errs) > 0 {
		return t.errs
	}
	for len(t.errs) < maxErrors {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return append(t.errs, t.broken(err))
		}
		line, _ := r.FieldPos(0)
		if blank(cells) {
			continue
		}
		if len(cells) != len(head) {
			t.fail(line, "", "csv.cells", "the row", fmt.Sprintf("%d cells", len(cells)), fmt.Sprintf("%d cells, as the header has", len(head)), "Put a text that holds a comma, and a number like 78,460, in quotes.")
			continue
		}
		each(row{t, line, cells})
	}
	return t.errs.Or()
}

// text refuses what is no text file before anything is made of it.
func (t *table) text(data []byte) error {
	e := problem.InputError{Rule: "csv.form", Label: "the file", Where: problem.Place{File: t.file}, Want: "a CSV file in UTF-8 with a header line"}
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		e.Got, e.Next = "", "The first line names the columns."
	case len(data) > maxBytes:
		e.Got, e.Want = fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d bytes", maxBytes)
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		e.Got, e.Next = "a spreadsheet", "Save it as CSV UTF-8."
	case !utf8.Valid(data):
		e.Got, e.Next = "bytes that are not UTF-8", "Save it as CSV UTF-8."
	case bytes.IndexByte(data, 0) >= 0:
		e.Got, e.Next = "a byte of zero", "Save it as CSV UTF-8."
	default:
		return nil
	}
	return &e
}

func (t *table) broken(err error) *problem.InputError {
	e := &problem.InputError{Rule: "csv.form", Label: "the file", Got: err.Error(), Want: "a CSV file", Where: problem.Place{File: t.file}}
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		e.Got, e.Where.Line, e.Where.Column = parse.Err.Error(), parse.Line, parse.Column
		e.Next = "A cell that holds a quote is quoted, and the quote doubled."
	}
	return e
}

func (t *table) header(head, must []string) {
	if len(head) == 1 && strings.ContainsAny(head[0], ";\t") {
		t.fail(1, "", "csv.separator", "the header", head[0], "columns parted by commas", "Save it as CSV with commas.")
		return
	}
	for i, cell := range head {
		name := strings.ToLower(strings.TrimSpace(cell))
		_, twice := t.columns[name]
		switch {
		case !slices.Contains(t.known, name):
			t.fail(1, name, "csv.column", "the column", cut(cell), "one of "+strings.Join(t.known, ", "), "")
		case twice:
			t.fail(1, name, "csv.column", "the column", cut(cell)+", twice", "each column once", "")
		default:
			t.columns[name] = i
		}
	}
	for _, name := range must {
		if _, ok := t.columns[name]; !ok {
			t.fail(1, name, "csv.column", "the column "+name, "", "a column of that name", "")
		}
	}
}

func (t *table) fail(line int, column, rule, label, got, want, next string) {
	t.errs = append(t.errs, &problem.InputError{Rule: rule, Label: label, Got: got, Want: want, Next: next, Where: problem.Place{File: t.file, Line: line, Path: column}})
}

// refuse keeps the error of a parser under its column.
func (r row) refuse(column string, err error) {
	var e *problem.InputError
	if !errors.As(err, &e) {
		r.fail(r.line, column, "csv.value", column, r.cell(column), err.Error(), "")
		return
	}
	with := *e
	with.Where = problem.Place{File: r.file, Line: r.line, Path: column}
	r.errs = append(r.errs, &with)
}

// cell returns the text of a column without the spaces around it; empty where the file has no such column.
func (r row) cell(column string) string {
	if i, ok := r.columns[column]; ok {
		return strings.TrimSpace(r.cells[i])
	}
	return ""
}

// name returns a text of bounded length without control characters.
func (r row) name(column string) string {
	text := r.cell(column)
	if len(text) > maxText || strings.ContainsFunc(text, unicode.IsControl) {
		r.fail(r.line, column, "text.form", column, cut(text), fmt.Sprintf("at most %d bytes, none of them control characters", maxText), "")
		return ""
	}
	return text
}

// needed is name for a cell that must not be empty.
func (r row) needed(column, want string) string {
	text := r.name(column)
	if text == "" && r.cell(column) == "" {
		r.fail(r.line, column, "csv.missing", column, "", want, "")
	}
	return text
}

// parsed returns what parse makes of a cell; false for an empty one and one that cannot be used.
func parsed[T any](r row, column string, parse func(label, text string) (T, error)) (T, bool) {
	var none T
	text := r.cell(column)
	if text == "" {
		return none, false
	}
	v, err := parse(column, text)
	if err != nil {
		r.refuse(column, err)
		return none, false
	}
	return v, true
}

func blank(cells []string) bool {
	return !slices.ContainsFunc(cells, func(c string) bool { return strings.TrimSpace(c) != "" })
}

func cut(text string) string {
	if r := []rune(text); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return text
}
