// Package backup makes copies of a live data file that count only once they were synced, opened again, checked
// and totalled; and puts one back without destroying what was there.
//
// A copy is good when its manifest lies beside it. The package knows which tables a book has only through
// package proof, and when a backup is due only by what it is told.
package backup

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"threshday/internal/store/fault"
	"threshday/internal/store/proof"
	"threshday/internal/store/sqlite"
)

// Unfinished ends the name of everything that does not count yet; whatever bears it may be deleted.
const Unfinished = ".unfinished"

// A Manifest says what a good backup holds.
type Manifest struct {
	File    string       `json:"file"`   // its name in the folder
	Number  int          `json:"number"` // counts up; the order of backups, whatever the clock did
	Made    time.Time    `json:"made"`
	Reason  string       `json:"reason"` // "scheduled", "asked", "before-migration", "before-import"
	Program string       `json:"program"`
	Size    int64        `json:"size"`
	SHA256  string       `json:"sha256"`
	Heads   []Head       `json:"heads"`
	Totals  proof.Totals `json:"totals"`
}

// A Head is the newest entry of a farm's book in a backup; its hash is the anchor of the chain.
type Head struct {
	Farm string `json:"farm"`
	Seq  int64  `json:"seq"`
	Hash string `json:"hash"`
}

// An Order says what to back up and where to.
type Order struct {
	Engine  sqlite.Engine
	Path    string // the live file
	Dir     string // made when it is not there
	Reason  string
	Program string
	Now     time.Time
}

// Make backs up a live file. Others may read and write it meanwhile; the copy is of one moment.
func Make(ctx context.Context, o Order) (Manifest, error) {
	if err := os.MkdirAll(o.Dir, 0o700); err != nil {
		return Manifest{}, err
	}
	have, err := List(o.Dir)
	if err != nil {
		return Manifest{}, err
	}
	m := Manifest{Number: 1, Made: o.Now.UTC().Truncate(time.Second), Reason: o.Reason, Program: o.Program}
	if len(have) > 0 {
		m.Number = have[0].Number + 1
	}
	m.File = fmt.Sprintf("book-%06d-%s.db", m.Number, m.Made.Format("2006-01-02T15-04-05Z"))
	final := filepath.Join(o.Dir, m.File)
	draft := final + Unfinished
	if err := copyAndProve(ctx, o, draft, &m); err != nil {
		return Manifest{}, errors.Join(err, removeAny(draft))
	}
	fault.Reach("backup-before-rename")
	if err := os.Rename(draft, final); err != nil {
		return Manifest{}, err
	}
	if err := sqlite.SyncDir(o.Dir); err != nil {
		return Manifest{}, err
	}
	fault.Reach("backup-before-manifest")
	// The manifest comes last: without it the copy does not count.
	if err := writeManifest(manifestOf(final), m); err != nil {
		return Manifest{}, err
	}
	fault.Reach("backup-after-manifest")
	return m, nil
}

// copyAndProve copies the live file to draft and proves the copy.
func copyAndProve(ctx context.Context, o Order, draft string, m *Manifest) error {
	live, err := o.Engine.Open(o.Path, sqlite.Source)
	if err != nil {
		return err
	}
	defer func() { _ = live.Close() }() // it only reads
	live.SetMaxOpenConns(1)
	before, err := proof.Count(ctx, live)
	if err != nil {
		return err
	}
	if err := removeAny(draft); err != nil {
		return err
	}
	if _, err := live.ExecContext(ctx, `VACUUM INTO $1`, draft); err != nil {
		return err
	}
	// VACUUM INTO does not promise that the copy is on the disk. [sqlite-vacuum]
	if err := syncFile(draft); err != nil {
		return err
	}
	fault.Reach("backup-before-check")
	if err := Prove(ctx, o.Engine, draft, m); err != nil {
		return err
	}
	for _, h := range m.Heads {
		hash, ok, err := proof.HashAt(ctx, live, h.Farm, h.Seq)
		if err != nil {
			return err
		}
		if !ok || hash.String() != h.Hash {
			return bad(m.File, fmt.Sprintf("its entry %d of %s is not the one in the live file", h.Seq, h.Farm))
		}
	}
	after, err := proof.Count(ctx, live)
	if err != nil {
		return err
	}
	if before == after && m.Totals != before {
		return bad(m.File, fmt.Sprintf("it adds up to %+v, the live file to %+v", m.Totals, before))
	}
	return nil
}

