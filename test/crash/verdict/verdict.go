// Package verdict holds a book against what the phones know that wrote it, after whatever befell it.
package verdict

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/journal"
	"threshday/internal/store"
	"threshday/test/crash/script"
)

// Check holds an open book against what the phones tried and what they were told: every acknowledged entry once
// and in its place, nothing that was never sent, a whole file, an unbroken chain, totals that follow from the
// entries, tables that follow from them too; and all of it again after everything was sent anew.
func Check(ctx context.Context, s *store.Store, tried map[int]bool, acked map[int]int64) error {
	var faults []string
	fault := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	stored, err := stored(ctx, s)
	if err != nil {
		return err
	}
	set := map[int]bool{}
	byID := map[journal.ID]int{}
	for n := range tried {
		byID[script.ID(n)] = n
	}
	for id, seqs := range stored {
		n, known := byID[id]
		if !known {
			fault("entry %s was never sent", id)
			continue
		}
		if len(seqs) != 1 {
			fault("entry %d is stored %d times", n, len(seqs))
		}
		set[n] = true
	}
	for n, seq := range acked {
		if seqs := stored[script.ID(n)]; len(seqs) == 0 {
			fault("entry %d was acknowledged and is gone", n)
		} else if seqs[0] != seq {
			fault("entry %d was acknowledged at place %d and is at %d", n, seq, seqs[0])
		}
	}
	faults = append(faults, sound(ctx, s, set)...)
	if was, is, err := s.Rebuild(ctx); err != nil || was != is {
		fault("tables made anew differ from those that were there: %v", err)
	}
	var numbers []int
	var events []journal.Event
	for n := range tried {
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	for _, n := range numbers {
		events = append(events, script.Event(n))
	}
	answers, err := s.Append(ctx, events...)
	if err != nil {
		return err
	}
	for i, n := range numbers {
		if !answers[i].InBook() || set[n] != (answers[i].Status == journal.Already) {
			fault("entry %d, sent again, was answered %+v", n, answers[i])
		}
	}
	if totals, err := s.Totals(ctx); err != nil || totals != script.Totals(tried) {
		fault("after all was sent again totals are %+v, the entries add up to %+v, %v", totals, script.Totals(tried), err)
	}
	if len(faults) > 0 {
		return errors.New(strings.Join(faults, "; "))
	}
	return nil
}

// stored returns the places of every entry in the book.
func stored(ctx context.Context, s *store.Store) (map[journal.ID][]int64, error) {
	out := map[journal.ID][]int64{}
	err := s.Entries(ctx, script.Farm, 0, func(e journal.Entry) error {
		out[e.ID] = append(out[e.ID], e.Seq)
		return nil
	})
	return out, err
}

// sound returns what is wrong with a book that should hold exactly the entries of set.
func sound(ctx context.Context, s *store.Store, set map[int]bool) []string {
	var faults []string
	report, err := s.Doctor(ctx, false)
	if err != nil {
		faults = append(faults, err.Error())
	}
	for _, c := range report.Checks {
		if !c.OK() && (c.Name == "file" || c.Name == "chain" || c.Name == "parts") {
			faults = append(faults, fmt.Sprintf("%s %+v", c.Asked, c.Findings))
		}
	}
	totals, err := s.Totals(ctx)
	if want := script.Totals(set); err != nil || totals != want {
		faults = append(faults, fmt.Sprintf("totals are %+v, the entries add up to %+v, %v", totals, want, err))
	}
	return faults
}
