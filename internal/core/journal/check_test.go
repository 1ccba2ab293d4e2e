package journal_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

var (
	day = calendar.MustDay("2031-09-14")
	now = time.Date(2031, 9, 14, 18, 0, 0, 0, time.UTC)
)

func ptr[T any](v T) *T { return &v }

// goodLoad is a load with nothing wrong in it.
func goodLoad() journal.Load {
	return journal.Load{
		Ticket: "004512", Outlet: "river", Crop: crop.Corn, CropYear: 2031, Truck: "red", Day: day,
		From:     []journal.Part{{Field: "north-40", Share: 2}, {Field: "west", Share: 1}},
		Weights:  journal.Weights{Unit: journal.Pounds, Gross: ptr(int64(78_420)), Tare: ptr(int64(27_140))},
		Moisture: ptr(trade.Percent(15_60)), Quality: farm.Quality{TestWeight: ptr(trade.Percent(56_00))},
		In: ptr(now.Add(-time.Hour)), Out: ptr(now.Add(-50 * time.Minute)), Typed: journal.Typed{"gross_lb": "78,420"},
	}
}

func event(kind journal.Kind, body []byte, origin journal.Origin) journal.Event {
	return journal.Event{Farm: "home", ID: id(1), Kind: kind, Body: body, Origin: origin, At: now, Day: day}
}

// names is what the season of these tests defines.
var names = []journal.Name{
	{Kind: "field", ID: "north-40"},
	{Kind: "field", ID: "north-80"},
	{Kind: "field", ID: "west"},
	{Kind: "outlet", ID: "river"},
	{Kind: "bin", ID: "big"},
	{Kind: "truck", ID: "red"},
	{Kind: "contract", ID: "c-1", Crop: "corn"},
}

// judge returns the first answer to e.
func judge(t *testing.T, e journal.Event) journal.Answer {
	t.Helper()
	found, err := journal.Check(e, now)
	if err != nil {
		return journal.Unreadable(e.ID, err)
	}
	return journal.Decide(e, append(found, journal.CheckNames(e, names)...))
}

