package market

import (
	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A Posted price is one that grain can be delivered under at an outlet: a bid, a premium on a bid, or a contract that is not full.
type Posted struct {
	Bid      *farm.Bid      // a bid, or the one that a premium stands on; of a contract nil
	Premium  *farm.Premium  // nil: none
	Contract *farm.Contract // nil: none
	From     *calendar.Day  // first day of delivery; nil: open
	Until    *calendar.Day  // last day; nil: no end known
	Prices   settlement.Prices
	Wettest  *trade.Percent // nothing wetter earns it; nil: no limit of its own
	State    PriceState
}

// A PriceState says how much of a posted price is known.
type PriceState uint8

// The states.
const (
	Complete PriceState = iota
	AtToday             // of a contract: part of it is open, and Prices are what the outlet's newest bid would make it
	Unknown             // part of it is missing; Prices are nothing
)

// PostedAt returns the prices of an outlet in a season: each bid with the premiums on it after it, then the contracts with bushels left,
// all in the order of the season and whether or not their days have come. Whoever asks looks at the days; see [StandingOn].
func PostedAt(s *farm.Season, outlet string) []Posted {
	var out []Posted
	for i := range s.Bids {
		if s.Bids[i].Outlet == outlet {
			out = append(out, bidPosted(s, &s.Bids[i])...)
		}
	}
	for i := range s.Contracts {
		if c := &s.Contracts[i]; c.Outlet == outlet && c.Left() > 0 {
			out = append(out, contractPosted(s, c))
		}
	}
	return out
}

// bidPosted returns a bid and the premiums on it.
func bidPosted(s *farm.Season, b *farm.Bid) []Posted {
	one := Posted{Bid: b, From: b.From, Until: b.Until, State: Unknown}
	if cash, ok := CashOf(b.Cash, b.Futures, b.Basis); ok {
		one.Prices, one.State = settlement.Prices{Cash: cash, Futures: b.Futures}, Complete
	}
	out := []Posted{one}
	for i := range s.Premiums {
		p := &s.Premiums[i]
		if p.Outlet != b.Outlet || p.Crop != b.Crop || one.State != Complete {
			continue
		}
		extra := one
		extra.Premium, extra.From, extra.Until, extra.Wettest = p, p.From, &p.Until, p.MaxMoisture
		extra.Prices.Premium = p.Amount
		out = append(out, extra)
	}
	return out
}

// contractPosted returns a contract at its own price, or, where part of it is open, at what the newest bid of its outlet would make it.
func contractPosted(s *farm.Season, c *farm.Contract) Posted {
	out := Posted{Contract: c, From: c.From, Until: &c.Until, State: Unknown}
	cash, futures, ok := PricesOf(*c)
	if ok {
		out.State = Complete
	} else if bid := newestBid(s, c); bid != nil {
		if cash, futures, ok = TodayPricesOf(*c, *bid); ok {
			out.State = AtToday
		}
	}
	if ok {
		out.Prices = settlement.Prices{Cash: cash, Futures: futures}
	}
	return out
}

// newestBid returns the bid of a contract's outlet and crop that was heard last; nil: there is none.
func newestBid(s *farm.Season, c *farm.Contract) *farm.Bid {
	var bid *farm.Bid
	for i := range s.Bids {
		if one := &s.Bids[i]; one.Outlet == c.Outlet && one.Crop == c.Crop && (bid == nil || one.Taken.After(bid.Taken)) {
			bid = one
		}
	}
	return bid
}
