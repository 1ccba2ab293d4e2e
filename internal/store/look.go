package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"threshday/internal/store/backup"
	"threshday/internal/store/fault"
	"threshday/internal/store/proof"
	"threshday/internal/store/sqlite"
)

// prepareDisk takes the lock, finishes a broken-off restore and judges what lies beside the file.
func (s *Store) prepareDisk(ctx context.Context, o Options) error {
	dir := filepath.Dir(s.path)
	if _, err := os.Stat(dir); err != nil {
		return &sqlite.Trouble{Rule: sqlite.Missing, Err: err, Say: fmt.Sprintf("The folder %s is not there.", dir), Next: "Create it, or name another data file."}
	}
	if name, ok := sqlite.NetworkOf(dir); ok {
		return &sqlite.Trouble{
			Rule: sqlite.Network, Say: fmt.Sprintf("%s lies on another machine (%s), where two programs cannot be kept apart safely.", s.path, name),
			Next: "Keep the data file on a disk of this machine and let others connect to the program.",
		}
	}
	if !o.ReadOnly && s.lock == nil {
		var err error
		s.lock, err = sqlite.Acquire(ctx, s.path, sqlite.Holder{PID: os.Getpid(), What: o.What, Since: s.now()}, o.Wait)
		switch {
		case errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
			s.readOnly = s.explain("lock", err)
		case err != nil:
			return err
		default:
			if err := backup.Resume(s.path); err != nil {
				return fmt.Errorf("finish the restore that was broken off: %w", err)
			}
			if err := s.clearTemporary(); err != nil {
				return err
			}
		}
	}
	if fault.Planted("unlink-log") {
		if err := s.unlinkLog(); err != nil {
			return err
		}
	}
	return s.judgeSideFiles()
}

// judgeSideFiles refuses to begin a new file beside the log of one that is gone: the log may hold the only copy
// of the newest entries.
func (s *Store) judgeSideFiles() error {
	info, err := os.Stat(s.path)
	if err == nil && info.Size() > 0 {
		log, err := os.Stat(s.path + "-wal")
		s.unclean = err == nil && log.Size() > 0
		return nil
	}
	log := s.path + "-wal"
	if info, err := os.Stat(log); err == nil && info.Size() > 0 {
		return &sqlite.Trouble{
			Rule: sqlite.Sides,
			Say:  fmt.Sprintf("%s is left, and the data file it belongs to is gone or empty. Nothing was changed.", filepath.Base(log)),
			Next: fmt.Sprintf("Put %s back beside it, or move %s to another folder and restore a backup.", filepath.Base(s.path), filepath.Base(log)),
		}
	}
	s.isNew = true
	return nil
}

// clearTemporary deletes what a backup or a restore left that was broken off.
func (s *Store) clearTemporary() error {
	left, err := filepath.Glob(filepath.Join(s.backups, "*"+backup.Unfinished+"*"))
	if err != nil {
		return err
	}
	more, err := filepath.Glob(s.path + "*" + backup.Unfinished + "*")
	if err != nil {
		return err
	}
	for _, f := range append(left, more...) {
		if err := os.RemoveAll(f); err != nil {
			return err
		}
	}
	return nil
}

// openToRead opens what can be read of the file.
func (s *Store) openToRead(ctx context.Context) error {
	if !s.engine.Virtual {
		if _, err := os.Stat(s.path); err != nil {
			return err
		}
	}
	close(s.stopped)
	var err error
	if s.reads, err = s.engine.Open(s.path, sqlite.Read); err != nil {
		return err
	}
	v, err := versionOf(ctx, s.reads)
	if err != nil && !s.engine.Virtual {
		// On a disk that takes no writes the index of the log cannot be made.
		v, err = s.readAside(ctx)
	}
	if err != nil {
		return err
	}
	if err := s.accept(ctx, s.reads, v); err != nil && sqlite.Of(err) != sqlite.Newer {
		return err
	}
	return nil
}

