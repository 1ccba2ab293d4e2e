package app

import (
	"fmt"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/core/worth"
)

type termsKey = worth.TermsKey

// An ownTruck is one on the road.
type ownTruck struct {
	trip capacity.Trip
	rate capacity.HaulRate
}

// milesFor returns how many more miles one way so many dollars on a load pay for.
func (h ownTruck) milesFor(usd float64) float64 { return h.rate.BreakEvenMiles(usd, 1, h.trip.Loaded) }

// truck takes the season's first truck whose weights are known as the load.
func (p *pricer) truck() error {
	p.haul = ownTruck{capacity.DefaultTrip(), capacity.DefaultHaulRate()}
	for _, t := range p.season.Trucks {
		if t.Gross == nil || t.Tare == nil {
			continue
		}
		p.sheet.Truck = t.Name
		if t.Name == "" {
			p.sheet.Truck = t.ID
		}
		p.sheet.Load = settlement.Load{Crop: p.sheet.Crop, Day: p.day(), Gross: trade.Pounds(t.Gross.Pounds() + 0.5), Tare: trade.Pounds(t.Tare.Pounds() + 0.5)}
		if p.field != nil {
			p.sheet.Load.Class = p.field.Class
		}
		cost := func(given *trade.Price, to *float64, what string) {
			if given != nil {
				*to = given.Float()
				return
			}
			p.assume(p.sheet.Truck+": "+what, fmt.Sprintf("$%.2f", *to), "published trucking cost, without and with the driver")
		}
		cost(t.PerMile, &p.haul.rate.USDPerMile, "cost per mile")
		cost(t.PerHour, &p.haul.rate.USDPerHour, "cost per hour")
		if t.LoadedMPH != nil {
			p.haul.trip.Loaded = units.Speed(*t.LoadedMPH) * units.MilePerHour
		}
		if t.EmptyMPH != nil {
			p.haul.trip.Empty = units.Speed(*t.EmptyMPH) * units.MilePerHour
		}
		if len(p.season.Carts) == 0 {
			p.haul.trip.LoadMin = capacity.LoadByCombineMin
		}
		return nil
	}
	return &problem.InputError{
		Rule: "truck.weights", Label: "truck", Want: "a [[truck]] with gross and tare, like \"80000lb\" and \"26500lb\"", Next: "What a load nets depends on what a truck holds.",
	}
}

// freight returns the miles to a place and what the round costs; ok is false where the miles are not known.
func (p *pricer) freight(id string, own *float64, trip capacity.Trip) (miles float64, f market.Freight, ok bool) {
	switch {
	case p.field != nil && hasMiles(p.field, id):
		miles = p.field.Miles[id]
	case own != nil:
		miles = *own
	default:
		return 0, f, false
	}
	trip.Distance = units.Length(miles) * units.Mile
	return miles, market.OwnTruck(p.haul.rate, trip), true
}

func hasMiles(f *farm.Field, id string) bool {
	_, ok := f.Miles[id]
	return ok
}

// offers lists every bid, premium, contract and bin that is open for the crop today, and says why the others are not.
func (p *pricer) offers() error {
	for i := range p.season.Outlets {
		p.outletOffers(&p.season.Outlets[i])
	}
	for i := range p.season.Bins {
		if b := &p.season.Bins[i]; b.Crop == p.sheet.Crop {
			if err := p.binOffer(b); err != nil {
				return err
			}
		}
	}
	return nil
}

