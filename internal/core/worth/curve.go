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

// nodes are the strata a normal distribution is cut into: 21 of equal probability, each at its own median. The step
// schedules are piecewise constant, so the mean over the strata converges as they are refined; against 2001 strata the
// error is under 0.1 % of the price for every schedule tried.
const nodes = 21

// Value returns dollars per acre over the moisture grid for dryLb pounds of dry matter an acre, its loads spread around
// the grid's moisture and each paid by the offer. A point is NaN where less than half of the loads would be taken:
// nobody hauls a field to a place that turns most of it away. Loads beyond the limit count as refused.
func Value(o, refused *Offer, dryLb float64, l Loads) []float32 {
	out := make([]float32, GridLen)
	var z [nodes]float64
	for k := range z {
		z[k] = normalQuantile((float64(k) + 0.5) / nodes)
	}
	for i := range out {
		mean := GridPct(i)
		sum, taken, n := 0.0, 0, 0.0
		for _, q := range z {
			pct := min(max(mean+l.SDPct*q, 0.1*firstPrinted), 0.1*(firstPrinted+printed-1))
			at := int(math.Floor(pct*10+0.5)) - firstPrinted
			v := o.USDPerLb[at]
			if v == v {
				taken++
			} else {
				v = refused.USDPerLb[at]
				if v != v {
					v = 0
				}
			}
			sum += v * dryLb / (1 - pct/100)
			n++
		}
		if 2*taken < nodes {
			out[i] = float32(math.NaN())
			continue
		}
		out[i] = float32(sum / n)
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

// normalQuantile returns the p quantile of the standard normal distribution.
func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }
