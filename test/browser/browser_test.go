//go:build browser

package browser

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// patience is how long a page may take to show what it must; far more than it needs on a busy computer.
const patience = 60 * time.Second

var program string // the binary under test

func TestMain(m *testing.M) {
	os.Exit(func() int {
		dir, err := os.MkdirTemp("", "browser")
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer func() { _ = os.RemoveAll(dir) }()
		program = filepath.Join(dir, "threshday")
		build := exec.Command("go", "build", "-o", program, "../../cmd/threshday")
		build.Stdout, build.Stderr = os.Stderr, os.Stderr
		if err := build.Run(); err != nil {
			fmt.Fprintln(os.Stderr, "the program does not build:", err)
			return 1
		}
		return m.Run()
	}())
}

// A server is the program answering on an address of its own.
type server struct {
	t    *testing.T
	args []string
	url  string
	cmd  *exec.Cmd
}

// serve starts the program with args and waits until it answers.
func serve(t *testing.T, args ...string) *server {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := l.Addr().String()
	_ = l.Close()
	s := &server{t: t, url: "http://" + addr, args: append([]string{"serve", "--listen", addr}, args...)}
	s.start()
	t.Cleanup(s.kill)
	return s
}

func (s *server) start() {
	s.t.Helper()
	s.cmd = exec.Command(program, s.args...)
	s.cmd.Dir = s.t.TempDir()
	s.cmd.Stdout, s.cmd.Stderr = io.Discard, io.Discard
	if err := s.cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	for end := time.Now().Add(patience); ; {
		if r, err := http.Get(s.url + "/api/ready"); err == nil {
			_ = r.Body.Close()
			if r.StatusCode == http.StatusOK {
				return
			}
		}
		if time.Now().After(end) {
			s.t.Fatal("the program does not answer")
		}
		time.Sleep(50 * time.Millisecond)
	}
}

// kill ends the program as a power cut would.
func (s *server) kill() {
	if s.cmd != nil {
		_ = s.cmd.Process.Kill()
		_ = s.cmd.Wait()
		s.cmd = nil
	}
}

// farmFile returns a data file of its own with the invented farm in it.
func farmFile(t *testing.T) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "farm.db")
	out, err := exec.Command(program, "import", "../../internal/demo/farm/season.toml", "--data", file).CombinedOutput()
	if err != nil {
		t.Fatalf("import: %v\n%s", err, out)
	}
	return file
}

// A page is one tab of a browser.
type page struct {
	t   *testing.T
	ctx context.Context
	url string
}

type size struct{ width, height int64 }

var (
	phone = size{390, 844}
	desk  = size{1280, 800}
)

// atBothSizes runs a story on a phone and at a desk, each with a server and a browser of its own.
func atBothSizes(t *testing.T, story func(*testing.T, size)) {
	t.Parallel()
	for name, at := range map[string]size{"phone": phone, "desk": desk} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			story(t, at)
		})
	}
}

// open starts a browser of the given size with nothing kept in it.
func open(t *testing.T, s *server, at size) *page {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Fatal("these tests need chromium on the path: apt-get install chromium")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("force-prefers-reduced-motion", true)) // an audit amid a fade finds contrasts that nobody sees
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(stop)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(end)
	p := &page{t: t, ctx: ctx, url: s.url}
	p.watch()
	p.do(chromedp.EmulateViewport(at.width, at.height))
	return p
}

func (p *page) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		p.t.Fatal(err)
	}
}

func (p *page) visit(path string) {
	p.t.Helper()
	p.do(chromedp.Navigate(p.url + path))
	p.until(`!!document.querySelector('h1')`)
}

// is reports whether a JavaScript expression holds in the page.
func (p *page) is(expression string) bool {
	ok, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`(() => { try { return !!(`+expression+`) } catch { return false } })()`))
	return err == nil && ok
}

func (p *page) text(expression string) string {
	p.t.Helper()
	s, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`String(`+expression+`)`))
	if err != nil {
		p.t.Fatalf("%s: %v", expression, err)
	}
	return s
}

// until waits for an expression to hold.
func (p *page) until(expression string) {
	p.t.Helper()
	for end := time.Now().Add(patience); !p.is(expression); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			p.t.Fatalf("never came true: %s\nthe page says:\n%s", expression, p.text(`document.body.innerText.slice(0, 3000)`))
		}
	}
}

// says waits until the page shows the words.
func (p *page) says(words string) {
	p.t.Helper()
	p.until(`document.body.innerText.includes(` + strconv.Quote(words) + `)`)
}

// press presses the control with exactly these words.
func (p *page) press(words string) {
	p.t.Helper()
	find := `[...document.querySelectorAll('button, a, summary')].find((e) => e.innerText.trim() === ` + strconv.Quote(words) + ` && !e.disabled)`
	p.until(find)
	p.is(find + `.click() ?? true`)
}

// fill types into boxes by their id, as an input of the person.
func (p *page) fill(boxes ...string) {
	p.t.Helper()
	for i := 0; i < len(boxes); i += 2 {
		p.until(`document.getElementById(` + strconv.Quote(boxes[i]) + `)`)
		p.is(`(() => { const e = document.getElementById(` + strconv.Quote(boxes[i]) + `);
			Object.getOwnPropertyDescriptor(Object.getPrototypeOf(e), 'value').set.call(e, ` + strconv.Quote(boxes[i+1]) + `);
			e.dispatchEvent(new Event('input', { bubbles: true })); return true })()`)
		p.until(`document.getElementById(` + strconv.Quote(boxes[i]) + `).value === ` + strconv.Quote(boxes[i+1]))
	}
}

// planned waits for the plan that the day sheet makes by itself.
func (p *page) planned() {
	p.t.Helper()
	p.until(`document.getElementById('plan')`)
}

// plan makes a plan and waits for it to stand.
func (p *page) plan(button string) {
	p.t.Helper()
	before := p.text(`document.getElementById('plan')?.dataset.plan`)
	p.press(button)
	p.until(`document.getElementById('plan') && document.getElementById('plan').dataset.plan !== ` + strconv.Quote(before))
}

// loads asks the book, on the command line, how many loads count; the server must not run.
func loads(t *testing.T, file string) string {
	t.Helper()
	out, err := exec.Command(program, "loads", "--data", file, "--json").Output()
	if err != nil {
		t.Fatal(err)
	}
	_, all, _ := strings.Cut(string(out), `"all"`)
	return strings.Join(strings.Fields(all), "")
}
