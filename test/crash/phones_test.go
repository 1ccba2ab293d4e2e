package crash_test

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"threshday/internal/store"
	"threshday/internal/store/backup"
	"threshday/test/crash/script"
	"threshday/test/crash/verdict"
)

// build compiles the program to be killed, once a tag.
var build = func() func(t *testing.T, tags string) string {
	var mu sync.Mutex
	built := map[string]string{}
	return func(t *testing.T, tags string) string {
		t.Helper()
		mu.Lock()
		defer mu.Unlock()
		if built[tags] == "" {
			out := filepath.Join(binaries, "crash"+tags)
			cmd := exec.CommandContext(context.Background(), "go", "build", "-tags", tags, "-o", out, "./cmd/crash")
			if text, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("build: %v\n%s", err, text)
			}
			built[tags] = out
		}
		return built[tags]
	}
}()

// binaries is where the built programs lie.
var binaries string

func TestMain(m *testing.M) {
	flag.Parse()
	var err error
	if binaries, err = os.MkdirTemp("", "crash-bin-"); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	code := m.Run()
	_ = os.RemoveAll(binaries) // best effort: a temporary folder
	os.Exit(code)
}

// phones are what the parent process knows of one data file.
type phones struct {
	program string
	args    []string // of every start: a bug, a point of death
	data    string
	rng     *rand.Rand
	next    int // the next new entry

	mu    sync.Mutex
	tried map[int]bool
	acked map[int]int64
	wrong []string
}

func newPhones(program, dir string, seed uint64, args ...string) *phones {
	return &phones{
		program: program, args: args, data: filepath.Join(dir, "book.db"), rng: rand.New(rand.NewPCG(seed, 3)), next: 1,
		tried: map[int]bool{}, acked: map[int]int64{},
	}
}

// A run is one life of the program.
type run struct {
	cmd   *exec.Cmd
	in    io.WriteCloser
	ready chan struct{} // closed at "ready", or at the end
	first chan struct{} // closed at the first acknowledgement, or at the end
	done  chan struct{} // closed when nothing more can come
	errs  strings.Builder
}

