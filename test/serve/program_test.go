// Package serve tests the program as a person runs it: the real binary, served on this computer, killed and started again.
package serve

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// build builds the program once for a test.
func build(t testing.TB) string {
	t.Helper()
	bin := filepath.Join(t.TempDir(), "threshday")
	cmd := exec.CommandContext(t.Context(), "go", "build", "-o", bin, "threshday/cmd/threshday")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return bin
}

// A program is one run of threshday serve.
type program struct {
	cmd *exec.Cmd
	url string
	log bytes.Buffer
}

// run starts the program on a data file and waits until it says where it answers.
func run(t testing.TB, bin, data string) *program {
	t.Helper()
	p := &program{cmd: exec.CommandContext(t.Context(), bin, "serve", "--data", data, "--listen", "127.0.0.1:0")}
	p.cmd.Stderr = &p.log
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		_ = p.cmd.Wait()
		t.Fatalf("it said %q: %s", line, p.log.String())
	}
	_, rest, _ := strings.Cut(line, "http://")
	at, _, _ := strings.Cut(rest, " ")
	p.url = "http://" + at
	return p
}

// kill ends it in the middle of whatever it does.
func (p *program) kill(t testing.TB) {
	t.Helper()
	if err := p.cmd.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
		t.Fatal(err)
	}
	_ = p.cmd.Wait() // it was killed
}

// errStatus is an answer that acknowledges nothing.
var errStatus = errors.New("not answered")

// browser keeps its connections open, as browsers do.
var browser = http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: clients}}

// post sends a document and reads the answer whole; with an error nothing is known of what became of it.
func (p *program) post(path, body string, into any) error {
	r, err := browser.Post(p.url+path, "application/json", strings.NewReader(body)) //nolint:noctx // the time-out bounds it
	if err != nil {
		return err
	}
	defer func() { _ = r.Body.Close() }()
	text, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	if r.StatusCode >= http.StatusBadRequest {
		return fmt.Errorf("%w: %d %s", errStatus, r.StatusCode, text)
	}
	return json.Unmarshal(text, into)
}

func (p *program) get(t testing.TB, path string, into any) {
	t.Helper()
	r, err := http.Get(p.url + path) //nolint:noctx,gosec // a test of this computer
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = r.Body.Close() }()
	if err := json.NewDecoder(r.Body).Decode(into); err != nil {
		t.Fatal(err)
	}
}

// smallFarm begins a farm of one field.
const smallFarm = `{"id": "01a212aa-397a-7a11-b9a3-ee2d1028c9e1",
 "farm": {"name": "North Farm", "zone": "America/Chicago", "lat": "40.05", "lon": "-88.37"}, "limits": {"soybean": "15"},
 "fields": [{"name": "Creek 80", "acres": "78", "crop": "soybean", "yield": "52", "mature": "2099-09-10"}],
 "combine": {"head": "30 ft", "speed": "4 mph", "holds": "300"},
 "truck": {"gross": "80000 lb", "tare": "26500 lb", "per_mile": "$2.15", "per_hour": "$28"},
 "outlet": {"name": "Ossing", "miles": "8", "open": "07:00", "close": "19:00"},
 "schedule": {"moisture_base": "13", "per": "0.5", "discount": "1.25", "unit": "percent", "reject": "18"},
 "bids": [{"crop": "soybean", "cash": "$9.87"}], "outlook": []}`
