package ledger

import (
	"cmp"
	"fmt"
	"slices"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A Promise is what a party has promised of a crop in all its contracts, beside what may go on them: what is delivered, what
// lies in own bins, and what still stands.
type Promise struct {
	Party     string
	Crop      crop.Kind
	Promised  trade.Bushels
	Delivered trade.Bushels // applied on the contracts, in this book or before it
	InBins    trade.Bushels
	CountedOn trade.Bushels // of what stands: exceeded in nine autumns of ten
	Short     trade.Bushels // promised beyond all of that
}

// Promises returns every party and crop with a contract. sdPct is one standard deviation of a field's expected yield, percent.
// Grain sold at a bid is gone and counts for no contract; a party's fields count by its share. What stands on a field is what
// its acres not cut are expected to bring; where nobody says how many are cut, its whole expectation less what came off.
func (b *Book) Promises(sdPct func(*farm.Field) float64) []Promise {
	type key struct {
		party string
		crop  crop.Kind
	}
	at := map[key]*Promise{}
	for _, c := range b.Contracts {
		k := key{c.Party, c.Crop}
		if at[k] == nil {
			at[k] = &Promise{Party: c.Party, Crop: c.Crop}
		}
		delivered := c.Applied + c.Filled
		at[k].Delivered += delivered
		if c.BoughtOut {
			at[k].Promised += delivered
		} else {
			at[k].Promised += c.Promised
		}
	}
	for _, p := range b.Positions() {
		if to := at[key{p.Party, p.Crop}]; to != nil && p.Bin {
			to.InBins += max(0, p.InBin)
		}
	}
	standing := map[key][]market.Yield{}
	off := map[string]trade.Bushels{}
	for _, y := range b.Yields() {
		off[y.Field] = y.Bushels
	}
	for i, f := range b.index.fields {
		bushels := f.Acres * f.Yield.BuPerAcre
		if f.CutAcres > 0 {
			bushels = (f.Acres - f.CutAcres) * f.Yield.BuPerAcre
		} else {
			bushels -= off[f.ID].Float()
		}
		if bushels <= 0 {
			continue
		}
		for _, o := range b.index.owners[i] {
			k := key{b.index.parties[o.party], f.Crop}
			standing[k] = append(standing[k], market.Yield{Bushels: bushels * o.part.Float(), SDPct: sdPct(f)})
		}
	}
	out := make([]Promise, 0, len(at))
	for k, p := range at {
		p.CountedOn = market.TenthOf(standing[k])
		p.Short = market.Overcommitted(p.Promised, p.Delivered+p.InBins, p.CountedOn)
		out = append(out, *p)
	}
	slices.SortFunc(out, func(x, y Promise) int {
		return cmp.Or(cmp.Compare(b.index.party[x.Party], b.index.party[y.Party]), cmp.Compare(x.Crop, y.Crop))
	})
	return out
}

// Doubt returns the warning that more is promised than may be counted on; false where it is not.
func (p Promise) Doubt() (problem.Finding, bool) {
	if p.Short <= 0 {
		return problem.Finding{}, false
	}
	return problem.Finding{
		Rule: "contract.promised", Severity: problem.Warning, Label: "Promised", Got: p.Promised.String() + " bu",
		Want: fmt.Sprintf("at most %s bu", p.Delivered+p.InBins+p.CountedOn),
		Say: fmt.Sprintf("The contracts of %s promise %s bu of %s; %s are delivered, %s lie in bins, and %s more may be counted on in nine autumns of ten: %s bu short.",
			p.Party, p.Promised, p.Crop, p.Delivered, p.InBins, p.CountedOn, p.Short),
		Next: "Promise no more, and ask the buyer in time what a shortfall costs.",
	}, true
}

// BuyOut returns what buying out of the bushels a contract is short would cost at the newest bid that stands now, and that bid. False
// where nothing is short, the contract states no fee or its price is open, or no bid stands. The contract's own words decide.
func (b *Book) BuyOut(c *ContractState) (market.BuyOut, trade.Price, bool) {
	price, priced := c.Price.Price(c.Until)
	if c.Left() == 0 || c.ShortFee == nil || !priced {
		return market.BuyOut{}, 0, false
	}
	now := &Ticket{Place: c.Outlet, Day: calendar.DayOf(b.setup.Now, b.setup.Zone), Weighed: Times{Gross: b.setup.Now}}
	_, bid, stands := b.index.bidFor(now, c.Crop, b.setup.Zone)
	if !stands {
		return market.BuyOut{}, 0, false
	}
	return market.BuyOutOf(c.Left(), price, bid, *c.ShortFee, c.ShortNets), bid, true
}
