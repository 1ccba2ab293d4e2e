package worth

import (
	"math"
	"testing"

	"threshday/internal/core/trade"
)

// flat pays one price for a pound of grain up to a limit, nothing beyond.
func flat(usdPerLb float64, limit trade.Percent) *Offer {
	return NewOffer(func(p trade.Percent) (float64, bool) { return usdPerLb, p <= limit })
}

func at(t *testing.T, curve []float32, pct float64) float64 {
	t.Helper()
	return float64(curve[GridIndex(pct)])
}

func TestAnAcreIsWorthItsDryMatter(t *testing.T) {
	const dry = 2700.0
	curve := Value(flat(0.16, 3000), flat(0, 0), dry, Loads{})
	for _, pct := range []float64{9, 13, 18.5, 25} {
		if got, want := at(t, curve, pct), 0.16*dry/(1-pct/100); math.Abs(got-want) > 0.01 {
			t.Errorf("at %.1f %% an acre is worth %.2f, its pounds %.2f", pct, got, want)
		}
	}
}

// A 75 bu/ac field sold at 9 % for $9 a bushel: 3.3 bushels, $29.67 an acre. [unl-cropwatch-overdry]
func TestSellingTooDryGivesAwayWhatIsPublished(t *testing.T) {
	dry := 75 * 60 * (1 - 0.13)
	curve := Value(flat(9.0/60, 3000), flat(0, 0), dry, Loads{})
	if got := at(t, curve, 13) - at(t, curve, 9); math.Abs(got-29.67) > 0.02 {
		t.Errorf("selling at 9 %% costs $%.2f an acre, published 29.67", got)
	}
}

// The mean over a spread of loads, against twenty thousand loads at the quantiles of the spread.
func TestTheSpreadOfLoadsIsIntegratedExactly(t *testing.T) {
	steps := NewOffer(func(p trade.Percent) (float64, bool) {
		over := math.Ceil(max(0, p.Float()-13)/0.5 - 1e-9)
		return 0.165 * (1 - 0.0125*over), p <= 1800
	})
	refused := flat(0.12, 5000)
	curve := Value(steps, refused, 2700, Loads{SDPct: 1})
	const fine = 20001
	for _, mean := range []float64{11, 12.9, 13.3, 14.7, 16.2, 17.5} {
		sum := 0.0
		for k := range fine {
			x := mean + math.Sqrt2*math.Erfinv(2*(float64(k)+0.5)/fine-1)
			i := int(math.Floor(x*10+0.5)) - firstPrinted
			v := steps.USDPerLb[i]
			if v != v {
				v = refused.USDPerLb[i]
			}
			sum += v * 2700 / (1 - x/100)
		}
		got, want := at(t, curve, mean), sum/fine
		if math.Abs(got-want) > 0.0005*want {
			t.Errorf("at a mean of %.1f %%: %.3f, finely %.3f", mean, got, want)
		}
	}
}

func TestAFieldMostlyTurnedAwayIsNotHauledThere(t *testing.T) {
	curve := Value(flat(0.16, 1500), flat(0.1, 5000), 2700, Loads{SDPct: 1})
	if v := at(t, curve, 15.6); v == v {
		t.Errorf("at 15.6 %% most loads are over 15.0 and still an acre is worth %.0f", v)
	}
	inside, beyond := at(t, curve, 12), at(t, curve, 14.6)
	if beyond/(1/(1-0.146)) >= inside/(1/(1-0.12)) {
		t.Error("loads over the limit cost nothing")
	}
}

func TestRefusedLoadsPayTheWayBack(t *testing.T) {
	o := flat(0.16, 1500).Refused(flat(0.14, 5000), 0.01)
	if got := o.USDPerLb[1600/10-firstPrinted]; math.Abs(got-0.13) > 1e-12 {
		t.Errorf("a refused load brings %.3f a pound, want the other price less the way back", got)
	}
	if got := o.USDPerLb[1400/10-firstPrinted]; got != 0.16 {
		t.Errorf("an accepted load brings %.3f", got)
	}
}

func TestQuantilesLieBetweenNeighbours(t *testing.T) {
	x := []float64{1, 2, 4, 8}
	for p, want := range map[float64]float64{0: 1, 0.5: 3, 1: 8, 1.0 / 3: 2} {
		if got := Quantile(x, p); math.Abs(got-want) > 1e-12 {
			t.Errorf("quantile %.2f is %v, want %v", p, got, want)
		}
	}
}
