package backup

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"threshday/internal/store/fault"
	"threshday/internal/store/sqlite"
)

// A plan is a restore that is ready to be put in place. Once it is on the disk the restore will be finished, by
// this process or by the next one that opens the file.
type plan struct {
	Fresh string `json:"fresh"` // the restored file, proved
	Aside string `json:"aside"` // the folder for what lies in its place now; empty: nothing does
}

func planOf(path string) string { return path + ".restore-plan" }

// StageOf returns the folder in which a restore of path is made ready.
func StageOf(path string) string { return path + ".restore" + Unfinished }

// Stage copies the backup into a new folder beside path, proves the copy against its manifest where there is one,
// and sets it up as a live file. It touches nothing at path.
func Stage(ctx context.Context, engine sqlite.Engine, from, path string) (fresh string, m Manifest, err error) {
	dir := StageOf(path)
	if err := os.RemoveAll(dir); err != nil {
		return "", m, err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", m, err
	}
	fresh = filepath.Join(dir, filepath.Base(path))
	if err := Copy(from, fresh); err != nil {
		return "", m, err
	}
	m = Manifest{File: filepath.Base(from)}
	if err := Prove(ctx, engine, fresh, &m); err != nil {
		return "", m, engine.Explain(from, "check the backup", err)
	}
	switch said, err := readManifest(manifestOf(from)); {
	case err == nil && said.SHA256 != m.SHA256:
		return "", m, bad(filepath.Base(from), "its bytes are not those of which the manifest speaks")
	case err == nil && said.Totals != m.Totals:
		return "", m, bad(filepath.Base(from), fmt.Sprintf("it adds up to %+v, the manifest says %+v", m.Totals, said.Totals))
	case err == nil:
		m = said
	}
	// A copy made by VACUUM INTO has no write-ahead log; opening it to write gives it one, closing folds it in.
	db, err := engine.Open(fresh, sqlite.Write)
	if err != nil {
		return "", m, err
	}
	var mode string
	err = db.QueryRowContext(ctx, `PRAGMA journal_mode`).Scan(&mode)
	if err == nil && mode != "wal" {
		err = fmt.Errorf("the restored file is in mode %s, not in WAL", mode)
	}
	if err := errors.Join(err, db.Close()); err != nil {
		return "", m, err
	}
	if err := errors.Join(syncFile(fresh), sqlite.SyncDir(dir)); err != nil {
		return "", m, err
	}
	fault.Reach("restore-staged")
	return fresh, m, nil
}

// Aside returns the name of a folder beside path that does not exist yet, for what a restore sets aside.
func Aside(path string, now time.Time) string {
	stamp := path + ".set-aside-" + now.UTC().Format("2006-01-02T15-04-05Z")
	aside := stamp
	for n := 2; ; n++ {
		if _, err := os.Stat(aside); errors.Is(err, fs.ErrNotExist) {
			return aside
		}
		aside = fmt.Sprintf("%s-%d", stamp, n)
	}
}

// Swap puts the staged file in the place of what lies at path, which goes with its side files into the folder
// aside; an empty aside says that nothing lies there.
func Swap(path, fresh, aside string) error {
	text, err := json.Marshal(plan{Fresh: fresh, Aside: aside})
	if err != nil {
		return err
	}
	if err := errors.Join(syncFile(fresh), sqlite.SyncDir(filepath.Dir(fresh))); err != nil {
		return err
	}
	if aside != "" {
		if err := os.Mkdir(aside, 0o700); err != nil {
			return err
		}
	}
	if err := writeSynced(planOf(path), text); err != nil {
		return err
	}
	fault.Reach("restore-planned")
	return Resume(path)
}

// Resume finishes a restore that was broken off after it was planned. Without one it does nothing.
func Resume(path string) error {
	text, err := os.ReadFile(planOf(path))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var p plan
	if err := json.Unmarshal(text, &p); err != nil {
		return fmt.Errorf("%s: %w", planOf(path), err)
	}
	// While the restored file still waits in its folder, whatever lies at path is the old one.
	if _, err := os.Stat(p.Fresh); err == nil {
		if err := p.setAside(path); err != nil {
			return err
		}
		if err := os.Rename(p.Fresh, path); err != nil {
			return err
		}
		if err := sqlite.SyncDir(filepath.Dir(path)); err != nil {
			return err
		}
		fault.Reach("restore-moved")
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := os.Remove(planOf(path)); err != nil {
		return err
	}
	if err := os.RemoveAll(filepath.Dir(p.Fresh)); err != nil {
		return err
	}
	return sqlite.SyncDir(filepath.Dir(path))
}

// setAside moves the file at path and its side files into the folder for them.
func (p plan) setAside(path string) error {
	if p.Aside == "" {
		return nil
	}
	files := append([]string{path}, sqlite.SideFiles(path)...)
	if fault.Planted("restore-leaves-log") {
		files = files[:1]
	}
	for _, f := range files {
		if err := os.Rename(f, filepath.Join(p.Aside, filepath.Base(f))); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		fault.Reach("restore-moving")
	}
	return errors.Join(sqlite.SyncDir(p.Aside), sqlite.SyncDir(filepath.Dir(path)))
}
