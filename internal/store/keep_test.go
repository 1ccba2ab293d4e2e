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

func TestABackupHoldsWhatWasThere(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	put(t, s, load(1, nil), load(2, nil))
	m, err := s.Backup(t.Context(), "asked")
	if err != nil {
		t.Fatal(err)
	}
	totals, err := s.Totals(t.Context())
	if err != nil || m.Totals != totals || m.Totals.NetLb != 80_003 {
		t.Errorf("got %+v, the book has %+v, %v", m.Totals, totals, err)
	}
	if list, err := s.Backups(); err != nil || len(list) != 1 || list[0].SHA256 != m.SHA256 {
		t.Errorf("listed %+v, %v", list, err)
	}
}

func TestACopyThatIsNotGoodIsNotListed(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	o := options()
	o.Backups = filepath.Join(dir, "backups")
	s := open(t, filepath.Join(dir, "book.db"), o)
	put(t, s, load(1, nil))
	m, err := s.Backup(t.Context(), "asked")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(o.Backups, m.File)
	manifest := strings.TrimSuffix(file, ".db") + ".json"
	for name, spoil := range map[string]func() error{
		"cut short":        func() error { return os.Truncate(file, m.Size-1) },
		"without manifest": func() error { return os.Rename(manifest, manifest+".gone") },
		"without copy":     func() error { return os.Rename(file, file+".gone") },
	} {
		if err := spoil(); err != nil {
			t.Fatal(err)
		}
		if list, err := s.Backups(); err != nil || len(list) != 0 {
			t.Errorf("%s: listed %+v, %v", name, list, err)
		}
		// Put it right again.
		_ = os.Truncate(file, m.Size)
		_ = os.Rename(manifest+".gone", manifest)
		_ = os.Rename(file+".gone", file)
	}
}

// flip changes one bit of a file.
func flip(t *testing.T, path string, at int64) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	b := []byte{0}
	if _, err := f.ReadAt(b, at); err != nil {
		t.Fatal(err)
	}
	b[0] ^= 0x10
	if _, err := f.WriteAt(b, at); err != nil {
		t.Fatal(err)
	}
}

func TestARestoreKeepsWhatWasThereAndCounts(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "book.db")
	o := options()
	s, err := store.Open(t.Context(), path, o)
	if err != nil {
		t.Fatal(err)
	}
	put(t, s, load(1, nil), load(2, nil))
	m, err := s.Backup(t.Context(), "asked")
	if err != nil {
		t.Fatal(err)
	}
	put(t, s, load(3, nil))
	file := filepath.Join(dir, "backups", m.File)
	if _, err := store.Restore(t.Context(), path, file, o); sqlite.Of(err) != sqlite.Running {
		t.Fatalf("restored over an open file: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	r, err := store.Restore(t.Context(), path, file, o)
	if err != nil {
		t.Fatal(err)
	}
	want := m.Totals
	want.Entries++ // the note of the restore itself
	if r.Now != want || r.Left == nil || r.Left.NetLb != 120_006 {
		t.Errorf("now %+v, left %+v; want %+v and 120006 lb", r.Now, r.Left, want)
	}
	// Set aside, not destroyed: the third load is there.
	old := open(t, filepath.Join(r.Kept, "book.db"), o)
	if got := pounds(t, old); got != 120_006 {
		t.Errorf("set aside: %d lb, want 120006", got)
	}
	s = open(t, path, o)
	if n, err := s.Restores(t.Context(), "home"); err != nil || n != 1 {
		t.Errorf("%d restores, %v", n, err)
	}
	// The phone offers everything again: what was lost comes back, the rest counts once.
	if got := statuses(put(t, s, load(1, nil), load(2, nil), load(3, nil))); got != "already already stored" {
		t.Errorf("offered again: %s", got)
	}
	if got := pounds(t, s); got != 120_006 {
		t.Errorf("got %d lb, want 120006", got)
	}
	sound(t, s)
}

func TestARestoreOnAMachineThatNeverSawTheFarm(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	put(t, s, load(1, nil))
	m, err := s.Backup(t.Context(), "asked")
	if err != nil {
		t.Fatal(err)
	}
	stick := filepath.Join(t.TempDir(), "stick.db") // the copy alone, without its manifest
	if err := backup.Copy(filepath.Join(filepath.Dir(s.Path()), "backups", m.File), stick); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "new", "book.db")
	r, err := store.Restore(t.Context(), path, stick, options())
	if err != nil || r.Now.NetLb != 40_001 || r.Kept != "" {
		t.Errorf("got %+v, %v", r, err)
	}
	left, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*"))
	if err != nil || len(left) != 2 {
		t.Errorf("left %v, %v; want the file and its lock", left, err)
	}
}