func TestEntriesThatCannotBeTakenAsTheyAre(t *testing.T) {
	change := func(f func(*journal.Load)) []byte {
		l := goodLoad()
		f(&l)
		return journal.LoadBody(l)
	}
	reading := func(m trade.Percent, field string) []byte {
		return journal.ReadingBody(farm.Reading{Field: field, At: now, Moisture: m, Device: "meter"}, nil)
	}
	bid := func(basis *trade.Price) []byte {
		return journal.BidBody(farm.Bid{Outlet: "river", Crop: crop.Corn, Basis: basis, Taken: now}, nil)
	}
	for _, c := range []struct {
		name string
		kind journal.Kind
		body []byte
		form journal.Status // the answer to a form; to an outbox it is never Refused
		rule string
		says []string
	}{
		{"nothing wrong", "load.recorded", change(func(*journal.Load) {}), journal.Stored, "", nil},
		{
			"moisture 130", "load.recorded", change(func(l *journal.Load) { l.Moisture = ptr(trade.Percent(130_00)) }), journal.Refused,
			"moisture.range",
			[]string{"Moisture", "130 %", "0 to 60 %", "13?"},
		},
		{
			"full and empty weight swapped", "load.recorded", change(func(l *journal.Load) {
				l.Weights.Gross, l.Weights.Tare = ptr(int64(27_480)), ptr(int64(61_200))
			}), journal.Refused, "load.weight-order", []string{"61,200 lb", "27,480 lb", "Swapped?"},
		},
		{"full equals empty", "load.recorded", change(func(l *journal.Load) { l.Weights.Tare = l.Weights.Gross }), journal.Refused, "load.empty", []string{"0 lb", "empty trip"}},
		{"an empty trip on purpose", "load.recorded", change(func(l *journal.Load) { l.Weights.Tare, l.Empty = l.Weights.Gross, true }), journal.Stored, "", nil},
		{
			"negative weight", "load.recorded", change(func(l *journal.Load) { l.Weights.Gross = ptr(int64(-78_420)) }), journal.Refused,
			"load.negative",
			[]string{"-78,420 lb", "negative", "void"},
		},
		{
			"test weight 5.6", "load.recorded", change(func(l *journal.Load) { l.Quality.TestWeight = ptr(trade.Percent(5_60)) }), journal.Refused,
			"factor.range",
			[]string{"Test weight", "5.6 lb/bu", "20 to 80", "56?"},
		},
		{"basis -0.85", "bid.recorded", bid(ptr(trade.Price(-85_000))), journal.Stored, "", nil},
		{"a bid without a price", "bid.recorded", bid(nil), journal.Refused, "bid.price", []string{"Price", "nothing is assumed"}},
		{
			"dated 2062", "load.recorded", change(func(l *journal.Load) { l.Day, l.CropYear = calendar.MustDay("2062-10-11"), 2062 }), journal.Refused,
			"time.window",
			[]string{"11 Oct 2062", "future", "Year 2031?"},
		},
		{"unknown field", "reading.recorded", reading(15_60, "nroth-40"), journal.Refused, "name.unknown", []string{"nroth-40", "Closest: north-40"}},
		{
			"soybeans on a corn contract", "load.recorded", change(func(l *journal.Load) { l.Crop, l.Contract = crop.Soybean, "c-1" }), journal.Refused,
			"load.contract-crop",
			[]string{"c-1", "corn", "soybean"},
		},
		{"to an own bin", "load.recorded", change(func(l *journal.Load) { l.Outlet = "big" }), journal.Stored, "", nil},
		{"a formula in a note is text", "load.recorded", change(func(l *journal.Load) { l.Note = `=HYPERLINK("http://…")` }), journal.Stored, "", nil},
		{
			"net is not full less empty", "load.recorded", change(func(l *journal.Load) { l.Weights.Net = ptr(int64(51_000)) }), journal.Review,
			"load.net",
			[]string{"51,000 lb", "51,280 lb"},
		},
		{"kilograms keep their unit", "load.recorded", change(func(l *journal.Load) { l.Weights.Unit = journal.Kilograms }), journal.Stored, "", nil},
		{"a reading of 60 %", "reading.recorded", reading(60_00, "west"), journal.Stored, "", nil},
		{"a reading of 60.01 %", "reading.recorded", reading(60_01, "west"), journal.Refused, "moisture.range", []string{"60.01 %"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := judge(t, event(c.kind, c.body, journal.Form))
			if a.Status != c.form {
				t.Fatalf("form: got %s, want %s; %+v", a.Status, c.form, a.Problems)
			}
			if c.rule != "" {
				if len(a.Problems) != 1 || a.Problems[0].Rule != c.rule {
					t.Fatalf("got %+v, want one problem %s", a.Problems, c.rule)
				}
				for _, s := range c.says {
					if said := a.Problems[0].Say + " " + a.Problems[0].Next; !strings.Contains(said, s) {
						t.Errorf("%q does not say %q", said, s)
					}
				}
			}
			outbox := journal.Review
			if c.form == journal.Stored {
				outbox = journal.Stored
			}
			if got := judge(t, event(c.kind, c.body, journal.Outbox)).Status; got != outbox {
				t.Errorf("outbox: got %s, want %s", got, outbox)
			}
		})
	}
}

func TestWhatCannotBeReadIsRefusedFromAnywhere(t *testing.T) {
	good := string(journal.LoadBody(goodLoad()))
	for name, e := range map[string]journal.Event{
		"no JSON":                            event("load.recorded", []byte(`net 51280`), journal.Outbox),
		"unknown key":                        event("load.recorded", []byte(strings.Replace(good, `"crop"`, `"corp"`, 1)), journal.Outbox),
		"unknown kind":                       event("load.eaten", []byte(good), journal.Outbox),
		"text as number":                     event("load.recorded", []byte(strings.Replace(good, `"gross_lb":78420`, `"gross_lb":"78420"`, 1)), journal.Outbox),
		"a fraction":                         event("load.recorded", []byte(strings.Replace(good, `"gross_lb":78420`, `"gross_lb":78420.5`, 1)), journal.Outbox),
		"two units":                          event("load.recorded", []byte(strings.Replace(good, `"tare_lb"`, `"tare_kg"`, 1)), journal.Outbox),
		"no outlet":                          event("load.recorded", []byte(strings.Replace(good, `"outlet":"river"`, `"outlet":""`, 1)), journal.Outbox),
		"a note that only the program makes": event("book.restored", journal.RestoreBody(journal.Restore{Backup: "b", At: now}), journal.Outbox),
		"a load that the program makes up":   event("load.recorded", []byte(good), journal.Program),
		"a void of no record": event("load.voided", journal.SayingBody(journal.Voided, journal.Saying{Of: "7", Saw: "7", Reason: "x"}),
			journal.Outbox),
		"a void without a reason": event("load.voided", journal.SayingBody(journal.Voided, journal.Saying{Of: id(2), Saw: id(2)}), journal.Outbox),
		"merged with itself": event("load.merged", journal.SayingBody(journal.Merged, journal.Saying{Of: id(2), Into: id(2), Reason: "x"}),
			journal.Outbox),
	} {
		a := judge(t, e)
		if a.Status != journal.Refused || len(a.Problems) == 0 || a.Problems[0].Say == "" || a.Problems[0].Rule == "" {
			t.Errorf("%s: got %+v, want a refusal that says why", name, a)
		}
	}
}

