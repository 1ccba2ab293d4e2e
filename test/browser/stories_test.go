//go:build browser

package browser

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

func TestMorningOnThePhone(t *testing.T) {
	t.Parallel()
	p := open(t, serve(t, "--demo"), phone)
	p.visit("/")
	p.says("The first plan is being made")
	p.planned()
	p.until(`document.querySelectorAll('.rows > li').length === 14`)
	p.says("Cut or wait")
	p.says("Orders by machine")
	p.says("Loads by truck")
	p.says("Mind today")

	// A row opens in place, and closes again.
	row := `document.querySelector('#row-creek-80')`
	p.is(row + `.click() ?? true`)
	p.until(row + `.getAttribute('aria-expanded') === 'true' && document.querySelector('#open-creek-80').innerText.includes('How it was made')`)
	p.is(row + `.click() ?? true`)
	p.until(row + `.getAttribute('aria-expanded') === 'false'`)

	// A caution is put away for the day, over a reload too.
	count := p.text(`document.querySelectorAll('[aria-label^="Seen for today"]').length`)
	p.is(`document.querySelector('[aria-label^="Seen for today"]').click() ?? true`)
	p.until(`document.querySelectorAll('[aria-label^="Seen for today"]').length === ` + count + ` - 1`)
	p.visit("/")
	p.until(`document.querySelectorAll('[aria-label^="Seen for today"]').length === ` + count + ` - 1`)

	// A plan that is stopped leaves the last one standing.
	p.press("Plan again")
	p.press("Stop planning")
	p.says("Planning was stopped.")
	p.until(`document.querySelectorAll('.rows > li').length === 14`)
}

// At the desk the row with the most at stake stands open beside the list, and pressing another one takes its place.
func TestMorningAtTheDesk(t *testing.T) {
	t.Parallel()
	p := open(t, serve(t, "--demo"), desk)
	p.visit("/")
	p.planned()
	p.until(`document.querySelector('button.row').getAttribute('aria-expanded') === 'true'`)
	p.is(`document.querySelector('button.row[aria-expanded=false]').click() ?? true`)
	p.until(`document.querySelectorAll('button.row[aria-expanded=true]').length === 1`)
	p.until(`document.querySelector('button.row').getAttribute('aria-expanded') === 'false'`)
	p.until(`document.querySelector('.beside h2').innerText === document.querySelector('button.row[aria-expanded=true] .name').innerText`)
	p.until(`document.querySelector('.beside').innerText.includes('How it was made')`)
}

func TestAReadingMovesTheAnswer(t *testing.T) {
	atBothSizes(t, func(t *testing.T, at size) {
		p := open(t, serve(t, "--demo"), at)
		p.visit("/")
		p.planned()
		p.visit("/fields/creek-80")
		p.until(`document.querySelector('.chart svg[role=img]').getAttribute('aria-label').includes('Creek 80')`)
		p.press("Add reading")

		// What cannot be is refused in words, and stays as typed.
		p.fill("reading-creek-80-moisture", "130")
		p.press("Save reading")
		p.says("Moisture 130 % is not possible (0 to 60 % wet basis). Did you mean 13.0?")
		p.until(`document.getElementById('reading-creek-80-moisture').value === '130'`)

		// A draft survives a reload.
		p.fill("reading-creek-80-moisture", "18.4", "reading-creek-80-name", "shop meter", "reading-creek-80-spots", "5")
		p.visit("/fields/creek-80")
		p.press("Add reading")
		p.until(`document.getElementById('reading-creek-80-moisture').value === '18.4'`)
		p.press("Save reading")
		p.until(`['new', 'doubt'].includes(document.getElementById('reading-creek-80-said')?.dataset.status)`)
		p.until(`document.getElementById('office').dataset.unsent === '0'`)

		p.visit("/")
		p.says("1 entry has come in since.")
		p.plan("Plan again")
		p.until(`document.getElementById('changed')?.innerText.includes('18.4 %')`)
		p.until(`[...document.querySelectorAll('#changed li')].some((li) => li.innerText.startsWith('Creek 80'))`)
	})
}

