package market_test

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/settlement"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

func three(t testing.TB) []market.Offer {
	var out []market.Offer
	for _, b := range []struct {
		name  string
		bid   trade.Price
		miles float64
	}{{"N", 982000, 6}, {"P", 1005000, 34}, {"R", 1021000, 61}} {
		out = append(out, market.Outlet{Terms: terms(t, b.name), Prices: settlement.Prices{Cash: b.bid}, Freight: haul(b.miles)})
	}
	return out
}

// Each stretch is held against statements settled one by one, row by row, at every tenth.
func TestBreakEvenMoistureIsThatOfTheStatements(t *testing.T) {
	offers := three(t)
	rows, err := market.Grid(offers, beans(13_00), 9_00, 20_00)
	if err != nil || len(rows) != 111 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	net := func(i int, m trade.Percent) (trade.Amount, bool) {
		o := offers[i].(market.Outlet)
		s, err := o.Terms.Settle(beans(m), o.Prices)
		return s.Net - o.Freight.PerLoad, err == nil
	}
	for i := range offers {
		for j := range offers {
			in := func(m trade.Percent) bool {
				for _, s := range market.Ahead(rows, i, j) {
					if s.From <= m && m <= s.To {
						return true
					}
				}
				return false
			}
			for m := trade.Percent(9_00); m <= 20_00; m += 10 {
				a, aok := net(i, m)
				b, bok := net(j, m)
				if want := aok && (!bok || a >= b); in(m) != want {
					t.Errorf("offer %d against %d at %s %%: ahead %v, want %v (%s, %s)", i, j, m, in(m), want, a, b)
				}
			}
		}
	}
}

// How wet may the load be and still pay to haul past N to P?
func ExampleAhead() {
	var t testing.T
	offers := three(&t)
	rows, _ := market.Grid(offers, beans(13_00), 9_00, 20_00)
	for _, s := range market.Ahead(rows, 1, 0) {
		fmt.Printf("P nets at least N from %s to %s %%\n", s.From, s.To)
	}
	best, _ := rows[48].Best()
	fmt.Println(rows[48].Moisture, best)
	// Output:
	// P nets at least N from 9.0 to 17.0 %
	// 13.8 1
}

// Ten cents pays for 12.4 extra one-way miles. [delivered-loads]
func TestBreakEvenMiles(t *testing.T) {
	rate := capacity.HaulRate{USDPerMile: 2.15, USDPerHour: 62}
	if got := rate.BreakEvenMiles(0.10, 900, 42*units.MilePerHour); math.Abs(got-12.4) > 0.05 {
		t.Errorf("%.2f miles, want 12.4", got)
	}
}

// A wetter load never pays more at a schedule whose discounts only rise, weighed on one scale.
func TestAWetterLoadNeverPaysMore(t *testing.T) {
	offers := three(t)
	rapid.Check(t, func(rt *rapid.T) {
		o := offers[rapid.IntRange(0, 2).Draw(rt, "buyer")].(market.Outlet)
		o.Prices.Cash = trade.Price(rapid.IntRange(1_00000, 30_00000).Draw(rt, "price"))
		l := settlement.Load{Crop: crop.Soybean, Tare: 26_000, Gross: 26_000 + trade.Pounds(rapid.IntRange(1_000, 90_000).Draw(rt, "net"))}
		dry := trade.Percent(rapid.IntRange(80, 190).Draw(rt, "dry") * 10)
		wet := dry + trade.Percent(rapid.IntRange(1, 20).Draw(rt, "wetter")*10)
		l.Readings = l.Readings.With(settlement.ForeignMaterial, 1_00)
		at := func(m trade.Percent) (market.Delivered, error) {
			l.Readings = l.Readings.With(settlement.Moisture, m)
			return o.Deliver(l)
		}
		a, errA := at(dry)
		b, errB := at(wet)
		if errA != nil && errB == nil {
			rt.Fatalf("refused at %s %% and taken at %s %%", dry, wet)
		}
		if errA == nil && errB == nil && b.Net > a.Net {
			rt.Fatalf("%s at %s %%, %s at %s %%", a.Net, dry, b.Net, wet)
		}
	})
}

