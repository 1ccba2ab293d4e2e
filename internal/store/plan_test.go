package store

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/calendar"
)

// A page must be found by walking an index from where it begins, however many loads there are: nothing is sorted
// and no table is read whole.
func TestPagesAreFoundByAnIndex(t *testing.T) {
	t.Parallel()
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "book.db"), Options{Now: func() time.Time { return time.Unix(2e9, 0) }})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for _, q := range []LoadQuery{
		{},
		{CropYear: 2031},
		{Outlet: "river"},
		{Outlet: "river", CropYear: 2031},
		{Field: "west"},
		{Field: "west", CropYear: 2031},
		{Contract: "c-1"},
		{Contract: "c-1", CropYear: 2031},
	} {
		for _, after := range []Cursor{{}, {CropYear: 2031, Day: calendar.MustDay("2031-09-14"), ID: "x"}} {
			q.Farm, q.Limit, q.After = "home", 50, after
			query, args := q.find()
			rows, err := s.reads.QueryContext(t.Context(), "EXPLAIN QUERY PLAN "+query, args...) //nolint:sqlclosecheck // closed below, in each turn of the loop
			if err != nil {
				t.Fatal(err)
			}
			var plan []string
			for rows.Next() {
				var a, b, c int
				var step string
				if err := rows.Scan(&a, &b, &c, &step); err != nil {
					t.Fatal(err)
				}
				plan = append(plan, step)
			}
			if err := errors.Join(rows.Err(), rows.Close()); err != nil { //nolint:sqlclosecheck // in each turn of the loop
				t.Fatal(err)
			}
			if text := fmt.Sprint(plan); strings.Contains(text, "TEMP B-TREE") || strings.Contains(text, "SCAN") {
				t.Errorf("%+v: %s", q, text)
			}
		}
	}
}
