package ledger

import "threshday/internal/core/trade"

// A HarvestLine is a party's part of a load as it came from one field. Loads out of a bin have none: they were harvested when
// they went in.
type HarvestLine struct {
	Ticket       int32 // into Book.Loads
	Field, Party int32
	Net          trade.Pounds // scale weight
	Settled      trade.Pounds // after what the outlet takes by weight; in an own bin the scale weight
	Dry          int64        // dry matter in ten-thousandths of a pound; 0 where moisture is not known
	Insured      trade.Bushels
}

// A SaleLine is a party's part of a load at a buyer under one price.
type SaleLine struct {
	Ticket   int32
	Party    int32
	Contract int32 // none: at the bid of the day
	Priced   bool  // else a claim on the buyer, or grain stored there
	Settled  trade.Pounds
	Qty      trade.Bushels // net, in the unit of the terms
	Cash     trade.Price
	Premium  trade.Price
	Value    trade.Amount // after quality
	Checkoff trade.Amount
	Charges  trade.Amount
}

// Net returns what the line pays.
func (l SaleLine) Net() trade.Amount { return l.Value - l.Checkoff - l.Charges }

// Base returns quantity times cash price, and Quality what premium and discounts make of it: they add up to Value.
func (l SaleLine) Base() (base, quality trade.Amount) {
	base = l.Cash.Times(l.Qty, trade.HalfUp)
	return base, l.Value - base
}

// A StockLine is a party's grain going into an own bin, or, negative, out of it.
type StockLine struct {
	Ticket int32
	Bin    int32
	Field  int32 // none: it lay there before this book
	Party  int32
	Net    trade.Pounds // scale weight of the load's part
	Dry    int64
}
