package worth

import (
	"math"

	"threshday/internal/core/trade"
)

// An Offer says what a place pays for a pound of wet grain at each printed moisture, after everything it takes and
// after hauling and drying. The zero Offer accepts nothing.
type Offer struct {
	USDPerLb [printed]float64 // at FirstPrinted + i tenths of a percent; NaN: not accepted
}

// The moistures a scale prints, in tenths of a percent.
const (
	firstPrinted = 40  // 4.0 %
	printed      = 461 // to 50.0 %
)

// NewOffer asks price for every printed moisture. price returns dollars per pound of wet grain, or false where the place
// does not take it.
func NewOffer(price func(trade.Percent) (usdPerLb float64, ok bool)) *Offer {
	o := &Offer{}
	for i := range o.USDPerLb {
		o.USDPerLb[i] = math.NaN()
		if v, ok := price(trade.Percent((firstPrinted + i) * 10)); ok {
			o.USDPerLb[i] = v
		}
	}
	return o
}

// Refused fills what a place turns away: a load above its limit is hauled back, at backUSDPerLb, and sold at the other
// offer as if it had gone there. Where the other takes nothing either the load stays unsold.
func (o *Offer) Refused(other *Offer, backUSDPerLb float64) *Offer {
	out := &Offer{USDPerLb: o.USDPerLb}
	for i, v := range o.USDPerLb {
		if math.IsNaN(v) {
			out.USDPerLb[i] = other.USDPerLb[i] - backUSDPerLb
		}
	}
	return out
}

// Loads says how the truckloads of a field differ: the standard deviation of their moisture around the field's mean,
// in points wet basis.
type Loads struct{ SDPct float64 }

// reach is how many standard deviations of the loads' moisture are counted: one load in 30 million lies beyond.
const reach = 5.5

// shares returns the part of a normal distribution of standard deviation sd that falls on each printed tenth of a percent,
// the middle one first at index len/2. half moves the mean to the edge above its tenth, where every second grid point lies.
func shares(sd float64, half bool) []float64 {
	n := int(math.Ceil(reach*sd/0.1)) + 1
	out := make([]float64, 2*n+1)
	mean := 0.0
	if half {
		mean = 0.05
	}
	below := func(x float64) float64 {
		if sd == 0 {
			if x > mean {
				return 1
			}
			return 0
		}
		return 0.5 * math.Erfc(-(x-mean)/sd/math.Sqrt2)
	}
	total := 0.0
	for k := range out {
		x := 0.1 * float64(k-n)
		out[k] = below(x+0.0500001) - below(x-0.0499999) // a reading on the edge is printed as the higher tenth
		total += out[k]
	}
	for k := range out {
		out[k] /= total
	}
	return out
}

// Value returns dollars per acre over the moisture grid for dryLb pounds of dry matter an acre, its loads spread around
// the grid's moisture and each paid by the offer: the exact integral of the step schedule over the printed tenths. A point
// is NaN where less than half of the loads would be taken: nobody hauls a field to a place that turns most of it away.
// Loads beyond the limit count as refused.
func Value(o, refused *Offer, dryLb float64, l Loads) []float32 {
	var usd [printed]float64 // per acre at each printed moisture
	var taken [printed]bool
	for j := range usd {
		v := o.USDPerLb[j]
		taken[j] = v == v
		if !taken[j] {
			if v = refused.USDPerLb[j]; v != v {
				v = 0
			}
		}
		usd[j] = v * dryLb / (1 - float64(firstPrinted+j)/1000)
	}
	weights := [2][]float64{shares(l.SDPct, false), shares(l.SDPct, true)}
	out := make([]float32, GridLen)
	for i := range out {
		w := weights[i%2]
		first := i/2 - len(w)/2
		sum, accepted := 0.0, 0.0
		for k, share := range w {
			j := min(max(first+k, 0), printed-1)
			sum += share * usd[j]
			if taken[j] {
				accepted += share
			}
		}
		if accepted < 0.5 {
			out[i] = float32(math.NaN())
			continue
		}
		out[i] = float32(sum)
	}
	return out
}

// WetBushels returns wet trade bushels per acre over the moisture grid for dryLb pounds of dry matter.
func WetBushels(dryLb, lbPerBu float64) []float32 {
	out := make([]float32, GridLen)
	for i := range out {
		out[i] = float32(dryLb / (1 - GridPct(i)/100) / lbPerBu)
	}
	return out
}
