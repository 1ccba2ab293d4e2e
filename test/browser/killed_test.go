//go:build browser

package browser

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

var cuts = flag.Int("cuts", 8, "how often the program is killed while the page saves")

// The program is killed at any moment while the page saves, over and over: each load is in the book once.
func TestKilledWhileThePageSaves(t *testing.T) {
	t.Parallel()
	file := farmFile(t)
	s := serve(t, "--data", file)
	p := open(t, s, phone)
	p.visit("/loads")
	p.until(`document.getElementById('office').dataset.connected === 'true'`)
	p.do(chromedp.Evaluate[chromedp.Void](`navigator.serviceWorker.ready.then(() => true)`, chromedp.EvalAwaitPromise))
	moment := rand.New(rand.NewPCG(20, 26))
	for n := range *cuts {
		p.fill("load-ticket", fmt.Sprint(6000+n), "load-outlet", "ossing", "load-field", "creek-80",
			"load-gross", fmt.Sprint(78460+n), "load-tare", "27180", "load-moisture", "14.2")
		p.press("Save load")
		time.Sleep(time.Duration(moment.IntN(40)) * time.Millisecond)
		s.kill()
		p.until(`document.getElementById('load-ticket').value === ''`)
		s.start()
		p.is(`dispatchEvent(new Event('online'))`)
	}
	p.until(`document.getElementById('office').dataset.unsent === '0' && document.getElementById('office').dataset.connected === 'true'`)
	p.visit("/loads")
	p.says(fmt.Sprintf("%d loads in the book", *cuts))
	s.kill()
	if got := loads(t, file); !strings.Contains(got, fmt.Sprintf(`"loads":%d,`, *cuts)) {
		t.Errorf("the book holds %s, want %d loads", got, *cuts)
	}
}
