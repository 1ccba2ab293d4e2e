package linear_test

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"threshday/internal/core/linear"
)

func ExampleProblem_Solve() {
	// Two products in three plants [hillier-lieberman-2001].
	p := linear.New(linear.Maximise)
	inf := math.Inf(1)
	one := p.AddRow(0, 4)
	two := p.AddRow(0, 12)
	three := p.AddRow(0, 18)
	p.AddColumn(3, 0, inf, linear.Entry{Row: one, Coef: 1}, linear.Entry{Row: three, Coef: 3})
	p.AddColumn(5, 0, inf, linear.Entry{Row: two, Coef: 2}, linear.Entry{Row: three, Coef: 2})
	s := p.Solve(context.Background(), linear.Options{})
	fmt.Printf("%v %.1f at %.1f, an hour more is worth %.1f\n", s.Status, s.Objective, s.X, s.RowDual)
	// Output: optimal 36.0 at [2.0 6.0], an hour more is worth [0.0 1.5 1.0]
}

// TestPrograms solves small programs whose answers are known, as maximised and, with the sign turned, as
// minimised.
func TestPrograms(t *testing.T) {
	for _, row := range readCSV(t, "testdata/programs.csv") {
		t.Run(strings.ReplaceAll(row["name"], " ", "_"), func(t *testing.T) {
			for _, turned := range []bool{false, true} {
				check(t, row, turned)
			}
		})
	}
}

func check(t *testing.T, row map[string]string, turned bool) {
	t.Helper()
	p := parse(t, row, turned)
	s := p.Solve(context.Background(), linear.Options{})
	if s.Status.String() != row["status"] {
		t.Fatalf("got %v, want %s (%s, %s)", s.Status, row["status"], row["source"], row["how"])
	}
	if s.Status != linear.Optimal {
		return
	}
	sign := 1.0
	if turned {
		sign = -1
	}
	tol := number(t, row["tol"])
	if got, want := sign*s.Objective, number(t, row["want"]); math.Abs(got-want) > tol*(1+math.Abs(want)) {
		t.Errorf("objective: got %.12g, want %.12g (%s, %s)", got, want, row["source"], row["how"])
	}
	if math.Abs(s.Bound-s.Objective) > tol*(1+math.Abs(s.Objective)) {
		t.Errorf("the duals prove %.12g, the objective is %.12g", s.Bound, s.Objective)
	}
	if v := p.Violation(s.X); v > tol {
		t.Errorf("bounds are violated by %g", v)
	}
	for i, want := range strings.Fields(row["duals"]) {
		if got := sign * s.RowDual[i]; math.Abs(got-number(t, want)) > tol {
			t.Errorf("dual of row %d: got %g, want %s (%s, %s)", i, got, want, row["source"], row["how"])
		}
	}
}

// parse builds the program of a row of programs.csv; turned negates the objective and turns the sense.
func parse(t *testing.T, row map[string]string, turned bool) *linear.Problem {
	t.Helper()
	sense := map[string]linear.Sense{"max": linear.Maximise, "min": linear.Minimise}[row["sense"]]
	if turned {
		sense = -sense
	}
	p := linear.New(sense)
	costs := strings.Fields(row["objective"])
	entries := make([][]linear.Entry, len(costs))
	for i, text := range strings.Split(row["rows"], ";") {
		parts := strings.Fields(text)
		if len(parts) == 0 {
			continue
		}
		kind, side := parts[len(parts)-2], parts[len(parts)-1]
		lower, upper, ranged := strings.Cut(side, ":")
		lo, up := number(t, lower), number(t, lower)
		switch {
		case ranged:
			up = number(t, upper)
		case kind == "<=":
			lo = math.Inf(-1)
		case kind == ">=":
			up = math.Inf(1)
		}
		p.AddRow(lo, up)
		for j, coef := range parts[:len(parts)-2] {
			entries[j] = append(entries[j], linear.Entry{Row: i, Coef: number(t, coef)})
		}
	}
	bounds := strings.Fields(row["bounds"])
	for j, cost := range costs {
		lo, up := 0.0, math.Inf(1)
		if len(bounds) > 0 {
			l, u, _ := strings.Cut(bounds[j], ":")
			lo, up = number(t, l), number(t, u)
		}
		c := number(t, cost)
		if turned {
			c = -c
		}
		p.AddColumn(c, lo, up, entries[j]...)
	}
	return p
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// readCSV returns the rows of a table by column name. Every row names its source.
func readCSV(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for n, record := range records[1:] {
		row := map[string]string{}
		for k, v := range record {
			row[records[0][k]] = v
		}
		if row["source"] == "" || row["how"] == "" {
			t.Fatalf("%s row %d names no source", name, n+2)
		}
		rows = append(rows, row)
	}
	return rows
}

// A problem that grows after another was cloned from it, or solved, is solved as it then stands, and so is the clone.
func TestACloneAndItsOriginalGrowApart(t *testing.T) {
	p := linear.New(linear.Maximise)
	row := p.AddRow(0, 10)
	p.AddColumn(1, 0, 100, linear.Entry{row, 1})
	clone := p.Clone()
	p.AddColumn(3, 0, 100, linear.Entry{row, 1})
	clone.AddColumn(8, 0, 100, linear.Entry{row, 2})
	for _, c := range []struct {
		p    *linear.Problem
		want float64
	}{{p, 30}, {clone, 40}, {p, 30}} {
		if got := c.p.Solve(context.Background(), linear.Options{}); got.Status != linear.Optimal || got.Objective != c.want {
			t.Errorf("%v, worth %g, by hand %g", got.Status, got.Objective, c.want)
		}
	}
}
