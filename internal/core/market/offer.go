package market

import (
	"errors"
	"fmt"

	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// An Offer is one way to turn a load into money.
type Offer interface {
	// Deliver returns what the load nets. The error is [settlement.ErrNotAccepted], [settlement.ErrUnstated] or
	// a *problem.InputError.
	Deliver(settlement.Load) (Delivered, error)
}

// A Delivered is what one load nets at one place.
type Delivered struct {
	Load    settlement.Load
	Paid    settlement.Totals // what the outlet pays, before freight
	Freight trade.Amount
	Costs   trade.Amount // drying and keeping at home; 0 at a buyer
	Net     trade.Amount // what is left
}

// PerGross returns the net on each gross bushel (or hundredweight), to four decimals of a dollar: the figure people
// compare in the cab. Between loads of unlike moisture it misleads; see [Delivered.PerDryPound].
func (d Delivered) PerGross() trade.Price {
	return trade.Price(trade.HalfUp.MulDiv(int64(d.Net), 1e5, int64(d.Paid.GrossQty))) * 10
}

// Per returns the net on each so many pounds of scale weight, to four decimals of a dollar: the common measure where one outlet pays
// by the bushel and another by the hundredweight. It misleads as [Delivered.PerGross] does.
func (d Delivered) Per(pounds trade.Pounds) trade.Price {
	return trade.Price(trade.HalfUp.MulDiv(int64(d.Net), 100*int64(pounds), int64(d.Paid.NetLb))) * 10
}

// PerDryPound returns the net on each pound of dry matter, to five decimals of a dollar.
func (d Delivered) PerDryPound() trade.Price {
	return trade.Price(trade.HalfUp.MulDiv(int64(d.Net), 1e7, d.dry()))
}

// dry returns the dry matter of the load in ten-thousandths of a pound. A load without a moisture reading counts whole.
func (d Delivered) dry() int64 {
	m, _ := d.Load.Readings.Of(settlement.Moisture)
	return int64(d.Load.Net()) * int64(100_00-m)
}

// Compare orders by net on a pound of dry matter, exactly: -1 where d nets less than e.
func (d Delivered) Compare(e Delivered) int {
	return trade.NewFraction(int64(d.Net), d.dry()).Cmp(trade.NewFraction(int64(e.Net), e.dry()))
}

// An Outlet is a buyer's offer for one crop: posted terms, today's price, the way there.
type Outlet struct {
	Terms   *settlement.Terms
	Prices  settlement.Prices
	Freight Freight
	Wettest *trade.Percent // of a premium: nothing wetter earns it; nil: no limit of its own
}

// Deliver settles the load and takes off the freight. A load too wet for the premium is refused under this price, for it
// goes at the bid without it, which is another offer.
func (o Outlet) Deliver(l settlement.Load) (Delivered, error) {
	if m, read := l.Readings.Of(settlement.Moisture); read && o.Wettest != nil && settlement.Moisture.Recorded(m) > *o.Wettest {
		return Delivered{}, &TooWet{Limit: *o.Wettest, Reading: m}
	}
	sum, err := o.Terms.Totals(l, o.Prices)
	if err != nil {
		return Delivered{}, err
	}
	freight := o.Freight.Of(sum.NetLb, sum.GrossQty)
	return Delivered{Load: l, Paid: sum, Freight: freight, Net: sum.Net - freight}, nil
}

// TooWet says that a price has a moisture limit of its own that the load exceeds.
type TooWet struct{ Limit, Reading trade.Percent }

func (e *TooWet) Error() string {
	return fmt.Sprintf("This price is for grain of at most %s %%; the load is at %s %%.", e.Limit, e.Reading)
}

// Is makes errors.Is(err, settlement.ErrNotAccepted) true.
func (e *TooWet) Is(target error) bool { return target == settlement.ErrNotAccepted }

// refusal reports whether err says that a load has no price there, which is an answer, as against an entry that nobody
// can use. A moisture beyond what any scale prints has no price anywhere.
func refusal(err error) bool {
	var input *problem.InputError
	return errors.Is(err, settlement.ErrNotAccepted) || errors.Is(err, settlement.ErrUnstated) || errors.As(err, &input) && input.Rule == "T03"
}
