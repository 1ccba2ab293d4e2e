package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"threshday/internal/core/journal"
	"threshday/internal/store/backup"
	"threshday/internal/store/proof"
	"threshday/internal/store/sqlite"
)

// Backup makes a backup and proves it. It may run while entries come in.
func (s *Store) Backup(ctx context.Context, reason string) (backup.Manifest, error) {
	if s.readOnly != nil {
		return backup.Manifest{}, s.readOnly
	}
	return s.backUp(ctx, reason)
}

func (s *Store) backUp(ctx context.Context, reason string) (backup.Manifest, error) {
	m, err := backup.Make(ctx, backup.Order{
		Engine: s.engine, Path: s.path, Dir: s.backups, Reason: reason, Program: s.program, Now: s.now(),
	})
	if err != nil {
		return m, s.explain("back up", err)
	}
	s.log.Info("backed up", "file", m.File, "reason", reason, "entries", m.Totals.Entries)
	return m, nil
}

// Backups returns the good backups, the newest first.
func (s *Store) Backups() ([]backup.Manifest, error) { return backup.List(s.backups) }

// BackupsOf returns the good backups beside the data file at path, the newest first. The file itself is not looked at:
// it may be damaged or gone.
func BackupsOf(path string) (dir string, list []backup.Manifest, err error) {
	dir = backupsBeside(path)
	list, err = backup.List(dir)
	return dir, list, err
}

// backupsBeside is where backups of the file at path lie unless another folder is named.
func backupsBeside(path string) string { return filepath.Join(filepath.Dir(path), "backups") }

// Maintain makes a backup when one is due and deletes those that are spare. A server calls it every few minutes.
func (s *Store) Maintain(ctx context.Context) (made *backup.Manifest, pruned []backup.Manifest, err error) {
	list, err := s.Backups()
	if err != nil {
		return nil, nil, err
	}
	entries, loads, err := s.since(ctx, list)
	if err != nil {
		return nil, nil, err
	}
	if backup.Due(list, s.now(), entries, loads) {
		m, err := s.Backup(ctx, backup.Scheduled)
		if err != nil {
			return nil, nil, err
		}
		made = &m
	}
	pruned, err = backup.Prune(s.backups)
	return made, pruned, err
}

// since returns how many entries, and loads among them, came after the newest backup.
func (s *Store) since(ctx context.Context, list []backup.Manifest) (entries, loads int64, err error) {
	heads, err := proof.Heads(ctx, s.reads)
	if err != nil {
		return 0, 0, s.explain("read the newest entries", err)
	}
	for _, h := range heads {
		from := int64(0)
		if len(list) > 0 {
			for _, b := range list[0].Heads {
				if b.Farm == h.Farm && b.Seq <= h.Seq {
					from = b.Seq
				}
			}
		}
		entries += h.Seq - from
		var n int64
		if err := s.reads.QueryRowContext(ctx, `SELECT count(*) FROM events WHERE farm_id = $1 AND seq > $2 AND kind LIKE 'load.%'`,
			h.Farm, from).Scan(&n); err != nil {
			return 0, 0, s.explain("count loads", err)
		}
		loads += n
	}
	return entries, loads, nil
}

// A Restored says what a restore did.
type Restored struct {
	From backup.Manifest
	// Kept is the folder that holds what was there before, untouched; empty when nothing was.
	Kept string
	// Left are the totals of what was there; nil when there was nothing or it could not be read.
	Left *proof.Totals
	Now  proof.Totals // counted in the file now in place
}