// Prove opens the copy at path and checks every page, the whole chain and its size on disk, and fills the
// manifest with what it found. It does not change the copy.
func Prove(ctx context.Context, engine sqlite.Engine, path string, m *Manifest) error {
	db, err := engine.Open(path, sqlite.Frozen)
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }() // it only reads
	wrong, err := proof.Structure(ctx, db, true)
	if err != nil {
		return err
	}
	if len(wrong) > 0 {
		return bad(filepath.Base(path), wrong[0])
	}
	breaks, err := proof.Chain(ctx, db, 0)
	if err != nil {
		return err
	}
	if len(breaks) > 0 {
		return bad(filepath.Base(path), fmt.Sprintf("entry %d of %s: %s", breaks[0].Seq, breaks[0].Farm, breaks[0].Why))
	}
	if m.Totals, err = proof.Count(ctx, db); err != nil {
		return err
	}
	heads, err := proof.Heads(ctx, db)
	if err != nil {
		return err
	}
	m.Heads = nil
	for _, h := range heads {
		m.Heads = append(m.Heads, Head{h.Farm, h.Seq, h.Hash.String()})
	}
	m.Size, m.SHA256, err = sum(path)
	return err
}

func bad(file, why string) error {
	return &sqlite.Trouble{
		Rule: sqlite.BadCopy, Say: fmt.Sprintf("%s is not a good copy: %s.", file, why),
		Next: "Use another backup; run doctor on the data file.",
	}
}

// List returns the good backups in dir, the newest first. A copy whose manifest is missing, unreadable or says
// another size does not count.
func List(dir string) ([]Manifest, error) {
	files, err := filepath.Glob(filepath.Join(dir, "book-*.json"))
	if err != nil {
		return nil, err
	}
	var list []Manifest
	for _, f := range files {
		m, err := readManifest(f)
		if err != nil {
			continue
		}
		if info, err := os.Stat(filepath.Join(dir, m.File)); err == nil && info.Size() == m.Size {
			list = append(list, m)
		}
	}
	slices.SortFunc(list, func(a, b Manifest) int { return b.Number - a.Number })
	return list, nil
}

// manifestOf returns the name of the manifest of the backup at path.
func manifestOf(path string) string { return path[:len(path)-len(filepath.Ext(path))] + ".json" }

func readManifest(file string) (Manifest, error) {
	var m Manifest
	text, err := os.ReadFile(file) //nolint:gosec // the path is the user's own
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(text, &m); err != nil {
		return m, fmt.Errorf("%s: %w", file, err)
	}
	if m.File == "" || m.File != filepath.Base(m.File) {
		return m, fmt.Errorf("%s names no file beside it", file)
	}
	return m, nil
}

func writeManifest(file string, m Manifest) error {
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	return writeSynced(file, append(text, '\n'))
}

// writeSynced puts text under a name so that after a power cut the file is there whole or not at all.
func writeSynced(file string, text []byte) error {
	draft := file + Unfinished
	f, err := os.OpenFile(draft, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600) //nolint:gosec // the path is the user's own
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if err := errors.Join(err, f.Close()); err != nil {
		return errors.Join(err, removeAny(draft))
	}
	if err := os.Rename(draft, file); err != nil {
		return err
	}
	return sqlite.SyncDir(filepath.Dir(file))
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0) //nolint:gosec // the path is the user's own
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// Copy copies a file and syncs the copy.
func Copy(from, to string) error {
	in, err := os.Open(from) //nolint:gosec // the path is the user's own
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }()                                     // it only reads
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600) //nolint:gosec // the path is the user's own
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	if err == nil {
		err = out.Sync()
	}
	return errors.Join(err, out.Close())
}

// sum returns the size and SHA-256 of a file.
func sum(path string) (size int64, hexSum string, err error) {
	f, err := os.Open(path) //nolint:gosec // the path is the user's own
	if err != nil {
		return 0, "", err
	}
	defer func() { _ = f.Close() }() // it only reads
	h := sha256.New()
	size, err = io.Copy(h, f)
	return size, hex.EncodeToString(h.Sum(nil)), err
}

// removeAny deletes path and what SQLite may have left beside it.
func removeAny(path string) error {
	var errs []error
	for _, f := range append(sqlite.SideFiles(path), path) {
		if err := os.RemoveAll(f); err != nil && !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}
