//go:build browser

package browser

import (
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// A first visit with a processor four times slower and a slow mobile network: how long it takes is told, and only that the page
// comes at all is held. The network is 1.6 Mbit/s down and 0.75 up with 150 ms there and back, a common profile of slow 4G (common
// practice, no source).
func TestAFirstVisitOnASlowPhone(t *testing.T) {
	t.Parallel()
	s := serve(t, "--demo")
	first := open(t, s, phone)
	first.visit("/")
	first.planned() // the plan is there, as on any morning but the first

	p := open(t, s, phone)
	if _, err := chromedp.Call(p.ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4}); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(p.ctx, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
		MatchedNetworkConditions: []*network.Conditions{{Latency: 150, DownloadThroughput: 1.6e6 / 8, UploadThroughput: 0.75e6 / 8}},
	}); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.Navigate(s.url + "/"))
	p.until(`document.querySelector('button.row')`)
	t.Logf("first visit: the head painted after %s ms, the day sheet's rows could be pressed after at most %s ms",
		p.text(`Math.round(performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? NaN)`), p.text(`Math.round(performance.now())`))
	p.do(chromedp.Navigate(s.url + "/"))
	p.until(`document.querySelector('button.row')`)
	t.Logf("next visit: rows after at most %s ms", p.text(`Math.round(performance.now())`))
}
