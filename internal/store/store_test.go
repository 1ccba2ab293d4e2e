package store_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
	"threshday/internal/store"
	"threshday/internal/store/sqlite"
)

var (
	day   = calendar.MustDay("2031-09-14")
	start = time.Date(2031, 9, 14, 18, 0, 0, 0, time.UTC)
)

func ptr[T any](v T) *T { return &v }

// A clock is one that the test moves.
type clock struct {
	mu sync.Mutex
	at time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

func (c *clock) move(d time.Duration) {
	c.mu.Lock()
	c.at = c.at.Add(d)
	c.mu.Unlock()
}

func options() store.Options {
	c := &clock{at: start}
	return store.Options{Now: c.now, Program: "Threshday 1.6", What: "test"}
}

// open opens the file at path and closes it after the test.
func open(t testing.TB, path string, o store.Options) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), path, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return s
}

func fresh(t testing.TB) *store.Store {
	return open(t, filepath.Join(t.TempDir(), "book.db"), options())
}

// id returns a fixed event ID.
func id(n int) journal.ID { return journal.ID(fmt.Sprintf("00000000-0000-7000-8000-%012d", n)) }

func event(n int, kind journal.Kind, body []byte, origin journal.Origin) journal.Event {
	return journal.Event{Farm: "home", ID: id(n), Kind: kind, Body: body, Origin: origin, At: start, Offset: -300, Day: day, By: "owner"}
}

// load is event n, a load with ticket n and a net of 40,000 + n lb, changed by f.
func load(n int, f func(*journal.Load)) journal.Event {
	return event(n, "load.recorded", loadBody(n, f), journal.Outbox)
}

func loadBody(n int, f func(*journal.Load)) []byte {
	l := journal.Load{
		Ticket: fmt.Sprintf("%06d", n), Outlet: "river", Crop: crop.Corn, CropYear: 2031, Truck: fmt.Sprint("truck-", n%3), Day: day,
		From:     []journal.Part{{Field: "north-40", Share: 2}, {Field: "west", Share: 1}},
		Weights:  journal.Weights{Unit: journal.Pounds, Gross: ptr(int64(67_000 + n)), Tare: ptr(int64(27_000))},
		Moisture: ptr(trade.Percent(15_60)), In: ptr(start.Add(time.Duration(n) * time.Hour)),
	}
	if f != nil {
		f(&l)
	}
	return journal.LoadBody(l)
}

func say(n int, kind journal.Kind, s journal.Saying) journal.Event {
	if s.Reason == "" {
		s.Reason = "test"
	}
	_, act, _ := kind.Split()
	return event(n, kind, journal.SayingBody(act, s), journal.Outbox)
}

// put appends events and returns how each was answered.
func put(t testing.TB, s *store.Store, events ...journal.Event) []journal.Answer {
	t.Helper()
	answers, err := s.Append(t.Context(), events...)
	if err != nil {
		t.Fatal(err)
	}
	return answers
}

func statuses(answers []journal.Answer) string {
	var out []string
	for _, a := range answers {
		out = append(out, string(a.Status))
	}
	return strings.Join(out, " ")
}

// pounds returns what counts in all.
func pounds(t testing.TB, s *store.Store) int64 {
	t.Helper()
	sums, err := s.LoadTotals(t.Context(), "", store.LoadQuery{Farm: "home"})
	if err != nil {
		t.Fatal(err)
	}
	if len(sums) == 0 {
		return 0
	}
	return sums[0].NetLb
}

// sound checks everything a doctor can.
func sound(t testing.TB, s *store.Store) {
	t.Helper()
	r, err := s.Doctor(t.Context(), true)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range r.Checks {
		if !c.OK() && c.Name != "backups" && c.Name != "disk" && c.Name != "devices" {
			t.Errorf("%s %+v", c.Asked, c.Findings)
		}
	}
}

func TestEachEventGetsItsOwnAnswer(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	bad := event(2, "load.recorded", []byte(`{"net":1.5}`), journal.Outbox)
	answers := put(t, s, load(1, nil), bad, load(3, nil), load(1, nil))
	if got, want := statuses(answers), "stored refused stored already"; got != want {
		t.Fatalf("got %s, want %s", got, want)
	}
	if answers[2].Seq != 2 || answers[3].Seq != 1 {
		t.Errorf("places %d and %d, want 2 and 1: a refused event takes no place", answers[2].Seq, answers[3].Seq)
	}
	if got, want := pounds(t, s), int64(80_004); got != want {
		t.Errorf("got %d lb, want %d", got, want)
	}
	sound(t, s)
}

