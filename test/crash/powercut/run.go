package powercut

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"sync/atomic"

	"github.com/ncruces/go-sqlite3"
	_ "github.com/ncruces/go-sqlite3/driver" // registers "sqlite3"
	"github.com/ncruces/go-sqlite3/vfs"

	"threshday/internal/core/journal"
	"threshday/internal/store"
	"threshday/internal/store/sqlite"
	"threshday/test/crash/script"
	"threshday/test/crash/verdict"
)

// path is where the data file lies on every simulated disk.
const path = "/book.db"

var disks atomic.Int64

// boot makes d the disk of an engine of its own, until stop is called.
func boot(d *Disk) (engine sqlite.Engine, stop func()) {
	name := fmt.Sprint("disk", disks.Add(1))
	vfs.Register(name, d)
	return sqlite.Engine{Driver: "sqlite3", VFS: name, Virtual: true, Code: code}, func() { vfs.Unregister(name) }
}

func code(err error) (int, bool) {
	var e *sqlite3.Error
	var extended sqlite3.ExtendedErrorCode
	var plain sqlite3.ErrorCode
	switch {
	case errors.As(err, &e):
		return int(e.ExtendedCode()), true
	case errors.As(err, &extended):
		return int(extended), true
	case errors.As(err, &plain):
		return int(plain), true
	}
	return 0, false
}

// A Day is one play of the script on a simulated disk: how many entries the file holds before, and how many are
// made, in requests of one to five, with the program closed and opened once in between.
type Day struct {
	Seed   uint64
	Before int
	Made   int
}

// DefaultDay is a short day: thirty entries over a file of twenty.
func DefaultDay(seed uint64) Day { return Day{Seed: seed, Before: 20, Made: 30} }

// A Runner plays days, one after the other. It keeps the file with which they begin.
type Runner struct {
	tmp  string
	base map[int]*Disk
}

// NewRunner returns a runner that works in the folder tmp.
func NewRunner(tmp string) *Runner { return &Runner{tmp: tmp, base: map[int]*Disk{}} }

func (r *Runner) folder() (string, error) { return os.MkdirTemp(r.tmp, "shm-") }

// begin returns a disk that holds the first entries of the script, closed and synced; with none, not even a file.
func (r *Runner) begin(ctx context.Context, before int) (*Disk, error) {
	d := r.base[before]
	if before == 0 {
		d = &Disk{}
	}
	if d == nil {
		shm, err := r.folder()
		if err != nil {
			return nil, err
		}
		d = NewDisk(shm)
		engine, stop := boot(d)
		defer stop()
		s, err := store.Open(ctx, path, options(engine))
		if err != nil {
			return nil, fmt.Errorf("begin: %w", err)
		}
		for n := 1; n <= before; n++ {
			if _, err := s.Append(ctx, script.Event(n)); err != nil {
				return nil, fmt.Errorf("begin: %w", err)
			}
		}
		if err := s.Close(); err != nil {
			return nil, fmt.Errorf("begin: %w", err)
		}
		r.base[before] = d
	}
	shm, err := r.folder()
	if err != nil {
		return nil, err
	}
	next := NewDisk(shm)
	for name, f := range d.files {
		next.files[name] = whole(slices.Clone(f.synced))
	}
	return next, nil
}

func options(engine sqlite.Engine) store.Options {
	return store.Options{Now: script.Now, Program: "crash test", Engine: &engine}
}

// A tally is what the phones know of their entries.
type tally struct {
	tried map[int]bool
	acked map[int]int64 // place in the book
}

// tries is how often a phone sends an entry again to an office whose disk is full, and how often the program is
// started again when it does not start.
const tries = 120

// play makes the entries of the day until all are made or the disk fails, and notes what was acknowledged. Errors
// are what is expected here; only a wrong acknowledgement is a fault. While the disk is full the program goes on
// and the entries are sent again; after any other error it is started once more.
func (day Day) play(ctx context.Context, engine sqlite.Engine, t *tally) {
	rng := rand.New(rand.NewPCG(day.Seed, 1)) //nolint:gosec // a repeatable draw, not a secret
	last, n, played := day.Before+day.Made, day.Before+1, 0
	for try := 0; n <= last && played < 2 && try < tries; try++ {
		s, err := store.Open(ctx, path, options(engine))
		if sqlite.Of(err) == sqlite.Full {
			continue
		}
		played++
		if err != nil {
			continue
		}
		until := last
		if played == 1 {
			until = day.Before + day.Made/2
		}
		n = t.send(ctx, s, rng, n, until)
		_ = s.Close() // on a dark disk nothing closes well
	}
}

// send makes entries n to until in requests of one to five, and returns the first that was not tried.
func (t *tally) send(ctx context.Context, s *store.Store, rng *rand.Rand, n, until int) int {
	for n <= until {
		var events []journal.Event
		first := n
		for range min(1+rng.IntN(5), until-n+1) {
			events = append(events, script.Event(n))
			t.tried[n] = true
			n++
		}
		answers, err := s.Append(ctx, events...)
		for try := 0; sqlite.Of(err) == sqlite.Full && try < tries; try++ {
			answers, err = s.Append(ctx, events...)
		}
		if err != nil {
			return n
		}
		for i, a := range answers {
			if a.InBook() {
				t.acked[first+i] = a.Seq
			}
		}
	}
	return n
}