func TestBreakEvenPriceIsTheLowestThatDoes(t *testing.T) {
	offers := three(t)
	rapid.Check(t, func(rt *rapid.T) {
		o := offers[rapid.IntRange(0, 2).Draw(rt, "buyer")].(market.Outlet)
		l := beans(trade.Percent(rapid.IntRange(90, 160).Draw(rt, "moisture") * 10))
		rival := trade.Amount(rapid.IntRange(100_00, 20_000_00).Draw(rt, "rival"))
		p, ok := o.BreakEvenPrice(l, rival)
		if !ok {
			rt.Fatal("no price")
		}
		nets := func(p trade.Price) trade.Amount {
			o.Prices.Cash = p
			d, err := o.Deliver(l)
			if err != nil {
				rt.Fatal(err)
			}
			return d.Net
		}
		if nets(p) < rival || p > 10 && nets(p-10) >= rival {
			rt.Fatalf("%s nets %s, a hundredth of a cent less nets %s, wanted %s", p, nets(p), nets(p-10), rival)
		}
	})
	if _, ok := offers[0].(market.Outlet).BreakEvenPrice(beans(18_10), 1); ok {
		t.Error("a refused load has no break-even price")
	}
}

// The drying and storing of the published lot, as one load into the own bin. [market-worked]
func TestTheOwnBinIsAnOffer(t *testing.T) {
	h := market.Home{Crop: crop.Corn, Sale: 410000, Base: 15_00, Wettest: 15_00, Dryer: &market.HomeDryer{Target: 15_00, Job: dryer}}
	l := settlement.Load{Crop: crop.Corn, Gross: 560_000}
	l.Readings = l.Readings.With(settlement.Moisture, 20_00)
	d, err := h.Deliver(l)
	if err != nil {
		t.Fatal(err)
	}
	if d.Paid.NetQty != 9_361_760 || d.Costs != 2_017_50 || d.Net != 38_383_22-2_017_50 {
		t.Errorf("got %s bu, costs %s, net %s", d.Paid.NetQty, d.Costs, d.Net)
	}
	h.Dryer = nil
	if _, err := h.Deliver(l); !errors.Is(err, settlement.ErrNotAccepted) {
		t.Errorf("got %v, want a refusal: there is no dryer", err)
	}
	l.Readings = l.Readings.With(settlement.Moisture, 12_00)
	if d, err = h.Deliver(l); err != nil || d.Paid.NetQty != 10_000_000 || d.Costs != 0 {
		t.Errorf("drier than the base: %s bu, costs %s; nobody pays for water that is gone", d.Paid.NetQty, d.Costs)
	}
}

