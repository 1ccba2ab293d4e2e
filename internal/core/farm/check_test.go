package farm_test

import (
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

func day(s string) *calendar.Day {
	d := calendar.MustDay(s)
	return &d
}

// The moment of the tests, half past midnight on the farm's clock, when it is still the day before in UTC.
var (
	zone  = time.FixedZone("farm", 2*60*60)
	now   = time.Date(2031, 9, 13, 22, 30, 0, 0, time.UTC)
	today = calendar.MustDay("2031-09-14")
)

// check returns all doubts.
func check(s *farm.Season) []problem.Finding {
	return append(farm.Check(s), farm.CheckDates(s, now, zone)...)
}

// sound returns a season of two fields that nothing is doubtful about on 14 September 2031.
func sound() *farm.Season {
	price := trade.Price(1_012_000)
	return &farm.Season{
		Farm:   farm.Farm{Year: 2031},
		Prefer: farm.Preferences{Limits: map[crop.Kind]trade.Percent{crop.Soybean: 1400}},
		Fields: []farm.Field{
			{ID: "creek80", Crop: crop.Soybean, Planted: day("2031-05-06"), Mature: day("2031-09-08")},
			{ID: "ridge", Crop: crop.Soybean},
		},
		Readings:  []farm.Reading{{Field: "creek80", At: now.Add(-time.Hour), Moisture: 1560}},
		Stages:    []farm.Sighting{{Field: "creek80", On: calendar.MustDay("2031-09-09"), Stage: "R7"}},
		Combines:  []farm.Combine{{ID: "red", Heads: []farm.Head{{Crops: []crop.Kind{crop.Soybean}}}}},
		Outlets:   []farm.Outlet{{ID: "elevator", Schedules: map[crop.Kind]string{crop.Soybean: "schedules/elevator.json"}}},
		Bids:      []farm.Bid{{Outlet: "elevator", Crop: crop.Soybean, Cash: &price, Until: day("2031-10-31")}},
		Premiums:  []farm.Premium{{ID: "early", Outlet: "elevator", Crop: crop.Soybean, Until: today}},
		Contracts: []farm.Contract{{ID: "S-118", Outlet: "elevator", Crop: crop.Soybean, Bu: 3_000_000, AppliedBu: 420_500, Until: calendar.MustDay("2031-10-15")}},
		Bins:      []farm.Bin{{ID: "bin1", Crop: crop.Soybean, MaxMoisture: 1400, Dryer: "shed"}},
		Dryers:    []farm.Dryer{{ID: "shed", Target: map[crop.Kind]trade.Percent{crop.Soybean: 1300}}},
	}
}

func TestASoundSeasonRaisesNoDoubt(t *testing.T) {
	if found := check(sound()); len(found) > 0 {
		t.Errorf("got %+v", found)
	}
}

func TestDoubtsNameTheRecordToOpen(t *testing.T) {
	for _, c := range []struct {
		name     string
		change   func(s *farm.Season)
		rule     string
		severity problem.Severity
		record   string
	}{
		{"nobody buys the crop", func(s *farm.Season) { s.Bids, s.Contracts, s.Bins = nil, nil, nil }, "crop.unsold", problem.Warning, `field "creek80"`},
		{"no head cuts it", func(s *farm.Season) { s.Combines[0].Heads[0].Crops = []crop.Kind{crop.Corn} }, "crop.no-head", problem.Warning, `field "creek80"`},
		{"no limit is given", func(s *farm.Season) { s.Prefer.Limits = nil }, "crop.no-limit", problem.Warning, `field "creek80"`},
		{"the field has a limit of its own, the next has none", func(s *farm.Season) {
			s.Prefer.Limits = nil
			limit := trade.Percent(1500)
			s.Fields[0].Limit = &limit
		}, "crop.no-limit", problem.Warning, `field "ridge"`},
		{"soybeans planted the year before", func(s *farm.Season) { s.Fields[0].Planted = day("2030-05-06") }, "date.year", problem.Warning, `field "creek80"`},
		{"planted the year after", func(s *farm.Season) { s.Fields[0].Planted = day("2032-05-06") }, "date.year", problem.Warning, `field "creek80"`},
		{"mature the year before", func(s *farm.Season) { s.Fields[0].Mature = day("2030-09-08") }, "date.year", problem.Warning, `field "creek80"`},
		{"a corn stage in soybeans", func(s *farm.Season) { s.Stages[0].Stage = "dent" }, "stage.crop", problem.Warning, "stage 1"},
		{"a stage seen tomorrow", func(s *farm.Season) { s.Stages[0].On = today.AddDays(1) }, "date.ahead", problem.Warning, "stage 1"},
		{"a reading from the future", func(s *farm.Season) { s.Readings[0].At = now.Add(time.Second) }, "date.ahead", problem.Warning, "reading 1"},
		{"a moisture written as a fraction", func(s *farm.Season) { s.Readings[0].Moisture = 14 }, "reading.fraction", problem.Warning, "reading 1"},
		{"a bid for what nobody grows", func(s *farm.Season) {
			s.Bids = append(s.Bids, farm.Bid{ID: "b2", Outlet: "elevator", Crop: crop.Oats})
		}, "crop.not-grown", problem.Note, `bid "b2"`},
		{"no schedule", func(s *farm.Season) { s.Outlets[0].Schedules = nil }, "schedule.missing", problem.Warning, "bid 1"},
		{"a bid that is over", func(s *farm.Season) { s.Bids[0].Until = day("2031-09-13") }, "window.over", problem.Warning, "bid 1"},
		{"a premium that is over", func(s *farm.Season) { s.Premiums[0].Until = today.AddDays(-1) }, "window.over", problem.Note, `premium "early"`},
		{"a contract filled past its bushels", func(s *farm.Season) { s.Contracts[0].AppliedBu = 3_000_001 }, "contract.over", problem.Warning, `contract "S-118"`},
		{"a contract past its day", func(s *farm.Season) { s.Contracts[0].Until = today.AddDays(-1) }, "contract.late", problem.Warning, `contract "S-118"`},
		{"a dryer that stops too early", func(s *farm.Season) { s.Dryers[0].Target[crop.Soybean] = 1401 }, "bin.target", problem.Warning, `bin "bin1"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := sound()
			c.change(s)
			found := check(s)
			if len(found) != 1 {
				t.Fatalf("got %d findings, want 1: %+v", len(found), found)
			}
			f := found[0]
			if f.Rule != c.rule || f.Severity != c.severity || f.Where.Path != c.record || f.Say == "" || f.Label == "" {
				t.Errorf("got %+v", f)
			}
		})
	}
}