func TestADeviceClockIsEvidenceNotOrder(t *testing.T) {
	for _, c := range []struct {
		name string
		skew *time.Duration
		at   time.Time
		want journal.Status
		says string
	}{
		{"a minute", ptr(time.Minute), now, journal.Stored, ""},
		{"three hours behind", ptr(3 * time.Hour), now.Add(-3 * time.Hour), journal.Stored, "3 hours behind"},
		{"three days behind", ptr(72 * time.Hour), now.Add(-72 * time.Hour), journal.Review, "3 days behind"},
		{"three days ahead", ptr(-72 * time.Hour), now.Add(72 * time.Hour), journal.Review, "3 days ahead"},
		{"ahead, not measured", nil, now.Add(time.Hour), journal.Review, "the office's clock says"},
		{"kept for a week offline", nil, now.Add(-7 * 24 * time.Hour), journal.Stored, ""},
	} {
		e := event("load.recorded", journal.LoadBody(goodLoad()), journal.Outbox)
		e.Skew, e.At = c.skew, c.at
		a := judge(t, e)
		said := ""
		for _, f := range a.Problems {
			said += f.Say
		}
		if a.Status != c.want || !strings.Contains(said, c.says) || c.says == "" && said != "" {
			t.Errorf("%s: got %s %q, want %s and %q", c.name, a.Status, said, c.want, c.says)
		}
	}
}

func TestTheSameEntryAgain(t *testing.T) {
	e := event("load.recorded", journal.LoadBody(goodLoad()), journal.Outbox)
	first := journal.Entry{Event: e, Seq: 41, Status: journal.Stored}
	later := e
	later.At, later.Device = e.At.Add(time.Hour), "other"
	if a := journal.Again(later, first); a.Status != journal.Already || a.First != journal.Stored || a.Seq != 41 {
		t.Errorf("sent again: got %+v, want the first answer", a)
	}
	l := goodLoad()
	l.Weights.Gross = ptr(int64(78_240))
	other := event("load.recorded", journal.LoadBody(l), journal.Outbox)
	a := journal.Again(other, first)
	if a.Status != journal.Refused || a.Problems[0].Rule != "entry.duplicate" ||
		!strings.Contains(a.Problems[0].Say, "78420") || !strings.Contains(a.Problems[0].Say, "78240") || !strings.Contains(a.Problems[0].Next, "Correct") {
		t.Errorf("other content: got %+v, want a refusal with both values", a)
	}
}

func TestBodiesReadBackAsTheyWere(t *testing.T) {
	typed := journal.Typed{"moist_hundredth_pct": "15,6 %"}
	l := goodLoad()
	if got, err := journal.ReadLoad(journal.LoadBody(l)); err != nil || !reflect.DeepEqual(got, l) {
		t.Errorf("load: got %+v, %v; want %+v", got, err, l)
	}
	r := farm.Reading{Field: "west", At: now, Moisture: 15_60, Device: "meter", Name: "old", Spots: 3, Zone: "low", By: "owner", Note: "damp\nsills"}
	if got, back, err := journal.ReadReading(journal.ReadingBody(r, typed)); err != nil || got != r || !reflect.DeepEqual(back, typed) {
		t.Errorf("reading: got %+v %v, %v; want %+v", got, back, err, r)
	}
	s := farm.Sighting{Field: "west", On: day, Stage: "R7", Pct: ptr(37.5), Zone: "low", By: "owner"}
	if got, _, err := journal.ReadStage(journal.StageBody(s, nil)); err != nil || !reflect.DeepEqual(got, s) {
		t.Errorf("stage: got %+v, %v; want %+v", got, err, s)
	}
	b := farm.Bid{Outlet: "river", Crop: crop.Corn, Futures: ptr(trade.Price(4_12500)), Basis: ptr(trade.Price(-85_000)), Month: "Dec 2031", From: &day, Taken: now}
	if got, _, err := journal.ReadBid(journal.BidBody(b, nil)); err != nil || !reflect.DeepEqual(got, b) {
		t.Errorf("bid: got %+v, %v; want %+v", got, err, b)
	}
	d := farm.OutlookDay{On: day, High: units.Fahrenheit(85), Low: units.Fahrenheit(58), RainPct: ptr(30.0), Amount: "light", When: "any", Entered: &now}
	if got, _, err := journal.ReadOutlook(journal.OutlookBody(d, nil)); err != nil || !reflect.DeepEqual(got, d) {
		t.Errorf("outlook: got %+v, %v; want %+v", got, err, d)
	}
	season := journal.Season{Text: "# home\r\n[farm]\nname = \"Ütland\"\t\n", Names: names}
	if got, err := journal.ReadSeason(journal.SeasonBody(season)); err != nil || !reflect.DeepEqual(got, season) {
		t.Errorf("season: got %+v, %v; want %+v", got, err, season)
	}
	rest := journal.Restore{Backup: "b.db", Seq: 7, LeftSeq: 9, LeftHash: strings.Repeat("0", 64), Kept: "aside", At: now}
	if got, err := journal.ReadRestore(journal.RestoreBody(rest)); err != nil || got != rest {
		t.Errorf("restore: got %+v, %v; want %+v", got, err, rest)
	}
}