func TestAPremiumIsEarnedAtTheEventThatCounts(t *testing.T) {
	zone := time.FixedZone("", -5*3600)
	at := func(clock string) time.Time {
		x, err := time.ParseInLocation("2006-01-02 15:04", "2031-10-"+clock, zone)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	wet, dry, capBu := trade.Percent(14_10), trade.Percent(13_90), 9000.0
	p := farm.Premium{From: new(calendar.MustDay("2031-10-06")), Until: calendar.MustDay("2031-10-08"), CapBu: &capBu, MaxMoisture: new(trade.Percent(14_00))}
	whole := market.Weighed{Arrival: at("08 22:10"), Gross: at("08 23:50"), Tare: at("09 00:20"), Moisture: &dry}
	for _, c := range []struct {
		name   string
		counts string
		change func(*market.Weighed)
		want   bool
	}{
		{"gross weighing before midnight", "", nil, true},
		{"the empty weight after midnight", "tare", nil, false},
		{"arrival before midnight", "arrival", nil, true},
		{"in the line at midnight", "", func(w *market.Weighed) { w.Gross = at("09 00:05") }, false},
		{"in the line at midnight where arrival counts", "arrival", func(w *market.Weighed) { w.Gross = at("09 00:05") }, true},
		{"before it begins", "", func(w *market.Weighed) { w.Gross = at("05 23:59") }, false},
		{"too wet", "", func(w *market.Weighed) { w.Moisture = &wet }, false},
		{"moisture not known", "", func(w *market.Weighed) { w.Moisture = nil }, false},
		{"used up", "", func(w *market.Weighed) { w.Earlier = 9_000_000 }, false},
		{"the last bushel left", "", func(w *market.Weighed) { w.Earlier = 8_999_990 }, true},
		{"no time", "", func(w *market.Weighed) { *w = market.Weighed{Moisture: &dry} }, false},
	} {
		q, w := p, whole
		q.Counts = c.counts
		if c.change != nil {
			c.change(&w)
		}
		ok, why := market.Earns(q, w, zone)
		if ok != c.want || ok != (why == "") {
			t.Errorf("%s: %v (%s)", c.name, ok, why)
		}
	}
}

func TestABidAgesByBusinessDays(t *testing.T) {
	zone := time.FixedZone("", -6*3600)
	at := func(s string) time.Time {
		x, _ := time.ParseInLocation("Mon 2006-01-02 15:04", s, zone)
		return x
	}
	for _, c := range []struct {
		taken, now string
		want       market.Freshness
	}{
		{"Thu 2031-10-02 13:20", "Thu 2031-10-02 18:00", market.Fresh},
		{"Thu 2031-10-02 13:20", "Fri 2031-10-03 06:00", market.DayOld},
		{"Thu 2031-10-02 13:20", "Sat 2031-10-04 06:00", market.TooOld},
		{"Fri 2031-10-03 13:20", "Mon 2031-10-06 06:00", market.DayOld},
		{"Fri 2031-10-03 13:20", "Tue 2031-10-07 06:00", market.TooOld},
	} {
		if got := market.FreshnessOf(at(c.taken), at(c.now)); got != c.want {
			t.Errorf("heard %s, now %s: %v, want %v", c.taken, c.now, got, c.want)
		}
	}
	if market.FreshnessOf(time.Time{}, at("Thu 2031-10-02 13:20")) != market.Unheard {
		t.Error("a bid without a time is not fresh")
	}
}

func TestPromisesAreHeldAgainstAPoorHarvest(t *testing.T) {
	// Two fields of 1,000 bu with a tenth of deviation: 2 × (1000 - 128.155) = 1743 whole bushels. [market-worked]
	counted := market.TenthOf([]market.Yield{{Bushels: 1000, SDPct: 10}, {Bushels: 1000, SDPct: 10}})
	if counted != 1_743_000 {
		t.Errorf("counted on %s, want 1743", counted)
	}
	if got := market.Overcommitted(2_500_000, 500_000, counted); got != 257_000 {
		t.Errorf("over by %s, want 257", got)
	}
	if got := market.Overcommitted(2_000_000, 500_000, counted); got != 0 {
		t.Errorf("over by %s, want 0", got)
	}
}

func TestMoneyOfDearStorageAndFreight(t *testing.T) {
	s := market.Service{Flat: 8000, FreeDays: 60, PerMonth: 3500, MonthBegun: true, Least: 10000}
	for days, want := range map[int]trade.Price{0: 10000, 60: 10000, 61: 11500, 90: 11500, 91: 15000} { // [market-worked]
		if got := s.Charge(days); got != want {
			t.Errorf("%d days: %s, want %s", days, got, want)
		}
	}
	if got := (market.Service{FreeDays: 60, PerMonth: 3500, Least: 10000}).Charge(60); got != 0 {
		t.Errorf("inside the free days: %s, want 0", got)
	}
	// 54,000 lb are 900 bu and 27 tons: 12 c a bushel, $4 a ton and $30 the load. [market-worked]
	f := market.Freight{PerLoad: 30_00, PerUnit: 12000, PerTon: 4_00000}
	if got := f.Of(54_000, 900_000); got != 246_00 {
		t.Errorf("freight %s, want 246.00", got)
	}
}

func BenchmarkGrid(b *testing.B) {
	offers := three(b)
	offers = append(offers, market.Home{Crop: crop.Soybean, Sale: 1018000, Base: 13_00, Wettest: 13_50, Dryer: &market.HomeDryer{Target: 13_00, Job: storage.Job{Energy: dryer.Energy, LPUSD: 1.75, PowerUSD: 0.11}}})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := market.Grid(offers, beans(13_00), 9_00, 20_00); err != nil {
			b.Fatal(err)
		}
	}
}
