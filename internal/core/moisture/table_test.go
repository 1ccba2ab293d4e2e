package moisture_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// A row of a table of published values, by column.
type row map[string]string

// published reads testdata/name: columns of inputs, then want, tol, source, how.
func published(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var out []row
	for _, rec := range records[1:] {
		one := row{}
		for i, column := range records[0] {
			one[column] = rec[i]
		}
		if one["source"] == "" || one["how"] == "" {
			t.Errorf("%s: a row without a source: %v", name, rec)
		}
		out = append(out, one)
	}
	return out
}

// num returns a column as a number.
func (r row) num(t *testing.T, column string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("column %s: %v in %v", column, err, r)
	}
	return x
}

// check compares got with the row's published value.
func (r row) check(t *testing.T, got float64) {
	t.Helper()
	if want, tol := r.num(t, "want"), r.num(t, "tol"); !(math.Abs(got-want) <= tol) {
		t.Errorf("got %.6g, want %g within %g: %v", got, want, tol, r)
	}
}
