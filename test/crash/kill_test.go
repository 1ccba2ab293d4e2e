package crash_test

import (
	"compress/gzip"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"threshday/internal/store"
	"threshday/test/crash/script"
)

var kills = flag.Int("kills", 20, "kills of the program under load")

// perFile is how many kills one data file lives through; then a new one is begun, so that checks stay short.
const perFile = 12

func TestKills(t *testing.T) {
	t.Parallel()
	program := build(t, "")
	acked := 0
	for done := 0; done < *kills; {
		p := newPhones(program, t.TempDir(), *seed+uint64(done))
		for i := 0; i < perFile && done < *kills; i++ {
			p.cycle(t)
			done++
			// Now and then the next start finds the file as the kill left it, with nobody in between.
			if p.dice(2) == 0 {
				continue
			}
			if err := p.verdict(t.Context()); err != nil {
				t.Fatalf("after kill %d, seed %d: %v", done, *seed, err)
			}
		}
		if err := p.verdict(t.Context()); err != nil {
			t.Fatalf("after kill %d, seed %d: %v", done, *seed, err)
		}
		acked += len(p.acked)
	}
	t.Logf("%d kills, %d entries acknowledged, none lost, none doubled", *kills, acked)
	if acked == 0 {
		t.Error("nothing was acknowledged: the test proves nothing")
	}
}

// TestKillsWhileTheFileIsMade kills the program in its first moments with a file that does not exist yet.
func TestKillsWhileTheFileIsMade(t *testing.T) {
	t.Parallel()
	program := build(t, "")
	for i := range max(*kills/3, 5) {
		p := newPhones(program, t.TempDir(), *seed+uint64(i))
		for range 2 {
			r := p.start(t)
			<-time.After(time.Duration(5_000+p.dice(60_000)) * time.Microsecond)
			r.kill(t)
		}
		if err := p.verdict(t.Context()); err != nil {
			t.Fatalf("after kill %d: %v", i+1, err)
		}
	}
}

// TestDeathAtEachPoint kills the program at each point that the source names, while it does what leads there.
func TestDeathAtEachPoint(t *testing.T) {
	t.Parallel()
	program := build(t, "fault")
	for _, point := range []struct {
		name, command string
		times         int // how often the point may be passed before it is the last
	}{
		{"mid-migration", "", 1},
		{"before-commit", "", 3},
		{"after-commit", "", 3},
		{"mid-import", "import 200 230", 1},
		{"mid-rebuild", "rebuild", 1},
		{"backup-before-check", "backup", 1},
		{"backup-before-rename", "backup", 1},
		{"backup-before-manifest", "backup", 1},
		{"backup-after-manifest", "backup", 1},
	} {
		t.Run(point.name, func(t *testing.T) {
			t.Parallel()
			p := newPhones(program, t.TempDir(), *seed)
			if point.name != "mid-migration" {
				r := p.start(t)
				<-r.ready
				p.feed(r, 30)
				if err := r.in.Close(); err != nil {
					t.Fatal(err)
				}
				<-r.done
				if err := r.cmd.Wait(); err != nil {
					t.Fatalf("%v: %s", err, r.errs.String())
				}
			}
			r := p.start(t, "-point", point.name, "-n", fmt.Sprint(1+p.dice(point.times)))
			<-r.ready
			for n := 200; n < 230; n++ {
				p.tried[n] = true
			}
			command := point.command
			if command == "" {
				for n := 200; n < 230; n++ {
					command += fmt.Sprintf("put %d\n", n)
				}
			}
			_, _ = io.WriteString(r.in, command+"\n") // a broken pipe is what a kill looks like from here
			<-r.done
			if err := r.cmd.Wait(); err == nil || r.cmd.ProcessState.ExitCode() != -1 {
				t.Fatalf("the program did not die at %s: %v %s", point.name, err, r.errs.String())
			}
			if err := p.verdict(t.Context()); err != nil {
				t.Error(err)
			}
		})
	}
}

