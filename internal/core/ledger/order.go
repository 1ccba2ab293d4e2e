package ledger

import (
	"cmp"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// orderContracts puts each outlet's contracts in the order they are filled: earliest deadline, then day written, then ID.
// Not the dearest first: the buyer decides, and most apply in the order of dates.
func (x *index) orderContracts(all []Contract) {
	for i := range all {
		key := TermsKey{all[i].Outlet, all[i].Crop}
		x.contracts[key] = append(x.contracts[key], int32(i)) //nolint:gosec // a season has fewer contracts than that
	}
	for _, list := range x.contracts {
		slices.SortFunc(list, func(i, j int32) int {
			a, b := &all[i], &all[j]
			return cmp.Or(a.Until.DaysSince(b.Until), byDay(a.Written, b.Written), cmp.Compare(a.ID, b.ID))
		})
	}
}

// byDay orders days; one that is not known comes last.
func byDay(a, b calendar.Day) int {
	switch {
	case a.IsZero() && b.IsZero():
		return 0
	case a.IsZero():
		return 1
	case b.IsZero():
		return -1
	}
	return a.DaysSince(b)
}

// orderBids puts the bids of each outlet and crop in the order they were heard.
func (x *index) orderBids(all []farm.Bid) {
	for _, b := range all {
		key := TermsKey{b.Outlet, b.Crop}
		x.bids[key] = append(x.bids[key], b)
	}
	for _, list := range x.bids {
		slices.SortStableFunc(list, func(a, b farm.Bid) int { return a.Taken.Compare(b.Taken) })
	}
}

// bidFor returns the newest bid that stood when a load was weighed: heard by then, its window open on that day, its price
// complete. A load whose time is not known takes the newest one heard on its day or before.
func (x *index) bidFor(t *Ticket, k crop.Kind, zone *time.Location) (farm.Bid, trade.Price, bool) {
	list := x.bids[TermsKey{t.Place, k}]
	at := t.weighedAt()
	for i := len(list) - 1; i >= 0; i-- {
		b := list[i]
		late := !at.IsZero() && b.Taken.After(at) || at.IsZero() && !b.Taken.IsZero() && calendar.DayOf(b.Taken, zone).After(t.Day)
		if late || market.StandingOn(t.Day, b.From, b.Until) != market.Current {
			continue
		}
		if cash, ok := market.CashOf(b.Cash, b.Futures, b.Basis); ok {
			return b, cash, true
		}
	}
	return farm.Bid{}, 0, false
}

// A posted schedule with the days it speaks of.
type posted struct {
	terms    *settlement.Terms
	schedule settlement.Schedule
	decimals int
}

// orderTerms looks at each schedule once.
func (x *index) orderTerms(all map[TermsKey][]*settlement.Terms) {
	for key, list := range all {
		for _, terms := range list {
			s := terms.Schedule()
			x.terms[key] = append(x.terms[key], posted{terms, s, *s.BuDecimals})
		}
	}
}

// termsFor returns the terms in force for a load, the first listed of several; nil: none are.
func (x *index) termsFor(t *Ticket) *posted {
	list := x.terms[TermsKey{t.Place, t.Load.Crop}]
	for i := range list {
		if t.Load.Day.IsZero() || settlement.InForce(list[i].schedule, t.Load.Day) {
			return &list[i]
		}
	}
	return nil
}
