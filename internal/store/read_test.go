package store_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/store"
)

func TestRecordsReadBack(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	reading := farm.Reading{Field: "west", At: start, Moisture: 18_20, Device: "meter", By: "owner"}
	typed := journal.Typed{"moist_hundredth_pct": "18.2 %"}
	sighting := farm.Sighting{Field: "west", On: day, Stage: "R7"}
	bid := farm.Bid{Outlet: "river", Crop: crop.Corn, Cash: ptr(trade.Price(4_12500)), Taken: start}
	outlook := farm.OutlookDay{On: day, High: units.Fahrenheit(85), Low: units.Fahrenheit(58)}
	newer := outlook
	newer.High = units.Fahrenheit(88)
	season := journal.Season{Text: "[farm]\r\nname = \"Home\"\n", Names: []journal.Name{{Kind: "field", ID: "west"}, {Kind: "outlet", ID: "river"}}}
	answers := put(t, s,
		event(1, "season.set", journal.SeasonBody(season), journal.Import),
		event(2, "reading.recorded", journal.ReadingBody(reading, typed), journal.Form),
		event(3, "stage.recorded", journal.StageBody(sighting, nil), journal.Form),
		event(4, "bid.recorded", journal.BidBody(bid, nil), journal.Form),
		event(5, "outlook.recorded", journal.OutlookBody(outlook, nil), journal.Form),
		event(6, "outlook.recorded", journal.OutlookBody(newer, nil), journal.Form),
		event(7, "reading.recorded", journal.ReadingBody(farm.Reading{Field: "wst", At: start, Moisture: 18_20, Device: "meter"}, nil), journal.Form),
		say(8, "bid.voided", journal.Saying{Of: id(4), Saw: id(4)}),
	)
	if got, want := statuses(answers), "stored stored stored stored stored stored refused stored"; got != want {
		t.Fatalf("got %s, want %s", got, want)
	}
	ctx := t.Context()
	got, entry, err := s.Season(ctx, "home")
	if err != nil || got.Text != season.Text || entry.Seq != 1 {
		t.Errorf("season: got %q, entry %d, %v", got.Text, entry.Seq, err)
	}
	readings, err := s.Readings(ctx, "home", "")
	if err != nil || len(readings) != 1 || readings[0].Value.Moisture != 18_20 || readings[0].Typed["moist_hundredth_pct"] != "18.2 %" ||
		readings[0].Value.ID != string(id(2)) {
		t.Errorf("readings: got %+v, %v", readings, err)
	}
	if stages, err := s.Stages(ctx, "home", "west"); err != nil || len(stages) != 1 || stages[0].Value.Stage != "R7" {
		t.Errorf("stages: got %+v, %v", stages, err)
	}
	if bids, err := s.Bids(ctx, "home", ""); err != nil || len(bids) != 0 {
		t.Errorf("bids: got %+v, %v; the only one is voided", bids, err)
	}
	if days, err := s.Outlook(ctx, "home"); err != nil || len(days) != 1 || days[0].Value.High != newer.High {
		t.Errorf("outlook: got %+v, %v; want the newest of the day", days, err)
	}
	sound(t, s)
}

func TestHistoryShowsOldAndNew(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	put(t, s, load(1, nil), say(2, "load.corrected", journal.Saying{
		Of: id(1), Saw: id(1), Reason: "misread",
		To: loadBody(1, func(l *journal.Load) { l.Weights.Gross = ptr(int64(67_100)) }),
	}), say(3, "load.voided", journal.Saying{Of: id(1), Saw: id(2), Reason: "not ours"}))
	steps, r, err := s.History(t.Context(), "home", id(1))
	if err != nil || len(steps) != 3 {
		t.Fatalf("got %d steps, %v", len(steps), err)
	}
	if got := fmt.Sprintf("%v %s %s %s", steps[1].Changes, steps[1].Reason, steps[2].Reason, r.State); got != "[{gross_lb 67001 67100}] misread not ours void" {
		t.Errorf("got %s", got)
	}
	if _, _, err := s.History(t.Context(), "home", id(77)); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
}