func TestALoadSettles(t *testing.T) {
	atBothSizes(t, func(t *testing.T, at size) {
		p := open(t, serve(t, "--demo"), at)
		p.visit("/loads")
		p.fill("load-ticket", "4711", "load-outlet", "ossing", "load-field", "creek-80", "load-gross", "27180", "load-tare", "78460",
			"load-moisture", "14.2", "load-test_weight", "56.5", "load-fm", "1.8", "load-damage", "2.4", "load-splits", "12")
		p.press("Swap gross and tare")

		// The device's own sum, by the posted schedule at the bid of $9.8725: what `threshday settle` prints for this ticket.
		p.until(`document.getElementById('pays')?.innerText === '$7,999.18'`)
		p.press("Save load")
		p.until(`document.getElementById('load-said')?.dataset.status === 'new'`)
		p.until(`document.querySelector('.rows .row')?.innerText.includes('Ticket 4711')`)
		p.until(`document.querySelector('.rows .row')?.innerText.includes('51,280')`)

		// The second ticket with the same number is taken, and asked about.
		p.fill("load-ticket", "4711", "load-outlet", "ossing", "load-field", "creek-80", "load-gross", "78000", "load-tare", "27180", "load-moisture", "14.0")
		p.press("Save load")
		p.until(`document.getElementById('load-said')?.dataset.status === 'doubt'`)
		p.says("Is this right?")
		p.press("Take it out")
		p.until(`document.getElementById('load-said')?.dataset.status === 'new'`)

		// The load opens to its lines; a correction takes its place and the old entry stays readable.
		p.is(`[...document.querySelectorAll('.rows .row')].find((r) => r.innerText.includes('51,280')).click() ?? true`)
		p.until(`document.querySelector('h1').innerText === 'Ticket 4711'`)
		p.until(`document.getElementById('pays')?.innerText === '$7,999.18'`)
		p.press("Correct")
		p.until(`document.querySelector('input[id$="-moisture"]')?.value.startsWith('14.2')`)
		p.until(`document.querySelector('input[id$="-damage"]')?.value.startsWith('2.4') && document.querySelector('input[id$="-fm"]')?.value.startsWith('1.8')`)
		id := p.text(`document.querySelector('input[id$="-moisture"]').id`)
		p.fill(id, "13.0", strings.TrimSuffix(id, "moisture")+"why", "misread")
		p.press("Save correction")
		p.until(`document.getElementById('pays')?.innerText !== '$7,999.18'`)
		p.until(`[...document.querySelectorAll('ol li')].some((li) => li.innerText.startsWith('Corrected'))`)
	})
}

func TestTheServerDiesAndComesBack(t *testing.T) {
	atBothSizes(t, func(t *testing.T, at size) {
		file := farmFile(t)
		s := serve(t, "--data", file)
		p := open(t, s, at)
		p.visit("/loads")
		p.until(`document.getElementById('office').dataset.connected === 'true'`)
		p.do(chromedp.Evaluate[chromedp.Void](`navigator.serviceWorker.ready.then(() => true)`, chromedp.EvalAwaitPromise))

		s.kill()
		entry := func(ticket string) {
			p.fill("load-ticket", ticket, "load-outlet", "ossing", "load-field", "creek-80", "load-gross", "78460", "load-tare", "27180", "load-moisture", "14.2")
			p.press("Save load")
		}
		entry("5001")
		p.says("Saved on this device.")
		p.says("kept here, not yet sent")

		// The page opens without the server, and holds what was entered.
		p.visit("/loads")
		p.until(`document.getElementById('office').dataset.unsent === '1'`)
		p.says("Not connected.")
		p.says("Load 5001, 51,280 lb net")
		entry("5002")
		p.until(`document.getElementById('office').dataset.unsent === '2'`)

		s.start()
		p.press("Send now")
		p.until(`document.getElementById('office').dataset.unsent === '0' && document.getElementById('office').dataset.connected === 'true'`)
		p.until(`document.querySelectorAll('.rows .row').length === 2`)
		s.kill()
		if got := loads(t, file); !strings.Contains(got, `"loads":2,`) {
			t.Errorf("the book holds %s, want two loads", got)
		}
	})
}

func TestFirstSteps(t *testing.T) {
	atBothSizes(t, func(t *testing.T, at size) {
		p := open(t, serve(t, "--data", t.TempDir()+"/new.db"), at)
		p.visit("/")
		p.until(`document.querySelector('h1').innerText === 'First steps'`)

		// Nothing stands in for what the owner must say.
		p.press("Begin the farm and plan")
		p.says("Farm is not filled in.")

		fillFirstSteps(p)
		p.press("Begin the farm and plan")
		p.until(`document.getElementById('plan')`)
		p.until(`document.querySelectorAll('section[aria-labelledby=fields-head] .rows > li').length === 3`)
		p.says("North Farm")
	})
}

// fillFirstSteps fills the first steps in with a farm that can be planned.
func fillFirstSteps(p *page) {
	today := time.Now()
	day := func(n int) string { return today.AddDate(0, 0, n).Format(time.DateOnly) }
	p.fill("start-farm.name", "North Farm", "start-farm.place", "Home", "start-farm.lat", "40.05", "start-farm.lon", "-88.37")
	for i, name := range []string{"North 40", "Low ground", "A field with a rather long name by the old schoolhouse road"} {
		f := fmt.Sprintf("start-field%d.", i)
		p.fill(f+"name", name, f+"crop", "soybean", f+"acres", "40", f+"yield", "52", f+"mature", day(-12+i), f+"moisture", fmt.Sprintf("%d.2", 13+i))
	}
	p.fill("start-limit.soybean", "14", "start-combine.head", "30", "start-combine.speed", "4", "start-combine.holds", "300",
		"start-truck.count", "2", "start-truck.gross", "80000", "start-truck.tare", "26500", "start-truck.per_mile", "2.15", "start-truck.per_hour", "28",
		"start-outlet.name", "Elevator", "start-outlet.miles", "8", "start-outlet.saturday_close", "17:00",
		"start-schedule.moisture_base", "13", "start-schedule.per", "0.5", "start-schedule.discount", "1.25", "start-schedule.reject", "18",
		"start-bid.soybean", "9.87", "start-until.soybean", day(20))
	for i := range 5 {
		d := fmt.Sprintf("start-day%d.", i)
		p.fill(d+"high", "72", d+"low", "45", d+"rain", "10")
	}
}

