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
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"threshday/internal/core/journal"
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
	inLog   int      // entries since the log was last copied into the file; the writer's

	requests chan request
	closing  chan struct{}
	stopped  chan struct{} // closed when the writer has ended
	once     sync.Once

	mu      sync.Mutex
	failure error // why the writer ended

	// The writer's memory of the transaction that is open.
	heads map[string]head
	names map[string][]journal.Name
	moved []journal.ID // loads whose rows the event that is projected changes

	moves moves
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
		return nil, errors.Join(s.offerBackup(s.explain("open "+path, err)), s.release())
	}
	return s, nil
}

// offerBackup adds to the trouble of a damaged file which backup there is.
func (s *Store) offerBackup(err error) error {
	var t *sqlite.Trouble
	if !errors.As(err, &t) || t.Rule != sqlite.Damaged && t.Rule != sqlite.Sides || s.engine.Virtual {
		return err
	}
	// A list that cannot be read offers nothing.
	if list, listErr := s.Backups(); listErr == nil && len(list) > 0 {
		m := list[0]
		t.Next += fmt.Sprintf(" The newest good backup is %s with %d entries, made %s.",
			filepath.Join(s.backups, m.File), m.Totals.Entries, m.Made.Format(time.RFC3339))
	}
	return err
}

func (s *Store) open(ctx context.Context, o Options) error {
	if !s.engine.Virtual {
		var err error
		if s.path, err = filepath.Abs(s.path); err != nil {
			return err
		}
		if s.backups == "" {
			s.backups = backupsBeside(s.path)
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
	// A log that lies here was left by a program that ended badly, perhaps after a failed sync. Its end may then be
	// readable and yet not on the disk, and what is written behind it would be lost with it. [pg-fsync]
	if _, err := db.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
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
