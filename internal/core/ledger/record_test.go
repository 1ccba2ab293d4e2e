package ledger_test

import (
	"slices"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/ledger"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/test/published"
)

func TestThreeMeasuresOfALoadStayApart(t *testing.T) {
	b := ledger.Build(home(t), entries(beans("soybean"), corn("corn")))
	clean(t, b)
	published.Each(t, "records", func(t *testing.T, r published.Row) {
		for i, l := range b.Loads {
			if l.Ticket.ID != r.Text("crop") {
				continue
			}
			q := b.Quantities(i)
			r.CheckExact("settled", q.Settled.Float())
			r.CheckExact("insured", q.Insured.Float())
			r.CheckExact("dry", q.Dry.Float())
			return
		}
		t.Fatal("no such load")
	})
}

func TestYieldsAndRecordsByFieldAndParty(t *testing.T) {
	wet := corn("2")
	wet.Place = "cornbin"
	b := ledger.Build(home(t), entries(beans("1"), corn("3"), wet))
	clean(t, b)
	var got []string
	for _, y := range b.Yields() {
		got = append(got, y.Field+" "+y.Net.String()+" lb "+y.Bushels.String()+" bu "+y.PerAcre.String()+" bu/ac")
	}
	// Dry matter over 0.87 × 60 and 0.85 × 56 lb: 19,809 × 0.858 / 52.2, 31,471 × 0.858 / 52.2, 2 × 54,260 × 0.807 / 47.6. [landlord-split]
	want := []string{"one 19809 lb 325.60 bu 8.14 bu/ac", "two 31471 lb 517.28 bu 8.62 bu/ac", "corn 108520 lb 1839.82 bu 23.00 bu/ac"}
	if !slices.Equal(got, want) {
		t.Errorf("yields %q, want %q", got, want)
	}
	records := b.Records()
	if len(records) != 4 || records[0].Party != "landlord" || records[0].Share != trade.NewFraction(1, 3) || records[0].Net != 6_603 || records[0].Commingled != 1 {
		t.Errorf("records %+v", records)
	}
	if r := records[3]; r.ToBuyers != 54_260 || r.ToBins != 54_260 || r.Base != 15_00 || r.Insured != 2*918_900 {
		t.Errorf("corn %+v", r)
	}
	var insured trade.Bushels
	for _, r := range records[:2] {
		insured += r.Insured
	}
	if insured != 325_400 { // 19,809 / 60 × 0.9856, to a tenth, parted by shares. [rma-fad-213]
		t.Errorf("field one insured %s, want 325.40", insured)
	}
}

func TestALoadWithoutMoistureHasNoBushelsOfItsOwn(t *testing.T) {
	unread := corn("1")
	unread.Load.Readings = settlement.Readings{}
	b := ledger.Build(home(t), entries(unread))
	if got := rules(b); !slices.Equal(got, []string{"T06"}) {
		t.Errorf("findings %v", got)
	}
	y := b.Yields()
	if len(y) != 1 || y[0].Net != 54_260 || y[0].Unread != 1 || y[0].Bushels != 0 || len(b.Sales) != 0 {
		t.Errorf("yields %+v, sales %+v", y, b.Sales)
	}
}

// dryer grain out of a bin takes the dry matter of what went in: 40,000 lb at 20 % are 32,000 lb dry, which leave as 37,647 lb at 15 %.
func TestGrainDriedInABinLosesWaterAndNothingElse(t *testing.T) {
	in := &ledger.Ticket{ID: "in", Place: "beanbin", Day: autumn, From: []ledger.Source{{Field: "one", Part: 1}}, Load: load(crop.Soybean, 66_000, 26_000, map[settlement.Factor]trade.Percent{settlement.Moisture: 20_00})}
	out := &ledger.Ticket{ID: "out", Place: "elevator", Day: autumn.AddDays(20), From: []ledger.Source{{Bin: "beanbin", Part: 1}}, Load: load(crop.Soybean, 26_000+18_390, 26_000, map[settlement.Factor]trade.Percent{
		settlement.Moisture: 13_00, settlement.ForeignMaterial: 0, settlement.DamageTotal: 0,
	})}
	out.Load.Day = out.Day
	b := ledger.Build(home(t), entries(in, out))
	clean(t, b)
	bin := b.BinBalances()[1]
	// 32,000 / 52.2 = 613.03 bu in; 18,390 × 0.87 / 52.2 = 306.50 out.
	if bin.In != 613_030 || bin.Out != 306_500 || bin.Now != 306_530 || bin.InLb != 40_000 || bin.OutLb != 18_390 {
		t.Errorf("%+v", bin)
	}
	// The landlord's third of what came out is sold as his.
	var landlord trade.Bushels
	for _, l := range b.Sales {
		if b.Parties[l.Party] == "landlord" {
			landlord += l.Qty
		}
	}
	if landlord != 102_170 { // 306.50 / 3
		t.Errorf("the landlord sold %s bu, want 102.17", landlord)
	}
	if y := b.Yields(); len(y) != 1 || y[0].Net != 40_000 {
		t.Errorf("harvested %+v: grain out of a bin is not harvested again", y)
	}
}

