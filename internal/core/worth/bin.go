package worth

import (
	"fmt"

	"threshday/internal/core/farm"
	"threshday/internal/core/moisture"
	"threshday/internal/core/problem"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
)

// binWay makes a bin a destination at the price its grain is expected to fetch.
func (b *builder) binWay(bin *farm.Bin, site int) way {
	w := way{crop: bin.Crop, bin: bin, row: DestinationRow{
		ID: bin.ID, Name: bin.Name, Site: site, Room: bin.HoldsBu - bin.InBu, Posted: bin.SaleUSD.Float(),
		Open: b.out.Span.Takes(Receiving{Lag: b.lag(bin.Miles)}),
	}}
	if d := b.dryer(bin.Dryer); d != nil {
		target := b.target(d, bin)
		w.row.Points = make([]float32, GridLen)
		for i := range w.row.Points {
			w.row.Points[i] = float32(max(0, GridPct(i)-target.Float()))
		}
		// Throughput falls as fewer points are taken out; five points is the rate the owner gives.
		w.row.PointDay = storage.Dryer{BuPerHourAt5: d.BuPerHourAt5}.BuPerHour(5) * 5 * d.HoursPerDay
	}
	return w
}

func (b *builder) dryer(id string) *farm.Dryer {
	for i := range b.in.Season.Dryers {
		if d := &b.in.Season.Dryers[i]; id != "" && d.ID == id {
			return d
		}
	}
	return nil
}

func (b *builder) target(d *farm.Dryer, bin *farm.Bin) trade.Percent {
	if t, ok := d.Target[bin.Crop]; ok {
		return t
	}
	return bin.MaxMoisture
}

// binOffer prices grain put into an own bin: dried where a dryer stands, sold later at the owner's expected price.
func (b *builder) binOffer(w *way, freight float64) (*Offer, error) {
	bin := w.bin
	perBu := lbPerBu(w.crop)
	d := b.dryer(bin.Dryer)
	if bin.SaleBase <= 0 {
		return nil, &problem.InputError{Rule: "bin.sale_base", Label: fmt.Sprintf("bin %q sale_base", bin.ID), Want: "the moisture its sale price is quoted at, like \"15%\""}
	}
	sale := bin.SaleUSD.Float()
	if bin.CostUSD != nil {
		sale -= bin.CostUSD.Float()
	} else {
		b.assume(bin.Name+": cost of storing", "$0 a bushel", "not given; the bin then looks a little better than it is")
	}
	var job storage.Job
	target := bin.MaxMoisture
	if d != nil {
		var err error
		if job, err = b.dryingJob(d); err != nil {
			return nil, err
		}
		target = b.target(d, bin)
	}
	base := moisture.WetBasis(bin.SaleBase.Float())
	return NewOffer(func(pct trade.Percent) (float64, bool) {
		at, cost, left := pct, 0.0, 1.0
		if pct > bin.MaxMoisture {
			if d == nil {
				return 0, false
			}
			one := job
			one.Bushels, one.FromPct, one.ToPct = 1, pct.Float(), target.Float()
			dried, err := one.Dry()
			if err != nil {
				return 0, false
			}
			at, cost, left = target, dried.USD, dried.BushelsLeft
		}
		// What is left of a pound is sold at the base, or as dry as it is: nobody pays for water that is gone.
		sold := left * min(1, (1-at.Float()/100)/base.DryMatter())
		return sold/perBu*sale - cost/perBu - freight, true
	}), nil
}

// dryingJob returns what drying costs; prices must be the owner's, energy is the usual where not given.
func (b *builder) dryingJob(d *farm.Dryer) (storage.Job, error) {
	if d.LPUSD == nil || d.PowerUSD == nil {
		return storage.Job{}, &problem.InputError{Rule: "dryer.prices", Label: fmt.Sprintf("dryer %q lp_price and power_price", d.ID), Want: "dollars a gallon and dollars a kWh, like \"$1.75\" and \"$0.11\""}
	}
	usual := storage.Methods()[0]
	energy := storage.Energy{Name: d.Name, GalPerBuPoint: orElse(d.GalPerBuPt, usual.GalPerBuPoint), KWhPerBuPoint: orElse(d.KWhPerBuPt, usual.KWhPerBuPoint)}
	if d.GalPerBuPt == nil {
		b.assume(d.Name+": LP gas", fmt.Sprintf("%.3f gallon a bushel and point", usual.GalPerBuPoint), "measured on farm dryers, published")
	}
	if d.KWhPerBuPt == nil {
		b.assume(d.Name+": power", fmt.Sprintf("%.3f kWh a bushel and point", usual.KWhPerBuPoint), "published")
	}
	job := storage.Job{Energy: energy, LPUSD: d.LPUSD.Float(), PowerUSD: d.PowerUSD.Float()}
	if d.HandlingUSD != nil {
		job.HandlingUSD = d.HandlingUSD.Float()
	}
	if d.HandlingLoss != nil {
		job.HandlingLossPct = d.HandlingLoss.Float()
	} else {
		b.assume(d.Name+": handling loss", "0 %", "not given")
	}
	return job, nil
}