func TestWhatLooksLikeOneTruckload(t *testing.T) {
	base := journal.LikenessOf(goodLoad())
	for _, c := range []struct {
		name   string
		change func(*journal.Likeness)
		want   bool
	}{
		{"one ticket number", func(k *journal.Likeness) { k.Truck, k.Gross = "blue", nil }, true},
		{"one ticket number in another year", func(k *journal.Likeness) { k.CropYear--; k.Truck = "blue" }, false},
		{"one ticket number at another outlet", func(k *journal.Likeness) { k.Outlet = "big" }, false},
		{"one truck and gross within half an hour", func(k *journal.Likeness) { k.Ticket = ""; k.At = ptr(k.At.Add(30 * time.Minute)) }, true},
		{"one truck and gross after half an hour", func(k *journal.Likeness) { k.Ticket = ""; k.At = ptr(k.At.Add(31 * time.Minute)) }, false},
		{"one truck, another gross", func(k *journal.Likeness) { k.Ticket = ""; k.Gross = ptr(int64(78_400)) }, false},
		{"no truck and no ticket", func(k *journal.Likeness) { k.Ticket, k.Truck = "", "" }, false},
	} {
		other := base
		c.change(&other)
		if got := base.Same(other); got != c.want || other.Same(base) != got {
			t.Errorf("%s: got %v, want %v, both ways round", c.name, got, c.want)
		}
	}
}

func FuzzReadAnyBody(f *testing.F) {
	f.Add("load.recorded", journal.LoadBody(goodLoad()))
	f.Add("load.voided", journal.SayingBody(journal.Voided, journal.Saying{Of: id(2), Saw: id(2), Reason: "x"}))
	f.Add("season.set", journal.SeasonBody(journal.Season{Text: "x", Names: names}))
	f.Fuzz(func(t *testing.T, kind string, body []byte) {
		canonical, err := journal.Canonical(body)
		if err != nil {
			return
		}
		e := event(journal.Kind(kind), canonical, journal.Outbox)
		found, err := journal.Check(e, now)
		if err != nil {
			if a := journal.Unreadable(e.ID, err); len(a.Problems) == 0 || a.Problems[0].Rule == "" {
				t.Fatalf("%v is refused without a reason", err)
			}
			return
		}
		if a := journal.Decide(e, found); a.Status == journal.Refused {
			t.Fatalf("an outbox entry that can be read was refused: %+v", a)
		}
		for _, p := range found {
			if p.Rule == "" || p.Say == "" || p.Severity != problem.Note && p.Next == "" {
				t.Fatalf("a finding without rule, sentence or next step: %+v", p)
			}
		}
	})
}

// Grain is hauled out of own bins too, and a bin is then what a load came from.
func TestALoadMayComeOutOfAnOwnBin(t *testing.T) {
	names := []journal.Name{{Kind: "outlet", ID: "river"}, {Kind: "bin", ID: "north"}, {Kind: "field", ID: "west"}}
	for from, rules := range map[string]int{"north": 0, "west": 0, "river": 1} {
		l := goodLoad()
		l.Outlet, l.Truck, l.Contract, l.From = "river", "", "", []journal.Part{{Field: from, Share: 1}}
		found := journal.CheckNames(journal.Event{Kind: "load.recorded", Body: journal.LoadBody(l)}, names)
		if len(found) != rules {
			t.Errorf("out of %s: %+v", from, found)
		}
	}
}
