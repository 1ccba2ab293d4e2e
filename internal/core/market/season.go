package market

import (
	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
)

// StateOf returns the price of a contract as far as the season tells it, after its rolls. The days on which parts were fixed are
// not in it, so no service charge can run.
func StateOf(c farm.Contract) Contract {
	out := written(c)
	if c.FeeUSD != nil {
		out = out.less(*c.FeeUSD)
	}
	if c.PriceBy != nil {
		out = out.By(*c.PriceBy)
	}
	return out
}

// written returns a contract before its fee.
func written(c farm.Contract) Contract {
	var day calendar.Day
	if c.Written != nil {
		day = *c.Written
	}
	kind := Kind(c.Kind)
	cash, complete := CashOf(c.Price, c.Futures, c.Basis)
	switch {
	case kind == Minimum && c.Price != nil:
		return NewFloor(*c.Price, c.Futures, c.Month, day)
	case kind == Basis && c.Price == nil && c.Basis != nil:
		return fixed(rolled(NewBasis(*c.Basis, c.Month, 0, day), c.Rolls), Contract.FixFutures, c.Futures)
	case kind == HTA && c.Price == nil && c.Futures != nil:
		return fixed(rolled(NewHTA(*c.Futures, c.Month, 0, day), c.Rolls), Contract.FixBasis, c.Basis)
	case complete:
		return NewCash(cash, day)
	case kind == Storage:
		return NewStorage(Service{})
	case kind == Pool:
		return NewPool(0, 0, day)
	}
	return NewDeferred(Service{})
}

// rolled moves a contract of which one part is open through its rolls.
func rolled(c Contract, rolls []farm.Roll) Contract {
	for _, r := range rolls {
		one := Roll{To: r.To, Spread: r.SpreadUSD, On: r.On}
		if r.FeeUSD != nil {
			one.Fee = *r.FeeUSD
		}
		var err error
		if c, err = c.Roll(one); err != nil {
			panic("market: " + err.Error()) // the other part is open in a contract just written
		}
	}
	return c
}

// fixed fixes the open part of a contract where the price of it is known.
func fixed(c Contract, fix func(Contract, trade.Price, calendar.Day) (Contract, error), p *trade.Price) Contract {
	if p == nil {
		return c
	}
	out, err := fix(c, *p, calendar.Day{})
	if err != nil {
		panic("market: " + err.Error()) // the part is open in a contract just written
	}
	return out
}

// less returns c with a fee taken off its price, and off its floor.
func (c Contract) less(fee trade.Price) Contract {
	c.fee += fee
	if c.kind == Minimum {
		c.floor -= fee
	}
	return c
}

// PricesOf returns the complete price of a contract of the season, before quality, with its futures where they are fixed: what can
// be planned on. A minimum-price contract whose futures are open is planned on at its floor. False: part of it is open.
func PricesOf(c farm.Contract) (cash trade.Price, futures *trade.Price, ok bool) {
	state := StateOf(c)
	futures = c.Futures
	if part := state.Futures(); part.Fixed {
		futures = &part.Price
	}
	if cash, ok = state.Price(calendar.Day{}); ok {
		return cash, futures, true
	}
	cash, ok = state.Floor()
	return cash, futures, ok
}

// TodayPricesOf returns what [PricesOf] would if what is open in a contract were fixed at a bid of its outlet: futures and basis of the
// bid where one of the two is open, else its cash price. False: the bid does not tell the missing part. It is a reckoning and
// no price.
func TodayPricesOf(c farm.Contract, bid farm.Bid) (cash trade.Price, futures *trade.Price, ok bool) {
	state := StateOf(c)
	at, complete := CashOf(bid.Cash, bid.Futures, bid.Basis)
	switch {
	case state.Priced():
	case state.kind == Basis && bid.Futures != nil:
		state = fixed(state, Contract.FixFutures, bid.Futures)
	case state.kind == HTA && bid.Basis != nil:
		state = fixed(state, Contract.FixBasis, bid.Basis)
	case (state.kind == Deferred || state.kind == Storage) && complete:
		state = fixed(state, Contract.FixCash, &at)
	case state.kind == Pool && complete:
		return at - state.fee, bid.Futures, true
	}
	cash, ok = state.Price(calendar.Day{})
	if part := state.Futures(); part.Fixed {
		return cash, &part.Price, ok
	}
	return cash, bid.Futures, ok
}