func TestABadBackupIsNotRestored(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "book.db")
	s, err := store.Open(t.Context(), path, options())
	if err != nil {
		t.Fatal(err)
	}
	var events []journal.Event
	for n := 1; n <= 60; n++ {
		events = append(events, load(n, nil))
	}
	put(t, s, events...)
	m, err := s.Backup(t.Context(), "asked")
	if err != nil {
		t.Fatal(err)
	}
	want := pounds(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "backups", m.File)
	for at := int64(0); at < m.Size; at += m.Size/37 + 11 {
		flip(t, file, at)
		if r, err := store.Restore(t.Context(), path, file, options()); err == nil {
			t.Fatalf("a bit flipped at %d of %d was restored: %+v", at, m.Size, r)
		}
		flip(t, file, at)
	}
	s = open(t, path, options())
	if got := pounds(t, s); got != want {
		t.Errorf("after refused restores: %d lb, want %d", got, want)
	}
}

func TestBackupsAreMadeWhenDueAndKeptByCount(t *testing.T) {
	t.Parallel()
	c := &clock{at: start}
	s := open(t, filepath.Join(t.TempDir(), "book.db"), store.Options{Now: c.now})
	made := func() bool {
		t.Helper()
		m, _, err := s.Maintain(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return m != nil
	}
	if made() {
		t.Error("an empty book was backed up")
	}
	put(t, s, load(1, nil))
	if !made() || made() {
		t.Error("want one backup of the first entry")
	}
	put(t, s, load(2, nil))
	c.move(59 * time.Minute)
	if made() {
		t.Error("backed up again within the hour")
	}
	c.move(time.Minute)
	if !made() {
		t.Error("no backup an hour after, with a load since")
	}
	put(t, s, event(90, "season.set", journal.SeasonBody(journal.Season{Text: "x", Names: []journal.Name{}}), journal.Import))
	c.move(23 * time.Hour)
	if made() {
		t.Error("backed up within the day, with no load since")
	}
	c.move(time.Hour)
	if !made() {
		t.Error("no backup a day after, with an entry since")
	}
	put(t, s, load(3, nil))
	c.move(-3 * 365 * 24 * time.Hour)
	if !made() {
		t.Error("no backup after the clock was set back by years")
	}
	if list, err := s.Backups(); err != nil || len(list) != 4 {
		t.Errorf("%d backups, %v; want 4: none goes because the clock jumped", len(list), err)
	}
}

func TestWhichBackupsAreSpare(t *testing.T) {
	t.Parallel()
	// Two seasons of a backup every hour, the newest first.
	var list []backup.Manifest
	at := time.Date(2032, 11, 30, 20, 0, 0, 0, time.UTC)
	for n := 9000; n > 0; n-- {
		list = append(list, backup.Manifest{Number: n, File: fmt.Sprint(n), Made: at, Reason: backup.Scheduled})
		at = at.Add(-time.Hour)
	}
	list[5000].Reason = "before-migration"
	spare := backup.Spare(list)
	kept := map[int]bool{}
	for _, m := range list {
		kept[m.Number] = true
	}
	for _, m := range spare {
		delete(kept, m.Number)
	}
	// 24 hours; 14 days, the last two of which (20:00 is 21 h into its day) are among the hours already; 8 weeks,
	// two of which end on a kept day; the year before; and the one made before a change.
	for hour := range 24 {
		if !kept[9000-hour] {
			t.Errorf("the backup of %d hours ago is gone", hour)
		}
	}
	days, weeks := map[string]bool{}, map[string]bool{}
	years := map[int]bool{}
	for _, m := range list {
		if kept[m.Number] {
			y, w := m.Made.ISOWeek()
			days[m.Made.Format(time.DateOnly)], weeks[fmt.Sprint(y, w)], years[m.Made.Year()] = true, true, true
		}
	}
	if len(days) < 14 || len(weeks) < 8 || len(years) != 2 || !kept[4000] {
		t.Errorf("kept %d days, %d weeks, %d years, marked %v", len(days), len(weeks), len(years), kept[4000])
	}
	if len(kept) > 24+14+8+2+1 {
		t.Errorf("%d are kept", len(kept))
	}
}

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