func (p *pricer) outletOffers(o *farm.Outlet) {
	name := o.Name
	if name == "" {
		name = o.ID
	}
	terms := p.terms[termsKey{Outlet: o.ID, Crop: p.sheet.Crop}]
	trip := p.haul.trip
	for _, given := range []struct{ to, is *float64 }{{&trip.QueueMin, o.QueueMin}, {&trip.ScaleMin, o.ScaleMin}, {&trip.DumpMin, o.DumpMin}, {&trip.TicketMin, o.TicketMin}} {
		if given.is != nil {
			*given.to = *given.is
		}
	}
	miles, freight, near := p.freight(o.ID, o.Miles, trip)
	add := func(po PriceOffer, prices settlement.Prices) {
		po.Place, po.Miles, po.Freight, po.Cash, po.Premium = o.ID, miles, freight.Of(p.sheet.Load.Net(), 0), prices.Cash, prices.Premium
		out := market.Outlet{Terms: terms, Prices: prices, Freight: freight, Wettest: po.Wettest}
		switch standing := market.StandingOn(p.day(), po.From, po.Until); {
		case standing == market.NotYet:
			p.close("%s begins on %s", po.Name, po.From)
		case standing == market.Over:
			p.close("%s ended on %s", po.Name, po.Until)
		case terms == nil:
			p.close("%s: no schedule of %s for %s is given, and discounts decide", po.Name, o.ID, p.sheet.Crop)
		case !settlement.InForce(terms.Schedule(), p.day()):
			p.close("%s: the schedule of %s is not in force on %s", po.Name, o.ID, p.day())
		case !near:
			p.close("%s: the road miles to %s are not given", po.Name, o.ID)
		default:
			if po.Until != nil {
				po.Ends = p.lastHour(o, *po.Until)
			}
			po.offer, po.Cwt = out, terms.Schedule().PriceUnit == settlement.PerCwt
			p.sheet.Offers = append(p.sheet.Offers, po)
		}
	}
	for _, posted := range market.PostedAt(p.season, o.ID) {
		if one, ok := p.posted(o, name, posted); ok {
			add(one, posted.Prices)
		}
	}
}

// posted returns a price of an outlet as an offer of the sheet; false: it is of another crop, or closed, with the reason said.
func (p *pricer) posted(o *farm.Outlet, name string, posted market.Posted) (PriceOffer, bool) {
	one := PriceOffer{ID: o.ID, Kind: "bid", Name: name, From: posted.From, Until: posted.Until, Wettest: posted.Wettest}
	if c := posted.Contract; c != nil {
		left := c.Left()
		one.ID, one.Kind, one.Name, one.Room = c.ID, "contract", name+" contract "+c.ID, &left
		switch {
		case c.Crop != p.sheet.Crop:
			return one, false
		case posted.State == market.AtToday:
			p.close("contract %s: part of its price is still open; at today's bid it would be $%s", c.ID, posted.Prices.Cash.Fixed())
			return one, false
		case posted.State == market.Unknown:
			p.close("contract %s: part of its price is still open", c.ID)
			return one, false
		}
		return one, true
	}
	b := posted.Bid
	one.Heard, one.Fresh = b.Taken, market.FreshnessOf(b.Taken.In(p.zone), p.now)
	switch pr := posted.Premium; {
	case b.Crop != p.sheet.Crop:
		return one, false
	case posted.State == market.Unknown:
		p.close("%s: its bid has no complete price", name)
		return one, false
	case pr != nil:
		if market.StandingOn(p.day(), b.From, b.Until) != market.Current {
			return one, false
		}
		one.Kind, one.Name = "premium", name+" premium"
		if pr.ID != "" {
			one.ID = pr.ID
		}
		if pr.CapBu != nil {
			room := trade.Bushels(*pr.CapBu*1000 + 0.5)
			one.Room = &room
		}
	}
	return one, true
}

// lastHour returns when the outlet closes on the last day until which something stands: on the last one before it that it is open
// on, where its hours are known, else at the end of the day. Nil: it is open on none of the days that are left.
func (p *pricer) lastHour(o *farm.Outlet, until calendar.Day) *time.Time {
	if len(o.Open) == 0 {
		end := until.AddDays(1).Start(p.zone)
		return &end
	}
	for day := until; !day.Before(p.day()) && !day.Before(until.AddDays(-daysOfWeek)); day = day.AddDays(-1) {
		if hours, open := o.Open[day.Weekday()]; open && !slices.Contains(o.Closed, day) {
			end := time.Date(day.Year, day.Month, day.Date, 0, int(hours[1]), 0, 0, p.zone)
			return &end
		}
	}
	return nil
}

