package app

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"time"

	"threshday/internal/core/problem"
	"threshday/internal/store"
	"threshday/internal/store/backup"
	"threshday/internal/store/proof"
	"threshday/internal/store/sqlite"
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

func copyOf(dir string, m backup.Manifest) Copy {
	return Copy{File: filepath.Join(dir, m.File), Made: m.Made, Reason: m.Reason, Bytes: m.Size, Entries: m.Totals.Entries, Loads: m.Totals.Loads}
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
	if kept, err = a.Backups(data); err != nil {
		return Copy{}, nil, err
	}
	dir, _, err := store.BackupsOf(data)
	return copyOf(dir, m), kept, troubled(err)
}

// Backups lists the good backups beside a data file, the newest first. The file itself may be damaged or gone.
func (a *App) Backups(data string) ([]Copy, error) {
	dir, list, err := store.BackupsOf(data)
	if err != nil {
		return nil, troubled(err)
	}
	out := make([]Copy, len(list))
	for i, m := range list {
		out[i] = copyOf(dir, m)
	}
	return out, nil
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

// Restore puts a backup in the place of the book. What was there is kept beside it. from is a file, or the name of one of
// the backups beside the book.
func (a *App) Restore(ctx context.Context, data, from string) (*Restoration, error) {
	from, err := a.backupAt(data, from)
	if err != nil {
		return nil, err
	}
	r, err := store.Restore(ctx, data, from, store.Options{Now: a.Now, Program: a.Program, What: "a restore", Wait: bookWait})
	if err != nil {
		return nil, troubled(err)
	}
	out := &Restoration{From: copyOf(filepath.Dir(from), r.From), Kept: r.Kept, Now: countsOf(r.Now)}
	if r.Left != nil {
		c := countsOf(*r.Left)
		out.Before = &c
	}
	return out, nil
}

// backupAt finds the backup that is meant.
func (a *App) backupAt(data, from string) (string, error) {
	dir, _, err := store.BackupsOf(data)
	if err != nil {
		return "", troubled(err)
	}
	for _, name := range []string{from, filepath.Join(dir, from)} {
		_, _, err := a.Files(name)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err == nil && filepath.Clean(name) == filepath.Clean(data) {
			return "", &problem.InputError{Rule: "restore.self", Label: "backup", Got: from, Want: "another file than the data file itself"}
		}
		return name, err
	}
	return "", &Trouble{"book.no-backup", "There is no backup " + from + ". Nothing was changed.", "threshday backup --list shows those beside the data file; give the folder too where it lies elsewhere."}
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

// Doctor checks the book and what is kept beside it and changes nothing that was entered. A full check reads every page
// and makes the derived tables anew in a copy, for which nobody else may write meanwhile.
func (a *App) Doctor(ctx context.Context, data string, full bool) (*Checkup, error) {
	how := look
	if full {
		how = write
	}
	b, err := a.book(ctx, data, how)
	if full && err != nil {
		b, err = a.book(ctx, data, look) // what can be checked of one that is in use, damaged or only to be read
	}
	if err != nil {
		return nil, beyondReading(data, err)
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
	dir, _, err := store.BackupsOf(data)
	if err == nil && r.Backup != nil {
		c := copyOf(dir, *r.Backup)
		out.Newest = &c
	}
	return out, troubled(err)
}

// beyondReading says what to do with a file that the doctor cannot open at all.
func beyondReading(data string, err error) error {
	var t *Trouble
	if !errors.As(err, &t) || t.Rule != sqlite.Damaged {
		return err
	}
	dir, list, e := store.BackupsOf(data)
	if e != nil || len(list) == 0 {
		return &Trouble{t.Rule, t.Say, "No good backup lies beside it. Keep the file as it is, and look for a backup on another disk or stick: threshday restore BACKUP --data " + data + "."}
	}
	return &Trouble{t.Rule, t.Say, fmt.Sprintf("If it was the data file: threshday restore %s --data %s puts the newest good backup in its place, with %d entries, and keeps this one.",
		filepath.Join(dir, list[0].File), data, list[0].Totals.Entries)}
}

// Rebuild makes the tables that lists and totals come from anew from the entries, and reports whether they had come apart.
func (a *App) Rebuild(ctx context.Context, data string) (apart bool, err error) {
	b, err := a.book(ctx, data, write)
	if err != nil {
		return false, err
	}
	defer func() { _ = b.Close() }() // what Rebuild returned is on the disk already
	was, is, err := b.store.Rebuild(ctx)
	return was != is, troubled(err)
}

func countsOf(t proof.Totals) Counts { return Counts(t) }
