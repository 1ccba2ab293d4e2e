package app

import (
	"fmt"

	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/core/worth"
)

// DrySellWait weighs three things to do with a lot: sell it wet today, dry it at home and sell it, or leave it standing.
type DrySellWait struct {
	Lot      trade.Bushels
	Moisture trade.Percent
	Choices  []LotChoice
	// UndoneBy is the field loss at which waiting nets less than selling wet; nil: it does from the start, or never.
	UndoneBy *trade.Percent
}

// A LotChoice is one of them at the buyer that nets most.
type LotChoice struct {
	What     string // "sell wet", "dry at home" or "wait"
	Offer    int    // into the sheet's Offers
	Moisture trade.Percent
	Sale     market.Sale
	Gallons  float64 // of LP gas
}

// grade fills the load's readings beside moisture: the field's own, or what every schedule takes nothing for, which is said.
func (p *pricer) grade() {
	var all []*settlement.Terms
	for _, o := range p.sheet.Offers {
		if buyer, ok := o.offer.(market.Outlet); ok {
			all = append(all, buyer.Terms)
		}
	}
	for _, terms := range all {
		for _, f := range terms.Needs() {
			if _, known := p.sheet.Load.Readings.Of(f); known || f == settlement.Moisture {
				continue
			}
			if p.field != nil {
				if given := worth.QualityOf(&p.field.Quality, f); given != nil {
					p.sheet.Load.Readings = p.sheet.Load.Readings.With(f, *given)
					continue
				}
			}
			free := settlement.Free(f, all...)
			p.sheet.Load.Readings = p.sheet.Load.Readings.With(f, free)
			p.assume(capital(f.Words()), free.String()+" "+f.Unit()+", nothing taken", "not given; the limit at which the first outlet starts to charge")
		}
	}
}

// choice weighs drying, selling wet and waiting for the lot.
func (p *pricer) choice(r PriceRequest) error {
	if r.Moisture == nil {
		if r.Wait != nil {
			return &problem.InputError{Rule: "price.moisture", Label: "moisture", Want: "what the grain tests today", Next: "Waiting is weighed against it."}
		}
		return nil
	}
	load := p.sheet.Load
	load.Readings = load.Readings.With(settlement.Moisture, p.sheet.Today.Moisture)
	lot := market.Lot{Bushels: r.Lot, Load: load}
	c := &DrySellWait{Lot: r.Lot, Moisture: p.sheet.Today.Moisture}
	wet, sold := p.bestSale("sell wet", c.Moisture, func(o market.Outlet) (market.Sale, error) { return o.Sell(lot) })
	if sold {
		c.Choices = append(c.Choices, wet)
	}
	if err := p.dried(c, lot); err != nil {
		return err
	}
	if r.Wait != nil {
		wait, ok := p.bestSale("wait", r.Wait.Moisture, func(o market.Outlet) (market.Sale, error) { return o.Wait(lot, r.Wait.Moisture, r.Wait.Loss) })
		if ok {
			c.Choices = append(c.Choices, wait)
		}
		if ok && sold {
			if loss, ends := p.sheet.Offers[wait.Offer].offer.(market.Outlet).BreakEvenLoss(lot, r.Wait.Moisture, wet.Sale.Net); ends {
				c.UndoneBy = &loss
			}
		}
	}
	if len(c.Choices) > 0 {
		p.sheet.Choice = c
	}
	return nil
}

// dried adds drying at home by the first dryer that dries the crop, where the grain is wetter than its target.
func (p *pricer) dried(c *DrySellWait, lot market.Lot) error {
	for i := range p.season.Dryers {
		d := &p.season.Dryers[i]
		target, dries := d.Target[p.sheet.Crop]
		if !dries || c.Moisture <= target {
			continue
		}
		job, err := p.job(d)
		if err != nil {
			return err
		}
		job.ToPct = target.Float()
		one, ok := p.bestSale("dry at home", target, func(o market.Outlet) (market.Sale, error) { return o.DryFirst(lot, job) })
		if !ok {
			return nil
		}
		job.Bushels, job.FromPct = lot.Bushels.Float(), c.Moisture.Float()
		if dry, err := job.Dry(); err == nil {
			one.Gallons = dry.Gallons
		}
		c.Choices = append(c.Choices, one)
		return nil
	}
	return nil
}

// bestSale returns the buyer at which the lot nets most. Contracts and premiums take only so much, so only what has room for the
// whole lot is asked; a lot is in bushels, so buyers by the hundredweight are not.
func (p *pricer) bestSale(what string, m trade.Percent, sell func(market.Outlet) (market.Sale, error)) (LotChoice, bool) {
	best := LotChoice{What: what, Offer: -1, Moisture: m}
	for i, o := range p.sheet.Offers {
		buyer, ok := o.offer.(market.Outlet)
		if !ok || o.Cwt {
			continue
		}
		s, err := sell(buyer)
		if err != nil || o.Room != nil && *o.Room < s.Paid {
			continue
		}
		if best.Offer < 0 || s.Net > best.Sale.Net {
			best.Offer, best.Sale = i, s
		}
	}
	return best, best.Offer >= 0
}

func (p *pricer) cautions() {
	out := []string{"The buyer's own posted schedule decides; queues, the combine's waiting and the weather are the plan's to weigh."}
	for _, o := range p.sheet.Offers {
		switch {
		case o.Kind == "bid" && o.Fresh == market.TooOld:
			out = append(out, fmt.Sprintf("The bid of %s was heard %s; call before you haul on it.", o.Name, o.Heard.In(p.zone).Format("Mon 2 Jan 15:04")))
		case o.Kind == "bid" && o.Fresh == market.Unheard:
			out = append(out, "When the bid of "+o.Name+" was heard is not known; call before you haul on it.")
		}
	}
	for _, o := range p.sheet.Offers {
		if o.Expected {
			out = append(out, "What grain in an own bin will fetch is your expectation and nobody's promise; what to sell when is yours to judge.")
			break
		}
	}
	p.sheet.Cautions = out
}
