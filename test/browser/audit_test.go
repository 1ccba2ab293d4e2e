//go:build browser

package browser

import (
	"encoding/json"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

var pages = []string{
	"/", "/fields", "/fields/creek-80", "/outlets", "/outlets/ossing/soybean", "/loads", "/more", "/more/books", "/more/pencil", "/more/pencil/axle", "/more/outlook", "/more/waiting", "/more/sent", "/more/settings", "/more/about",
}

// A violation is one rule of the audit that a page breaks.
type violation struct {
	ID     string `json:"id"`
	Impact string `json:"impact"`
	Nodes  []struct {
		HTML    string `json:"html"`
		Summary string `json:"failureSummary"`
	} `json:"nodes"`
}

// The pages hold what the Web Content Accessibility Guidelines 2.2 AA ask, as far as a machine can tell, in every theme
// and at both sizes; and nothing is wider than the page.
func TestEveryPageInEveryTheme(t *testing.T) {
	t.Parallel()
	axe, err := os.ReadFile("../../web/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Fatal("the audit needs the front end's packages: npm ci in web:", err)
	}
	s := serve(t, "--demo")
	planned := open(t, s, phone)
	planned.visit("/")
	planned.planned()
	for _, at := range []size{phone, desk} {
		p := open(t, s, at)
		for _, path := range pages {
			p.visit(path)
			p.until(`!/Fetching|Sharpening|Looking at|Asking/.test(document.querySelector('main').innerText)`)
			p.is(`document.querySelectorAll('details').forEach((d) => { d.open = true }) ?? true`)
			p.is(`document.querySelector('button.row[aria-expanded=false]')?.click() ?? true`)
			p.do(chromedp.Evaluate[chromedp.Void](string(axe) + "\n;0"))
			for _, theme := range []string{"day", "night", "glare"} {
				p.is(`(document.documentElement.dataset.theme = ` + strconv.Quote(theme) + `)`)
				if wide := p.text(`document.documentElement.scrollWidth - innerWidth`); wide != "0" {
					t.Errorf("%s, %s, %d wide: the page is %s px wider than the window", path, theme, at.width, wide)
				}
				for _, v := range p.audit() {
					t.Errorf("%s, %s, %d wide: %s (%s), %d times, first %s\n%s", path, theme, at.width, v.ID, v.Impact, len(v.Nodes), v.Nodes[0].HTML, v.Nodes[0].Summary)
				}
			}
		}
	}
}

// audit returns what is serious in the page as it stands.
func (p *page) audit() []violation {
	p.t.Helper()
	found, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](
		`axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'], resultTypes: ['violations'] }).then((r) => JSON.stringify(r.violations))`, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatal(err)
	}
	var violations []violation
	if err := json.Unmarshal([]byte(found), &violations); err != nil {
		p.t.Fatal(err)
	}
	return slices.DeleteFunc(violations, func(v violation) bool { return v.Impact != "serious" && v.Impact != "critical" })
}

// Everything is reached and done with the keyboard alone: the skip link, the five words, a row.
func TestByKeyboardAlone(t *testing.T) {
	t.Parallel()
	s := serve(t, "--demo")
	p := open(t, s, desk)
	p.visit("/")
	p.planned()
	p.visit("/")
	p.until(`document.querySelector('button.row')`)
	p.do(chromedp.KeyEvent(kb.Tab))
	p.until(`document.activeElement.innerText === 'To the page'`)
	var seen []string
	for range 12 {
		p.do(chromedp.KeyEvent(kb.Tab))
		seen = append(seen, p.text(`document.activeElement.innerText.split('\n')[0]`))
		if p.is(`getComputedStyle(document.activeElement).outlineStyle === 'none' || parseFloat(getComputedStyle(document.activeElement).outlineWidth) < 2`) {
			t.Errorf("no focus ring on %q", seen[len(seen)-1])
		}
		if p.is(`document.activeElement.matches('button.row')`) {
			break
		}
	}
	if got := strings.Join(seen, ", "); !strings.HasPrefix(got, "Today, Fields, Outlets, Loads, More, ") {
		t.Errorf("the keyboard walks %s; want the five words first", got)
	}
	p.do(chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(kb.Enter))
	p.until(`document.activeElement.matches('button.row[aria-expanded=true]')`)

	// Coming to a page moves the focus to its head.
	p.is(`document.querySelector('nav a[href="/loads"]').focus() ?? true`)
	p.do(chromedp.KeyEvent(kb.Enter))
	p.until(`location.pathname === '/loads' && document.activeElement.matches('h1')`)
}