const daysOfWeek = 7

// binOffer adds an own bin at the price its owner expects.
func (p *pricer) binOffer(b *farm.Bin) error {
	name := b.Name
	if name == "" {
		name = b.ID
	}
	trip := p.haul.trip
	trip.QueueMin, trip.ScaleMin, trip.TicketMin = 0, 0, 0
	if b.DumpMin != nil {
		trip.DumpMin = *b.DumpMin
	}
	miles, freight, near := p.freight(b.ID, b.Miles, trip)
	_, bushels := crop.BushelPounds(b.Crop)
	switch {
	case !bushels:
		p.close("%s: %s has no trade bushel, and a bin is weighed by it", name, b.Crop)
		return nil
	case b.SaleUSD == nil || b.SaleBase <= 0:
		p.close("%s: no expected sale with its moisture base is given", name)
		return nil
	case !near:
		p.close("%s: the road miles to it are not given", name)
		return nil
	case b.InBu >= b.HoldsBu:
		p.close("%s is full", name)
		return nil
	}
	room := trade.Bushels((b.HoldsBu - b.InBu) * 1000)
	home := market.Home{Crop: p.sheet.Crop, Sale: *b.SaleUSD, Base: b.SaleBase, Wettest: b.MaxMoisture, Freight: freight}
	one := PriceOffer{
		ID: b.ID, Kind: "bin", Place: b.ID, Name: name, Cash: *b.SaleUSD, Room: &room, Miles: miles, Freight: freight.Of(p.sheet.Load.Net(), 0), Expected: true,
	}
	if b.CostUSD != nil {
		home.Keeping = *b.CostUSD
	} else {
		p.assume(name+": cost of storing", "$0 a bushel", "not given; the bin then looks a little better than it is")
	}
	if d := p.dryer(b.Dryer); d != nil {
		job, err := p.job(d)
		if err != nil {
			return err
		}
		home.Dryer = &market.HomeDryer{Target: b.MaxMoisture, Job: job}
		if t, ok := d.Target[b.Crop]; ok {
			home.Dryer.Target = t
		}
	} else {
		one.Wettest = &b.MaxMoisture
	}
	one.offer = home
	p.sheet.Offers = append(p.sheet.Offers, one)
	return nil
}

func (p *pricer) dryer(id string) *farm.Dryer {
	for i := range p.season.Dryers {
		if d := &p.season.Dryers[i]; id != "" && d.ID == id {
			return d
		}
	}
	return nil
}

// job returns what drying costs: prices must be the owner's, energy is the usual where it is not given.
func (p *pricer) job(d *farm.Dryer) (storage.Job, error) {
	if d.LPUSD == nil || d.PowerUSD == nil {
		return storage.Job{}, &problem.InputError{Rule: "dryer.prices", Label: fmt.Sprintf("dryer %q lp_price and power_price", d.ID), Want: "dollars a gallon and dollars a kWh, like \"$1.75\" and \"$0.11\""}
	}
	job := storage.Job{Energy: storage.Methods()[0], LPUSD: d.LPUSD.Float(), PowerUSD: d.PowerUSD.Float()}
	energy := func(given *float64, to *float64, what string) {
		if given != nil {
			*to = *given
		} else {
			p.assume(d.Name+": "+what, fmt.Sprintf("%.3f a bushel and point", *to), "measured on farm dryers, published")
		}
	}
	energy(d.GalPerBuPt, &job.Energy.GalPerBuPoint, "gallons of LP gas")
	energy(d.KWhPerBuPt, &job.Energy.KWhPerBuPoint, "kWh")
	if d.HandlingUSD != nil {
		job.HandlingUSD = d.HandlingUSD.Float()
	}
	if d.HandlingLoss != nil {
		job.HandlingLossPct = d.HandlingLoss.Float()
	} else {
		p.assume(d.Name+": handling loss", "0 %", "not given")
	}
	return job, nil
}
