// Package store keeps the farm's book in one SQLite file: every entry for ever, in order, chained; and beside
// them tables derived from the entries, from which pages and plans read.
//
// What Append has answered as stored survives a power cut in the next microsecond, counts once however often it
// is sent, and is never changed. One goroutine writes; readers never wait for it. The package knows the farm's
// records as journal has them; it reads no season file and computes no money. How it is proved: docs/store.md.
package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"threshday/internal/core/journal"
	"threshday/internal/store/backup"
	"threshday/internal/store/fault"
	"threshday/internal/store/proof"
	"threshday/internal/store/sqlite"
)

// Options say how a data file is opened.
type Options struct {
	Now     func() time.Time // the clock; required
	Program string           // this program and its version, as messages name it: "Threshday 1.6"
	// What introduces this process to a second one that finds the file in use: "serve on 127.0.0.1:8088".
	What string
	// Wait is how long to wait for another process of this program to let go of the file; zero: not at all.
	Wait time.Duration
	// Backups is the folder for backups; empty: "backups" beside the file.
	Backups string
	// ReadOnly opens the file without a lock and takes no entries. A file of a later version, a damaged one and
	// one in use can be looked at this way.
	ReadOnly bool
	Engine   *sqlite.Engine // nil: the program's own
	Log      *slog.Logger   // nil: nothing is logged
}

// A Store is an open data file. Its methods may be used by several goroutines.
type Store struct {
	path, backups, program string
	now                    func() time.Time
	engine                 sqlite.Engine
	log                    *slog.Logger
	lock                   *sqlite.Lock
	readOnly               error // why nothing is taken; nil: entries are taken
	isNew, unclean         bool
	aside                  string // a temporary folder with a copy that is read in the file's place; empty: none

	reads   *sql.DB
	writeDB *sql.DB
	w       *session // the writer's, and nobody else's

	requests chan request
	closing  chan struct{}
	stopped  chan struct{} // closed when the writer has ended
	once     sync.Once

	mu      sync.Mutex
	failure error // why the writer ended

	// The writer's memory of the transaction that is open.
	heads    map[string]head
	names    map[string][]journal.Name
	apart    []journal.Event // used by a planted bug only
	apartNow bool
}

// Open opens the data file at path, or begins one. It finishes a restore that was broken off, looks a file over
// that was not closed properly, and brings an older one to this version after a backup. Every failure that a
// person can do something about is a [*sqlite.Trouble].
func Open(ctx context.Context, path string, o Options) (*Store, error) {
	return open(ctx, path, o, nil)
}

// open is Open for a caller who may hold the file's lock already.
func open(ctx context.Context, path string, o Options, lock *sqlite.Lock) (*Store, error) {
	if o.Now == nil {
		panic("store: no clock")
	}
	s := &Store{
		path: path, backups: o.Backups, program: o.Program, now: o.Now, log: o.Log,
		requests: make(chan request), closing: make(chan struct{}), stopped: make(chan struct{}),
		names: map[string][]journal.Name{},
	}
	s.engine = sqlite.Product()
	if o.Engine != nil {
		s.engine = *o.Engine
	}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if s.program == "" {
		s.program = "this version"
	}
	s.lock = lock
	if err := s.open(ctx, o); err != nil {
		return nil, errors.Join(s.explain("open "+path, err), s.release())
	}
	return s, nil
}

func (s *Store) open(ctx context.Context, o Options) error {
	if !s.engine.Virtual {
		var err error
		if s.path, err = filepath.Abs(s.path); err != nil {
			return err
		}
		if s.backups == "" {
			s.backups = filepath.Join(filepath.Dir(s.path), "backups")
		}
		if err := s.prepareDisk(ctx, o); err != nil {
			return err
		}
	}
	if o.ReadOnly && s.readOnly == nil {
		s.readOnly = &sqlite.Trouble{
			Rule: sqlite.ReadOnly, Say: filepath.Base(s.path) + " was opened to be read only; no entry is taken.",
			Next: "Open it without that.",
		}
	}
	if s.readOnly != nil {
		return s.openToRead(ctx)
	}
	err := s.explain("open "+s.path, s.openToWrite(ctx))
	if sqlite.Of(err) != sqlite.Full || s.engine.Virtual {
		return err
	}
	// Even the index of the log needs room. What is there can be read; for more the program starts again.
	s.readOnly = err
	if err := s.closeWriter(); err != nil {
		return err
	}
	return s.openToRead(ctx)
}

