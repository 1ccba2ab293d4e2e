package web_test

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

func TestFirstStepsBeginAFarmOnce(t *testing.T) {
	s := open(t, "")
	first := doc[struct {
		Farm  string
		Files []string
	}](t, s.ask("POST", "/api/start", firstSteps), 201)
	again := doc[struct {
		Farm  string
		Files []string
	}](t, s.ask("POST", "/api/start", firstSteps), 200)
	if first.Farm != "north-farm" || again.Farm != first.Farm || len(first.Files) != 1 || again.Files[0] != first.Files[0] {
		t.Errorf("%+v, %+v", first, again)
	}
	if _, err := os.Stat(filepath.Join(filepath.Dir(s.data), first.Files[0])); err != nil {
		t.Error(err)
	}
	if got := s.snapshot(); got.Farm.Name != "North Farm" || len(got.Fields) != 3 || got.Head.Seq != 1 {
		t.Errorf("%+v", got)
	}
}

func TestFirstStepsSayEverythingThatIsWrongBesideItsBox(t *testing.T) {
	s := open(t, "")
	bad := strings.NewReplacer(
		`"acres": "78"`, `"acres": "seventy"`, `"lat": "40.05"`, `"lat": "140"`, `"cash": "$9.87"`, `"cash": "9.87"`, `"head": "30 ft"`, `"head": "30"`,
		`"reject": "18"`, `"reject": "12"`, `"high": "79 F"`, `"high": "79"`, `"moisture": "14.6"`, `"moisture": "146"`, `"zone": "America/Chicago"`, `"zone": "Mars"`,
	).Replace(firstSteps)
	f := s.ask("POST", "/api/start", bad)
	got := doc[failure](t, f, 400)
	at := map[string]bool{}
	for _, c := range got.Findings {
		at[c.Where] = true
		if c.Say == "" {
			t.Errorf("%+v says nothing", c)
		}
	}
	for _, want := range []string{"farm.zone", "farm.lat", "fields.0.acres", "fields.0.moisture", "combine.head", "schedule.reject", "bids.0.cash", "outlook.0.high"} {
		if !at[want] {
			t.Errorf("nothing is said at %s: %v", want, at)
		}
	}
	if s.snapshot().Farm != nil {
		t.Error("a farm was begun")
	}
}

const ticket = `{"ticket":"4711","outlet":"ossing-elevator","field":["creek-80"],"gross":"78,460 lb","tare":"27180 lb","moisture":"13,8","truck":"semi"}`

func TestSentOftenItCountsOnceAndIsAnsweredAlike(t *testing.T) {
	s := begun(t)
	first := s.hand(1, "load", ticket)
	if first.Status != "new" || !strings.Contains(first.Say, "51,280 lb") {
		t.Fatalf("%+v", first)
	}
	for range 3 {
		if again := s.hand(1, "load", ticket); again.Status != "same" || again.Seq != first.Seq || again.Say != first.Say || again.Record != first.Record {
			t.Errorf("%+v, first %+v", again, first)
		}
	}
	other := s.hand(1, "load", strings.Replace(ticket, "78,460", "78,640", 1))
	if other.Status != "refused" || other.Error.Rule != "entry.duplicate" || !strings.Contains(other.Error.Say, "78,640") {
		t.Errorf("%+v", other.Error)
	}
	got := s.snapshot().Loads
	if got.All.Loads != 1 || got.All.NetLb != 51280 {
		t.Errorf("%+v", got.All)
	}
}

