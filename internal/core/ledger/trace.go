package ledger

import (
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A Question chooses lines; empty parts choose all. Spot chooses sales at the bid of the day.
type Question struct {
	Ticket, Field, Party, Contract, Bin, Place string
	Spot                                       bool
}

// A Trail is every line behind a figure and what they add up to.
type Trail struct {
	Loads   []int // into Book.Loads, each once, in order
	Harvest []HarvestLine
	Sales   []SaleLine
	Stock   []StockLine
	Net     trade.Pounds // of the harvest lines
	Settled trade.Pounds // of the sales
	Qty     trade.Bushels
	Value   trade.Amount
	Paid    trade.Amount // value less checkoff and charges
}

// Trace returns the lines that a question chooses. A sale belongs to owners and contracts and not to a field, so a question about a
// field has harvest and bin lines only; one about a contract has sales only.
func (b *Book) Trace(q Question) Trail {
	var t Trail
	match := func(ticket, party int32) bool {
		on := b.Loads[ticket].Ticket
		return (q.Ticket == "" || q.Ticket == on.Number || q.Ticket == on.ID) && (q.Place == "" || q.Place == on.Place) && (q.Party == "" || q.Party == b.Parties[party])
	}
	inField := func(field int32) bool { return q.Field == "" || field != none && b.Fields[field] == q.Field }
	hit := map[int32]bool{}
	ofSale := q.Contract != "" || q.Spot
	for _, l := range b.Harvest {
		if match(l.Ticket, l.Party) && inField(l.Field) && !ofSale && q.Bin == "" {
			t.Harvest = append(t.Harvest, l)
			t.Net += l.Net
			hit[l.Ticket] = true
		}
	}
	for _, l := range b.Sales {
		at := l.Contract == none && q.Contract == "" || l.Contract != none && !q.Spot && (q.Contract == "" || b.Contracts[l.Contract].ID == q.Contract)
		if match(l.Ticket, l.Party) && at && q.Field == "" && q.Bin == "" {
			t.Sales = append(t.Sales, l)
			t.Settled, t.Qty, t.Value, t.Paid = t.Settled+l.Settled, t.Qty+l.Qty, t.Value+l.Value, t.Paid+l.Net()
			hit[l.Ticket] = true
		}
	}
	for _, l := range b.Stock {
		if match(l.Ticket, l.Party) && inField(l.Field) && !ofSale && (q.Bin == "" || b.Bins[l.Bin] == q.Bin) {
			t.Stock = append(t.Stock, l)
			hit[l.Ticket] = true
		}
	}
	for i := range b.Loads {
		if hit[int32(i)] { //nolint:gosec // a season has fewer loads than that
			t.Loads = append(t.Loads, i)
		}
	}
	return t
}

// Explain settles load i at one of its prices again, with a line for every row of the schedule.
func (b *Book) Explain(l SaleLine) (settlement.Statement, error) {
	p := &b.Loads[l.Ticket]
	load := p.Ticket.Load
	load.Readings = p.Readings
	return p.Terms.Settle(load, b.pricesOf(l))
}

// pricesOf returns the prices that a sale was settled at.
func (b *Book) pricesOf(l SaleLine) settlement.Prices {
	p := &b.Loads[l.Ticket]
	prices := settlement.Prices{Cash: l.Cash, Premium: l.Premium}
	switch {
	case l.Contract != none:
		if part := b.Contracts[l.Contract].Price.Futures(); part.Fixed {
			prices.Futures = &part.Price
		}
	default:
		if bid, _, ok := b.index.bidFor(p.Ticket, p.Ticket.Load.Crop, b.setup.Zone); ok {
			prices.Futures = bid.Futures
		}
	}
	return prices
}

// A Statement is what one party sees: its own share and nothing of the others'.
type Statement struct {
	Party     string
	Trail     Trail
	Positions []Position
	Records   []Record
	Cheques   []Cheque
	Paid      trade.Amount // by cheques
}

// StatementOf returns a party's statement; false for a party that the book does not know.
func (b *Book) StatementOf(party string) (Statement, bool) {
	if _, ok := b.index.party[party]; !ok {
		return Statement{}, false
	}
	s := Statement{Party: party, Trail: b.Trace(Question{Party: party})}
	for _, p := range b.Positions() {
		if p.Party == party {
			s.Positions = append(s.Positions, p)
		}
	}
	for _, r := range b.Records() {
		if r.Party == party {
			s.Records = append(s.Records, r)
		}
	}
	for _, c := range b.setup.Cheques {
		if c.Party == party {
			s.Cheques = append(s.Cheques, c)
			s.Paid += c.Total
		}
	}
	return s, true
}
