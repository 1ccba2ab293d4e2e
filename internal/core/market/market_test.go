package market_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"strconv"
	"strings"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/feeds/schedulefile"
	"threshday/test/published"
)

// terms returns one of the invented schedules of testdata.
func terms(t testing.TB, name string) *settlement.Terms {
	t.Helper()
	data, err := os.ReadFile("testdata/schedules.json")
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]json.RawMessage
	if err := json.NewDecoder(bytes.NewReader(data)).Decode(&all); err != nil {
		t.Fatal(err)
	}
	s, err := schedulefile.ReadSchedule(name, all[name])
	if err != nil {
		t.Fatal(err)
	}
	out, _, err := settlement.Prepare(s)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func price(t testing.TB, text string) trade.Price {
	t.Helper()
	p, err := trade.ParsePrice("price", text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func percent(t testing.TB, text string) trade.Percent {
	t.Helper()
	p, err := trade.ParsePercent("percent", text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// haul is the truck of the published comparison.
func haul(miles float64) market.Freight {
	return market.OwnTruck(capacity.HaulRate{USDPerMile: 2.15, USDPerHour: 62}, capacity.Trip{
		Distance: units.Length(miles) * units.Mile, Loaded: 42 * units.MilePerHour, Empty: 42 * units.MilePerHour, QueueMin: 36,
	})
}

func beans(moisture trade.Percent) settlement.Load {
	l := settlement.Load{Crop: crop.Soybean, Gross: 80_000, Tare: 26_000}
	l.Readings = l.Readings.With(settlement.Moisture, moisture).With(settlement.ForeignMaterial, 1_00)
	return l
}

func TestDeliveredNetOfOneLoadAtThreeBuyers(t *testing.T) {
	published.Each(t, "delivered", func(t *testing.T, r published.Row) {
		o := market.Outlet{Terms: terms(t, r.Text("buyer")), Prices: settlement.Prices{Cash: price(t, r.Text("bid"))}, Freight: haul(r.Float("miles"))}
		d, err := o.Deliver(beans(13_80))
		if err != nil {
			t.Fatal(err)
		}
		r.CheckExact("net_bu", d.Paid.NetQty.Float())
		r.CheckExact("value", d.Paid.Value.Float())
		r.CheckExact("charges", d.Paid.Charges.Float())
		r.CheckExact("checkoff", d.Paid.Checkoff.Float())
		r.CheckExact("freight", d.Freight.Float())
		r.CheckExact("want", d.Net.Float())
		r.CheckExact("per_gross", d.PerGross().Float())
	})
}

// contract plays the moves of a table row.
func contract(t *testing.T, moves string) (market.Contract, error) {
	t.Helper()
	var c market.Contract
	on := calendar.MustDay("2031-10-01")
	for _, move := range strings.Split(moves, ";") {
		w := strings.Fields(move)
		arg := func(i int) trade.Price {
			if i >= len(w) {
				return 0
			}
			return price(t, w[i])
		}
		after := func(word string) trade.Price {
			for i, x := range w {
				if x == word && i+1 < len(w) {
					return arg(i + 1)
				}
			}
			return 0
		}
		service := func() market.Service {
			free, _ := strconv.Atoi(w[2])
			return market.Service{FreeDays: free, PerMonth: after("month"), MonthBegun: true, PerDay: after("day")}
		}
		day := func(i int) calendar.Day {
			if i < len(w) {
				return calendar.MustDay(w[i])
			}
			return on
		}
		var err error
		switch w[0] {
		case "cash":
			if c.Kind() == "" {
				c = market.NewCash(arg(1), day(2))
			} else {
				c, err = c.FixCash(arg(1), day(2))
			}
		case "basis":
			if c.Kind() == "" {
				c = market.NewBasis(arg(1), "Nov", after("fee"), on)
			} else {
				c, err = c.FixBasis(arg(1), on)
			}
		case "hta":
			c = market.NewHTA(arg(1), "Dec", after("fee"), on)
		case "minimum":
			c = market.NewMinimum(arg(1), arg(2), arg(3), arg(4), "Dec", on)
		case "deferred":
			c = market.NewDeferred(service())
		case "storage":
			c = market.NewStorage(service())
		case "pool":
			c = market.NewPool(arg(1), after("fee"), on)
		case "sample":
			c, err = c.Sample(arg(1))
		case "close":
			c, err = c.ClosePool(day(1))
		case "futures":
			c, err = c.FixFutures(arg(1), on)
		case "roll":
			c, err = c.Roll(market.Roll{To: "next", Spread: arg(1), Fee: after("fee"), On: on})
		default:
			t.Fatalf("no move %q", move)
		}
		if err != nil {
			return c, err
		}
	}
	return c, nil
}

func TestContractsPricedAsWritten(t *testing.T) {
	published.Each(t, "contracts", func(t *testing.T, r published.Row) {
		c, err := contract(t, r.Text("moves"))
		if err != nil {
			t.Fatal(err)
		}
		var delivered calendar.Day
		if r.Has("delivered") {
			delivered = calendar.MustDay(r.Text("delivered"))
		}
		got, complete := c.Price(delivered)
		if complete != r.Has("want") || complete != c.Priced() {
			t.Fatalf("%s: complete %v, open %v", r.Text("name"), complete, c.Open())
		}
		r.CheckExact("want", got.Float())
	})
}

func TestAMoveThatTheContractDoesNotAllowIsRefused(t *testing.T) {
	for _, moves := range []string{
		"cash 9.87; futures 10", "cash 9.87; cash 9.90", "hta 4.62 fee 0; futures 4.70", "hta 4.62 fee 0; basis -0.3; basis -0.2", "hta 4.62 fee 0; basis -0.3; roll 0.1",
		"basis -0.3 fee 0; cash 9.87", "basis -0.3 fee 0; futures 10; roll 0.1", "minimum 4.7 -0.35 0.24 0.03; roll 0.1", "deferred free 30; futures 10", "deferred free 30; roll 0.1",
		"storage free 0; cash 4; cash 4.1", "pool -0.4; close", "pool -0.4; futures 4", "basis -0.3 fee 0; sample 4", "pool -0.4; sample 4; close; sample 5",
	} {
		before := moves[:strings.LastIndex(moves, ";")]
		was, err := contract(t, before)
		if err != nil {
			t.Fatal(err)
		}
		is, err := contract(t, moves)
		var input *problem.InputError
		if !errors.As(err, &input) || input.Want == "" {
			t.Errorf("%s: got %v, want a refusal that says what is open", moves, err)
		}
		price, ok := is.Price(calendar.Day{})
		if p, k := was.Price(calendar.Day{}); p != price || k != ok {
			t.Errorf("%s: a refused move changed the price from %s to %s", moves, p, price)
		}
	}
}

func TestThePriceByDateIsHeld(t *testing.T) {
	c := market.NewBasis(-35000, "Nov", 0, calendar.MustDay("2031-09-01")).By(calendar.MustDay("2031-10-24"))
	if c.Overdue(calendar.MustDay("2031-10-24")) || !c.Overdue(calendar.MustDay("2031-10-25")) {
		t.Error("overdue begins on the day after the last")
	}
	var input *problem.InputError
	if _, err := c.FixFutures(1042250, calendar.MustDay("2031-10-25")); !errors.As(err, &input) || input.Rule != "C02" {
		t.Errorf("got %v, want C02", err)
	}
	if c, err := c.FixFutures(1042250, calendar.MustDay("2031-10-24")); err != nil || c.Overdue(calendar.MustDay("2031-12-01")) {
		t.Errorf("got %v", err)
	}
}

func TestWhatIsOwedForBushelsNotDelivered(t *testing.T) {
	published.Each(t, "buyout", func(t *testing.T, r published.Row) {
		short, _ := trade.ParseBushels("short", r.Text("short"))
		b := market.BuyOutOf(short, price(t, r.Text("price")), price(t, r.Text("market")), price(t, r.Text("fee")), r.Text("both_ways") == "yes")
		r.CheckExact("want", b.Total.Float())
		r.CheckExact("fee_usd", b.Fee.Float())
		if b.Market+b.Fee != b.Total {
			t.Error("the parts do not add up")
		}
	})
}

// The lot of the published comparison, in truckloads of a thousand wet bushels.
func lot(moisture trade.Percent) market.Lot {
	l := settlement.Load{Crop: crop.Corn, Gross: 82_000, Tare: 26_000}
	l.Readings = l.Readings.With(settlement.Moisture, moisture)
	return market.Lot{Bushels: 10_000_000, Load: l}
}

func buyer(t testing.TB) market.Outlet {
	return market.Outlet{Terms: terms(t, "corn"), Prices: settlement.Prices{Cash: 410000}, Freight: market.Freight{PerUnit: 14000}}
}

var dryer = storage.Job{ToPct: 15, Energy: storage.Energy{GalPerBuPoint: 0.019, KWhPerBuPoint: 0.010}, LPUSD: 1.75, PowerUSD: 0.11, HandlingUSD: 0.03, HandlingLossPct: 0.5}

func TestDryItSellWetOrWait(t *testing.T) {
	published.Each(t, "lot", func(t *testing.T, r published.Row) {
		var s market.Sale
		var err error
		switch r.Text("way") {
		case "sell":
			s, err = buyer(t).Sell(lot(20_00))
		case "dry":
			s, err = buyer(t).DryFirst(lot(20_00), dryer)
		case "wait":
			s, err = buyer(t).Wait(lot(20_00), percent(t, r.Text("moisture")), percent(t, r.Text("loss")))
		}
		if err != nil {
			t.Fatal(err)
		}
		r.CheckExact("paid", s.Paid.Float())
		r.CheckExact("revenue", s.Revenue.Float())
		r.CheckExact("charges", s.Charges.Float())
		r.CheckExact("drying", s.Drying.Float())
		r.CheckExact("handling", s.Handling.Float())
		r.CheckExact("freight", s.Freight.Float())
		r.CheckExact("want", s.Net.Float())
	})
}

// Waiting wins by 1,171.80 and breaks even with selling wet at a field loss of 4.74 %. [market-worked]
func TestTheFieldLossThatUndoesWaiting(t *testing.T) {
	o := buyer(t)
	wet, err := o.Sell(lot(20_00))
	if err != nil {
		t.Fatal(err)
	}
	waited, err := o.Wait(lot(20_00), 17_00, 1_50)
	if err != nil {
		t.Fatal(err)
	}
	if got := waited.Net - wet.Net; got != 1171_80 {
		t.Errorf("waiting gains %s, want 1171.80", got)
	}
	if loss, ok := o.BreakEvenLoss(lot(20_00), 17_00, wet.Net); !ok || loss != 4_74 {
		t.Errorf("breaks even at %s %%, want 4.74", loss)
	}
	// A 2-cent premium on today's bushels is worth 186 to selling wet. [market-worked]
	o.Prices.Premium = 2000
	if now, err := o.Sell(lot(20_00)); err != nil || now.Net-wet.Net != 186_00 {
		t.Errorf("the premium is worth %s, want 186.00", now.Net-wet.Net)
	}
}

func TestKeepingForALaterBid(t *testing.T) {
	published.Each(t, "carry", func(t *testing.T, r published.Row) {
		l := market.Keep(storage.Hold{
			PriceUSD: r.Float("price"), Days: r.Float("months"), YearDays: 12, InterestPct: r.Float("interest_pct"), StorageUSD: r.Float("storage"), ShrinkPct: r.Float("shrink_pct"),
		}, price(t, r.Text("expected")))
		r.CheckExact("interest", l.Interest.Float())
		r.CheckExact("carry", l.Carry.Float())
		r.CheckExact("breakeven", l.BreakEven.Float())
		r.CheckExact("want", l.Gain.Float())
	})
}

// 8,493.25 dollars on 54,000 lb are 9.4369 on each 60 lb and 15.7282 on each hundredweight. [delivered-loads]
func TestNetOnACommonWeight(t *testing.T) {
	d := market.Delivered{Net: 8493_25}
	d.Paid.NetLb = 54_000
	if bu, cwt := d.Per(60), d.Per(100); bu != 943690 || cwt != 1572820 {
		t.Errorf("%s and %s", bu, cwt)
	}
}