func TestSentFiveTimesItCountsOnce(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	for range 5 {
		if a := put(t, s, load(1, nil))[0]; !a.InBook() || a.Seq != 1 {
			t.Fatalf("got %+v, want a place in the book", a)
		}
	}
	other := load(1, func(l *journal.Load) { l.Weights.Gross = ptr(int64(99_000)) })
	a := put(t, s, other)[0]
	if a.Status != journal.Refused || a.Problems[0].Rule != "entry.duplicate" || !strings.Contains(a.Problems[0].Say, "67001") || !strings.Contains(a.Problems[0].Say, "99000") {
		t.Errorf("other content: got %+v", a)
	}
	if got := pounds(t, s); got != 40_001 {
		t.Errorf("got %d lb, want 40001", got)
	}
}

func TestAllOrNothing(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	put(t, s, load(1, nil))
	events := []journal.Event{load(2, nil), load(3, func(l *journal.Load) { l.Moisture = ptr(trade.Percent(130_00)) }), load(4, nil)}
	for i := range events {
		events[i].Origin = journal.Import
	}
	before, err := s.Totals(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	answers, err := s.AppendAll(t.Context(), events)
	if err != nil || statuses(answers) != "stored refused stored" {
		t.Fatalf("got %s, %v", statuses(answers), err)
	}
	if after, err := s.Totals(t.Context()); err != nil || after != before {
		t.Errorf("got %+v, %v; want %+v: nothing of a refused import stays", after, err, before)
	}
	if answers, err = s.AppendAll(t.Context(), []journal.Event{events[0], events[2]}); err != nil || statuses(answers) != "stored stored" {
		t.Errorf("got %s, %v", statuses(answers), err)
	}
	sound(t, s)
}

func TestLoadsThatLookLikeOneCountOnce(t *testing.T) {
	t.Parallel()
	same := func(l *journal.Load) { l.Ticket = "004512" }
	for _, c := range []struct {
		name    string
		events  []journal.Event
		want    int64
		waiting string
	}{
		{"two phones, one ticket", []journal.Event{load(1, same), load(2, same)}, 40_001, "[load.double]"},
		{"the later one arrives first", []journal.Event{load(2, same), load(1, same)}, 40_001, "[load.double]"},
		{"both are kept", []journal.Event{load(1, same), load(2, same), say(3, "load.kept", journal.Saying{Of: id(2)})}, 80_003, ""},
		{"they are merged", []journal.Event{load(1, same), load(2, same), say(3, "load.merged", journal.Saying{Of: id(2), Into: id(1)})}, 40_001, ""},
		{
			"merged the other way round",
			[]journal.Event{load(1, same), load(2, same), say(3, "load.merged", journal.Saying{Of: id(1), Into: id(2)})},
			40_002, "",
		},
		{
			"merged both ways by two people", []journal.Event{
				load(1, nil), load(2, nil), say(3, "load.merged", journal.Saying{Of: id(1), Into: id(2)}),
				say(4, "load.merged", journal.Saying{Of: id(2), Into: id(1)}),
			}, 40_001, "",
		},
		{
			"a merge that was set aside", []journal.Event{
				load(1, nil), load(2, nil), say(3, "load.merged", journal.Saying{Of: id(2), Into: id(1)}),
				say(4, "load.set-aside", journal.Saying{Of: id(2), Events: []journal.ID{id(3)}}),
			}, 80_003, "",
		},
		{"the one that counted is voided", []journal.Event{load(1, same), load(2, same), say(3, "load.voided", journal.Saying{Of: id(1), Saw: id(1)})}, 40_002, ""},
		{
			"merged into one that is voided", []journal.Event{
				load(1, same), load(2, same), say(3, "load.merged", journal.Saying{Of: id(2), Into: id(1)}),
				say(4, "load.voided", journal.Saying{Of: id(1), Saw: id(1)}),
			}, 40_002, "[load.merge]",
		},
		{
			"the ticket number was misread", []journal.Event{
				load(1, same), load(2, same), say(3, "load.corrected", journal.Saying{Of: id(2), Saw: id(2), To: loadBody(2, nil)}),
			}, 80_003, "",
		},
		{"a merge that arrives before its loads", []journal.Event{say(3, "load.merged", journal.Saying{Of: id(2), Into: id(1)}), load(2, nil), load(1, nil)}, 40_001, ""},
		{"full and empty weight swapped", []journal.Event{load(1, func(l *journal.Load) { l.Weights.Gross, l.Weights.Tare = l.Weights.Tare, l.Weights.Gross })}, 0, "[load.weight-order]"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := fresh(t)
			put(t, s, c.events...)
			if got := pounds(t, s); got != c.want {
				t.Errorf("got %d lb, want %d", got, c.want)
			}
			waiting, err := s.Waiting(t.Context(), "home")
			if err != nil {
				t.Fatal(err)
			}
			var why []string
			for _, w := range waiting {
				why = append(why, fmt.Sprint(w.Why))
			}
			if got := strings.Join(why, " "); got != c.waiting {
				t.Errorf("waiting: got %s, want %s", got, c.waiting)
			}
			sound(t, s)
		})
	}
}