// closeWriter closes what openToWrite opened. Readers go first, so that the writer is the last and copies the log
// into the file.
func (s *Store) closeWriter() error {
	var errs []error
	if s.reads != nil {
		errs = append(errs, s.reads.Close())
	}
	if s.w != nil {
		errs = append(errs, s.w.close())
	}
	if s.writeDB != nil {
		errs = append(errs, s.writeDB.Close())
	}
	s.reads, s.w, s.writeDB = nil, nil, nil
	return errors.Join(errs...)
}

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

// openToWrite opens the file for entries.
func (s *Store) openToWrite(ctx context.Context) error {
	if err := s.lookOver(ctx); err != nil {
		return err
	}
	db, err := s.engine.Open(s.path, sqlite.Write)
	if err != nil {
		return err
	}
	s.writeDB = db
	v, err := versionOf(ctx, db)
	if err != nil {
		return err
	}
	if err := s.accept(ctx, db, v); err != nil {
		return err
	}
	if err := checkEngine(ctx, db); err != nil {
		return err
	}
	var before *proof.Totals
	if v.schema < Schema {
		if before, err = s.migrate(ctx, db, v); err != nil {
			return err
		}
	}
	if s.w, err = newSession(ctx, db); err != nil {
		return err
	}
	if err := s.settleFacts(ctx); err != nil {
		return err
	}
	if before != nil {
		if err := s.proveMigration(ctx, *before); err != nil {
			return err
		}
	}
	if s.reads, err = s.engine.Open(s.path, sqlite.Read); err != nil {
		return err
	}
	s.reads.SetMaxOpenConns(readers)
	s.reads.SetMaxIdleConns(readers)
	// One reader is open from now on: the writer is then never the last to close after a failure.
	if err := s.reads.PingContext(ctx); err != nil {
		return err
	}
	if _, err := proof.Heads(ctx, s.reads); err != nil {
		return err
	}
	go s.write()
	return nil
}

// readers is how many queries run beside the writer.
const readers = 4

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
	defer db.Close() // it only reads
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

// Path returns the data file, absolute.
func (s *Store) Path() string { return s.path }

// ReadOnly returns why no entries are taken; nil when they are.
func (s *Store) ReadOnly() error { return s.readOnly }

// Unclean reports whether the file had not been closed properly when it was opened: the power failed, or the
// program was ended. Nothing is lost by that; a full Doctor is due.
func (s *Store) Unclean() bool { return s.unclean }

// newID makes the ID of an entry that the program itself makes.
func (s *Store) newID() journal.ID {
	var random [10]byte
	// Read from crypto/rand never fails; the documentation promises it.
	_, _ = rand.Read(random[:])
	return journal.NewID(s.now(), random)
}

// NewID makes the ID of an entry, at the moment of entry.
func (s *Store) NewID() journal.ID { return s.newID() }

// Close waits for entries on their way, closes the file and lets go of it. Entries sent later are refused.
func (s *Store) Close() error {
	var err error
	s.once.Do(func() {
		close(s.closing)
		if s.readOnly == nil {
			<-s.stopped
		}
		err = s.release()
	})
	return err
}

// release closes what is open. After a failure the writer is closed already.
func (s *Store) release() error {
	var errs []error
	s.mu.Lock()
	if s.failure != nil {
		s.w, s.writeDB = nil, nil
	}
	s.mu.Unlock()
	errs = append(errs, s.closeWriter())
	if s.aside != "" {
		errs = append(errs, os.RemoveAll(s.aside))
	}
	errs = append(errs, s.lock.Release())
	return errors.Join(errs...)
}