// readAside reads the file without its log when that is empty, and otherwise a copy of both in a temporary folder.
func (s *Store) readAside(ctx context.Context) (version, error) {
	if err := s.reads.Close(); err != nil {
		return version{}, err
	}
	from, mode := s.path, sqlite.Frozen
	if s.unclean {
		var err error
		if s.aside, err = os.MkdirTemp("", "threshday-read-"); err != nil {
			return version{}, err
		}
		from, mode = filepath.Join(s.aside, filepath.Base(s.path)), sqlite.Read
		for _, end := range []string{"", "-wal"} {
			if err := backup.Copy(s.path+end, from+end); err != nil {
				return version{}, err
			}
		}
	}
	var err error
	if s.reads, err = s.engine.Open(from, mode); err != nil {
		return version{}, err
	}
	return versionOf(ctx, s.reads)
}

// checkEngine refuses a SQLite with a known fault, and a file that would not be kept as the pragmas ask.
func checkEngine(ctx context.Context, db *sql.DB) error {
	var text, mode string
	var major, minor, patch, synchronous int
	if err := db.QueryRowContext(ctx, `SELECT sqlite_version()`).Scan(&text); err != nil {
		return err
	}
	if _, err := fmt.Sscanf(text, "%d.%d.%d", &major, &minor, &patch); err != nil {
		return fmt.Errorf("version of SQLite %q: %w", text, err)
	}
	if major*1_00_00+minor*100+patch < oldestSQLite {
		return &sqlite.Trouble{
			Rule: sqlite.TooOld, Say: fmt.Sprintf("This build contains SQLite %s, which has a fault that can damage the data file. Nothing was opened.", text),
			Next: "Use a build with SQLite 3.51.3 or newer.",
		}
	}
	if err := db.QueryRowContext(ctx, `PRAGMA journal_mode`).Scan(&mode); err != nil {
		return err
	}
	if err := db.QueryRowContext(ctx, `PRAGMA synchronous`).Scan(&synchronous); err != nil {
		return err
	}
	const full = 2
	if weak := fault.Planted("sync-normal") || fault.Planted("sync-off"); mode != "wal" || synchronous != full && !weak {
		return fmt.Errorf("the file is kept in mode %s with synchronisation %d, not in WAL with FULL", mode, synchronous)
	}
	return nil
}

// A file up to wholeCheck bytes that was not closed properly is checked whole before it is written to; of a
// larger one the newest entries are, so that the program is ready within two seconds.
const (
	wholeCheck = 16 << 20
	tailCheck  = 2000
)

// lookOver reads a file that is there, with its log and without changing either, and refuses what is not ours.
// When the file was not closed properly it also refuses a log that does not belong to it: beside a copy that
// somebody put in the file's place, the log would be written into that.
func (s *Store) lookOver(ctx context.Context) error {
	if s.engine.Virtual || s.isNew {
		return nil // the simulator begins every file itself
	}
	mode := sqlite.Read
	if info, err := os.Stat(s.path + "-journal"); err == nil && info.Size() > 0 {
		// A rollback journal is from before the file had its write-ahead log: its making was broken off. Only a
		// writer can take that back, and nobody can read the file until then but as it lies.
		mode = sqlite.Frozen
	}
	db, err := s.engine.Open(s.path, mode)
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }() // it only reads
	v, err := versionOf(ctx, db)
	if err != nil {
		return err
	}
	if err := s.accept(ctx, db, v); err != nil || !s.unclean {
		return err
	}
	info, err := os.Stat(s.path)
	if err != nil {
		return err
	}
	why := ""
	if info.Size() <= wholeCheck {
		wrong, err := proof.Structure(ctx, db, true)
		if err != nil {
			return err
		}
		if len(wrong) > 0 {
			why = wrong[0]
		}
	}
	if why == "" && v.schema > 0 {
		breaks, err := proof.Chain(ctx, db, tailCheck)
		if err != nil {
			return err
		}
		if len(breaks) > 0 {
			why = fmt.Sprintf("entry %d: %s", breaks[0].Seq, breaks[0].Why)
		}
	}
	if why == "" {
		return nil
	}
	file := filepath.Base(s.path)
	return &sqlite.Trouble{
		Rule: sqlite.Sides, Err: errors.New(why),
		Say: fmt.Sprintf("%s and the log beside it, %s-wal, do not belong together: %s. Was the file replaced by hand? Nothing was changed.",
			file, file, why),
		Next: "Put the file back that the log belongs to; or restore a backup with the restore command, which keeps everything that is there now.",
	}
}
