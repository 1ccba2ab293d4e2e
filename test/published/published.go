// Package published runs tests against tables of values that come from outside the code: CSV files in testdata
// whose rows name their source and how the value is known.
//
// Columns are the inputs, one or more wanted values, tol (accepted absolute difference), source (a key of
// docs/sources) and how (one phrase: what was read or computed). A row without a source fails the test. Lines
// that start with # are remarks.
package published

import (
	"bytes"
	"encoding/csv"
	"io/fs"
	"math"
	"os"
	"strconv"
	"testing"
)

// A Row is one line of a table, tied to the test that reads it.
type Row struct {
	t     *testing.T
	place string
	cells map[string]string
}

// Each calls check for every row of testdata/name.csv as a subtest of its own.
func Each(t *testing.T, name string, check func(t *testing.T, r Row)) {
	t.Helper()
	path := name + ".csv"
	text, err := fs.ReadFile(os.DirFS("testdata"), path)
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	r.TrimLeadingSpace = true
	head, err := r.Read()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	records, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	if len(records) == 0 {
		t.Fatalf("%s has no rows", path)
	}
	for i, rec := range records {
		cells := map[string]string{}
		for j, column := range head {
			cells[column] = rec[j]
		}
		place := name + " row " + strconv.Itoa(i+1)
		t.Run(place, func(t *testing.T) {
			if cells["source"] == "" || cells["how"] == "" {
				t.Fatalf("%s has no source", place)
			}
			check(t, Row{t, place, cells})
		})
	}
}

// Text returns the cell of a column, which must exist.
func (r Row) Text(column string) string {
	r.t.Helper()
	s, ok := r.cells[column]
	if !ok {
		r.t.Fatalf("%s: no column %s", r.place, column)
	}
	return s
}

// Has reports whether the cell of a column is filled.
func (r Row) Has(column string) bool { return r.Text(column) != "" }

// Float returns the cell as a number; an empty cell is 0.
func (r Row) Float(column string) float64 {
	r.t.Helper()
	s := r.Text(column)
	if s == "" {
		return 0
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		r.t.Fatalf("%s: column %s: %v", r.place, column, err)
	}
	return x
}

// Int returns the cell as a whole number; an empty cell is 0.
func (r Row) Int(column string) int {
	r.t.Helper()
	x := r.Float(column)
	if x != math.Trunc(x) {
		r.t.Fatalf("%s: column %s is not whole: %v", r.place, column, x)
	}
	return int(x)
}

// Check compares got with the cell of a column within the row's tol. An empty cell wants nothing.
func (r Row) Check(column string, got float64) {
	r.t.Helper()
	r.within(column, got, r.Float("tol"))
}

// CheckExact compares got with the cell of a column with no tolerance.
func (r Row) CheckExact(column string, got float64) {
	r.t.Helper()
	r.within(column, got, 0)
}

func (r Row) within(column string, got, tol float64) {
	r.t.Helper()
	if !r.Has(column) {
		return
	}
	want := r.Float(column)
	if !(math.Abs(got-want) <= tol) {
		r.t.Errorf("%s: %s = %v, want %v ± %v [%s: %s]", r.place, column, got, want, tol, r.Text("source"), r.Text("how"))
	}
}

// CheckText compares got with the cell of a column.
func (r Row) CheckText(column, got string) {
	r.t.Helper()
	if want := r.Text(column); got != want {
		r.t.Errorf("%s: %s = %q, want %q [%s: %s]", r.place, column, got, want, r.Text("source"), r.Text("how"))
	}
}