// The load of 51,280 lb at 13.8 %, by hand from the schedule of the first steps: 854.67 bu; two steps of 1.25 % of $9.87 are
// $0.24675, to four places $0.2468; 854.67 x $9.6232 = $8,224.66.
func TestALoadSettlesBesideItsTicket(t *testing.T) {
	s := begun(t)
	s.hand(1, "load", ticket)
	got := s.snapshot().Loads.Loads[0]
	if got.Settlement == nil || got.Settlement.Statement == nil || got.Settlement.Statement.Net != "8224.66" {
		t.Errorf("%+v", got.Settlement.Statement)
	}
	s.hand(2, "load", `{"outlet":"ossing-elevator","field":["creek-80"],"gross":"70000 lb","tare":"27000 lb"}`)
	for _, l := range s.snapshot().Loads.Loads {
		if l.Ticket == "" && (l.Settlement.WhyNot == nil || !strings.Contains(*l.Settlement.WhyNot, "moisture")) {
			t.Errorf("%+v", l.Settlement)
		}
	}
}

func TestDoubtsAreAskedAndTheImpossibleIsRefused(t *testing.T) {
	s := begun(t)
	for i, c := range []struct{ kind, body, status, rule, where string }{
		{"reading", `{"field":"creek-80","moisture":"14.1","device":"meter"}`, "new", "", ""},
		{"reading", `{"field":"creek-80","moisture":"31","device":"meter"}`, "doubt", "moisture.jump", "moisture"},
		{"reading", `{"field":"creek-80","moisture":"130","device":"meter"}`, "refused", "moisture.range", "moisture"},
		{"reading", `{"field":"creek-80","moisture":"NaN","device":"meter"}`, "refused", "percent", "moisture"},
		{"reading", `{"field":"creek-80","device":"meter"}`, "refused", "box.missing", "moisture"},
		{"reading", `{"field":"Nroth 40","moisture":"14","device":"meter"}`, "refused", "name.unknown", "field"},
		{"reading", `{"field":"creek-80","moisture":"14","device":"nose"}`, "refused", "box.word", "device"},
		{"reading", `{"field":"creek-80","moisture":"14","device":"meter","colour":"red"}`, "refused", "box.unknown", "colour"},
		{"reading", `{"field":"creek-80","moisture":"14","device":"meter","at":"2062-10-11 08:00"}`, "refused", "time.window", "at"},
		{"reading", `{"field":"creek-80","moisture":"14","device":"meter","at":"2031-03-09 02:30"}`, "refused", "time.gap", "at"},
		{"load", `{"outlet":"ossing-elevator","field":["creek-80"],"gross":"27480 lb","tare":"61200 lb"}`, "refused", "load.weight-order", "tare"},
		{"load", `{"outlet":"ossing-elevator","field":["creek-80"],"gross":"27480 lb","tare":"27480 lb"}`, "refused", "load.empty", "gross"},
		{"load", `{"outlet":"ossing-elevator","field":["creek-80"],"gross":"-78420 lb","tare":"27480 lb"}`, "refused", "", "gross"},
		{"load", `{"outlet":"ossing-elevator","field":["creek-80"],"gross":"78420","tare":"27480 lb"}`, "refused", "unit.missing", "gross"},
		{"load", `{"outlet":"ossing-elevator","field":["creek-80"],"gross":"78420 lb","tare":"12000 kg"}`, "refused", "weight.unit", "tare"},
		{"load", `{"outlet":"ossing-elevator","field":["creek-80=50%","home-quarter=30%"],"gross":"78420 lb","tare":"27480 lb"}`, "refused", "load.shares", "field"},
		{"load", `{"outlet":"ossing-elevator","field":["creek-80"],"gross":"78420 lb","tare":"27480 lb","test_weight":"5.6"}`, "refused", "factor.range", "test_weight"},
		{"bid", `{"outlet":"ossing-elevator","crop":"soybean","cash":"9.87"}`, "refused", "unit.missing", "cash"},
		{"bid", `{"outlet":"ossing-elevator","crop":"soybean","cash":"$98.70"}`, "doubt", "bid.jump", "cash"},
		{"bid", `{"outlet":"ossing-elevator","crop":"soybean","futures":"$10.42","basis":"-85c"}`, "new", "", ""},
		{"forecast", `{"on":"2031-09-18","high":"61 F","low":"82 F"}`, "refused", "outlook.order", "low"},
		{"forecast", `{"on":"2031-09-18","high":"82 F","low":"61 F","rain":"140"}`, "refused", "", "rain"},
		{"stage", `{"field":"pump-house","stage":"R9"}`, "refused", "box.word", "stage"},
		{"settings", `{"limits":{"soybean":"99"}}`, "refused", "", "limits"},
		{"season", `{"text":"[farm"}`, "refused", "", ""},
		{"nonsense", `{}`, "refused", "command.type", ""},
	} {
		t.Run(fmt.Sprintf("%d %s %s", i, c.kind, c.rule), func(t *testing.T) {
			got := s.hand(100+i, c.kind, c.body)
			if got.Status != c.status {
				t.Fatalf("%s, want %s: %+v %+v", got.Status, c.status, got.Error, got.Findings)
			}
			said := got.Findings
			if c.status == "new" {
				return
			}
			found := false
			for _, f := range said {
				found = found || (c.rule == "" || f.Rule == c.rule) && (c.where == "" || f.Where == c.where) && f.Say != ""
			}
			if !found {
				t.Errorf("nothing is said by %s at %s: %+v", c.rule, c.where, said)
			}
		})
	}
}

