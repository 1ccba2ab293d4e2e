package storage

import (
	"fmt"
	"math"

	"threshday/internal/core/moisture"
	"threshday/internal/core/problem"
)

// A Dryer is how fast a heated dryer works.
type Dryer struct {
	BuPerHourAt5    float64 // wet bushels an hour when it takes out five points
	UnloadBuPerHour float64 // what its auger takes away; 0: not known
}

// Throughput falls with the points taken out, but not in proportion: loading and cooling take the same time. The
// exponent is fitted to one tower's 2,400 bu/h at five points and 1,440 at ten [tower-dryers-2011].
const (
	throughputExponent = 0.737
	leastPoints        = 3 // below it the fit has nothing to stand on; the rate stays. [judgement]
)

// BuPerHour returns wet bushels an hour when points are taken out.
func (d Dryer) BuPerHour(points float64) float64 {
	rate := d.BuPerHourAt5 * math.Pow(5/max(points, leastPoints), throughputExponent)
	if d.UnloadBuPerHour > 0 {
		rate = min(rate, d.UnloadBuPerHour)
	}
	return rate
}

// Energy is what a way of drying needs for each point in each wet bushel.
type Energy struct {
	Name          string
	GalPerBuPoint float64 // LP gas
	KWhPerBuPoint float64
	Key           string // of the source, in docs/sources
}

// Methods returns ways of drying with published needs, the usual one first. Measured dryers spread from 0.010
// to 0.025 gallons [isu-lp-2004]: put in the farm's own once a season's gas bill is there.
func Methods() []Energy {
	return []Energy{
		{Name: "high-temperature bin dryer", GalPerBuPoint: 0.019, KWhPerBuPoint: 0.010, Key: "isu-pm3063c"},
		{Name: "column dryer, cooled in the dryer", GalPerBuPoint: 0.020, KWhPerBuPoint: 0.010, Key: "mwps-drying"},
		{Name: "dryeration", GalPerBuPoint: 0.0145, KWhPerBuPoint: 0.007, Key: "mwps-drying"},
		{Name: "combination, finished with natural air", GalPerBuPoint: 0.008, KWhPerBuPoint: 0.090, Key: "mwps-drying"},
	}
}

// A Job is grain to be dried and what it costs. Prices are the owner's.
type Job struct {
	Bushels         float64 // wet
	FromPct, ToPct  float64 // wet basis
	Energy          Energy
	LPUSD           float64 // per gallon
	PowerUSD        float64 // per kWh
	HandlingUSD     float64 // per wet bushel through the dryer; 0: none
	HandlingLossPct float64 // of the wet bushels, in dust and spill; 0: none
}

// A Dried is what a job takes and leaves.
type Dried struct {
	Gallons, KWh float64
	LPUSD        float64 // for gas
	PowerUSD     float64
	HandlingUSD  float64
	USD          float64 // all three
	USDPerBu     float64 // per wet bushel
	WaterBu      float64 // bushels gone as water
	HandlingBu   float64 // bushels gone in handling
	BushelsLeft  float64
}

// Dry returns what the job takes and leaves. Dry matter is conserved; energy grows with the points, at one
// rate, though the first points are the easy ones. An error says which entry cannot be used.
func (j Job) Dry() (Dried, error) {
	if err := j.check(); err != nil {
		return Dried{}, err
	}
	points := j.FromPct - j.ToPct
	from, to := moisture.WetBasis(j.FromPct), moisture.WetBasis(j.ToPct)
	d := Dried{
		Gallons:     j.Bushels * points * j.Energy.GalPerBuPoint,
		KWh:         j.Bushels * points * j.Energy.KWhPerBuPoint,
		HandlingUSD: j.Bushels * j.HandlingUSD,
		WaterBu:     j.Bushels * moisture.WaterShrinkPct(from, to) / 100,
		HandlingBu:  j.Bushels * j.HandlingLossPct / 100,
	}
	d.LPUSD, d.PowerUSD = d.Gallons*j.LPUSD, d.KWh*j.PowerUSD
	d.USD = d.LPUSD + d.PowerUSD + d.HandlingUSD
	d.USDPerBu = d.USD / j.Bushels
	d.BushelsLeft = j.Bushels - d.WaterBu - d.HandlingBu
	return d, nil
}

func (j Job) check() error {
	var bad problem.InputErrors
	need := func(ok bool, label string, got float64, want string) {
		if !ok {
			bad = append(bad, &problem.InputError{Rule: "dry.range", Label: label, Got: fmt.Sprintf("%.6g", got), Want: want})
		}
	}
	need(j.Bushels > 0 && j.Bushels <= 1e9, "bushels", j.Bushels, "more than 0")
	need(j.ToPct > 0 && j.ToPct <= 60, "moisture to dry to", j.ToPct, "more than 0 to 60 % wet basis")
	need(j.FromPct >= j.ToPct && j.FromPct <= 60, "moisture to dry from", j.FromPct, "the moisture to dry to, up to 60 % wet basis")
	need(j.Energy.GalPerBuPoint >= 0 && j.Energy.GalPerBuPoint <= 1, "LP gas", j.Energy.GalPerBuPoint, "0 to 1 gallon a bushel and point")
	need(j.Energy.KWhPerBuPoint >= 0 && j.Energy.KWhPerBuPoint <= 10, "power", j.Energy.KWhPerBuPoint, "0 to 10 kWh a bushel and point")
	need(j.LPUSD >= 0 && j.LPUSD <= 1000, "price of LP gas", j.LPUSD, "$0 or more a gallon")
	need(j.PowerUSD >= 0 && j.PowerUSD <= 1000, "price of power", j.PowerUSD, "$0 or more a kWh")
	need(j.HandlingUSD >= 0 && j.HandlingUSD <= 1000, "handling", j.HandlingUSD, "$0 or more a bushel")
	need(j.HandlingLossPct >= 0 && j.HandlingLossPct <= 10, "handling loss", j.HandlingLossPct, "0 to 10 %")
	return bad.Or()
}
