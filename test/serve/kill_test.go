package serve

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

var cycles = flag.Int("kills", 10, "how often the served program is killed while entries come in")

// A sent load and what is known of it.
type sent struct {
	body  string
	lb    int64
	acked bool
}

// A device keeps what it sent, as a browser does.
type device struct {
	mu   sync.Mutex
	all  []*sent
	rand *rand.Rand
}

// next makes a load that was never sent.
func (d *device) next() *sent {
	d.mu.Lock()
	defer d.mu.Unlock()
	n := len(d.all)
	lb := 30_000 + int64(n)
	s := &sent{lb: lb, body: fmt.Sprintf(`{"commands":[{"id":"01a212aa-397a-7a11-b9a3-%012x","device":"lap","seq":%d,"device_time":%q,"type":"load","body":{"ticket":"T%d","outlet":"ossing","field":["creek-80"],"gross":"%d lb","tare":"20000 lb","moisture":"13.1"}}]}`,
		n, n+1, time.Now().Format(time.RFC3339), n, lb+20_000)}
	d.all = append(d.all, s)
	return s
}

type answers struct {
	Answers []struct{ Status, Say string }
}

// send sends one load and marks it acknowledged when the answer was read whole.
func (d *device) send(t testing.TB, p *program, s *sent) bool {
	var a answers
	if err := p.post("/api/commands", s.body, &a); err != nil {
		return false
	}
	switch a.Answers[0].Status {
	case "new", "same", "doubt":
	default:
		t.Errorf("%s: %+v", s.body, a)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	s.acked = true
	return true
}

// The program is killed again and again while loads come in from several tabs at once. What was acknowledged is there, what was
// not is there once at most and counts once when it is sent again, and nothing else is there.
func TestKilledWhileLoadsComeInItLosesAndDoublesNothing(t *testing.T) {
	bin := build(t)
	data := filepath.Join(t.TempDir(), "farm.db")
	p := run(t, bin, data)
	var begun map[string]any
	if err := p.post("/api/start", smallFarm, &begun); err != nil {
		t.Fatal(err)
	}
	d := &device{rand: rand.New(rand.NewPCG(1, 2))}
	for range *cycles {
		d.cycle(t, p)
		p = run(t, bin, data)
	}
	d.check(t, p)
	p.kill(t)
}

// cycle sends from three tabs until the program is killed, 0 to 150 ms after the first acknowledgement.
func (d *device) cycle(t *testing.T, p *program) {
	first := make(chan struct{})
	var once sync.Once
	var tabs sync.WaitGroup
	for range 3 {
		tabs.Go(func() {
			for d.send(t, p, d.next()) {
				once.Do(func() { close(first) })
			}
		})
	}
	<-first
	time.Sleep(time.Duration(d.rand.IntN(150)) * time.Millisecond)
	p.kill(t)
	tabs.Wait()
}

// check compares the book with what was sent.
func (d *device) check(t *testing.T, p *program) {
	t.Helper()
	var snap struct {
		Loads struct {
			All struct {
				Loads int64
				NetLb int64 `json:"net_lb"`
			}
		}
	}
	p.get(t, "/api/snapshot", &snap)
	acked := int64(0)
	for _, s := range d.all {
		if s.acked {
			acked++
		}
	}
	stored := snap.Loads.All.Loads
	if stored < acked || stored > int64(len(d.all)) {
		t.Errorf("%d are in the book; %d were acknowledged, %d sent", stored, acked, len(d.all))
	}
	fresh := int64(0)
	var all int64
	for _, s := range d.all {
		var a answers
		if err := p.post("/api/commands", s.body, &a); err != nil {
			t.Fatal(err)
		}
		if a.Answers[0].Status != "same" {
			fresh++
			if s.acked {
				t.Errorf("it was acknowledged and is gone: %s", s.body)
			}
		}
		all += s.lb
	}
	if stored+fresh != int64(len(d.all)) {
		t.Errorf("%d stored and %d new do not make %d", stored, fresh, len(d.all))
	}
	p.get(t, "/api/snapshot", &snap)
	if snap.Loads.All.Loads != int64(len(d.all)) || snap.Loads.All.NetLb != all {
		t.Errorf("the book adds up to %+v; %d loads of %d lb were sent", snap.Loads.All, len(d.all), all)
	}
	t.Logf("%d kills, %d loads sent, %d acknowledged, %d unknown of which %d were in the book", *cycles, len(d.all), acked, int64(len(d.all))-acked, stored-acked)
}
