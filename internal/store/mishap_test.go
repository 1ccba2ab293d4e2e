package store_test

import (
	"database/sql"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/journal"
	"threshday/internal/store"
	"threshday/internal/store/backup"
	"threshday/internal/store/sqlite"
)

func TestALaterProgramsFileIsNotTouched(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "book.db")
	s, err := store.Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	put(t, s, load(1, nil))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	change(t, path, `PRAGMA user_version = 99`, `UPDATE facts SET value = 'Threshday 1.8' WHERE name = 'program'`)
	before := read(t, path)
	_, err = store.Open(t.Context(), path, options())
	if sqlite.Of(err) != sqlite.Newer || !strings.Contains(err.Error(), "1.8") || !strings.Contains(err.Error(), "1.6") {
		t.Errorf("got %v, want a refusal that names both versions", err)
	}
	if read(t, path) != before {
		t.Error("the file was changed")
	}
	o := options()
	o.ReadOnly = true
	r := open(t, path, o)
	var out strings.Builder
	if err := r.Dump(t.Context(), &out); err != nil || !strings.Contains(out.String(), `"ticket":"000001"`) {
		t.Errorf("dump: %q, %v", out.String(), err)
	}
}

// change runs statements on a closed file, as somebody with another tool would.
func change(t *testing.T, path string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range statements {
		if _, err := db.Exec(q); err != nil {
			t.Fatal(q, err)
		}
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestAForeignFileIsNotTouched(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	other := filepath.Join(dir, "other.db")
	change(t, other, `CREATE TABLE pets (name TEXT)`)
	photo := filepath.Join(dir, "photo.jpg")
	if err := os.WriteFile(photo, []byte(strings.Repeat("not a database ", 100)), 0o600); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{other: sqlite.Foreign, photo: sqlite.Damaged} {
		before := read(t, path)
		_, err := store.Open(t.Context(), path, options())
		if sqlite.Of(err) != want {
			t.Errorf("%s: got %v, want %s", path, err, want)
		}
		if read(t, path) != before {
			t.Errorf("%s was changed", path)
		}
	}
}

func TestTwoProcessesNeverShareAFile(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	_, err := store.Open(t.Context(), s.Path(), options())
	if sqlite.Of(err) != sqlite.Running || !strings.Contains(err.Error(), fmt.Sprint(os.Getpid())) || !strings.Contains(err.Error(), "test") {
		t.Errorf("got %v, want a refusal that names the process", err)
	}
	o := options()
	o.ReadOnly = true
	r := open(t, s.Path(), o)
	put(t, s, load(1, nil))
	if got := pounds(t, r); got != 40_001 {
		t.Errorf("a reader sees %d lb, want 40001", got)
	}
	if _, err := r.Append(t.Context(), load(2, nil)); sqlite.Of(err) != sqlite.ReadOnly {
		t.Errorf("got %v, want a refusal", err)
	}
}

func TestALockedFileIsSaidToBeLocked(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	other, err := sql.Open("sqlite", "file:"+s.Path()+"?_txlock=exclusive")
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	tx, err := other.Begin()
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.Append(t.Context(), load(1, nil))
	if sqlite.Of(err) != sqlite.Locked {
		t.Errorf("got %v, want %s", err, sqlite.Locked)
	}
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	if got := statuses(put(t, s, load(1, nil))); got != "stored" {
		t.Errorf("after the other let go: %s", got)
	}
}

func TestALogWithoutItsFile(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "book.db")
	if err := os.WriteFile(path+"-wal", []byte("the newest entries"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Open(t.Context(), path, options()); sqlite.Of(err) != sqlite.Sides {
		t.Errorf("got %v, want a refusal: the log may hold the only copy", err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("a new file was begun beside the log")
	}
}

// crash copies a live file and its log as a power cut would leave them.
func crash(t *testing.T, path, to string) {
	t.Helper()
	for _, end := range []string{"", "-wal"} {
		if err := backup.Copy(path+end, to+end); err != nil {
			t.Fatal(err)
		}
	}
}

func TestAnUncleanStopIsRecovered(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	put(t, s, load(1, nil), load(2, nil))
	after := filepath.Join(t.TempDir(), "book.db")
	crash(t, s.Path(), after)
	again := open(t, after, options())
	if !again.Unclean() {
		t.Error("the stop was not noticed")
	}
	if got := pounds(t, again); got != 80_003 {
		t.Errorf("got %d lb, want 80003", got)
	}
	sound(t, again)
}

func TestYesterdaysCopyUnderTodaysLogIsRefused(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "book.db")
	s, err := store.Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	var yesterday []journal.Event
	for n := 1; n <= 200; n++ {
		yesterday = append(yesterday, load(n, nil))
	}
	put(t, s, yesterday...)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(dir, "yesterday.db")
	if err := backup.Copy(path, copied); err != nil {
		t.Fatal(err)
	}
	// Today's first entries are in the file, the last ones only in the log, when the power fails.
	if s, err = store.Open(t.Context(), path, options()); err != nil {
		t.Fatal(err)
	}
	for n := 201; n <= 500; n++ {
		put(t, s, load(n, nil))
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, path, options())
	for n := 501; n <= 505; n++ {
		put(t, s, load(n, nil))
	}
	// Somebody copies yesterday's file over it and leaves the log.
	mixed := filepath.Join(t.TempDir(), "book.db")
	if err := backup.Copy(copied, mixed); err != nil {
		t.Fatal(err)
	}
	if err := backup.Copy(path+"-wal", mixed+"-wal"); err != nil {
		t.Fatal(err)
	}
	before, log := read(t, mixed), read(t, mixed+"-wal")
	_, err = store.Open(t.Context(), mixed, options())
	if rule := sqlite.Of(err); rule != sqlite.Sides && rule != sqlite.Damaged {
		t.Errorf("got %v, want a refusal", err)
	}
	if read(t, mixed) != before || read(t, mixed+"-wal") != log {
		t.Error("the files were changed")
	}
}

func TestAClockThatGoesBackChangesNothing(t *testing.T) {
	t.Parallel()
	c := &clock{at: start}
	s := open(t, filepath.Join(t.TempDir(), "book.db"), store.Options{Now: c.now})
	put(t, s, load(1, nil))
	c.move(-365 * 24 * time.Hour)
	e := load(2, func(l *journal.Load) { l.Day, l.CropYear = day.AddDays(-365), 2030 })
	e.At = c.now()
	if a := put(t, s, e)[0]; a.Seq != 2 {
		t.Errorf("got %+v, want place 2", a)
	}
	r, err := s.Doctor(t.Context(), true)
	if err != nil {
		t.Fatal(err)
	}
	told := false
	for _, check := range r.Checks {
		if check.Name == "clock" {
			told = len(check.Findings) == 1 && check.OK()
		}
	}
	if !told {
		t.Errorf("the doctor does not tell of the clock: %+v", r.Checks)
	}
	sound(t, s)
}

func TestDoctorFindsWhatSomebodyChanged(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, check string
		attack      []string
	}{
		{"a weight in an entry", "chain", []string{`DROP TRIGGER events_stay_as_they_are`, `UPDATE events SET body = replace(body, '67002', '97002') WHERE seq = 2`}},
		{"an entry taken out", "chain", []string{`DROP TRIGGER events_stay`, `DELETE FROM events WHERE seq = 2`}},
		{"the newest entries taken out", "backups", []string{`DROP TRIGGER events_stay`, `DELETE FROM events WHERE seq > 2`}},
		{"a total", "derived", []string{`UPDATE loads SET net_lb = net_lb + 1000 WHERE load_id LIKE '%3'`, `UPDATE load_fields SET net_lb = net_lb + 1000 WHERE load_id LIKE '%3' AND field = 'west'`}},
		{"a part of a load", "parts", []string{`UPDATE load_fields SET net_lb = net_lb + 1 WHERE field = 'west'`}},
		{"a load without its book", "file", []string{`DELETE FROM loads`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "book.db")
			s, err := store.Open(t.Context(), path, options())
			if err != nil {
				t.Fatal(err)
			}
			put(t, s, load(1, nil), load(2, nil), load(3, nil))
			if _, err := s.Backup(t.Context(), "asked"); err != nil {
				t.Fatal(err)
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			change(t, path, c.attack...)
			s = open(t, path, options())
			r, err := s.Doctor(t.Context(), true)
			if err != nil {
				t.Fatal(err)
			}
			found := false
			for _, check := range r.Checks {
				found = found || check.Name == c.check && !check.OK()
			}
			if !found || r.OK() {
				t.Errorf("not found by %q: %+v", c.check, r.Checks)
			}
		})
	}
}

func TestRebuildMendsTheTables(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "book.db")
	s, err := store.Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	put(t, s, load(1, nil), load(2, nil))
	good, err := s.Digest(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	change(t, path, `UPDATE loads SET net_lb = 1`)
	s = open(t, path, options())
	was, is, err := s.Rebuild(t.Context())
	if err != nil || was == good || is != good {
		t.Errorf("got %s, then %s, %v; want it to end at %s", was, is, err, good)
	}
	sound(t, s)
}

func TestADamagedFileOffersTheBackup(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "book.db")
	s, err := store.Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	put(t, s, load(1, nil))
	m, err := s.Backup(t.Context(), "asked")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(strings.Repeat("lightning", 2000)), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = store.Open(t.Context(), path, options())
	if sqlite.Of(err) != sqlite.Damaged || !strings.Contains(err.Error(), m.File) {
		t.Errorf("got %v, want the name of the backup", err)
	}
	r, err := store.Restore(t.Context(), path, filepath.Join(dir, "backups", m.File), options())
	if err != nil || r.Now.NetLb != 40_001 || r.Left != nil {
		t.Errorf("got %+v, %v", r, err)
	}
	if kept := read(t, filepath.Join(r.Kept, "book.db")); !strings.HasPrefix(kept, "lightning") {
		t.Error("the damaged file was not kept as it was")
	}
}

var flips = flag.Int("flips", 8, "files with one bit changed to look at")

func TestADamagedPageIsDetectedOrHarmless(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	var events []journal.Event
	for n := 1; n <= 150; n++ {
		events = append(events, load(n, nil))
	}
	put(t, s, events...)
	want := pounds(t, s)
	m, err := s.Backup(t.Context(), "asked")
	if err != nil {
		t.Fatal(err)
	}
	clean := filepath.Join(filepath.Dir(s.Path()), "backups", m.File)
	for n := range *flips {
		path := filepath.Join(t.TempDir(), "book.db")
		if err := backup.Copy(clean, path); err != nil {
			t.Fatal(err)
		}
		// One bit, spread over the file by a fixed stride that hits headers, keys and bodies.
		flip(t, path, (int64(n)*104_729+61)%m.Size)
		r, err := store.Open(t.Context(), path, options())
		if err != nil {
			if sqlite.Of(err) == "" {
				t.Errorf("bit %d: %v is not said in words", n, err)
			}
			continue
		}
		report, err := r.Doctor(t.Context(), true)
		if err != nil {
			t.Fatal(err)
		}
		healthy := true
		for _, c := range report.Checks {
			healthy = healthy && (c.OK() || c.Name == "backups") // the backup stayed with the sound file
		}
		// What the doctor does not find must be harmless.
		if sums, err := r.LoadTotals(t.Context(), "", store.LoadQuery{Farm: "home"}); healthy && (err != nil || sums[0].NetLb != want) {
			t.Errorf("bit %d: nothing found, and totals are %+v, %v", n, sums, err)
		}
		_ = r.Close() // a damaged file need not close well
	}
}
