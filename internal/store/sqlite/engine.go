// Package sqlite opens database files the way the book needs them, and says in words what befell one.
//
// The settings stand in the data source name, so that every connection of a pool has them: write-ahead log,
// full synchronisation, foreign keys, transactions that take the write lock when they begin. The package knows
// no table. [sqlite-wal] [sqlite-pragma]
package sqlite

import (
	"database/sql"
	"errors"
	"net/url"
	"path/filepath"
	"strings"

	modernc "modernc.org/sqlite"

	"threshday/internal/store/fault"
)

// An Engine is a build of SQLite under a driver. The product has one, [Product]; the power-cut simulator brings
// another, whose files are not the operating system's.
type Engine struct {
	Driver string // as registered with database/sql
	VFS    string // the file system SQLite runs on; empty: the operating system's
	// Code returns the extended result code in an error of the driver.
	Code func(error) (code int, ok bool)
	// Virtual says that no file of the operating system stands behind a path: no lock file, no side files to
	// judge, no backups.
	Virtual bool
}

// Product is the engine of the program.
func Product() Engine {
	return Engine{Driver: "sqlite", Code: func(err error) (int, bool) {
		var e *modernc.Error
		if !errors.As(err, &e) {
			return 0, false
		}
		return e.Code(), true
	}}
}

// A Mode is what a connection may do.
type Mode int

// The modes.
const (
	Write  Mode = iota
	Read        // queries only; takes part in the log of a live file
	Source      // as Read, and may be copied into another file
	// Frozen reads a file as it lies, without its log, and never touches what lies beside it.
	Frozen
)

// busyMS is how long a connection waits for another program's lock.
const busyMS = "5000"

// Open returns a pool over the file at path. Nothing is opened until the first query.
func (e Engine) Open(path string, m Mode) (*sql.DB, error) {
	q := url.Values{}
	pragma := func(s string) { q.Add("_pragma", s) }
	pragma("busy_timeout(" + busyMS + ")")
	if e.VFS != "" {
		q.Set("vfs", e.VFS)
	}
	switch m {
	case Write:
		q.Set("_txlock", "immediate")
		// A new file is made with a rollback journal, and takes its log in exchange. EXTRA makes the deletion of
		// that journal last: one that came back after a power cut would take the file back to its beginning,
		// whatever the log holds. With a log there is no difference to FULL. [sqlite-pragma]
		if !fault.Planted("make-with-full") {
			pragma("synchronous(EXTRA)")
		}
		pragma("journal_mode(WAL)")
		pragma("wal_autocheckpoint(0)") // the writer empties the log itself, and hears when that fails
		switch {
		case fault.Planted("sync-normal"):
			pragma("synchronous(NORMAL)")
		case fault.Planted("sync-off"):
			pragma("synchronous(OFF)")
		default:
			pragma("synchronous(FULL)")
		}
		pragma("cache_size(-32768)") // 32 MB: an import into millions of loads touches many pages of indexes
		pragma("temp_store(MEMORY)") // what a savepoint may have to take back needs no file
		// INSERT OR REPLACE deletes; with this the trigger that refuses deletion sees it.
		pragma("recursive_triggers(1)")
	case Read:
		q.Set("mode", "ro")
		pragma("query_only(1)")
	case Source:
		q.Set("mode", "ro")
	case Frozen:
		q.Set("mode", "ro")
		q.Set("immutable", "1")
		pragma("query_only(1)")
	}
	pragma("foreign_keys(1)")
	pragma("mmap_size(0)") // a stray pointer must not reach the file
	db, err := sql.Open(e.Driver, fileURI(path)+"?"+q.Encode())
	if err != nil {
		return nil, err
	}
	if m == Write {
		db.SetMaxOpenConns(1)
	}
	return db, nil
}

// fileURI returns path as the SQLite URI of a file, with the marks escaped that would end it. [sqlite-uri]
func fileURI(path string) string {
	path = filepath.ToSlash(path)
	if filepath.VolumeName(path) != "" {
		path = "/" + path // file:/C:/…
	}
	return "file:" + strings.NewReplacer("%", "%25", "?", "%3f", "#", "%23").Replace(path)
}

// SideFiles are what SQLite may keep beside the file at path.
func SideFiles(path string) []string {
	return []string{path + "-wal", path + "-shm", path + "-journal"}
}
