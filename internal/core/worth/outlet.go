package worth

import (
	"errors"
	"fmt"
	"math"
	"time"

	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// A way is one destination before it is priced for a field.
type way struct {
	row     DestinationRow
	crop    crop.Kind
	outlet  *farm.Outlet
	bin     *farm.Bin
	prices  settlement.Prices
	wettest *trade.Percent // of a premium: nothing above it earns it
	relief  trade.Price    // $/bu saved by not falling short of a contract
}

// ways lists every destination of the season: outlets' bids, premiums and contracts on them, and bins.
func (b *builder) ways() ([]way, error) {
	var out []way
	for i := range b.in.Season.Outlets {
		o := &b.in.Season.Outlets[i]
		site := len(b.out.Table.Sites)
		row := SiteRow{ID: o.ID, PerHour: math.Inf(1), PerDay: math.Inf(1)}
		if o.BuPerHour != nil {
			row.PerHour = *o.BuPerHour
		}
		if o.BuPerDay != nil {
			row.PerDay = *o.BuPerDay
		}
		b.out.Table.Sites = append(b.out.Table.Sites, row)
		some, err := b.outletWays(o, site)
		if err != nil {
			return nil, err
		}
		out = append(out, some...)
	}
	for i := range b.in.Season.Bins {
		bin := &b.in.Season.Bins[i]
		if bin.SaleUSD == nil {
			return nil, &problem.InputError{
				Rule: "bin.sale", Label: fmt.Sprintf("bin %q sale", bin.ID), Want: "the price you expect to sell its grain at, like \"$4.34\"",
				Next: "Without it nobody can weigh the bin against a bid.",
			}
		}
		row := SiteRow{ID: bin.ID, PerHour: math.Inf(1), PerDay: math.Inf(1)}
		if bin.BuPerHour != nil {
			row.PerHour = *bin.BuPerHour
		}
		b.out.Table.Sites = append(b.out.Table.Sites, row)
		out = append(out, b.binWay(bin, len(b.out.Table.Sites)-1))
	}
	return out, nil
}

// outletWays lists the prices posted at an outlet: its bids with the premiums on them, then its contracts.
func (b *builder) outletWays(o *farm.Outlet, site int) ([]way, error) {
	var out []way
	lag := b.lag(o.Miles)
	for _, posted := range market.PostedAt(b.in.Season, o.ID) {
		w := way{outlet: o, prices: posted.Prices, wettest: posted.Wettest, row: DestinationRow{
			ID: o.ID, Name: o.Name, Site: site, Room: math.Inf(1), Posted: (posted.Prices.Cash + posted.Prices.Premium).Float(),
			Open: b.out.Span.Takes(Receiving{Open: o.Open, Closed: o.Closed, From: posted.From, Until: posted.Until, Lag: lag}),
		}}
		if err := b.name(&w, o, posted); err != nil {
			return nil, err
		}
		out = append(out, w)
	}
	return out, nil
}

// name says in w whose price it is and what room it has, and what of it is assumed.
func (b *builder) name(w *way, o *farm.Outlet, posted market.Posted) error {
	switch c, bid, p := posted.Contract, posted.Bid, posted.Premium; {
	case c != nil:
		if posted.State == market.Unknown {
			return incomplete(fmt.Sprintf("contract %q", c.ID))
		}
		if posted.State == market.AtToday {
			b.assume("Contract "+c.ID, fmt.Sprintf("$%.4f, as it would be priced today", posted.Prices.Cash.Float()), "its price is still open; what is missing is taken from the bid of "+o.ID)
		}
		w.crop, w.row.Contract, w.row.Name, w.row.Room = c.Crop, c.ID, o.Name+" contract "+c.ID, c.Left().Float()
		if c.ShortUSD != nil {
			w.relief = *c.ShortUSD
			b.out.Owed += w.row.Room * c.ShortUSD.Float()
		}
	case posted.State == market.Unknown:
		return incomplete(fmt.Sprintf("bid %q", bid.ID))
	case p != nil:
		w.crop, w.row.Contract, w.row.Name = p.Crop, p.ID, o.Name+" premium"
		if p.CapBu != nil {
			w.row.Room = *p.CapBu
		}
	default:
		w.crop = bid.Crop
		if bid.Until == nil {
			b.assume(fmt.Sprintf("%s: %s bid", o.Name, bid.Crop), fmt.Sprintf("$%.4f holds to the season's end", posted.Prices.Cash.Float()), "the bid names no last day")
		}
	}
	return nil
}

func incomplete(label string) error {
	return &problem.InputError{Rule: "price.incomplete", Label: label, Want: "a cash price, or futures and basis both", Next: "A price that is still open cannot be planned on; enter what it would be today."}
}

// lag is how long a load is under way: loading and the loaded road.
func (b *builder) lag(miles *float64) time.Duration {
	trip := b.fleet.trip
	minutes := trip.LoadMin
	if miles != nil {
		minutes += 60 * *miles / trip.Loaded.MilesPerHour()
	}
	return time.Duration(minutes * float64(time.Minute))
}

// miles returns the road from field f to a place; the field's own figure wins.
func (b *builder) miles(f *farm.Field, id string, own *float64) (float64, error) {
	if m, ok := f.Miles[id]; ok {
		return m, nil
	}
	if own != nil {
		return *own, nil
	}
	return 0, &problem.InputError{
		Rule: "miles.missing", Label: fmt.Sprintf("road miles from field %q to %q", f.ID, id), Want: "`miles` at the outlet or bin, or in the field",
		Next: "Hauling is money and time: give the road distance.",
	}
}

// trip returns a load's round from field f to w, and its length.
func (b *builder) trip(f *farm.Field, w *way) (capacity.Trip, error) {
	id, own := w.row.ID, (*float64)(nil)
	trip := b.fleet.trip
	set := func(to *float64, given *float64) {
		if given != nil {
			*to = *given
		}
	}
	if w.outlet != nil {
		own = w.outlet.Miles
		set(&trip.QueueMin, w.outlet.QueueMin)
		set(&trip.ScaleMin, w.outlet.ScaleMin)
		set(&trip.DumpMin, w.outlet.DumpMin)
		set(&trip.TicketMin, w.outlet.TicketMin)
	} else {
		own = w.bin.Miles
		trip.QueueMin, trip.ScaleMin, trip.TicketMin = 0, 0, 0
		set(&trip.DumpMin, w.bin.DumpMin)
	}
	miles, err := b.miles(f, id, own)
	trip.Distance = units.Length(miles) * units.Mile
	return trip, err
}

// offer prices a pound of field f's wet grain on way w at every printed moisture, after freight and drying.
func (b *builder) offer(f *farm.Field, w *way, trip capacity.Trip) (*Offer, error) {
	freight := b.fleet.rate.LoadUSD(trip.Distance, trip.CycleMin()) / float64(b.fleet.payload)
	if w.bin != nil {
		return b.binOffer(w, freight)
	}
	terms := b.in.Terms[TermsKey{w.outlet.ID, w.crop}]
	if terms == nil {
		return nil, &problem.InputError{
			Rule: "schedule.missing", Label: fmt.Sprintf("outlet %q schedule for %s", w.outlet.ID, w.crop),
			Want: "the file of its posted schedule", Next: "A bid without a schedule cannot be weighed: discounts decide.",
		}
	}
	load := settlement.Load{Crop: w.crop, Class: f.Class, Day: b.out.Span.DayOf(0), Gross: b.fleet.tare + b.fleet.payload, Tare: b.fleet.tare}
	load.Readings = b.expected(f, w.outlet, terms)
	relief := w.relief.Float() / lbPerBu(w.crop)
	var broken error
	o := NewOffer(func(pct trade.Percent) (float64, bool) {
		if w.wettest != nil && pct > *w.wettest {
			return 0, false
		}
		l := load
		l.Readings = l.Readings.With(settlement.Moisture, pct)
		net, err := terms.Net(l, w.prices)
		var rejected *settlement.Rejection
		var unstated *settlement.Unstated
		var input *problem.InputError
		switch {
		case err == nil:
			return net.Float()/float64(b.fleet.payload) - freight + relief, true
		case errors.As(err, &rejected), errors.As(err, &unstated):
		case errors.As(err, &input) && input.Rule == "T03": // past what a scale can print
		default:
			broken = err
		}
		return 0, false
	})
	return o, broken
}

// expected returns the grade of a load of field f as far as the terms ask for it. What the owner has not said is taken at the
// schedule's free limit, and said.
func (b *builder) expected(f *farm.Field, o *farm.Outlet, terms *settlement.Terms) settlement.Readings {
	var r settlement.Readings
	q := f.Quality
	for _, need := range terms.Needs() {
		if need == settlement.Moisture {
			continue
		}
		if given := QualityOf(&q, need); given != nil {
			r = r.With(need, *given)
			continue
		}
		free := freeLimit(terms, need)
		b.assume(fmt.Sprintf("%s: %s", f.Name, need.Words()), fmt.Sprintf("%g %s, nothing taken", free.Float(), need.Unit()),
			fmt.Sprintf("not given; the limit at which %s starts to charge", o.Name))
		r = r.With(need, free)
	}
	return r
}

// QualityOf returns what q says of factor f; nil: nothing.
func QualityOf(q *farm.Quality, f settlement.Factor) *trade.Percent {
	switch f {
	case settlement.TestWeight:
		return q.TestWeight
	case settlement.ForeignMaterial:
		return q.ForeignMaterial
	case settlement.DamageTotal:
		return q.Damage
	case settlement.HeatDamage:
		return q.Heat
	case settlement.Splits:
		return q.Splits
	case settlement.BCFM:
		return q.BCFM
	case settlement.Dockage:
		return q.Dockage
	case settlement.Protein:
		return q.Protein
	default:
		return nil
	}
}

// freeLimit returns the reading of f at which the schedule takes and adds nothing yet.
func freeLimit(terms *settlement.Terms, f settlement.Factor) trade.Percent {
	for _, row := range terms.Schedule().Rows {
		if row.Factor == f && row.From != nil {
			if units, ok := row.From.Units(2); ok {
				return trade.Percent(units)
			}
		}
	}
	return 0
}