func TestABinGivesFirstWhatCameFirstUnlessItIsMixed(t *testing.T) {
	into := func(id, field string, day int) *ledger.Ticket {
		tk := &ledger.Ticket{ID: id, Place: "beanbin", Day: autumn.AddDays(day), From: []ledger.Source{{Field: field, Part: 1}}, Load: load(crop.Soybean, 66_000, 26_000, map[settlement.Factor]trade.Percent{settlement.Moisture: 13_00})}
		return tk
	}
	out := &ledger.Ticket{ID: "out", Place: "elevator", Day: autumn.AddDays(9), From: []ledger.Source{{Bin: "beanbin", Part: 1}}, Load: load(crop.Soybean, 86_000, 26_000, map[settlement.Factor]trade.Percent{
		settlement.Moisture: 13_00, settlement.ForeignMaterial: 0, settlement.DamageTotal: 0,
	})}
	for _, c := range []struct {
		mixed    bool
		landlord trade.Pounds // of 60,000 lb
	}{{false, 13_333}, {true, 10_000}} {
		s := home(t)
		s.Mixed = map[string]bool{"beanbin": c.mixed}
		b := ledger.Build(s, entries(into("a", "one", 0), into("b", "two", 1), out))
		clean(t, b)
		var landlord trade.Pounds
		for _, l := range b.Sales {
			if b.Parties[l.Party] == "landlord" {
				landlord += l.Settled
			}
		}
		if landlord != c.landlord {
			t.Errorf("mixed %v: %s lb are the landlord's, want %s", c.mixed, landlord, c.landlord)
		}
	}
}

func TestWhatLayInABinBeforeIsTheOwners(t *testing.T) {
	s := home(t)
	s.Season.Bins[1].InBu = 100.5
	out := &ledger.Ticket{ID: "out", Place: "elevator", Day: autumn, From: []ledger.Source{{Bin: "beanbin", Part: 1}}, Load: load(crop.Soybean, 26_000+6_000, 26_000, map[settlement.Factor]trade.Percent{
		settlement.Moisture: 13_00, settlement.ForeignMaterial: 0, settlement.DamageTotal: 0,
	})}
	b := ledger.Build(s, entries(out))
	clean(t, b)
	if bin := b.BinBalances()[1]; bin.Opening != 100_500 || bin.Now != 500 {
		t.Errorf("%+v", bin)
	}
	if len(b.Sales) != 1 || b.Parties[b.Sales[0].Party] != "tenant" {
		t.Errorf("%+v", b.Sales)
	}
}

// Loads averaged by the day: 13.5 and 13.6 of one weight average 13.55, recorded as 13.6, two steps each. [cfr-868-308]
func TestLoadsOfADayAreSettledAtTheirMean(t *testing.T) {
	s := home(t)
	s.Terms[ledger.TermsKey{Outlet: "elevator", Crop: crop.Soybean}] = []*settlement.Terms{terms(t, "A", func(x *settlement.Schedule) { x.Average = settlement.PerDay })}
	at := func(id string, m trade.Percent, day int) *ledger.Ticket {
		tk := &ledger.Ticket{ID: id, Place: "elevator", Day: autumn.AddDays(day), From: []ledger.Source{{Field: "two", Part: 1}}, Load: load(crop.Soybean, 86_000, 26_000, map[settlement.Factor]trade.Percent{
			settlement.Moisture: m, settlement.ForeignMaterial: 0, settlement.DamageTotal: 0,
		})}
		tk.Load.Day = tk.Day
		return tk
	}
	b := ledger.Build(s, entries(at("1", 13_50, 0), at("2", 13_60, 0), at("3", 13_50, 1)))
	clean(t, b)
	// 1,000 bu at 9.8725 less 2.5 % (0.2468) or 1.25 % (0.1234).
	for i, want := range []trade.Amount{9_625_70, 9_625_70, 9_749_10} {
		if b.Sales[i].Value != want || b.Loads[i].Averaged != (i < 2) {
			t.Errorf("load %d pays %s (averaged %v), want %s", i+1, b.Sales[i].Value, b.Loads[i].Averaged, want)
		}
	}
	lacking := at("2", 13_60, 0)
	lacking.Load.Readings = settlement.Readings{}.With(settlement.Moisture, 13_60).With(settlement.ForeignMaterial, 0)
	b = ledger.Build(s, entries(at("1", 13_50, 0), lacking))
	if got := rules(b); !slices.Equal(got, []string{"load.average", "T06"}) || b.Loads[0].Averaged {
		t.Errorf("findings %v", got)
	}
}

