package app_test

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// opened returns the app with the starter farm in a data file.
func opened(t *testing.T) (*app.App, string) {
	t.Helper()
	a, dir := kept(t)
	data := filepath.Join(dir, "farm.db")
	if _, err := a.Import(context.Background(), filepath.Join(dir, "season.toml"), data, "Ada"); err != nil {
		t.Fatal(err)
	}
	return a, data
}

func morningAt(clock string) time.Time {
	at, err := time.Parse(time.RFC3339, "2004-10-06T"+clock+":00-05:00")
	if err != nil {
		panic(err)
	}
	return at
}

func ptrTo[T any](x T) *T { return &x }

// rules returns the rules of what was doubted, "" for nothing.
func rules(found []problem.Finding) string {
	var out []string
	for _, f := range found {
		out = append(out, f.Rule)
	}
	slices.Sort(out)
	return strings.Join(out, " ")
}

// The starter farm read 14.6 % in creek-80 on 5 October and 17.6 % in pump-house; ossing bids $9.8725 for soybean.
func TestAReadingIsDoubtedWhereItIsMoreLikelyASlip(t *testing.T) {
	for name, c := range map[string]struct {
		field    string
		moisture trade.Percent
		days     int
		want     string
		next     string
	}{
		"a usual one":                        {"creek-80", 13_40, 0, "", ""},
		"a little wetter after a dewy night": {"creek-80", 18_00, 0, "", ""},
		"drier after a week of sun":          {"creek-80", 9_00, 7, "", ""},
		"31 for 13":                          {"creek-80", 31_00, 0, "moisture.jump", "13.0?"},
		"71.6 for 17.6":                      {"pump-house", 51_60, 0, "moisture.jump", "15.6?"},
		"far too dry for one day":            {"pump-house", 8_00, 0, "moisture.jump", "mistyped"},
		"a fraction":                         {"creek-80", 14, 0, "reading.fraction", "percent"},
		"weeks after the one before":         {"creek-80", 24_00, 30, "date.ahead", "time"},
	} {
		t.Run(name, func(t *testing.T) {
			a, data := opened(t)
			a.Now = func() time.Time { return time.Date(2004, 11, 20, 12, 0, 0, 0, time.UTC) } // the season still speaks of 6 October
			r := farm.Reading{Field: c.field, At: morningAt("05:30").AddDate(0, 0, c.days), Moisture: c.moisture, Device: "meter"}
			e, err := a.AddReading(context.Background(), data, r, nil, "")
			if err != nil {
				t.Fatal(err)
			}
			got := rules(slices.DeleteFunc(slices.Clone(e.Doubts), func(f problem.Finding) bool { return c.days > 0 && c.want == "" && f.Rule == "date.ahead" }))
			if got != c.want {
				t.Fatalf("doubts: %q, want %q: %v", got, c.want, e.Doubts)
			}
			if c.want != "" && !strings.Contains(e.Doubts[0].Next, c.next) {
				t.Errorf("next: %q, want %q in it", e.Doubts[0].Next, c.next)
			}
			if e.Review {
				t.Error("a doubt at the desk waits for nobody: the person has it before them")
			}
		})
	}
}

