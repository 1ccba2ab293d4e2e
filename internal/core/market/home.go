package market

import (
	"math"

	"threshday/internal/core/crop"
	"threshday/internal/core/moisture"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// A Home is an own bin as an offer: the load is dried if it must be, kept, and sold later at a price that the owner
// expects and nobody has promised.
type Home struct {
	Crop    crop.Kind
	Sale    trade.Price   // expected, per bushel at Base
	Base    trade.Percent // moisture the sale price is quoted at
	Keeping trade.Price   // cost of keeping it until then, per bushel sold
	Wettest trade.Percent // may go in without the dryer
	Dryer   *HomeDryer    // nil: none
	Freight Freight
}

// A HomeDryer dries to Target; Job carries energy and prices, its bushels and moistures are filled in.
type HomeDryer struct {
	Target trade.Percent
	Job    storage.Job
}

// A BinTooWet says that grain is too wet for a bin without a dryer.
type BinTooWet struct{ Limit trade.Percent }

func (e *BinTooWet) Error() string {
	return "The bin takes grain of at most " + e.Limit.String() + " %, and has no dryer."
}

// Is makes errors.Is(err, settlement.ErrNotAccepted) true.
func (e *BinTooWet) Is(target error) bool { return target == settlement.ErrNotAccepted }

// Deliver dries the load as far as the bin needs and values what is left at the base, or as dry as it is: nobody pays for
// water that is gone. Bushels are rounded to hundredths, money to the cent.
func (h Home) Deliver(l settlement.Load) (Delivered, error) {
	if err := settlement.CheckLoad(l); err != nil {
		return Delivered{}, err
	}
	pounds, ok := crop.BushelPounds(h.Crop)
	m, read := l.Readings.Of(settlement.Moisture)
	if !ok || !read {
		return Delivered{}, &problem.InputError{Rule: "T06", Label: "moisture", Want: "a reading, of a crop sold by the bushel", Next: "A bin is priced by what drying leaves."}
	}
	wet := l.Net().Float() / pounds.Float()
	left, at, drying := wet, m, 0.0
	if m > h.Wettest {
		if h.Dryer == nil {
			return Delivered{}, &BinTooWet{h.Wettest}
		}
		job := h.Dryer.Job
		job.Bushels, job.FromPct, job.ToPct = wet, m.Float(), h.Dryer.Target.Float()
		dried, err := job.Dry()
		if err != nil {
			return Delivered{}, err
		}
		left, at, drying = dried.BushelsLeft, h.Dryer.Target, dried.USD
	}
	if at > h.Base {
		left = moisture.AtMoisture(units.Mass(left), moisture.WetBasis(at.Float()), moisture.WetBasis(h.Base.Float())).Kilograms()
	}
	d := Delivered{Load: l, Paid: settlement.Totals{NetLb: l.Net(), SettledLb: l.Net(), GrossQty: hundredths(wet), NetQty: hundredths(left), PerUnit: h.Sale}}
	d.Paid.Value = h.Sale.Times(d.Paid.NetQty, trade.HalfUp)
	d.Paid.Net = d.Paid.Value
	d.Costs = cents(drying) + h.Keeping.Times(d.Paid.NetQty, trade.HalfUp)
	d.Freight = h.Freight.Of(l.Net(), d.Paid.GrossQty)
	d.Net = d.Paid.Net - d.Costs - d.Freight
	return d, nil
}

// hundredths returns modelled bushels as printed ones.
func hundredths(bu float64) trade.Bushels { return trade.Bushels(math.Round(bu*100)) * 10 }