func TestLoadsOfAContractAreSettledAtTheirMean(t *testing.T) {
	s := home(t)
	s.Terms[ledger.TermsKey{Outlet: "elevator", Crop: crop.Corn}] = []*settlement.Terms{terms(t, "C", func(x *settlement.Schedule) { x.Average = settlement.PerContract })}
	k := hta("H-1")
	k.Applied = 0
	s.Contracts = []ledger.Contract{k}
	wet, dry, bare := corn("1"), corn("2"), corn("3")
	dry.Load.Readings = dry.Load.Readings.With(settlement.Moisture, 15_30)
	wet.Contract, dry.Contract = "H-1", "H-1"
	b := ledger.Build(s, entries(wet, dry, bare))
	if got := rules(b); !slices.Equal(got, []string{"load.average"}) {
		t.Errorf("findings %v", got)
	}
	for i, want := range []bool{true, true, false} {
		m, _ := b.Loads[i].Readings.Of(settlement.Moisture)
		if b.Loads[i].Averaged != want || want && m != 17_30 {
			t.Errorf("load %d settled at %s %%, averaged %v", i+1, m, b.Loads[i].Averaged)
		}
	}
}

func TestContractsOfTheSeasonFile(t *testing.T) {
	price := func(p trade.Price) *trade.Price { return &p }
	for _, c := range []struct {
		in   farm.Contract
		want trade.Price // 0: open
		open []string
	}{
		{farm.Contract{Kind: "cash", Price: price(1006000)}, 1006000, nil},
		{farm.Contract{Price: price(1006000)}, 1006000, nil},
		{farm.Contract{Kind: "cash", Futures: price(462000), Basis: price(-36000)}, 426000, nil},
		{farm.Contract{Kind: "hta", Futures: price(462000)}, 0, []string{"basis"}},
		{farm.Contract{Kind: "hta", Futures: price(462000), Basis: price(-36000)}, 426000, nil},
		{farm.Contract{Kind: "basis", Basis: price(-36000)}, 0, []string{"futures"}},
		{farm.Contract{Kind: "basis", Basis: price(-36000), Futures: price(470000)}, 434000, nil},
		{farm.Contract{Kind: "minimum", Price: price(408000)}, 408000, nil},
		{farm.Contract{Kind: "minimum", Price: price(408000), Futures: price(470000)}, 0, []string{"futures"}},
		{farm.Contract{Kind: "deferred"}, 0, []string{"price"}},
		{farm.Contract{Kind: "deferred", Price: price(987000)}, 987000, nil},
		{farm.Contract{Kind: "storage"}, 0, []string{"price"}},
		{farm.Contract{Kind: "pool"}, 0, []string{"price"}},
	} {
		k := ledger.ContractOf(c.in, "tenant")
		got, ok := k.Price.Price(autumn)
		if ok != (c.want != 0) || got != c.want || !slices.Equal(k.Price.Open(), c.open) || k.Party != "tenant" {
			t.Errorf("%+v: %s, open %v", c.in, got, k.Price.Open())
		}
	}
}

func TestTermsOfContractsOfTheSeasonFile(t *testing.T) {
	price := func(p trade.Price) *trade.Price { return &p }
	written, done := calendar.MustDay("2031-08-04"), calendar.MustDay("2031-11-30")
	pct, bushels := trade.Percent(2_50), trade.Bushels(100_000)
	in := farm.Contract{
		Kind: "cash", Price: price(987000), Bu: 3_333_330, Class: "HRW", Written: &written, TolerancePct: &pct, ShortUSD: price(10000), ShortNets: true, BoughtOut: &done,
	}
	k := ledger.ContractOf(in, "tenant")
	// 2.5 % of 3,333.33 bu is 83.33325 bu, to a thousandth 83.333.
	if k.Tolerance != 83_333 || k.Class != "HRW" || k.Written != written || !k.ShortNets || !k.BoughtOut {
		t.Errorf("%+v", k)
	}
	in.TolerancePct, in.ToleranceBu, in.BoughtOut = nil, &bushels, nil
	if k = ledger.ContractOf(in, "tenant"); k.Tolerance != bushels || k.BoughtOut {
		t.Errorf("%+v", k)
	}
}