func TestACorrectionKeepsWhatWasThere(t *testing.T) {
	s := begun(t)
	first := s.hand(1, "reading", `{"field":"creek-80","moisture":"31","device":"meter"}`)
	body := fmt.Sprintf(`{"of":%q,"why":"misread","saw":%q,"change":{"moisture":"13.1"}}`, first.Record, first.ID)
	for i, want := range []string{"new", "same", "same"} {
		if got := s.hand(2, "correct", body); got.Status != want {
			t.Errorf("%d: %+v", i, got)
		}
	}
	if got := s.hand(3, "void", fmt.Sprintf(`{"of":%q,"why":"wrong field"}`, first.Record)); got.Status != "new" {
		t.Errorf("%+v", got)
	}
	if got := s.hand(4, "undo", fmt.Sprintf(`{"of":%q,"why":"it was right"}`, idOf(3))); got.Status != "new" {
		t.Errorf("%+v", got)
	}
	history := doc[struct {
		State   string
		Entries []struct{ Kind, Reason, Say string }
	}](t, s.ask("GET", "/api/entries/"+first.Record+"/history", ""), 200)
	if history.State != "live" || len(history.Entries) != 4 || history.Entries[1].Reason != "misread" {
		t.Errorf("%+v", history)
	}
	for _, r := range s.snapshot().Readings {
		if r.ID == first.Record && (r.Moisture != "13.1" || r.Version != idOf(2) || !r.Entered) {
			t.Errorf("%+v", r)
		}
	}
	if got := s.hand(5, "correct", fmt.Sprintf(`{"of":%q,"why":"","change":{"moisture":"13"}}`, first.Record)); got.Status != "refused" || got.Error.Where != "why" {
		t.Errorf("%+v", got)
	}
}

func TestSettingsAreKept(t *testing.T) {
	s := begun(t)
	for _, want := range []string{"new", "same"} {
		if got := s.hand(1, "settings", `{"limits":{"soybean":"14"},"name":"South Farm","days_off":["sun"],"work_from":"09:00"}`); got.Status != want {
			t.Errorf("%+v", got)
		}
	}
	text := string(s.ask("GET", "/api/season", "").body)
	if !strings.Contains(text, `soybean = "14%"`) || !strings.Contains(text, "South Farm") || !strings.Contains(text, `09:00`) {
		t.Error(text)
	}
}

