package ledger_test

import (
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/ledger"
	"threshday/internal/core/market"
	"threshday/internal/core/trade"
)

// One field of 80 acres at 100 bu with 10 %: the tenth percentile is 8,000 * (1 - 1.28155 * 0.10) = 6,974.76 bu.
func TestPromisesAreHeldAgainstWhatMayBeCountedOn(t *testing.T) {
	s := home(t)
	s.Season.Fields[2].Yield.BuPerAcre = 100
	s.Contracts = []ledger.Contract{{
		ID: "oss-1", Outlet: "elevator", Party: "tenant", Crop: crop.Corn, Promised: 9_000_000, Applied: 1_000_000,
		Until: calendar.MustDay("2031-12-31"), Price: market.NewCash(422000, calendar.Day{}),
	}}
	ten := func(*farm.Field) float64 { return 10 }
	none := ledger.Build(s, nil).Promises(ten)
	if len(none) != 1 || none[0].CountedOn != 6_974_000 || none[0].Short != 1_026_000 {
		t.Fatalf("before any load: %+v; 6974 bu may be counted on and 1026 are short", none)
	}
	if f, ok := none[0].Doubt(); !ok || f.Say != "The contracts of tenant promise 9000.00 bu of corn; 1000.00 are delivered, 0.00 lie in bins, and 6974.00 more may be counted on in nine autumns of ten: 1026.00 bu short." {
		t.Errorf("said %q", f.Say)
	}
	// A load on the contract is off the field and on the contract; one into the bin is off the field and in the bin.
	in := corn("2")
	in.Place = "cornbin"
	some := ledger.Build(s, entries(corn("1"), in)).Promises(ten)[0]
	if some.Delivered != 1_910_610 || some.InBins != 919_910 {
		t.Errorf("delivered %s and in bins %s, not 1910.61 and 54,260 lb * 0.807 / 47.6", some.Delivered, some.InBins)
	}
	s.Season.Fields[2].CutAcres = 80
	if p := ledger.Build(s, nil).Promises(ten)[0]; p.CountedOn != 0 {
		t.Errorf("nothing stands and %s is counted on", p.CountedOn)
	}
	// A landlord's third of a field is not the tenant's to promise.
	s.Season.Fields[0].Yield.BuPerAcre = 60
	s.Contracts[0].Crop, s.Contracts[0].Promised, s.Contracts[0].Applied = crop.Soybean, 2_000_000, 0
	if p := ledger.Build(s, nil).Promises(func(*farm.Field) float64 { return 0 })[0]; p.CountedOn != 1_600_000 || p.Short != 400_000 {
		t.Errorf("two thirds of 2400 bu are 1600: %+v", p)
	}
	s.Contracts[0].Promised = 1_600_000
	if _, ok := ledger.Build(s, nil).Promises(func(*farm.Field) float64 { return 0 })[0].Doubt(); ok {
		t.Error("what is there to be delivered is doubted")
	}
}

// 1,240 bu short of a contract at 4.22 with the market at 4.55 and a fee of ten cents: 409.20 and 124.00. [market-worked]
func TestWhatBuyingOutOfAContractWouldCost(t *testing.T) {
	s := home(t)
	cash, fee := trade.Price(455000), trade.Price(10000)
	s.Bids[1].Cash = &cash
	s.Contracts = []ledger.Contract{{
		ID: "H-1", Outlet: "elevator", Party: "tenant", Crop: crop.Corn, Promised: 10_000_000, Applied: 8_760_000, Until: calendar.MustDay("2031-12-31"),
		Price: market.NewCash(422000, calendar.Day{}), ShortFee: &fee,
	}}
	b := ledger.Build(s, nil)
	cost, bid, ok := b.BuyOut(&b.Contracts[0])
	if !ok || cost.Market != 409_20 || cost.Fee != 124_00 || cost.Total != 533_20 || bid != cash {
		t.Errorf("%+v at %s, %v", cost, bid, ok)
	}
	b.Contracts[0].ShortFee = nil
	if _, _, ok := b.BuyOut(&b.Contracts[0]); ok {
		t.Error("a fee that nobody states is taken as none")
	}
}