func TestALoadIsDoubtedWhereItDoesNotFitItsFieldTruckOrTicket(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*journal.Load)
		want   string
	}{
		"a usual one":           {func(*journal.Load) {}, ""},
		"another field's crop":  {func(l *journal.Load) { l.From[0].Field = "pump-house" }, "load.crop"},
		"a fraction":            {func(l *journal.Load) { l.Moisture = ptrTo(trade.Percent(14)) }, "load.fraction"},
		"wetter than the field": {func(l *journal.Load) { l.Moisture = ptrTo(trade.Percent(31_00)) }, "moisture.jump"},
		"another truck":         {func(l *journal.Load) { l.Weights.Tare, l.Weights.Net = ptrTo(int64(17_180)), ptrTo(int64(61_280)) }, "load.tare"},
		"a digit too many": {func(l *journal.Load) {
			l.Weights.Gross, l.Weights.Net = ptrTo(int64(178_460)), ptrTo(int64(151_280))
		}, "load.heavy truck.over-limit"},
		"light for the crop":    {func(l *journal.Load) { l.Quality.TestWeight = ptrTo(trade.Percent(25_60)) }, "load.test-weight"},
		"net is not what it is": {func(l *journal.Load) { l.Weights.Net = ptrTo(int64(50_000)) }, "load.net"},
		"kilograms of elsewhere": {func(l *journal.Load) {
			l.Weights = journal.Weights{Unit: journal.Kilograms, Gross: ptrTo(int64(90_000)), Tare: ptrTo(int64(12_000))}
		}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			a, data := opened(t)
			l := journal.Load{
				Outlet: "ossing", Truck: "semi", From: []journal.Part{{Field: "home-quarter", Share: 1}}, In: ptrTo(morningAt("10:20")),
				Day: calendar.MustDay("2004-10-06"), Crop: crop.Soybean, Moisture: ptrTo(trade.Percent(10_20)),
				Weights: journal.Weights{Unit: journal.Pounds, Gross: ptrTo(int64(78_460)), Tare: ptrTo(int64(27_180)), Net: ptrTo(int64(51_280))},
			}
			c.change(&l)
			e, stored, err := a.AddLoad(context.Background(), data, l, app.Signed{By: "Gil"})
			if err != nil {
				t.Fatal(err)
			}
			if got := rules(e.Doubts); got != c.want {
				t.Errorf("doubts: %q, want %q: %v", got, c.want, e.Doubts)
			}
			if stored.CropYear != 2004 {
				t.Errorf("crop year %d, want the season's", stored.CropYear)
			}
		})
	}
}

func TestALoadTakesItsCropFromItsFieldAndNeverGuesses(t *testing.T) {
	a, data := opened(t)
	ctx := context.Background()
	l := journal.Load{
		Outlet: "quern", From: []journal.Part{{Field: "pump-house", Share: 1}}, Day: calendar.MustDay("2004-10-06"),
		Weights: journal.Weights{Unit: journal.Pounds, Net: ptrTo(int64(51_280))},
	}
	if _, got, err := a.AddLoad(ctx, data, l, app.Signed{}); err != nil || got.Crop != crop.Corn {
		t.Errorf("got %s, %v; want corn", got.Crop, err)
	}
	l.From = []journal.Part{{Field: "pump-house", Share: 1}, {Field: "creek-80", Share: 1}}
	if _, _, err := a.AddLoad(ctx, data, l, app.Signed{}); err == nil || !strings.Contains(err.Error(), "corn and soybean") {
		t.Errorf("two crops: %v", err)
	}
}

func TestABidIsDoubtedBesideTheLast(t *testing.T) {
	for name, c := range map[string]struct {
		cash trade.Price
		want string
	}{
		"a usual one": {9_90000, ""}, "a rise within the season": {12_50000, ""},
		"dollars and cents mixed": {98_70000, "bid.jump"}, "another crop's": {4_10000, "bid.jump"},
	} {
		t.Run(name, func(t *testing.T) {
			a, data := opened(t)
			e, err := a.AddBid(context.Background(), data, farm.Bid{Outlet: "ossing", Crop: crop.Soybean, Cash: &c.cash, Taken: morningAt("05:50")}, nil, app.Signed{})
			if err != nil {
				t.Fatal(err)
			}
			if got := rules(e.Doubts); got != c.want {
				t.Errorf("doubts: %q, want %q: %v", got, c.want, e.Doubts)
			}
			id := e.ID
			back := func(_ journal.Subject, body []byte) ([]byte, error) {
				b, typed, err := journal.ReadBid(body)
				b.Cash = ptrTo(trade.Price(9_87000))
				return journal.BidBody(b, typed), err
			}
			if e, err = a.Correct(context.Background(), data, id, "mistyped", "Ada", back); err != nil || rules(e.Doubts) != "" {
				t.Errorf("corrected: %v, %v; want no doubt", e, err)
			}
		})
	}
}

func TestAForecastForADayThatHasPassedIsDoubted(t *testing.T) {
	a, data := opened(t)
	for day, want := range map[string]string{"2004-10-05": "forecast.past", "2004-10-06": "", "2004-10-09": ""} {
		at := morningAt("06:00")
		e, err := a.AddForecast(context.Background(), data, farm.OutlookDay{
			On: calendar.MustDay(day), High: units.Fahrenheit(70), Low: units.Fahrenheit(50), Entered: &at,
		}, nil, app.Signed{})
		if err != nil {
			t.Fatal(err)
		}
		if got := rules(e.Doubts); got != want {
			t.Errorf("%s: %q, want %q", day, got, want)
		}
	}
}