func TestAReadingMovesThePlanAndThePlanSaysSo(t *testing.T) {
	s := begun(t)
	s.plan()
	first := s.snapshot()
	before := s.ask("GET", "/api/snapshot", "").body
	if first.Plan == nil || first.Changed != nil || len(first.Plan.Sheet.Fields) != 3 {
		t.Fatalf("%+v", first.Plan)
	}
	s.hand(1, "reading", `{"field":"creek-80","moisture":"19.5","device":"meter","spots":"6"}`)
	if got := s.snapshot().Plan.Behind; got != 1 {
		t.Errorf("%d entries behind, want 1", got)
	}
	s.plan()
	second := s.snapshot()
	if was, is := first.Plan.Sheet.Earlier, second.Plan.Sheet.Earlier; was != nil || is == nil || is.Say == "" {
		t.Errorf("orders against earlier ones: %+v, then %+v", was, is)
	}
	if second.Changed == nil || len(second.Changed.Because) == 0 || !strings.Contains(second.Changed.Because[0], "19.5 % in creek-80") {
		t.Fatalf("%+v", second.Changed)
	}
	moved := false
	for _, f := range second.Changed.Fields {
		moved = moved || f.Field == "creek-80" && len(f.Because) == 1
	}
	if !moved {
		t.Errorf("creek-80 did not move: %+v\n%s\n%s", second.Changed, before, s.ask("GET", "/api/snapshot", "").body)
	}
	look := doc[struct {
		Plan   string
		Hours  []any
		Losses []any
	}](t, s.ask("GET", "/api/fields/creek-80/outlook", ""), 200)
	if look.Plan != second.Plan.ID || len(look.Hours) == 0 || len(look.Losses) == 0 {
		t.Errorf("%+v", look)
	}
	worth := doc[struct {
		Crops []struct{ Ways []struct{ To string } }
	}](t, s.ask("GET", "/api/outlets", ""), 200)
	if len(worth.Crops) != 1 || worth.Crops[0].Ways[0].To != "ossing-elevator" {
		t.Errorf("%+v", worth)
	}
	if page := string(s.ask("GET", "/print/day-sheet", "").body); !strings.Contains(page, "Creek 80") || strings.Contains(page, "<script") {
		t.Error(page)
	}
	if page := string(s.ask("GET", "/print/loads", "").body); !strings.Contains(page, "No load is in the book yet") {
		t.Error(page)
	}
}

func TestTheLastPlanShowsAfterARestart(t *testing.T) {
	data := filepath.Join(t.TempDir(), "farm.db")
	var made string
	t.Run("made", func(t *testing.T) {
		s := open(t, data)
		s.ask("POST", "/api/start", firstSteps)
		s.plan()
		made = s.snapshot().Plan.ID
	})
	s := open(t, data)
	if got := s.snapshot().Plan; got == nil || got.ID != made {
		t.Errorf("%+v, want %s", got, made)
	}
}

func TestAPlanCanBeStopped(t *testing.T) {
	s := begun(t)
	if g := s.ask("POST", "/api/plan", "{}"); g.status != http.StatusAccepted {
		t.Fatal(g.status)
	}
	second := s.ask("POST", "/api/plan", "{}")
	if second.status == http.StatusConflict {
		second.refused(t, 409, "plan.running")
	}
	if g := s.ask("DELETE", "/api/plan", ""); g.status != 200 {
		t.Errorf("%d %s", g.status, g.body)
	}
	s.server.Wait()
	if is := s.snapshot().Job.State; is != "stopped" && is != "idle" {
		t.Error(is)
	}
}

func TestASnapshotIsSentOnceForOneState(t *testing.T) {
	s := begun(t)
	first := s.ask("GET", "/api/snapshot", "")
	has := func(r *http.Request) { r.Header.Set("If-None-Match", first.head.Get("ETag")) }
	if g := s.ask("GET", "/api/snapshot", "", has); g.status != http.StatusNotModified || len(g.body) != 0 {
		t.Errorf("%d, %d bytes", g.status, len(g.body))
	}
	s.hand(1, "reading", `{"field":"creek-80","moisture":"14","device":"meter"}`)
	if g := s.ask("GET", "/api/snapshot", "", has); g.status != http.StatusOK {
		t.Errorf("%d after an entry", g.status)
	}
}

