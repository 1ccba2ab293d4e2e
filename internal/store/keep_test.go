package store_test

import (
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

func TestBallastHoldsRoomUntilItIsReleased(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	for range 2 {
		if kept, err := s.KeepBallast(); err != nil || !kept {
			t.Fatalf("got %v, %v", kept, err)
		}
	}
	info, err := os.Stat(s.Path() + ".ballast")
	if err != nil || info.Size() != 64<<20 {
		t.Errorf("got %+v, %v; want 64 MB", info, err)
	}
	for _, want := range []bool{true, false} {
		if ok, err := s.ReleaseBallast(); err != nil || ok != want {
			t.Errorf("released: got %v, %v; want %v", ok, err, want)
		}
	}
}
