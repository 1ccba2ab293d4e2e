package crash_test

import (
	"fmt"
	"os/exec"
	"strings"
	"testing"

	"threshday/internal/store"
	"threshday/test/crash/script"
)

// TestEveryPlantedBugIsCaught plants the bugs that people make in stores, one at a time, and asks the tests of this
// folder to find each within a number of tries. A test that never fails proves nothing.
func TestEveryPlantedBugIsCaught(t *testing.T) {
	t.Parallel()
	program := build(t, "fault")
	killed := func(t *testing.T, bug string, tries int) error {
		t.Helper()
		for done := 0; done < tries; {
			p := newPhones(program, t.TempDir(), *seed+uint64(done), "-plant", bug)
			for i := 0; i < 2 && done < tries; i++ {
				p.cycle(t)
				done++
			}
			if err := p.verdict(t.Context()); err != nil {
				return err
			}
		}
		return nil
	}
	command := func(t *testing.T, args ...string) error {
		t.Helper()
		text, err := exec.CommandContext(t.Context(), program, args...).CombinedOutput()
		if err != nil {
			return fmt.Errorf("%s", text)
		}
		return nil
	}
	for _, bug := range []struct {
		name  string
		tries int
		find  func(t *testing.T, bug string, tries int) error
		says  string // what the finding must be about
	}{
		{"answer-before-commit", 200, killed, "acknowledged and is gone"},
		{"projection-apart", 500, killed, "differ from those that were there"},
		{"new-id-each-time", 50, killed, "never sent"},
		{"upsert", 200, killed, "fail put"},
		{"unlink-log", 100, killed, ""}, // lost entries, or a file that does not open
		{"correct-in-place", 1, func(t *testing.T, bug string, _ int) error {
			p := newPhones(program, t.TempDir(), *seed, "-plant", bug)
			r := p.start(t)
			<-r.ready
			for n := 1; n <= 6; n++ {
				p.tried[n] = true
			}
			if _, err := r.in.Write([]byte("import 1 7\n")); err != nil {
				t.Fatal(err)
			}
			<-r.first
			r.kill(t)
			return p.verdict(t.Context())
		}, "not what was written"},
		{"restore-leaves-log", 20, func(t *testing.T, bug string, tries int) error {
			for range tries {
				p := newPhones(program, t.TempDir(), *seed)
				file := p.withLog(t)
				if err := command(t, "restore", "-data", p.data, "-from", file, "-plant", bug); err != nil {
					return err
				}
				if err := counted(t, p.data); err != nil {
					return err
				}
			}
			return nil
		}, ""}, // the log does not belong, or the totals are wrong
		{"sync-normal", 50, func(t *testing.T, bug string, tries int) error {
			return command(t, "cuts", "-plant", bug, "-n", fmt.Sprint(tries))
		}, "acknowledged and is gone"},
		{"make-with-full", 100, func(t *testing.T, bug string, tries int) error {
			return command(t, "cuts", "-plant", bug, "-n", fmt.Sprint(tries))
		}, "acknowledged and is gone"},
		{"sync-off", 20, func(t *testing.T, bug string, tries int) error {
			return command(t, "cuts", "-plant", bug, "-n", fmt.Sprint(tries))
		}, ""}, // lost entries, or a damaged file
		{"swallow-sync-error", 1, func(t *testing.T, bug string, _ int) error {
			return command(t, "sweep", "-plant", bug)
		}, "acknowledged and is gone"},
	} {
		t.Run(bug.name, func(t *testing.T) {
			t.Parallel()
			err := bug.find(t, bug.name, bug.tries)
			if err == nil {
				t.Fatalf("not caught in %d tries", bug.tries)
			}
			if !strings.Contains(err.Error(), bug.says) {
				t.Errorf("caught, but by %q, which does not say %q", err, bug.says)
			}
		})
	}
}

// counted returns, as an error, how a restored file of twenty entries and a note differs from that.
func counted(t *testing.T, data string) error {
	t.Helper()
	s, err := store.Open(t.Context(), data, store.Options{Now: script.Now})
	if err != nil {
		return err
	}
	defer s.Close() // it is not used again
	got, err := s.Totals(t.Context())
	if err != nil {
		return err
	}
	want := script.Totals(upTo(20))
	want.Entries++
	if got != want {
		return fmt.Errorf("restored %+v, want %+v", got, want)
	}
	return nil
}