func TestManyWriteAtOnceAndNothingIsLostOrDoubled(t *testing.T) {
	s := begun(t)
	const writers, each = 12, 15
	var all sync.WaitGroup
	for w := range writers {
		all.Go(func() {
			for i := range each {
				n := 1000 + w*each + i
				body := fmt.Sprintf(`{"ticket":"T%d","outlet":"ossing-elevator","field":["creek-80"],"gross":"60000 lb","tare":"26000 lb","at":"2031-09-16 %02d:%02d"}`, n, w%6, i)
				for range 2 {
					if got := s.hand(n, "load", body); got.Status == "refused" {
						t.Errorf("%+v", got.Error)
					}
				}
			}
		})
	}
	all.Wait()
	if got := s.snapshot(); got.Head.Seq != 1+writers*each {
		t.Errorf("%d entries, want %d", got.Head.Seq, 1+writers*each)
	}
}

const newSchedule = `{"outlet":"ossing-elevator","crop":"soybean","text":"crop = \"soybean\"\nlb_per_bu = 60\ndecimals = 2\nrounding = \"net price\"\npercent_of = \"cash\"\naverage = \"load\"\n\n[[moisture]]\nover = 13.0\nto = 20.0\neach = 0.5\ncount = \"or fraction\"\ntakes = \"%s %% of price\"\non = \"net\"\n"}`

// The load of 51,280 lb at 13.8 % once more, at two steps of 1 % of $9.87: 854.67 bu x ($9.87 - $0.1974) = $8,266.88.
func TestAScheduleThatIsSavedSettlesFromThenOn(t *testing.T) {
	s := begun(t)
	s.hand(1, "load", ticket)
	body := fmt.Sprintf(newSchedule, "1")
	for i, want := range []string{"new", "same", "same"} {
		if got := s.hand(2, "schedule", body); got.Status != want {
			t.Fatalf("%d: %+v", i, got)
		}
	}
	if got := s.snapshot().Loads.Loads[0]; got.Settlement.Statement == nil || got.Settlement.Statement.Net != "8266.88" {
		t.Errorf("%+v", got.Settlement)
	}
	files, err := filepath.Glob(filepath.Join(filepath.Dir(s.data), "schedules", "*"))
	if err != nil || len(files) != 2 {
		t.Errorf("%v %v: the schedule before stays beside the new one", files, err)
	}
	if got := s.hand(2, "schedule", fmt.Sprintf(newSchedule, "2")); got.Status != "refused" || got.Error.Rule != "entry.duplicate" {
		t.Errorf("%+v", got)
	}
	for i, c := range []struct{ body, rule string }{
		{strings.Replace(body, "ossing-elevator", "../../etc", 1), "outlet.unknown"},
		{strings.Replace(body, `"crop":"soybean"`, `"crop":"corn"`, 1), "schedule.crop"},
		{strings.Replace(body, "over = 13.0", "over = 23.0", 1), "S04"},
		{strings.Replace(body, "over = 13.0", "over = ", 1), ""},
		{`{"outlet":"ossing-elevator","crop":"soybean"}`, "box.missing"},
	} {
		if got := s.hand(10+i, "schedule", c.body); got.Status != "refused" || c.rule != "" && got.Error.Rule != c.rule || got.Error.Say == "" {
			t.Errorf("%s: %s %+v", c.rule, got.Status, got.Error)
		}
	}
	if after, _ := filepath.Glob(filepath.Join(filepath.Dir(s.data), "schedules", "*")); len(after) != 2 {
		t.Errorf("what was refused left files: %v", after)
	}
}