// Restore puts the backup file at from in the place of the data file at path, which nobody may have open. The
// backup is copied, proved and brought to this version first, and the copy says of itself that the book continues
// from it; then it takes the place in one step that a power cut cannot halve. What was at path is kept in a folder
// beside it. Restore needs nothing but the backup: path may be on a machine that never saw this farm.
func Restore(ctx context.Context, path, from string, o Options) (r Restored, err error) {
	engine := sqlite.Product()
	path, err = filepath.Abs(path)
	if err != nil {
		return r, err
	}
	if o.Backups == "" {
		o.Backups = backupsBeside(path)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return r, engine.Explain(path, "make the folder", err)
	}
	lock, err := sqlite.Acquire(ctx, path, sqlite.Holder{PID: os.Getpid(), What: "restore", Since: o.Now()}, o.Wait)
	if err != nil {
		return r, engine.Explain(path, "lock", err)
	}
	if err := r.swapIn(ctx, engine, path, from, o); err != nil {
		err = errors.Join(err, os.RemoveAll(backup.StageOf(path)), lock.Release())
		return r, engine.Explain(path, "restore "+filepath.Base(from), err)
	}
	s, err := open(ctx, path, o, lock)
	if err != nil {
		return r, err
	}
	r.Now, err = s.Totals(ctx)
	return r, errors.Join(err, s.Close())
}

func (r *Restored) swapIn(ctx context.Context, engine sqlite.Engine, path, from string, o Options) error {
	if err := backup.Resume(path); err != nil {
		return err
	}
	left := r.look(ctx, engine, path)
	fresh, m, err := backup.Stage(ctx, engine, from, path)
	if err != nil {
		return err
	}
	r.From = m
	aside := ""
	if lies(path) {
		aside = backup.Aside(path, o.Now())
	}
	r.Kept = aside
	s, err := open(ctx, fresh, o, nil)
	if err != nil {
		return err
	}
	if err := errors.Join(s.noteRestore(ctx, *r, left), s.Close()); err != nil {
		return err
	}
	return backup.Swap(path, fresh, aside)
}

// lies reports whether anything lies at path, be it only a log.
func lies(path string) bool {
	return slices.ContainsFunc(append(sqlite.SideFiles(path), path), func(f string) bool {
		_, err := os.Stat(f)
		return err == nil
	})
}

// look returns the newest entries of what is at path now; nil when it cannot be read.
func (r *Restored) look(ctx context.Context, engine sqlite.Engine, path string) []proof.Head {
	if _, err := os.Stat(path); err != nil {
		return nil
	}
	db, err := engine.Open(path, sqlite.Read)
	if err != nil {
		return nil
	}
	defer func() { _ = db.Close() }() // it only reads
	heads, err := proof.Heads(ctx, db)
	if err != nil {
		return nil
	}
	if t, err := proof.Count(ctx, db); err == nil {
		r.Left = &t
	}
	return heads
}

// noteRestore enters into each farm's book that it continues from a backup. Phones see it and offer again what
// they kept.
func (s *Store) noteRestore(ctx context.Context, r Restored, left []proof.Head) error {
	now := s.now()
	for _, h := range r.From.Heads {
		note := journal.Restore{Backup: r.From.File, Seq: h.Seq, At: now}
		if r.Kept != "" {
			note.Kept = filepath.Base(r.Kept)
		}
		for _, l := range left {
			if l.Farm == h.Farm {
				note.LeftSeq, note.LeftHash = l.Seq, l.Hash.String()
			}
		}
		answers, err := s.Append(ctx, journal.Event{
			Farm: h.Farm, ID: s.newID(), Kind: journal.Of(journal.BookSubject, journal.Restored), Body: journal.RestoreBody(note),
			Origin: journal.Program, At: now,
		})
		if err != nil {
			return err
		}
		if !answers[0].InBook() {
			return fmt.Errorf("note the restore: %s", answers[0].Problems[0].Say)
		}
	}
	return nil
}

// Restores returns how often the farm's book was continued from a backup. Phones compare it with the number they
// know.
func (s *Store) Restores(ctx context.Context, farmID string) (int64, error) {
	var n int64
	err := s.reads.QueryRowContext(ctx, `SELECT count(*) FROM events WHERE farm_id = $1 AND kind = 'book.restored'`, farmID).Scan(&n)
	return n, s.explain("count restores", err)
}

// Totals returns the control totals of the file.
func (s *Store) Totals(ctx context.Context) (proof.Totals, error) {
	t, err := proof.Count(ctx, s.reads)
	return t, s.explain("add up the book", err)
}

// Digest returns a hash over the derived tables; books of the same entries have the same.
func (s *Store) Digest(ctx context.Context) (string, error) {
	d, err := proof.Digest(ctx, s.reads)
	return d, s.explain("read the derived tables", err)
}
