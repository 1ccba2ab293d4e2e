package ledger_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/ledger"
	"threshday/internal/core/market"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/schedulefile"
	"threshday/test/published"
)

// terms returns one of the invented schedules of testdata, changed by tweak.
func terms(t testing.TB, name string, tweak func(*settlement.Schedule)) *settlement.Terms {
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
	if tweak != nil {
		tweak(&s)
	}
	out, _, err := settlement.Prepare(s)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

var autumn = calendar.MustDay("2031-10-02")

var posted = map[string]*settlement.Terms{}

// of returns a schedule of testdata as it stands, prepared once.
func of(t testing.TB, name string) *settlement.Terms {
	if posted[name] == nil {
		posted[name] = terms(t, name, nil)
	}
	return posted[name]
}

// home is a farm with two soybean fields, one of them partly a landlord's, a corn field and a bin of each crop.
func home(t testing.TB) *ledger.Setup {
	season := &farm.Season{
		Parties: []farm.Party{{ID: "landlord", Role: "landlord"}, {ID: "tenant", Role: "owner"}},
		Fields: []farm.Field{
			{ID: "one", Crop: crop.Soybean, Acres: 40, Shares: []farm.Share{{Party: "landlord", Num: 1, Den: 3}, {Party: "tenant", Num: 2, Den: 3}}, Yield: farm.Yield{Base: 13_00}},
			{ID: "two", Crop: crop.Soybean, Acres: 60, Yield: farm.Yield{Base: 13_00}},
			{ID: "corn", Crop: crop.Corn, Acres: 80, Yield: farm.Yield{Base: 15_00}},
		},
		Outlets: []farm.Outlet{{ID: "elevator"}},
		Bins:    []farm.Bin{{ID: "cornbin", Crop: crop.Corn, HoldsBu: 10_000, SaleBase: 15_00}, {ID: "beanbin", Crop: crop.Soybean, HoldsBu: 5_000, SaleBase: 13_00}},
	}
	cash := func(k crop.Kind, p trade.Price) farm.Bid {
		return farm.Bid{Outlet: "elevator", Crop: k, Cash: &p, Taken: time.Date(2031, 9, 1, 18, 0, 0, 0, time.UTC)}
	}
	return &ledger.Setup{
		Season: season, Owner: "tenant", Zone: time.UTC, Now: time.Date(2031, 12, 1, 12, 0, 0, 0, time.UTC),
		Terms: map[ledger.TermsKey][]*settlement.Terms{
			{Outlet: "elevator", Crop: crop.Soybean}: {of(t, "A")},
			{Outlet: "elevator", Crop: crop.Corn}:    {of(t, "C")},
		},
		Bids: []farm.Bid{cash(crop.Soybean, 987250), cash(crop.Corn, 413000)},
	}
}

func load(k crop.Kind, gross, tare trade.Pounds, readings map[settlement.Factor]trade.Percent) settlement.Load {
	l := settlement.Load{Crop: k, Day: autumn, Gross: gross, Tare: tare}
	for f, x := range readings {
		l.Readings = l.Readings.With(f, x)
	}
	return l
}

// corn is the load of the worked example that crosses a contract.
func corn(id string) *ledger.Ticket {
	return &ledger.Ticket{ID: id, Number: id, Place: "elevator", Day: autumn, From: []ledger.Source{{Field: "corn", Part: 1}}, Load: load(crop.Corn, 81_240, 26_980, map[settlement.Factor]trade.Percent{
		settlement.Moisture: 19_30, settlement.TestWeight: 53_20, settlement.BCFM: 3_40, settlement.DamageTotal: 3_00,
	})}
}

// beans is the commingled truck of the worked example.
func beans(id string) *ledger.Ticket {
	return &ledger.Ticket{ID: id, Number: id, Place: "elevator", Day: autumn, From: []ledger.Source{{Field: "one", Part: 19_840}, {Field: "two", Part: 31_520}}, Load: load(crop.Soybean, 78_460, 27_180, map[settlement.Factor]trade.Percent{
		settlement.Moisture: 14_20, settlement.ForeignMaterial: 1_80, settlement.TestWeight: 55_10, settlement.DamageTotal: 2_40, settlement.Splits: 12_00,
	})}
}

func entries(tickets ...*ledger.Ticket) []ledger.Entry {
	var out []ledger.Entry
	for _, t := range tickets {
		out = append(out, ledger.Entry{Ticket: t})
	}
	return out
}

func rules(b *ledger.Book) []string {
	var out []string
	for _, f := range b.Findings {
		out = append(out, f.Rule)
	}
	return out
}

func clean(t *testing.T, b *ledger.Book) {
	t.Helper()
	for _, f := range b.Findings {
		t.Errorf("%s: %s", f.Rule, f.Say)
	}
}

func hta(id string) ledger.Contract {
	price, err := market.NewHTA(462000, "Dec", 2000, calendar.MustDay("2031-05-02")).FixBasis(-38000, calendar.MustDay("2031-09-20"))
	if err != nil {
		panic(err)
	}
	return ledger.Contract{ID: id, Outlet: "elevator", Party: "tenant", Crop: crop.Corn, Promised: 10_000_000, Applied: 9_461_370, Until: calendar.MustDay("2031-12-15"), Price: price}
}

func TestALoadThatCrossesAContract(t *testing.T) {
	s := home(t)
	s.Contracts = []ledger.Contract{hta("H-1")}
	b := ledger.Build(s, entries(corn("1")))
	clean(t, b)
	lines := map[string]ledger.SaleLine{}
	for _, l := range b.Sales {
		to := "spot"
		if l.Contract >= 0 {
			to = b.Contracts[l.Contract].ID
		}
		lines[to] = l
	}
	published.Each(t, "fills", func(_ *testing.T, r published.Row) {
		l := lines[r.Text("to")]
		base, quality := l.Base()
		r.CheckExact("qty", l.Qty.Float())
		r.CheckExact("price", l.Cash.Float())
		r.CheckExact("base", base.Float())
		r.CheckExact("quality", quality.Float())
		r.CheckExact("settled", l.Settled.Float())
		r.CheckExact("checkoff", l.Checkoff.Float())
		r.CheckExact("want", l.Value.Float())
	})
	if c := b.Contracts[0]; c.Left() != 0 || !c.Closed || c.Filled != 538_630 {
		t.Errorf("the contract has %s left, %s filled", c.Left(), c.Filled)
	}
}

func TestACommingledTruckOfTwoOwners(t *testing.T) {
	s := home(t)
	s.Season.Premiums = []farm.Premium{{Outlet: "elevator", Crop: crop.Soybean, Amount: 6000, Until: autumn}}
	b := ledger.Build(s, entries(beans("1")))
	clean(t, b)
	byParty := map[string]ledger.SaleLine{}
	var value, net trade.Amount
	for _, l := range b.Sales {
		byParty[b.Parties[l.Party]] = l
		value, net = value+l.Value, net+l.Net()
	}
	published.Each(t, "shares", func(_ *testing.T, r published.Row) {
		l := byParty[r.Text("party")]
		r.CheckExact("settled", l.Settled.Float())
		r.CheckExact("qty", l.Qty.Float())
		r.CheckExact("value", l.Value.Float())
		r.CheckExact("checkoff", l.Checkoff.Float())
		r.CheckExact("want", l.Net().Float())
	})
	if value != 8090_25 || net != 8049_80 {
		t.Errorf("the parts add up to %s and %s", value, net)
	}
	// Settled pounds by field, and the landlord's part of one of them. [landlord-split]
	var got []trade.Pounds
	for _, l := range b.Harvest {
		got = append(got, l.Settled)
	}
	if !slices.Equal(got, []trade.Pounds{6_550, 13_101, 31_219}) {
		t.Errorf("settled pounds by field and owner %v", got)
	}
}

// A truckload out of two fields, split by cart weights and shares.
func ExampleBuild() {
	var t testing.T
	s := home(&t)
	s.Season.Premiums = []farm.Premium{{Outlet: "elevator", Crop: crop.Soybean, Amount: 6000, Until: autumn}}
	b := ledger.Build(s, entries(beans("4711")))
	for _, l := range b.Sales {
		fmt.Printf("%s: %s bu, value %s, checkoff %s, net %s\n", b.Parties[l.Party], l.Qty, l.Value, l.Checkoff, l.Net())
	}
	// Output:
	// landlord: 109.17 bu, value 1041.70, checkoff 5.21, net 1036.49
	// tenant: 738.66 bu, value 7048.55, checkoff 35.24, net 7013.31
}

// Explicit assignment first, then the earliest deadline, the day written, the ID; a landlord's bushels never fill the tenant's.
func TestContractsAreFilledInTheOrderOfTheRule(t *testing.T) {
	cash := func(id, until, written string, promised trade.Bushels) ledger.Contract {
		c := ledger.Contract{ID: id, Outlet: "elevator", Party: "tenant", Crop: crop.Corn, Promised: promised, Until: calendar.MustDay(until), Price: market.NewCash(400000, calendar.Day{})}
		if written != "" {
			c.Written = calendar.MustDay(written)
		}
		return c
	}
	all := []ledger.Contract{
		cash("late", "2031-12-20", "2031-03-01", 1_000_000), cash("b", "2031-12-15", "2031-05-01", 100_000), cash("a", "2031-12-15", "2031-05-01", 100_000),
		cash("older", "2031-12-15", "2031-04-01", 100_000), cash("undated", "2031-12-15", "", 100_000),
	}
	for _, c := range []struct {
		name, named string
		want        []string
	}{
		{"by the rule", "", []string{"older", "a", "b", "undated", "late"}},
		{"a person named one", "undated", []string{"undated", "older", "a", "b", "late"}},
	} {
		s := home(t)
		s.Contracts = all
		ticket := corn("1")
		ticket.Contract = c.named
		b := ledger.Build(s, entries(ticket))
		clean(t, b)
		var got []string
		for _, l := range b.Sales {
			got = append(got, b.Contracts[l.Contract].ID)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: filled %v, want %v", c.name, got, c.want)
		}
	}
	s := home(t)
	other := hta("H-1")
	other.Party = "landlord"
	s.Contracts = []ledger.Contract{other}
	if b := ledger.Build(s, entries(corn("1"))); b.Contracts[0].Filled != 0 {
		t.Error("the tenant's corn filled the landlord's contract")
	}
}

func TestALoadInsideTheToleranceClosesTheContract(t *testing.T) {
	for _, c := range []struct {
		tolerance, filled, spot trade.Bushels
	}{{0, 538_630, 371_980}, {371_970, 538_630, 371_980}, {371_980, 910_610, 0}} {
		s := home(t)
		k := hta("H-1")
		k.Tolerance = c.tolerance
		s.Contracts = []ledger.Contract{k}
		b := ledger.Build(s, entries(corn("1")))
		clean(t, b)
		var spot trade.Bushels
		for _, l := range b.Sales {
			if l.Contract < 0 {
				spot += l.Qty
			}
		}
		if b.Contracts[0].Filled != c.filled || spot != c.spot || !b.Contracts[0].Closed {
			t.Errorf("tolerance %s: %s on the contract, %s at the bid", c.tolerance, b.Contracts[0].Filled, spot)
		}
	}
}

// Delivered and unpriced is a claim; stored at a buyer it is still the party's; neither is money.
func TestWhatIsNotPricedIsNoMoney(t *testing.T) {
	for _, c := range []struct {
		price         market.Contract
		claim, stored trade.Bushels
	}{
		{market.NewBasis(-35000, "Dec", 0, calendar.Day{}), 910_610, 0},
		{market.NewDeferred(market.Service{}), 910_610, 0},
		{market.NewStorage(market.Service{}), 0, 910_610},
	} {
		s := home(t)
		k := hta("K")
		k.Applied, k.Price = 0, c.price
		s.Contracts = []ledger.Contract{k}
		b := ledger.Build(s, entries(corn("1")))
		clean(t, b)
		p := b.Positions()
		if len(p) != 1 || p[0].Claim != c.claim || p[0].Stored != c.stored || p[0].Net != 0 || p[0].Sold != 0 {
			t.Errorf("%s: %+v", c.price.Kind(), p)
		}
		if sum := b.ContractSums()[0]; sum.Claim != 910_610 || sum.Net != 0 {
			t.Errorf("%s: %+v", c.price.Kind(), sum)
		}
	}
}

func TestAPremiumEndsWithItsBushels(t *testing.T) {
	s := home(t)
	room := 900.0
	s.Season.Premiums = []farm.Premium{{Outlet: "elevator", Crop: crop.Corn, Amount: 5000, Until: autumn, CapBu: &room}}
	b := ledger.Build(s, entries(corn("1"), corn("2")))
	clean(t, b)
	var with, without trade.Bushels
	for _, l := range b.Sales {
		if l.Premium > 0 {
			with += l.Qty
		} else {
			without += l.Qty
		}
	}
	if with != 900_000 || without != 2*910_610-900_000 {
		t.Errorf("%s bu earn the premium, %s do not", with, without)
	}
}

func TestABidIsTheNewestThatStoodThen(t *testing.T) {
	s := home(t)
	bid := func(p trade.Price, day int) farm.Bid {
		return farm.Bid{Outlet: "elevator", Crop: crop.Corn, Cash: &p, Taken: time.Date(2031, 10, day, 14, 0, 0, 0, time.UTC)}
	}
	s.Bids = []farm.Bid{bid(420000, 2), bid(410000, 1), bid(430000, 3)}
	ticket := corn("1")
	ticket.Weighed.Gross = time.Date(2031, 10, 2, 13, 59, 0, 0, time.UTC)
	later := corn("2")
	later.Weighed.Gross = time.Date(2031, 10, 2, 14, 0, 0, 0, time.UTC)
	b := ledger.Build(s, entries(ticket, later))
	clean(t, b)
	if b.Sales[0].Cash != 410000 || b.Sales[1].Cash != 420000 {
		t.Errorf("sold at %s and %s", b.Sales[0].Cash, b.Sales[1].Cash)
	}
	s.Bids = nil
	if b := ledger.Build(s, entries(ticket)); b.Sales[0].Priced || !slices.Equal(rules(b), []string{"load.price"}) {
		t.Errorf("without a bid: %+v, %v", b.Sales[0], rules(b))
	}
}