// start starts the program and listens to it.
func (p *phones) start(t *testing.T, extra ...string) *run {
	t.Helper()
	r := &run{ready: make(chan struct{}), first: make(chan struct{}), done: make(chan struct{})}
	args := append([]string{"enter", "-data", p.data}, append(p.args, extra...)...)
	r.cmd = exec.CommandContext(t.Context(), p.program, args...)
	r.cmd.Stderr = &r.errs
	out, err := r.cmd.StdoutPipe()
	if err == nil {
		r.in, err = r.cmd.StdinPipe()
	}
	if err == nil {
		err = r.cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	go p.listen(r, out)
	return r
}

func (p *phones) listen(r *run, out io.Reader) {
	isReady, isFirst := false, false
	scan := bufio.NewScanner(out)
	for scan.Scan() {
		line := scan.Text()
		var n int
		var seq int64
		switch word, _, _ := strings.Cut(line, " "); word {
		case "ready":
			isReady = true
			close(r.ready)
		case "ack":
			// A line cut short by the kill was not read to its end and acknowledges nothing.
			if _, err := fmt.Sscanf(line, "ack %d %d", &n, &seq); err != nil {
				continue
			}
			p.acknowledge(n, seq)
			if !isFirst {
				isFirst = true
				close(r.first)
			}
		case "fail":
			p.fault("%s", line)
		}
	}
	if !isReady {
		close(r.ready)
	}
	if !isFirst {
		close(r.first)
	}
	close(r.done)
}

func (p *phones) acknowledge(n int, seq int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if before, ok := p.acked[n]; ok && before != seq {
		p.wrong = append(p.wrong, fmt.Sprintf("entry %d was answered with place %d, and before with %d", n, seq, before))
	}
	p.acked[n] = seq
}

func (p *phones) fault(format string, args ...any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.wrong = append(p.wrong, fmt.Sprintf(format, args...))
}

// feed sends some old entries again and new ones, until all are sent or the program is gone.
func (p *phones) feed(r *run, entries int) {
	var lines []string
	for range entries {
		n := p.next
		if p.next > 1 && p.rng.IntN(3) == 0 {
			n = 1 + p.rng.IntN(p.next-1)
		} else {
			p.next++
		}
		lines = append(lines, fmt.Sprint("put ", n))
		p.mu.Lock()
		p.tried[n] = true
		p.mu.Unlock()
	}
	switch p.rng.IntN(8) {
	case 0:
		lines = append(lines, "rebuild")
	case 1:
		lines = append(lines, "backup")
	case 2:
		lines = append(lines, fmt.Sprintf("import %d %d", p.next, p.next+12))
		p.mu.Lock()
		for range 12 {
			p.tried[p.next] = true
			p.next++
		}
		p.mu.Unlock()
	}
	p.rng.Shuffle(len(lines), func(i, j int) { lines[i], lines[j] = lines[j], lines[i] })
	// A broken pipe is what a kill looks like from here.
	_, _ = io.WriteString(r.in, strings.Join(lines, "\n")+"\n")
}

// kill ends the program as a power switch would, but for the disk, and waits until it is gone.
func (r *run) kill(t *testing.T) {
	t.Helper()
	if err := r.cmd.Process.Kill(); err != nil && !strings.Contains(err.Error(), "finished") {
		t.Fatal(err)
	}
	<-r.done
	_ = r.cmd.Wait() // it was killed, and says so
}

// cycle is one life of the program, ended at a random moment: in one of three while it starts, in the others after
// its first acknowledgement.
func (p *phones) cycle(t *testing.T) {
	t.Helper()
	r := p.start(t)
	fed := make(chan struct{})
	go func() {
		defer close(fed)
		<-r.ready
		p.feed(r, 40)
	}()
	if p.dice(3) == 0 {
		<-time.After(time.Duration(p.dice(60_000)) * time.Microsecond)
	} else {
		<-r.first
		<-time.After(time.Duration(p.dice(25_000)) * time.Microsecond)
	}
	r.kill(t)
	<-fed
}

// dice draws from 0 to n-1 apart from the entries' own chance.
func (p *phones) dice(n int) int { return rand.IntN(n) }

// verdict opens the file and returns every promise that does not hold.
func (p *phones) verdict(ctx context.Context) error {
	s, err := store.Open(ctx, p.data, store.Options{Now: script.Now, What: "verdict", Wait: 2 * time.Second})
	if err != nil {
		return fmt.Errorf("does not open: %w", err)
	}
	err = verdict.Check(ctx, s, p.tried, p.acked)
	if e := s.Close(); err == nil {
		err = e
	}
	if err == nil && len(p.wrong) > 0 {
		err = fmt.Errorf("%s", strings.Join(p.wrong, "; "))
	}
	if err == nil {
		err = p.leftovers()
	}
	return err
}

// leftovers returns, as an error, what lies about that nobody needs.
func (p *phones) leftovers() error {
	dir := filepath.Dir(p.data)
	for _, where := range []string{dir, filepath.Join(dir, "backups")} {
		found, err := filepath.Glob(filepath.Join(where, "*"+backup.Unfinished+"*"))
		if err != nil {
			return err
		}
		if len(found) > 0 {
			return fmt.Errorf("left over: %v", found)
		}
	}
	return nil
}

func upTo(n int) map[int]bool {
	set := map[int]bool{}
	for i := 1; i <= n; i++ {
		set[i] = true
	}
	return set
}

// withLog makes a file of thirty entries whose last ten are only in its log, and returns a backup of the first
// twenty.
func (p *phones) withLog(t *testing.T) (file string) {
	t.Helper()
	s, err := store.Open(t.Context(), p.data, store.Options{Now: script.Now})
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; n <= 20; n++ {
		if _, err := s.Append(t.Context(), script.Event(n)); err != nil {
			t.Fatal(err)
		}
	}
	m, err := s.Backup(t.Context(), "asked")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	r := p.start(t)
	<-r.ready
	for n := 21; n <= 30; n++ {
		if _, err := fmt.Fprintf(r.in, "put %d\n", n); err != nil {
			t.Fatal(err)
		}
	}
	for {
		p.mu.Lock()
		got := len(p.acked)
		p.mu.Unlock()
		if got == 10 {
			break
		}
		select {
		case <-r.done:
			t.Fatalf("the program ended early: %s", r.errs.String())
		case <-time.After(time.Millisecond):
		}
	}
	r.kill(t)
	return filepath.Join(filepath.Dir(p.data), "backups", m.File)
}
