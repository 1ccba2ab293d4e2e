//go:build browser

package browser

import (
	"strings"
	"sync"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// watch fails the test, at its end, for whatever the page threw or wrote to the console as an error, and for every
// request to an address that is not the server's. That a stopped server does not answer is no error of the page.
func (p *page) watch() {
	p.t.Helper()
	var mu sync.Mutex
	wrong := map[string]bool{}
	err := chromedp.Listen(p.ctx, func(event any) {
		if what := p.complaint(event); what != "" {
			mu.Lock()
			defer mu.Unlock()
			wrong[what] = true
		}
	})
	if err != nil {
		p.t.Fatal(err)
	}
	p.t.Cleanup(func() {
		mu.Lock()
		defer mu.Unlock()
		for what := range wrong {
			p.t.Error(what)
		}
	})
}

// complaint says what is wrong with an event of the browser, if anything is.
func (p *page) complaint(event any) string {
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		if thrown := e.ExceptionDetails.Exception; thrown != nil {
			return "the page threw: " + thrown.Description
		}
		return "the page threw: " + e.ExceptionDetails.Text
	case *runtime.EventConsoleAPICalled:
		if e.Type == "error" {
			return "the page wrote an error to the console"
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError && e.Entry.Source != log.EntrySourceNetwork {
			return "the browser complains: " + e.Entry.Text
		}
	case *network.EventRequestWillBeSent:
		to := e.Request.URL
		if !strings.HasPrefix(to, p.url+"/") && !strings.HasPrefix(to, "data:") && !strings.HasPrefix(to, "blob:") {
			return "the page asks another address: " + to
		}
	}
	return ""
}