func TestPricesAndBooksAreAnswered(t *testing.T) {
	s := begun(t)
	empty := doc[struct {
		Loads     int
		Contracts []any
	}](t, s.ask("GET", "/api/books", ""), 200)
	if empty.Loads != 0 || empty.Contracts == nil {
		t.Errorf("%+v", empty)
	}
	s.hand(1, "load", ticket)
	books := doc[struct {
		Loads  int
		Head   struct{ Seq int64 }
		Shares []struct {
			Net string `json:"net_usd"`
		}
	}](t, s.ask("GET", "/api/books", ""), 200)
	if books.Loads != 1 || books.Head.Seq != 2 || len(books.Shares) != 1 || books.Shares[0].Net != "8224.66" {
		t.Errorf("%+v", books)
	}
	trace := doc[struct {
		Loads, More int
		Tickets     []struct{ Ticket string }
	}](t, s.ask("GET", "/api/books/trace?figure=field:creek-80", ""), 200)
	if trace.Loads != 1 || trace.More != 0 || trace.Tickets[0].Ticket != "4711" {
		t.Errorf("%+v", trace)
	}
	price := doc[struct {
		Offers []struct {
			Kind, Place string
			Ends        *string
		}
		Table []any
		Today *struct{ Best *int }
	}](t, s.ask("GET", "/api/price?field=creek-80&moisture=14,2", ""), 200)
	if len(price.Offers) != 1 || price.Offers[0].Place != "ossing-elevator" || len(price.Table) == 0 || price.Today == nil || price.Today.Best == nil {
		t.Errorf("%+v", price)
	}
	if ends := price.Offers[0].Ends; ends == nil || *ends != "2031-10-31T19:00:00-05:00" {
		t.Errorf("a bid until Friday 31 October ends when the outlet closes that day: %v", ends)
	}
	s.hand(2, "bid", `{"outlet":"ossing-elevator","crop":"soybean","cash":"$9.90","until":"2031-09-21"}`)
	sunday := doc[struct{ Offers []struct{ Ends *string } }](t, s.ask("GET", "/api/price?field=creek-80", ""), 200)
	if ends := sunday.Offers[0].Ends; ends == nil || *ends != "2031-09-20T17:00:00-05:00" {
		t.Errorf("a bid until a Sunday on which the outlet is closed ends on the Saturday: %v", ends)
	}
	s.ask("GET", "/api/price?field=nowhere", "").refused(t, 404, "field.unknown")
	s.ask("GET", "/api/price?moisture=142", "").refused(t, 400, "question.moisture")
	s.ask("GET", "/api/books?view=everything", "").refused(t, 400, "question.view")
	s.ask("GET", "/api/books/trace?figure=moon:1", "").refused(t, 400, "trace.form")
}

