package market_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/trade"
)

// What the season file tells of a contract gives the prices of the worked examples of testdata/contracts.csv.
func TestPricesOfContractsOfTheSeason(t *testing.T) {
	p := func(text string) *trade.Price { return new(price(t, text)) }
	dec := calendar.Day{Year: 2031, Month: 11, Date: 28}
	roll := func(spread, fee string) []farm.Roll {
		return []farm.Roll{{On: dec, To: "Mar 2032", SpreadUSD: price(t, spread), FeeUSD: p(fee)}}
	}
	bid := farm.Bid{Futures: p("4.70"), Basis: p("-0.30")}
	cash := farm.Bid{Cash: p("4.40")}
	for _, c := range []struct {
		name  string
		in    farm.Contract
		want  string // empty: part of it is open
		bid   farm.Bid
		today string
		open  []string
	}{
		{"hedged to arrive, its fee off", farm.Contract{Kind: "hta", Futures: p("4.62"), FeeUSD: p("0.02"), Basis: p("-0.38")}, "4.2200", bid, "4.2200", nil},
		{"hedged to arrive and open", farm.Contract{Kind: "hta", Futures: p("4.62"), FeeUSD: p("0.02")}, "", bid, "4.3000", []string{"basis"}},
		{"hedged to arrive, rolled", farm.Contract{Kind: "hta", Futures: p("4.62"), FeeUSD: p("0.02"), Basis: p("-0.30"), Rolls: roll("0.115", "0.01")}, "4.4050", bid, "4.4050", nil},
		{"basis, rolled", farm.Contract{Kind: "basis", Basis: p("-0.35"), Futures: p("10.56"), Rolls: roll("0.14", "0.02")}, "10.0500", bid, "10.0500", nil},
		{"basis and open", farm.Contract{Kind: "basis", Basis: p("-0.35")}, "", bid, "4.3500", []string{"futures"}},
		{"basis and open, where the bid names no futures", farm.Contract{Kind: "basis", Basis: p("-0.35")}, "", cash, "", []string{"futures"}},
		{"delayed price", farm.Contract{Kind: "deferred", FeeUSD: p("0.05")}, "", bid, "4.3500", []string{"price"}},
		{"pool", farm.Contract{Kind: "pool"}, "", cash, "4.4000", []string{"price"}},
		{"a floor, planned on while its futures are open", farm.Contract{Kind: "minimum", Price: p("4.11"), Futures: p("4.70"), FeeUSD: p("0.03")}, "4.0800", bid, "", []string{"futures"}},
		{"cash less a fee", farm.Contract{Kind: "cash", Price: p("9.87"), FeeUSD: p("0.02")}, "9.8500", bid, "9.8500", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, _, ok := market.PricesOf(c.in)
			if ok != (c.want != "") || ok && got != price(t, c.want) {
				t.Errorf("%s %v, want %q", got, ok, c.want)
			}
			if open := market.StateOf(c.in).Open(); !slices.Equal(open, c.open) {
				t.Errorf("open: %v, want %v", open, c.open)
			}
			if got, _, ok := market.TodayPricesOf(c.in, c.bid); ok != (c.today != "") || ok && got != price(t, c.today) {
				t.Errorf("at today's bid %s %v, want %q", got, ok, c.today)
			}
		})
	}
}

// An outlet's prices stand in the order of the season: bids with their premiums, then contracts with bushels left.
func TestPostedAt(t *testing.T) {
	p := func(text string) *trade.Price { return new(price(t, text)) }
	until := calendar.MustDay("2031-11-15")
	heard := func(hour int) time.Time { return time.Date(2031, 10, 1, hour, 0, 0, 0, time.UTC) }
	s := &farm.Season{
		Bids: []farm.Bid{
			{ID: "old", Outlet: "elevator", Crop: crop.Corn, Futures: p("4.60"), Basis: p("-0.30"), Taken: heard(8)},
			{ID: "part", Outlet: "elevator", Crop: crop.Soybean, Futures: p("10.40"), Taken: heard(8)},
			{ID: "new", Outlet: "elevator", Crop: crop.Corn, Futures: p("4.70"), Basis: p("-0.35"), Taken: heard(14)},
			{ID: "other", Outlet: "river", Crop: crop.Corn, Cash: p("4.50"), Taken: heard(15)},
		},
		Premiums: []farm.Premium{
			{Outlet: "elevator", Crop: crop.Soybean, Amount: price(t, "0.06"), Until: until},
			{Outlet: "elevator", Crop: crop.Corn, Amount: price(t, "0.05"), Until: until, MaxMoisture: new(percent(t, "15"))},
		},
		Contracts: []farm.Contract{
			{ID: "open", Outlet: "elevator", Crop: crop.Corn, Kind: "hta", Bu: 1_000_000, Futures: p("4.62"), Until: until},
			{ID: "full", Outlet: "elevator", Crop: crop.Corn, Kind: "cash", Bu: 1_000_000, AppliedBu: 1_000_000, Price: p("4.20"), Until: until},
			{ID: "bought", Outlet: "elevator", Crop: crop.Corn, Kind: "cash", Bu: 1_000_000, Price: p("4.20"), Until: until, BoughtOut: &until},
			{ID: "beans", Outlet: "elevator", Crop: crop.Soybean, Kind: "deferred", Bu: 1_000_000, Until: until},
			{ID: "priced", Outlet: "elevator", Crop: crop.Corn, Kind: "cash", Bu: 1_000_000, Price: p("4.20"), Until: until},
		},
	}
	var got []string
	for _, x := range market.PostedAt(s, "elevator") {
		name := ""
		switch {
		case x.Contract != nil:
			name = x.Contract.ID
		case x.Premium != nil:
			name = x.Bid.ID + "+"
		default:
			name = x.Bid.ID
		}
		got = append(got, fmt.Sprintf("%s %s %d", name, (x.Prices.Cash+x.Prices.Premium).Fixed(), x.State))
	}
	// The open contract takes its basis from the bid heard last: 4.62 - 0.35.
	want := []string{"old 4.3000 0", "old+ 4.3500 0", "part 0.0000 2", "new 4.3500 0", "new+ 4.4000 0", "open 4.2700 1", "beans 0.0000 2", "priced 4.2000 0"}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}
