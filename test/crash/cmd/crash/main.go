// Command crash is the program that the crash tests kill: it enters the script's entries as it is told, and says
// what the store answered. With the build tag "fault" one bug or one point of death can be chosen.
//
//	crash enter   -data FILE                 commands on standard input, answers on standard output
//	crash restore -data FILE -from BACKUP
//	crash cuts    -n N                       N simulated power cuts
//	crash sweep   -step N                    an error at every N-th call of a simulated day
package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"threshday/internal/core/journal"
	"threshday/internal/store"
	"threshday/test/crash/powercut"
	"threshday/test/crash/script"
)

func main() {
	if len(os.Args) < 2 {
		fmt.Fprintln(os.Stderr, "usage: crash enter|restore|cuts|sweep [flags]")
		os.Exit(2)
	}
	f := flag.NewFlagSet(os.Args[1], flag.ExitOnError)
	data := f.String("data", "", "data file")
	from := f.String("from", "", "backup file")
	bug := f.String("plant", "", "bug to plant")
	point := f.String("point", "", "point at which to die")
	n := f.Int("n", 1, "how many cuts; which time the point is reached")
	step := f.Int("step", 1, "every which call fails")
	seed := f.Uint64("seed", 1, "seed of the cuts")
	_ = f.Parse(os.Args[2:]) // exits by itself
	err := choose(*bug, *point, *n)
	if err == nil {
		err = run(context.Background(), os.Args[1], *data, *from, *n, *step, *seed)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(ctx context.Context, what, data, from string, n, step int, seed uint64) error {
	o := store.Options{Now: script.Now, Program: "crash test", What: "crash " + what}
	switch what {
	case "enter":
		return enter(ctx, data, o, os.Stdin, os.Stdout)
	case "restore":
		r, err := store.Restore(ctx, data, from, o)
		if err == nil {
			fmt.Println("restored", r.Now.Entries)
		}
		return err
	}
	tmp, err := os.MkdirTemp("", "crash-")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(tmp) }() // best effort: a temporary folder
	r := powercut.NewRunner(tmp)
	if what == "cuts" {
		return r.Cuts(ctx, seed, n)
	}
	if what == "sweep" {
		return r.Sweep(ctx, powercut.DefaultDay(seed), step)
	}
	return errors.New("no such command")
}

// workers is how many callers append at the same time.
const workers = 4

// enter opens the data file, says "ready", and carries out commands, one a line: "put N", "import FROM UNTIL",
// "backup", "rebuild". What the store answers is written at once and unbuffered.
func enter(ctx context.Context, data string, o store.Options, in io.Reader, out io.Writer) error {
	s, err := store.Open(ctx, data, o)
	if err != nil {
		return err
	}
	var mu sync.Mutex
	say := func(format string, args ...any) {
		mu.Lock()
		defer mu.Unlock()
		// When nobody listens any more there is nobody to tell.
		_, _ = fmt.Fprintf(out, format+"\n", args...)
	}
	say("ready")
	lines := make(chan string)
	var wait sync.WaitGroup
	for range workers {
		wait.Go(func() {
			for line := range lines {
				if err := do(ctx, s, line, say); err != nil {
					say("fail %s: %s", line, strings.ReplaceAll(err.Error(), "\n", " "))
				}
			}
		})
	}
	scan := bufio.NewScanner(in)
	for scan.Scan() {
		lines <- scan.Text()
	}
	close(lines)
	wait.Wait()
	return errors.Join(scan.Err(), s.Close())
}

func do(ctx context.Context, s *store.Store, line string, say func(string, ...any)) error {
	var from, until int
	switch word, rest, _ := strings.Cut(line, " "); word {
	case "put":
		if _, err := fmt.Sscan(rest, &from); err != nil {
			return err
		}
		answers, err := s.Append(ctx, script.Event(from))
		if err != nil {
			return err
		}
		acknowledge(say, from, answers)
	case "import":
		if _, err := fmt.Sscan(rest, &from, &until); err != nil {
			return err
		}
		var events []journal.Event
		for n := from; n < until; n++ {
			events = append(events, script.Event(n))
		}
		answers, err := s.AppendAll(ctx, events)
		if err != nil {
			return err
		}
		acknowledge(say, from, answers)
	case "backup":
		m, err := s.Backup(ctx, "asked")
		if err != nil {
			return err
		}
		say("backup %s", m.File)
	case "rebuild":
		was, is, err := s.Rebuild(ctx)
		if err != nil {
			return err
		}
		if was != is {
			return errors.New("tables made anew differ from those that were there")
		}
	default:
		return errors.New("no such command")
	}
	return nil
}

func acknowledge(say func(string, ...any), first int, answers []journal.Answer) {
	for i, a := range answers {
		if a.InBook() {
			say("ack %d %d", first+i, a.Seq)
		} else {
			say("fail put %d: refused: %+v", first+i, a.Problems)
		}
	}
}
