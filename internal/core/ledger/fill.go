package ledger

import (
	"fmt"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A ContractState is a contract with what its loads have applied.
type ContractState struct {
	Contract
	Filled trade.Bushels // by loads of this book
	Closed bool          // delivered in full, within its tolerance or bought out
}

// Left returns what is still to be delivered.
func (c *ContractState) Left() trade.Bushels {
	if c.Closed {
		return 0
	}
	return max(0, c.Promised-c.Applied-c.Filled)
}

func (b *builder) openContracts() {
	for _, c := range b.setup.Contracts {
		state := ContractState{Contract: c, Closed: c.BoughtOut || c.Applied >= c.Promised}
		b.states = append(b.states, state)
	}
}

// ownerPart is an owner's part of the load being posted, over all its pieces.
type ownerPart struct {
	party   int32
	settled trade.Pounds
}

func (b *builder) addOwner(party int32, w trade.Pounds) {
	for i := range b.part {
		if b.part[i].party == party {
			b.part[i].settled += w
			return
		}
	}
	b.part = append(b.part, ownerPart{party, w})
}

// A fill is a quantity of one owner under one price.
type fill struct {
	contract int32
	qty      trade.Bushels
	priced   bool
	prices   settlement.Prices
}

// sell divides the load's quantity over its owners and each owner's over the contracts it fills, the rest at the bid of the
// day; then its money.
func (b *builder) sell(n int32, t *Ticket, p *Posted, under *posted) {
	weights := make([]int64, len(b.part))
	for i := range b.part {
		weights[i] = int64(b.part[i].settled)
	}
	quantities := []trade.Bushels{p.Totals.NetQty}
	if len(weights) > 1 {
		quantities = mustSplit(p.Totals.NetQty.Split(trade.Proportions(weights...), under.decimals))
	}
	b.checkAssigned(t)
	for i, part := range b.part {
		b.fill = b.fill[:0]
		rest := b.fillContracts(t, part.party, quantities[i])
		b.fillSpot(t, rest)
		b.money(n, p, i, weights)
	}
}

// fillContracts puts an owner's quantity on his contracts and returns what is left over. The contract that a person named comes
// first. A load that ends a contract is divided: what is left is a subtraction, never rounded again.
func (b *builder) fillContracts(t *Ticket, party int32, qty trade.Bushels) trade.Bushels {
	if named, ok := b.contract[t.Contract]; ok && t.Contract != "" {
		if c := &b.states[named]; c.Outlet == t.Place && c.Crop == t.Load.Crop && b.party[c.Party] == party {
			qty = b.apply(named, qty, t.Day)
		}
	}
	for _, i := range b.contracts[TermsKey{t.Place, t.Load.Crop}] {
		if qty == 0 {
			break
		}
		c := &b.states[i]
		if b.party[c.Party] != party || c.Class != "" && c.Class != t.Load.Class || c.ID == t.Contract {
			continue
		}
		until := c.Until
		if market.StandingOn(t.Day, c.From, &until) == market.Current {
			qty = b.apply(i, qty, t.Day)
		}
	}
	return qty
}

// apply puts as much of qty on contract i as it takes and returns the rest. A load that would pass the promised quantity by no
// more than the tolerance goes on it whole and closes it.
func (b *builder) apply(i int32, qty trade.Bushels, delivered calendar.Day) trade.Bushels {
	c := &b.states[i]
	left := c.Left()
	if left == 0 || qty == 0 {
		return qty
	}
	takes := min(qty, left)
	if qty <= left+c.Tolerance {
		takes = qty
	}
	f := fill{contract: i, qty: takes}
	if price, ok := c.Price.Price(delivered); ok {
		f.priced, f.prices.Cash = true, price
		if part := c.Price.Futures(); part.Fixed {
			f.prices.Futures = &part.Price
		}
	}
	b.fill = append(b.fill, f)
	c.Filled += takes
	c.Closed = c.Closed || c.Applied+c.Filled >= c.Promised
	return qty - takes
}

// fillSpot sells the rest at the newest bid that stood, under the premiums it earns. Without a bid it is a claim of unknown price.
func (b *builder) fillSpot(t *Ticket, rest trade.Bushels) {
	if rest == 0 && len(b.fill) > 0 {
		return // a few pounds that make no hundredth of a bushel are still somebody's, and stand in a line of nothing
	}
	bid, cash, ok := b.bidFor(t, t.Load.Crop, b.setup.Zone)
	if !ok {
		b.find(problem.Finding{
			Rule: "load.price", Severity: problem.Warning, Where: t.Where, Label: "Price", Want: "a bid that stood when it was weighed, or a contract",
			Say:  fmt.Sprintf("%s: no bid of %s for %s is known for %s; %s bu stand as a claim without a price.", t.name(), t.Place, t.Load.Crop, t.Day, rest),
			Next: "Enter the bid it was sold at.",
		})
		b.fill = append(b.fill, fill{contract: none, qty: rest})
		return
	}
	f := fill{contract: none, priced: true, prices: settlement.Prices{Cash: cash, Futures: bid.Futures}}
	for i := range b.setup.Season.Premiums {
		if rest == 0 {
			break
		}
		earned := f
		if earned.qty = b.earns(i, t, rest); earned.qty > 0 {
			earned.prices.Premium = b.setup.Season.Premiums[i].Amount
			b.fill = append(b.fill, earned)
			rest -= earned.qty
		}
	}
	if f.qty = rest; rest > 0 || len(b.fill) == 0 {
		b.fill = append(b.fill, f)
	}
}

// earns returns how much of rest earns premium i, and counts it.
func (b *builder) earns(i int, t *Ticket, rest trade.Bushels) trade.Bushels {
	p := &b.setup.Season.Premiums[i]
	if p.Outlet != t.Place || p.Crop != t.Load.Crop {
		return 0
	}
	w := market.Weighed{Arrival: t.Weighed.Arrival, Gross: t.Weighed.Gross, Tare: t.Weighed.Tare, Earlier: b.premium[i]}
	if w.Arrival.IsZero() && w.Gross.IsZero() && w.Tare.IsZero() && !t.Day.IsZero() {
		w.Gross = t.Day.Start(b.setup.Zone) // only the day is known, and it decides
	}
	if m, read := t.moisture(); read {
		m = settlement.Moisture.Recorded(m)
		w.Moisture = &m
	}
	if ok, _ := market.Earns(*p, w, b.setup.Zone); !ok {
		return 0
	}
	if room := roomUnder(p, b.premium[i]); room < rest {
		rest = room
	}
	b.premium[i] += rest
	return rest
}

// roomUnder returns the bushels that may still earn a premium.
func roomUnder(p *farm.Premium, earned trade.Bushels) trade.Bushels {
	if p.CapBu == nil {
		return 1 << 60
	}
	return max(0, trade.Bushels(*p.CapBu*1000+0.5)-earned)
}

// money works out what each fill of owner i pays and posts it. The load is settled whole at the fill's price; the owner's part
// of value, checkoff and charges goes by settled pounds, the fill's part of those by quantity. Where all of a load has one
// price the parts add up to what the load pays.
func (b *builder) money(n int32, p *Posted, i int, weights []int64) {
	quantities := make([]int64, len(b.fill))
	for k := range b.fill {
		quantities[k] = int64(b.fill[k].qty)
	}
	pounds := spread(int64(b.part[i].settled), quantities)
	load := p.Ticket.Load
	load.Readings = p.Readings
	for k := range b.fill {
		f := &b.fill[k]
		line := SaleLine{
			Ticket: n, Party: b.part[i].party, Contract: f.contract, Settled: trade.Pounds(pounds[k]), Qty: f.qty, Cash: f.prices.Cash, Premium: f.prices.Premium,
		}
		if f.priced {
			if sum, err := p.Terms.Totals(load, f.prices); err != nil {
				b.refused(p.Ticket, err) // the price, not the load: it was settled before
			} else {
				part := func(a trade.Amount) trade.Amount {
					if a == 0 {
						return 0
					}
					return byWeight(byWeight(a, weights)[i], quantities)[k]
				}
				line.Priced = true
				line.Value, line.Checkoff, line.Charges = part(sum.Value), part(sum.Checkoff), part(sum.Charges)
			}
		}
		b.book.Sales = append(b.book.Sales, line)
	}
}
