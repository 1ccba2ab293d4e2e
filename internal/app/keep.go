package app

import (
	"context"
	"time"

	"threshday/internal/core/problem"
	"threshday/internal/store"
	"threshday/internal/store/backup"
	"threshday/internal/store/proof"
)

// A Copy is a backup that was opened, checked and counted.
type Copy struct {
	File    string
	Made    time.Time
	Reason  string
	Bytes   int64
	Entries int64
	Loads   int64
}

func copyOf(m backup.Manifest) Copy {
	return Copy{File: m.File, Made: m.Made, Reason: m.Reason, Bytes: m.Size, Entries: m.Totals.Entries, Loads: m.Totals.Loads}
}

// Backup makes a copy of the book, proves it, and returns it with those kept before, the newest first.
func (a *App) Backup(ctx context.Context, data string) (made Copy, kept []Copy, err error) {
	b, err := a.book(ctx, data, write)
	if err != nil {
		return Copy{}, nil, err
	}
	defer func() { _ = b.Close() }() // the copy is proved and in place already
	m, err := b.store.Backup(ctx, "asked")
	if err != nil {
		return Copy{}, nil, troubled(err)
	}
	all, err := b.store.Backups()
	if err != nil {
		return Copy{}, nil, troubled(err)
	}
	for _, one := range all {
		kept = append(kept, copyOf(one))
	}
	return copyOf(m), kept, nil
}

// Backups lists the good backups, the newest first.
func (a *App) Backups(ctx context.Context, data string) ([]Copy, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	all, err := b.store.Backups()
	var out []Copy
	for _, one := range all {
		out = append(out, copyOf(one))
	}
	return out, troubled(err)
}

// A Restoration says what a restore did.
type Restoration struct {
	From   Copy
	Kept   string // folder with what was there before, untouched; empty: nothing was
	Before *Counts
	Now    Counts
}

// Counts are what a file holds.
type Counts struct{ Entries, Records, Loads, Counted, NetLb, NetKg int64 }

// Restore puts a backup in the place of the book. What was there is kept beside it.
func (a *App) Restore(ctx context.Context, data, from string) (*Restoration, error) {
	r, err := store.Restore(ctx, data, from, store.Options{Now: a.Now, Program: a.Program, What: "a restore", Wait: bookWait})
	if err != nil {
		return nil, troubled(err)
	}
	out := &Restoration{From: copyOf(r.From), Kept: r.Kept, Now: countsOf(r.Now)}
	if r.Left != nil {
		c := countsOf(*r.Left)
		out.Before = &c
	}
	return out, nil
}

// A Checkup is what the doctor found.
type Checkup struct {
	OK      bool
	Asked   []CheckAnswer
	Counts  Counts
	Newest  *Copy // the newest good backup
	Unclean bool  // the file was not closed properly the last time
}

// A CheckAnswer is one question and its answer.
type CheckAnswer struct {
	Name, Asked string
	OK          bool
	Findings    []problem.Finding
}

// Doctor checks the book and what is kept beside it and changes nothing. A full check reads every page and makes the derived
// tables anew in a copy.
func (a *App) Doctor(ctx context.Context, data string, full bool) (*Checkup, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	r, err := b.store.Doctor(ctx, full)
	if err != nil {
		return nil, troubled(err)
	}
	out := &Checkup{OK: r.OK(), Counts: countsOf(r.Totals), Unclean: b.store.Unclean()}
	for _, c := range r.Checks {
		out.Asked = append(out.Asked, CheckAnswer{c.Name, c.Asked, c.OK(), c.Findings})
	}
	if r.Backup != nil {
		c := copyOf(*r.Backup)
		out.Newest = &c
	}
	return out, nil
}

func countsOf(t proof.Totals) Counts {
	return Counts(t)
}