// The pencil reckons on the device, says beside the box what is wrong, and needs neither a farm nor the server.
func TestThePencilReckonsOnTheDevice(t *testing.T) {
	atBothSizes(t, func(t *testing.T, at size) {
		s := serve(t, "--data", t.TempDir()+"/new.db")
		p := open(t, s, at)
		p.visit("/more/pencil")
		p.press("Shrink of wet grain\nWeight that leaves as water when grain dries.")
		p.until(`document.querySelector('h1').innerText === 'Shrink of wet grain'`)
		p.press("Work it out")
		p.until(`document.getElementById('pencil-from-wrong')`)
		p.do(chromedp.Evaluate[chromedp.Void](`navigator.serviceWorker.ready.then(async () => {
			while (!(await (await caches.open('program')).match('/threshday.wasm'))) await new Promise((done) => setTimeout(done, 50));
		})`, chromedp.EvalAwaitPromise))
		s.kill()

		// From 19.3 to 15 corn loses 4.3 / 0.85 = 5.06 % of its weight as water, the published formula [sdsu-corn-shrink].
		p.fill("pencil-from", "19.3", "pencil-to", "15")
		p.press("Work it out")
		p.until(`document.querySelector('#sum .money').innerText === "5.06 %"`)
		p.fill("pencil-from", "193")
		p.press("Work it out")
		p.until(`document.getElementById('pencil-from-wrong') && document.getElementById('pencil-from').value === '193'`)
		p.visit("/more/pencil/grade")
		p.until(`document.querySelector('h1').innerText === 'Official grade'`)
	})
}

// The books open each figure to its tickets, and a landlord's hold his share alone.
func TestTheBooksLeadBackToTickets(t *testing.T) {
	t.Parallel()
	for _, at := range []size{phone, desk} {
		p := open(t, serve(t, "--demo"), at)
		p.visit("/more/books")
		p.says("What each field made")
		p.is(`document.querySelector('#row-books--contract-oss-101').click() ?? true`)
		p.says("10 tickets: 360,000 lb settled, 6,000.00 bu, net $59,245.46.")
		everybody := p.text(`document.querySelectorAll('section[aria-labelledby=books-shares] li').length`)
		p.fill("books-party", "orla")
		p.until(`document.querySelectorAll('section[aria-labelledby=books-shares] li').length < ` + everybody)
		p.until(`![...document.querySelectorAll('section[aria-labelledby=books-shares] .name')].some((n) => !n.innerText.startsWith('Orla'))`)
	}
}

// A posted schedule is read back while it is typed, keeps what is wrong out of the book, and then settles by what was saved.
func TestAScheduleIsTypedAndReadBack(t *testing.T) {
	t.Parallel()
	for _, at := range []size{phone, desk} {
		p := open(t, serve(t, "--demo"), at)
		p.visit("/outlets/ossing/soybean")
		p.until(`document.getElementById('schedule-text').value.includes('[[moisture]]')`)
		p.says("It settles.")
		p.until(`document.querySelector('.chart svg').getAttribute('aria-label').includes('refused')`)
		whole := p.text(`document.getElementById('schedule-text').value`)

		p.fill("schedule-text", strings.Replace(whole, "over = 13.0", "over = thirteen", 1))
		p.until(`document.getElementById('schedule-text-wrong')`)
		p.press("Save schedule")
		p.says("It is not saved")

		p.fill("schedule-text", strings.Replace(whole, "1.25 %", "1.75 %", 1))
		p.says("takes 1.75 % of price on net bu for each 0.5")
		p.press("Save schedule")
		p.until(`document.querySelector('h1').innerText === 'Outlets' && document.getElementById('office').dataset.unsent === '0'`)
		p.until(`document.querySelector('section[aria-labelledby=outlet-ossing]').textContent.includes('takes 1.75 % of price')`)
	}
}

// What a load nets is ranked at the moisture that is said, delivered.
func TestALoadIsPricedEverywhere(t *testing.T) {
	atBothSizes(t, func(t *testing.T, at size) {
		p := open(t, serve(t, "--demo"), at)
		p.visit("/outlets")
		p.fill("thisload-field", "creek-80", "thisload-moisture", "142")
		p.says("Moisture 142 is not possible")
		p.fill("thisload-moisture", "14.2")
		p.says("$8,484.55 Ossing Elevator contract oss-101") // what `threshday price --field creek-80 --moisture 14.2` prints
		p.says("draws level at $10.1597 cash")
	})
}