func TestWhatAnEditMeets(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		before []journal.Event
		event  journal.Event
		rule   string
		form   journal.Status
	}{
		{"a current version", []journal.Event{load(1, nil)}, say(9, "load.corrected", journal.Saying{Of: id(1), Saw: id(1), To: loadBody(5, nil)}), "", journal.Stored},
		{"no record yet", nil, say(9, "load.voided", journal.Saying{Of: id(1), Saw: id(1)}), "record.unknown", journal.Refused},
		{
			"a version somebody else replaced",
			[]journal.Event{load(1, nil), say(2, "load.corrected", journal.Saying{Of: id(1), Saw: id(1), To: loadBody(5, nil)})},
			say(9, "load.corrected", journal.Saying{Of: id(1), Saw: id(1), To: loadBody(6, nil)}), "record.stale", journal.Refused,
		},
		{
			"a voided record",
			[]journal.Event{load(1, nil), say(2, "load.voided", journal.Saying{Of: id(1), Saw: id(1)})},
			say(9, "load.corrected", journal.Saying{Of: id(1), Saw: id(1), To: loadBody(6, nil)}), "record.void", journal.Refused,
		},
		{
			"a record of another kind",
			[]journal.Event{load(1, nil)},
			say(9, "reading.voided", journal.Saying{Of: id(1), Saw: id(1)}),
			"record.subject", journal.Refused,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := fresh(t)
			if len(c.before) > 0 {
				put(t, s, c.before...)
			}
			form := c.event
			form.Origin, form.ID = journal.Form, id(8)
			if a := put(t, s, form)[0]; a.Status != c.form {
				t.Errorf("form: got %+v, want %s", a, c.form)
			}
			s2 := fresh(t)
			if len(c.before) > 0 {
				put(t, s2, c.before...)
			}
			a := put(t, s2, c.event)[0]
			want := journal.Review
			if c.rule == "" {
				want = journal.Stored
			}
			if a.Status != want || c.rule != "" && a.Problems[0].Rule != c.rule {
				t.Errorf("outbox: got %+v, want %s %s", a, want, c.rule)
			}
			sound(t, s2)
		})
	}
}

func TestAnEntryIsNeverChangedOrDeleted(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "book.db")
	s := open(t, path, options())
	put(t, s, load(1, nil))
	db, err := sqlite.Product().Open(path, sqlite.Write)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, attack := range []string{
		`UPDATE events SET body = '{}'`,
		`DELETE FROM events`,
		`INSERT OR REPLACE INTO events SELECT * FROM events`,
		`INSERT INTO events SELECT * FROM events WHERE true ON CONFLICT (farm_id, seq) DO UPDATE SET body = '{}'`,
	} {
		if _, err := db.Exec(attack); err == nil || !strings.Contains(err.Error(), "never") {
			t.Errorf("%s: got %v, want a refusal", attack, err)
		}
	}
	sound(t, s)
}

func TestManyWritersShareCommitsAndLoseNothing(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	const writers, each = 20, 25
	var wait sync.WaitGroup
	for w := range writers {
		wait.Go(func() {
			for i := range each {
				n := w*each + i + 1
				answers, err := s.Append(context.Background(), load(n, nil))
				if err != nil || answers[0].Status != journal.Stored {
					t.Errorf("load %d: %+v, %v", n, answers, err)
				}
			}
		})
	}
	wait.Wait()
	var want int64
	for n := 1; n <= writers*each; n++ {
		want += 40_000 + int64(n)
	}
	if got := pounds(t, s); got != want {
		t.Errorf("got %d lb, want %d", got, want)
	}
	sound(t, s)
}

func TestNothingIsLeftBesideAClosedFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s, err := store.Open(t.Context(), filepath.Join(dir, "book.db"), options())
	if err != nil {
		t.Fatal(err)
	}
	put(t, s, load(1, nil))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(t.Context(), load(2, nil)); err == nil {
		t.Error("a closed store took an entry")
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range files {
		names = append(names, f.Name())
	}
	if got := fmt.Sprint(names); got != "[book.db book.db.lock]" {
		t.Errorf("got %s", got)
	}
}