// Cut plays the day on a disk that loses power at call k, switches it on again and returns, as an error, every
// promise that does not hold.
func (r *Runner) Cut(ctx context.Context, day Day, k int) error {
	d, err := r.begin(ctx, day.Before)
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(d.shm) }() // best effort: the folder lies in a temporary one
	engine, stop := boot(d)
	defer stop()
	t := newTally(day)
	d.CutAt(k)
	day.play(ctx, engine, t)
	d.Cut()
	return r.check(ctx, d, rand.New(rand.NewPCG(day.Seed, uint64(k))), t) //nolint:gosec // a repeatable draw, not a secret
}

func newTally(day Day) *tally {
	t := &tally{tried: map[int]bool{}, acked: map[int]int64{}}
	for n := 1; n <= day.Before; n++ {
		t.tried[n], t.acked[n] = true, int64(n)
	}
	return t
}

// CallsOf returns how many calls the day makes when nothing fails.
func (r *Runner) CallsOf(ctx context.Context, day Day) (int, error) {
	d, err := r.begin(ctx, day.Before)
	if err != nil {
		return 0, err
	}
	defer func() { _ = os.RemoveAll(d.shm) }() // best effort: the folder lies in a temporary one
	engine, stop := boot(d)
	defer stop()
	t := newTally(day)
	day.play(ctx, engine, t)
	if len(t.acked) != day.Before+day.Made {
		return 0, fmt.Errorf("on a sound disk %d of %d entries were acknowledged", len(t.acked)-day.Before, day.Made)
	}
	return d.Calls(), nil
}

// Fail plays the day on a disk that answers call k and count-1 after it with an error, cuts the power afterwards
// and checks as Cut does. It returns which call it was; "" when the day made fewer.
func (r *Runner) Fail(ctx context.Context, day Day, k, count int, full bool) (call string, err error) {
	d, err := r.begin(ctx, day.Before)
	if err != nil {
		return "", err
	}
	defer func() { _ = os.RemoveAll(d.shm) }() // best effort: the folder lies in a temporary one
	engine, stop := boot(d)
	defer stop()
	t := newTally(day)
	d.FailAt(k, count, full)
	day.play(ctx, engine, t)
	call = d.Failed()
	if lost := day.Before + day.Made - len(t.acked); full && lost > 0 {
		return call, fmt.Errorf("%d entries were not taken after there was room again", lost)
	}
	d.Cut()
	return call, r.check(ctx, d, rand.New(rand.NewPCG(day.Seed, uint64(k))), t) //nolint:gosec // a repeatable draw, not a secret
}

// check switches the disk on again and holds the book against what the phones know.
func (r *Runner) check(ctx context.Context, dark *Disk, rng *rand.Rand, t *tally) error {
	shm, err := r.folder()
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(shm) }() // best effort: the folder lies in a temporary one
	engine, stop := boot(dark.After(shm, rng))
	defer stop()
	s, err := store.Open(ctx, path, options(engine))
	if err != nil {
		return fmt.Errorf("does not open after the cut: %w", err)
	}
	return errors.Join(verdict.Check(ctx, s, t.tried, t.acked), s.Close())
}

// Cuts plays n days, each with a power cut at a call of its own chosen by seed, and returns the first promise that
// does not hold. On every fifth day there is no file yet, and the power may go while it is made.
func (r *Runner) Cuts(ctx context.Context, seed uint64, n int) error {
	rng := rand.New(rand.NewPCG(seed, 2)) //nolint:gosec // a repeatable draw, not a secret
	days := [5]Day{}
	calls := [len(days)]int{}
	for i := range days {
		if days[i] = DefaultDay(seed); i == 0 {
			days[i].Before = 0
		}
		var err error
		if calls[i], err = r.CallsOf(ctx, days[i]); err != nil {
			return err
		}
	}
	for i := range n {
		day := days[i%len(days)]
		// Requests are cut anew for each day, so calls is near the number, not equal to it.
		day.Seed = seed + uint64(i)
		k := 1 + rng.IntN(calls[i%len(days)])
		if err := r.Cut(ctx, day, k); err != nil {
			return fmt.Errorf("seed %d, power cut at call %d: %w", day.Seed, k, err)
		}
	}
	return nil
}

// Sweep plays the day once for every step-th call, which fails: that call alone, that call and all after it, and
// with a full disk from there on for a hundred calls. It returns the first promise that does not hold.
func (r *Runner) Sweep(ctx context.Context, day Day, step int) error {
	calls, err := r.CallsOf(ctx, day)
	if err != nil {
		return err
	}
	for k := 1; k <= calls; k += step {
		for _, how := range []struct {
			name  string
			count int
			full  bool
		}{{"one error", 1, false}, {"errors from there on", calls, false}, {"a full disk", 100, true}} {
			if call, err := r.Fail(ctx, day, k, how.count, how.full); err != nil {
				return fmt.Errorf("%s at call %d (%s): %w", how.name, k, call, err)
			}
		}
	}
	return nil
}
