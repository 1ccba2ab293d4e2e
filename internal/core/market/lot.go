package market

import (
	"math"

	"threshday/internal/core/settlement"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
)

// A Lot is grain of one grade on its way to one buyer in many truckloads like Load.
type Lot struct {
	Bushels trade.Bushels // wet, to hundredths
	Load    settlement.Load
}

// A Sale is what a lot brings.
type Sale struct {
	Wet      trade.Bushels // hauled to the buyer
	Paid     trade.Bushels // after everything taken by weight
	Revenue  trade.Amount  // after quality, before checkoff and charges
	Checkoff trade.Amount
	Charges  trade.Amount // the buyer's drying and fees
	Drying   trade.Amount // at home: gas and power
	Handling trade.Amount // at home
	Freight  trade.Amount
	Net      trade.Amount
}

func (s Sale) netted() Sale {
	s.Net = s.Revenue - s.Checkoff - s.Charges - s.Drying - s.Handling - s.Freight
	return s
}

// Sell settles a lot at an outlet: the typical load by the outlet's terms, and the lot as that many loads. Its paid bushels
// are rounded once, to the terms' own decimals, and multiplied by the net price; what the load's money carries beyond that
// product, its checkoff and its charges count once for each load. Freight is hired by the unit or paid by the load.
func (o Outlet) Sell(lot Lot) (Sale, error) {
	d, err := o.Deliver(lot.Load)
	if err != nil {
		return Sale{}, err
	}
	one := d.Paid
	loads := func(a trade.Amount) trade.Amount {
		return trade.Amount(trade.HalfUp.MulDiv(int64(a), int64(lot.Bushels), int64(one.GrossQty)))
	}
	step := []int64{1000, 100, 10, 1}[*o.Terms.Schedule().BuDecimals]
	s := Sale{Wet: lot.Bushels}
	s.Paid = trade.Bushels(trade.HalfUp.MulDiv(int64(lot.Bushels), int64(one.SettledLb), int64(one.NetLb)*step) * step)
	apart := one.Value - one.PerUnit.Times(one.NetQty, trade.HalfUp)
	s.Revenue = one.PerUnit.Times(s.Paid, trade.HalfUp) + loads(apart)
	s.Checkoff, s.Charges, s.Freight = loads(one.Checkoff), loads(one.Charges), loads(d.Freight)
	return s.netted(), nil
}

// DryFirst dries the lot at home by the job, whose bushels and first moisture it fills in, and then sells what is left.
func (o Outlet) DryFirst(lot Lot, job storage.Job) (Sale, error) {
	m, _ := lot.Load.Readings.Of(settlement.Moisture)
	job.Bushels, job.FromPct = lot.Bushels.Float(), m.Float()
	dried, err := job.Dry()
	if err != nil {
		return Sale{}, err
	}
	rest := lot
	rest.Bushels = hundredths(dried.BushelsLeft)
	rest.Load.Readings = rest.Load.Readings.With(settlement.Moisture, trade.Percent(math.Round(job.ToPct*100)))
	s, err := o.Sell(rest)
	if err != nil {
		return Sale{}, err
	}
	s.Drying, s.Handling = cents(dried.LPUSD)+cents(dried.PowerUSD), cents(dried.HandlingUSD)
	return s.netted(), nil
}

// Wait sells the lot once it has dried in the field to moisture m with loss of its dry matter on the ground, in percent.
func (o Outlet) Wait(lot Lot, m, loss trade.Percent) (Sale, error) {
	later, err := lot.stood(m, loss)
	if err != nil {
		return Sale{}, err
	}
	return o.Sell(later)
}

// stood returns the lot after standing: the same dry matter but for the loss, at another moisture.
func (l Lot) stood(m, loss trade.Percent) (Lot, error) {
	now, read := l.Load.Readings.Of(settlement.Moisture)
	if !read {
		return Lot{}, unread()
	}
	kept := trade.HalfUp.MulDiv(int64(l.Bushels)*int64(100_00-now), int64(100_00-loss), int64(100_00-m)*100_00*10)
	l.Bushels = trade.Bushels(kept * 10)
	l.Load.Readings = l.Load.Readings.With(settlement.Moisture, m)
	return l, nil
}

// BreakEvenLoss returns the smallest field loss, to a hundredth of a percent, at which waiting for moisture m nets less than
// rival does; false when even no loss does, or all of it would not.
func (o Outlet) BreakEvenLoss(lot Lot, m trade.Percent, rival trade.Amount) (trade.Percent, bool) {
	less := func(loss trade.Percent) bool {
		s, err := o.Wait(lot, m, loss)
		return err != nil || s.Net < rival
	}
	low, high := trade.Percent(0), trade.Percent(99_00)
	if less(low) || !less(high) {
		return 0, false
	}
	for high-low > 1 {
		if middle := (low + high) / 2; less(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return high, true
}
