package powercut

import (
	"math/rand/v2"
	"testing"

	"threshday/internal/store"
	"threshday/internal/store/sqlite"
	"threshday/test/crash/script"
	"threshday/test/crash/verdict"
)

// A sync that failed is never tried again, though it would succeed: the system may have dropped what it could not
// write. [pg-fsync]
func TestAfterAFailedSyncNothingIsTaken(t *testing.T) {
	for _, kind := range []string{"sync", "write"} {
		t.Run(kind, func(t *testing.T) {
			r := NewRunner(t.TempDir())
			d, err := r.begin(t.Context(), 20)
			if err != nil {
				t.Fatal(err)
			}
			engine, stop := boot(d)
			defer stop()
			s, err := store.Open(t.Context(), path, options(engine))
			if err != nil {
				t.Fatal(err)
			}
			syncs := 0
			know := newTally(Day{Before: 20})
			for n := 21; n <= 25; n++ {
				know.tried[n] = true
				answers, err := s.Append(t.Context(), script.Event(n))
				switch {
				case n < 23 && err == nil:
					know.acked[n] = answers[0].Seq
				case n < 23 || sqlite.Of(err) != sqlite.Stopped:
					t.Errorf("entry %d: %v", n, err)
				}
				if n == 22 {
					d.FailNext(kind)
					syncs = d.Syncs()
				}
			}
			if got, err := s.Totals(t.Context()); err != nil || got.Entries < 22 {
				t.Errorf("what is there can no longer be read: %+v, %v", got, err)
			}
			if err := s.Close(); err != nil {
				t.Errorf("close: %v", err)
			}
			if n := d.Syncs() - syncs; n > 1 {
				t.Errorf("after the disk had failed it was asked to sync %d times", n-1)
			}
			d.Cut()
			shm, err := r.folder()
			if err != nil {
				t.Fatal(err)
			}
			engine, stop = boot(d.After(shm, rand.New(rand.NewPCG(1, 1))))
			defer stop()
			if s, err = store.Open(t.Context(), path, options(engine)); err != nil {
				t.Fatal(err)
			}
			if err := verdict.Check(t.Context(), s, know.tried, know.acked); err != nil {
				t.Error(err)
			}
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		})
	}
}
