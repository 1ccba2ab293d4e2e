package market_test

import (
	"slices"
	"testing"

	"threshday/internal/core/calendar"
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
