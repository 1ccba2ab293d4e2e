package worth

import (
	"math"
	"testing"

	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/trade"
)

func price(usd float64) *trade.Price {
	p := trade.Price(math.Round(usd * 100000))
	return &p
}

func percent(pct float64) trade.Percent { return trade.Percent(math.Round(pct * 100)) }

// Ten thousand bushels of 20 % corn dried at home to 15 %: 9,361.76 bu sold at 4.10 bring 38,383.22; gas 1,662.50 and power 55,
// handling 300. Worked example, recomputed from the published energy figures. [isu-pm3063c]
func TestABinWithADryerIsWorthTheWorkedExample(t *testing.T) {
	gal, kwh, loss := 0.019, 0.010, percent(0.5)
	b := &builder{
		in: Inputs{Season: &farm.Season{Dryers: []farm.Dryer{{
			ID: "d", BuPerHourAt5: 500, HoursPerDay: 20, Target: map[crop.Kind]trade.Percent{crop.Corn: percent(15)},
			GalPerBuPt: &gal, KWhPerBuPt: &kwh, LPUSD: price(1.75), PowerUSD: price(0.11), HandlingUSD: price(0.03), HandlingLoss: &loss,
		}}}},
		out: &Build{}, said: map[string]bool{},
	}
	bin := &farm.Bin{ID: "b", Crop: crop.Corn, MaxMoisture: percent(15.5), Dryer: "d", SaleUSD: price(4.10), CostUSD: price(0), SaleBase: percent(15)}
	o, err := b.binOffer(&way{crop: crop.Corn, bin: bin}, 0)
	if err != nil {
		t.Fatal(err)
	}
	const bushels = 10000
	got := o.USDPerLb[200-firstPrinted] * bushels * 56
	want := 38383.22 - 1662.50 - 55.00 - 300.00
	if math.Abs(got-want) > 0.05 {
		t.Errorf("10,000 bu at 20 %% are worth $%.2f in the bin, worked example $%.2f", got, want)
	}
}

func TestABinWithoutADryerRefusesWetGrainAndPaysDryGrainByWeight(t *testing.T) {
	b := &builder{in: Inputs{Season: &farm.Season{}}, out: &Build{}, said: map[string]bool{}}
	bin := &farm.Bin{ID: "b", Crop: crop.Soybean, MaxMoisture: percent(13.5), SaleUSD: price(10), SaleBase: percent(13)}
	o, err := b.binOffer(&way{crop: crop.Soybean, bin: bin}, 0)
	if err != nil {
		t.Fatal(err)
	}
	if v := o.USDPerLb[140-firstPrinted]; v == v {
		t.Errorf("14.0 %% goes into a bin for 13.5 at $%.3f", v)
	}
	if got := o.USDPerLb[100-firstPrinted]; math.Abs(got-10.0/60) > 1e-9 {
		t.Errorf("a pound at 10 %% is worth $%.5f, it is sold by its weight at $%.5f", got, 10.0/60)
	}
	if got, want := o.USDPerLb[135-firstPrinted], 10.0/60*0.865/0.87; math.Abs(got-want) > 1e-9 {
		t.Errorf("a pound at 13.5 %% is worth $%.5f, its dry matter at the base $%.5f", got, want)
	}
}