// A cheque and a sheet for the load that pays $8,224.66: the books say that the cheque is $100 short, and audit the sheet.
func TestChequesAndSheetsAreHeldAgainstTheBook(t *testing.T) {
	s := begun(t)
	s.hand(1, "load", ticket)
	cheque := `{"number":"1207","outlet":"ossing-elevator","on":"2031-09-20","total":"$8,124.66","lines":[{"ticket":"4711","amount":"$8,124.66"}]}`
	sheet := `{"outlet":"ossing-elevator","ticket":"4711","net_lb":"51280","net":"$8,224.66","lines":[{"name":"moisture","amount":"-$210.93"}]}`
	for _, want := range []string{"new", "same"} {
		for n, c := range []struct{ kind, body string }{{"cheque", cheque}, {"sheet", sheet}} {
			if got := s.hand(2+n, c.kind, c.body); got.Status != want || got.Say == "" {
				t.Fatalf("%s: %+v", c.kind, got)
			}
		}
	}
	if got := s.hand(4, "cheque", cheque); got.Status != "refused" || got.Error.Rule != "cheque.double" {
		t.Errorf("%+v", got)
	}
	books := doc[struct {
		Cheques []struct{ ID, Party string }
		Checks  []struct{ Rule, Say string }
		Audit   struct {
			Sheets []struct{ Ticket, Verdict string }
		}
	}](t, s.ask("GET", "/api/books", ""), 200)
	if len(books.Cheques) != 1 || books.Cheques[0].ID != idOf(2) || len(books.Audit.Sheets) != 1 || books.Audit.Sheets[0].Verdict != "agrees" {
		t.Errorf("%+v", books)
	}
	if !slices.ContainsFunc(books.Checks, func(c struct{ Rule, Say string }) bool {
		return c.Rule == "P01" && strings.Contains(c.Say, "8224.66")
	}) {
		t.Errorf("nothing is said of the $100: %+v", books.Checks)
	}
	right := fmt.Sprintf(`{"of":%q,"why":"misread","change":{"total":"$8,224.66","lines":[{"ticket":"4711","amount":"$8,224.66"}]}}`, idOf(2))
	if got := s.hand(5, "correct", right); got.Status != "new" {
		t.Errorf("%+v", got)
	}
	for i, c := range []struct{ kind, body, where string }{
		{"cheque", strings.Replace(cheque, `"amount":"$8,124.66"`, `"amount":"eight"`, 1), "lines.0.amount"},
		{"cheque", strings.Replace(cheque, `"total":"$8,124.66",`, "", 1), "total"},
		{"sheet", strings.Replace(sheet, `"moisture"`, `"wetness"`, 1), "lines.0.name"},
		{"sheet", `{"outlet":"ossing-elevator","ticket":"4712"}`, ""},
		{"sheet", strings.Replace(sheet, `"lines":[`, `"lines":["x",`, 1), "lines.0"},
	} {
		got := s.hand(20+i, c.kind, c.body)
		if got.Status != "refused" || !slices.ContainsFunc(got.Findings, func(f complaint) bool { return (c.where == "" || f.Where == c.where) && f.Say != "" }) {
			t.Errorf("%s: nothing is said at %s: %+v", c.body, c.where, got.Findings)
		}
	}
}

// While the newest entries are added up, which of a large season takes a while, a page is shown the books up to the entry that
// they name.
func TestBooksAreShownWhileNewerOnesAreAddedUp(t *testing.T) {
	s := begun(t)
	books := func() (loads int, upTo int64) {
		d := doc[struct {
			Loads int
			Head  struct{ Seq int64 }
		}](t, s.ask("GET", "/api/books", ""), 200)
		return d.Loads, d.Head.Seq
	}
	s.hand(1, "load", ticket)
	if loads, upTo := books(); loads != 1 || upTo != 2 {
		t.Fatalf("%d loads up to entry %d", loads, upTo)
	}
	s.disk.Lock() // adding up waits for a schedule
	s.hand(2, "load", strings.NewReplacer("4711", "4712", "78,460", "68,460").Replace(ticket))
	if loads, upTo := books(); loads != 1 || upTo != 2 {
		t.Errorf("meanwhile %d loads up to entry %d", loads, upTo)
	}
	s.disk.Unlock()
	s.server.Wait()
	if loads, upTo := books(); loads != 2 || upTo != 3 {
		t.Errorf("afterwards %d loads up to entry %d", loads, upTo)
	}
}

// Of more loads that look alike than a page shows, the snapshot lists some and says how many more wait.
func TestASnapshotListsOnlySoManyThatWait(t *testing.T) {
	s := begun(t)
	for from := 0; from < 420; from += 70 { // 210 tickets, each twice
		var batch []string
		for n := from; n < from+70; n++ {
			batch = append(batch, command(2000+n, "load", fmt.Sprintf(`{"ticket":"A%d","outlet":"ossing-elevator","field":["creek-80"],"gross":"78460 lb","tare":"27180 lb"}`, n/2)))
		}
		doc[map[string]any](t, s.ask("POST", "/api/commands", commands(batch...)), 200)
	}
	got := doc[struct {
		Waiting []struct{ Why []string }
		More    int `json:"waiting_more"`
	}](t, s.ask("GET", "/api/snapshot", ""), 200)
	if len(got.Waiting) != 200 || got.More != 10 || got.Waiting[0].Why[0] != "load.double" {
		t.Errorf("%d wait and %d more; 210 look like another", len(got.Waiting), got.More)
	}
}
