package app

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/market"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/core/worth"
)

// A Settled load is what a load pays by the posted schedule, or why nobody can say yet.
type Settled struct {
	Price     trade.Price
	PriceFrom string // "bid of Mon 13 Sep"
	Terms     *settlement.Terms
	Statement settlement.Statement
	Rejection *settlement.Rejection // the schedule turns the load away
	WhyNot    string                // empty: Statement holds
}

// A counter settles single loads beside a list of them. It fills no contract and averages nothing: the books do.
type counter struct {
	season *farm.Season
	posted []Posted
	bids   []farm.Bid
	zone   *time.Location
}

func (c counter) settled(rows []LoadLine) map[string]Settled {
	out := map[string]Settled{}
	for i := range rows {
		if r := &rows[i]; r.Counted && !r.Load.Empty && !c.isBin(r.Load.Outlet) {
			out[r.ID] = c.settle(&r.Load)
		}
	}
	return out
}

func (c counter) isBin(id string) bool {
	for _, b := range c.season.Bins {
		if b.ID == id {
			return true
		}
	}
	return false
}

func (c counter) settle(l *journal.Load) Settled {
	not := func(format string, args ...any) Settled { return Settled{WhyNot: fmt.Sprintf(format, args...)} }
	var terms *settlement.Terms
	for _, p := range c.posted {
		if p.Outlet == l.Outlet && p.Crop == l.Crop {
			if p.Trouble != nil {
				return not("The schedule of %s for %s cannot be read.", l.Outlet, l.Crop)
			}
			terms = p.Terms
		}
	}
	if terms == nil {
		return not("%s has posted no schedule for %s here.", l.Outlet, l.Crop)
	}
	prices, from, ok := c.price(l)
	if !ok {
		return not("No price is known: neither a contract of the ticket nor a bid of %s for %s before that day.", l.Outlet, l.Crop)
	}
	in, ok := c.load(l)
	if !ok {
		return not("The weights on the ticket do not say what it carried.")
	}
	var lacks []string
	for _, f := range terms.Needs() {
		if _, ok := in.Readings.Of(f); !ok {
			lacks = append(lacks, f.Words())
		}
	}
	if len(lacks) > 0 {
		return not("The schedule asks for %s, which the ticket does not show here.", strings.Join(lacks, ", "))
	}
	st, err := terms.Settle(in, prices)
	out := Settled{Price: prices.Cash, PriceFrom: from, Terms: terms, Statement: st}
	if errors.As(err, &out.Rejection) {
		out.WhyNot = out.Rejection.Say()
	} else if err != nil {
		out.WhyNot = capital(err.Error())
	}
	return out
}

// load turns a ticket into what a schedule settles, in pounds.
func (c counter) load(l *journal.Load) (settlement.Load, bool) {
	net, ok := l.Weights.Carried()
	if !ok {
		return settlement.Load{}, false
	}
	tare := int64(0)
	if l.Weights.Tare != nil {
		tare = *l.Weights.Tare
	}
	if l.Weights.Unit == journal.Kilograms {
		net, tare = int64(trade.Kilograms(net)), int64(trade.Kilograms(tare))
	}
	out := settlement.Load{Crop: l.Crop, Day: l.Day, Gross: trade.Pounds(net + tare), Tare: trade.Pounds(tare)}
	for _, f := range settlement.Factors() {
		x := worth.QualityOf(&l.Quality, f)
		if f == settlement.Moisture {
			x = l.Moisture
		}
		if x != nil {
			out.Readings = out.Readings.With(f, *x)
		}
	}
	for _, part := range l.From {
		for _, f := range c.season.Fields {
			if f.ID == part.Field && f.Crop == l.Crop {
				out.Class = f.Class
			}
		}
	}
	return out, true
}

// price returns what the load was sold at: its contract's price, or the bid heard last before the end of its day that takes
// the day, with a premium whose window it meets.
func (c counter) price(l *journal.Load) (p settlement.Prices, from string, ok bool) {
	for _, k := range c.season.Contracts {
		if k.ID != l.Contract || l.Contract == "" {
			continue
		}
		if at, futures, ok := market.PricesOf(k); ok {
			return settlement.Prices{Cash: at, Futures: futures}, "contract " + k.ID, true
		}
		return p, "", false // its price is still open
	}
	end := l.Day.AddDays(1).Start(c.zone)
	var last *farm.Bid
	for i := range c.bids {
		b := &c.bids[i]
		takes := (b.From == nil || !l.Day.Before(*b.From)) && (b.Until == nil || !b.Until.Before(l.Day))
		if b.Outlet == l.Outlet && b.Crop == l.Crop && takes && b.Taken.Before(end) && priceOf(*b) > 0 && (last == nil || b.Taken.After(last.Taken)) {
			last = b
		}
	}
	if last == nil {
		return p, "", false
	}
	p, from = settlement.Prices{Cash: priceOf(*last), Futures: last.Futures}, "bid of "+short(calendar.DayOf(last.Taken, c.zone))
	for _, extra := range c.season.Premiums {
		in := (extra.From == nil || !l.Day.Before(*extra.From)) && !extra.Until.Before(l.Day)
		dry := extra.MaxMoisture == nil || l.Moisture != nil && *l.Moisture <= *extra.MaxMoisture
		if extra.Outlet == l.Outlet && extra.Crop == l.Crop && in && dry {
			p.Premium, from = extra.Amount, from+" and premium "+extra.ID
		}
	}
	return p, from, true
}
