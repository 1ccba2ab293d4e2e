package backup

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"threshday/internal/store/sqlite"
)

// How many backups are kept; judgement.
const (
	keepHours  = 24
	keepDays   = 14
	keepWeeks  = 8
	keepMarked = 3 // of those made before a change rather than by the clock
)

// Scheduled is the reason of a backup that the clock asked for.
const Scheduled = "scheduled"

// Spare returns the backups of list, newest first, that may go: all but the newest of each of the last 24 hours,
// 14 days and 8 weeks in which one was made, of every year, and the last three made before a change. It counts
// backups and not time, so no jump of the clock makes a backup too old to keep.
func Spare(list []Manifest) []Manifest {
	seen := map[string]bool{}
	counts := map[string]int{}
	// first reports whether m is the newest of its period, of which at most n are kept.
	first := func(kind, period string, n int) bool {
		if key := kind + period; seen[key] || n > 0 && counts[kind] >= n {
			return false
		} else {
			seen[key] = true
		}
		counts[kind]++
		return true
	}
	var spare []Manifest
	for _, m := range list {
		year, week := m.Made.ISOWeek()
		keep := first("hour", m.Made.Format("2006-01-02T15"), keepHours)
		keep = first("day", m.Made.Format(time.DateOnly), keepDays) || keep
		keep = first("week", fmt.Sprint(year, week), keepWeeks) || keep
		keep = first("year", m.Made.Format("2006"), 0) || keep
		if m.Reason != Scheduled {
			keep = first("marked", m.File, keepMarked) || keep
		}
		if !keep {
			spare = append(spare, m)
		}
	}
	return spare
}

// Prune deletes the spare backups in dir and returns them.
func Prune(dir string) ([]Manifest, error) {
	list, err := List(dir)
	if err != nil {
		return nil, err
	}
	spare := Spare(list)
	for _, m := range spare {
		file := filepath.Join(dir, m.File)
		// The manifest goes first: what has none does not count.
		for _, f := range []string{manifestOf(file), file} {
			if err := os.Remove(f); err != nil {
				return nil, err
			}
		}
	}
	if len(spare) > 0 {
		return spare, sqlite.SyncDir(dir)
	}
	return nil, nil
}

// Due reports whether a backup is due at now: an hour after the last one when loads came in since, a day after it
// when anything else did. A last backup from the future, which only a clock set back can leave, is due at once.
func Due(list []Manifest, now time.Time, entriesSince, loadsSince int64) bool {
	if entriesSince <= 0 {
		return false
	}
	if len(list) == 0 {
		return true
	}
	age := now.Sub(list[0].Made)
	if loadsSince > 0 && age >= time.Hour {
		return true
	}
	return age >= 24*time.Hour || age < -time.Minute
}