// TestDeathDuringARestore kills a restore at each of its points: the file is then the old one or the new one, whole.
func TestDeathDuringARestore(t *testing.T) {
	t.Parallel()
	program := build(t, "fault")
	for _, point := range []struct {
		name string
		n    int
	}{{"restore-staged", 1}, {"restore-planned", 1}, {"restore-moving", 1}, {"restore-moving", 2}, {"restore-moving", 4}, {"restore-moved", 1}} {
		t.Run(fmt.Sprint(point.name, " ", point.n), func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			p := newPhones(program, dir, *seed)
			file := p.withLog(t)
			cmd := exec.CommandContext(t.Context(), program, "restore", "-data", p.data, "-from", file, "-point", point.name, "-n", fmt.Sprint(point.n))
			if text, err := cmd.CombinedOutput(); err == nil || cmd.ProcessState.ExitCode() != -1 {
				t.Fatalf("the restore did not die at %s: %v %s", point.name, err, text)
			}
			s, err := store.Open(t.Context(), p.data, store.Options{Now: script.Now})
			if err != nil {
				t.Fatal(err)
			}
			restores, err := s.Restores(t.Context(), script.Farm)
			if err != nil {
				t.Fatal(err)
			}
			totals, err := s.Totals(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			old, fresh := script.Totals(upTo(30)), script.Totals(upTo(20))
			fresh.Entries++ // the note of the restore
			if restores == 0 && totals != old || restores == 1 && totals != fresh || restores > 1 {
				t.Errorf("%d restores, %+v; want %+v before or %+v after", restores, totals, old, fresh)
			}
			report, err := s.Doctor(t.Context(), true)
			if err != nil {
				t.Fatal(err)
			}
			for _, c := range report.Checks {
				if !c.OK() && c.Name != "devices" && c.Name != "disk" {
					t.Errorf("%s %+v", c.Asked, c.Findings)
				}
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			if err := p.leftovers(); err != nil {
				t.Error(err)
			}
			if kept, err := filepath.Glob(p.data + ".set-aside-*"); restores == 1 && (err != nil || len(kept) != 1) {
				t.Errorf("what was there is not kept: %v, %v", kept, err)
			}
		})
	}
}

// TestDeathWhileTheTablesChange kills the program while it brings a file of the first version to its own: the file
// is then the old one or the new one, and adds up to the same.
func TestDeathWhileTheTablesChange(t *testing.T) {
	t.Parallel()
	program := build(t, "fault")
	for _, point := range []string{"backup-before-check", "backup-before-manifest", "mid-migration", "mid-rebuild"} {
		t.Run(point, func(t *testing.T) {
			t.Parallel()
			p := newPhones(program, t.TempDir(), *seed)
			unpack(t, "../../internal/store/testdata/museum/schema-1.db.gz", p.data)
			r := p.start(t, "-point", point)
			<-r.done
			if err := r.cmd.Wait(); err == nil || r.cmd.ProcessState.ExitCode() != -1 {
				t.Fatalf("the program did not die at %s: %v %s", point, err, r.errs.String())
			}
			s, err := store.Open(t.Context(), p.data, store.Options{Now: script.Now})
			if err != nil {
				t.Fatal(err)
			}
			report, err := s.Doctor(t.Context(), true)
			if err != nil {
				t.Fatal(err)
			}
			for _, c := range report.Checks {
				if !c.OK() && c.Name != "disk" {
					t.Errorf("%s %+v", c.Asked, c.Findings)
				}
			}
			// As the exhibit's label says.
			if got := report.Totals; got.Entries != 517 || got.NetLb != 19_443_896 || got.NetKg != 109_617 {
				t.Errorf("got %+v", got)
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			if err := p.leftovers(); err != nil {
				t.Error(err)
			}
		})
	}
}

func unpack(t *testing.T, from, to string) {
	t.Helper()
	in, err := os.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close() // it is only read
	z, err := gzip.NewReader(in)
	if err != nil {
		t.Fatal(err)
	}
	content, err := io.ReadAll(io.LimitReader(z, 64<<20))
	if err == nil {
		err = os.WriteFile(to, content, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}