func TestPagesAndTotalsAgree(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	const loads = 137
	var events []journal.Event
	for n := 1; n <= loads; n++ {
		events = append(events, load(n, func(l *journal.Load) {
			l.Day, l.CropYear = day.AddDays(n%7), 2030+n%2
			l.Outlet = []string{"river", "mill"}[n%2]
		}))
	}
	put(t, s, events...)
	for _, q := range []store.LoadQuery{
		{Farm: "home"},
		{Farm: "home", Outlet: "mill"},
		{Farm: "home", Field: "west"},
		{Farm: "home", From: day.AddDays(2), Until: day.AddDays(3)},
		{Farm: "home", CropYear: 2031, Crop: "corn"},
		{Farm: "home", CropYear: 2030, Field: "west"},
		{Farm: "home", CropYear: 2031, Outlet: "mill"},
	} {
		q.Limit = 10
		var seen []journal.ID
		var net int64
		for {
			page, next, more, err := s.Loads(t.Context(), q)
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range page {
				seen = append(seen, r.ID)
				n, _ := r.Load.Weights.Carried()
				if q.Field != "" {
					n = journal.Apportion(n, r.Load.From)[1]
				}
				net += n
			}
			if q.After = next; !more {
				break
			}
		}
		sorted := slices.Clone(seen)
		slices.Sort(sorted)
		if len(slices.Compact(sorted)) != len(seen) {
			t.Errorf("%+v: a load stands on two pages", q)
		}
		q.After = store.Cursor{}
		sums, err := s.LoadTotals(t.Context(), "", q)
		if err != nil || sums[0].Loads != int64(len(seen)) || sums[0].NetLb != net {
			t.Errorf("%+v: pages show %d loads of %d lb, totals %+v, %v", q, len(seen), net, sums, err)
		}
	}
	for _, by := range []string{"outlet", "field", "crop", "contract", "day", "crop_year"} {
		sums, err := s.LoadTotals(t.Context(), by, store.LoadQuery{Farm: "home"})
		if err != nil {
			t.Fatal(err)
		}
		var net int64
		for _, one := range sums {
			net += one.NetLb
		}
		if want := pounds(t, s); net != want {
			t.Errorf("by %s the groups add to %d, all loads to %d", by, net, want)
		}
	}
}

func TestMissingNumbersOfADeviceAreNamed(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	for i, counter := range []int64{1, 2, 5, 6, 9} {
		e := load(i+1, nil)
		e.Device, e.Counter = "truck-4", counter
		put(t, s, e)
	}
	gaps, err := s.Gaps(t.Context(), "home")
	if got := fmt.Sprint(gaps); err != nil || got != "[{truck-4 3 4} {truck-4 7 8}]" {
		t.Errorf("got %s, %v", got, err)
	}
}

func TestTheDumpCanBeCheckedLineByLine(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	put(t, s, load(1, nil), load(2, nil), say(3, "load.voided", journal.Saying{Of: id(1), Saw: id(1)}))
	var out strings.Builder
	if err := s.Dump(t.Context(), &out); err != nil {
		t.Fatal(err)
	}
	var prev journal.Hash
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	for _, line := range lines {
		hash, text, _ := strings.Cut(line, " ")
		e, err := journal.ParseLine([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if prev = journal.Chain(prev, e); prev.String() != hash {
			t.Errorf("line %s does not follow from the one before", text)
		}
	}
	if len(lines) != 3 {
		t.Errorf("%d lines, want 3", len(lines))
	}
}

func TestTwoFarmsInOneFileDoNotMeet(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	other := load(1, nil)
	other.Farm = "away"
	if got := statuses(put(t, s, load(1, nil), other)); got != "stored stored" {
		t.Fatalf("got %s: the same ID in another farm is another entry", got)
	}
	if got := pounds(t, s); got != 40_001 {
		t.Errorf("got %d lb, want 40001", got)
	}
	farms, err := s.Farms(t.Context())
	if err != nil || fmt.Sprint(farms) != "[away home]" {
		t.Errorf("got %v, %v", farms, err)
	}
	sound(t, s)
}
