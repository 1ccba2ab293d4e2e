package capacity

import (
	"math"

	"threshday/internal/core/crop"
)

// Repair is the form of accumulated repair cost: price × RF1 × (hours/1000)^RF2.
type Repair struct {
	RF1, RF2  float64
	LifeHours float64
}

// CombineRepair returns the factors of self-propelled combines. The total at the end of their life, 40.2 % of
// list, is read in [cigr-combines-italy]; the factors behind it are recalled [capacity-recalled]. Twenty
// combines in Italy had reached only 23.1 %: fit to own bills.
func CombineRepair() Repair { return Repair{RF1: 0.04, RF2: 2.1, LifeHours: 3000} }

// FourWheelTractorRepair returns the factors of four-wheel-drive and crawler tractors. [capacity-recalled]
func FourWheelTractorRepair() Repair { return Repair{RF1: 0.003, RF2: 2.0, LifeHours: 16000} }

// TwoWheelTractorRepair returns the factors of two-wheel-drive tractors. [capacity-recalled]
func TwoWheelTractorRepair() Repair { return Repair{RF1: 0.007, RF2: 2.0, LifeHours: 12000} }

// WagonRepair returns the factors of grain wagons. [capacity-recalled]
func WagonRepair() Repair { return Repair{RF1: 0.19, RF2: 1.3, LifeHours: 3000} }

// TotalUSD returns the repairs of the first hours of a machine's life; listUSD is its list price in today's
// money. Hours are engine hours; one farm's meters showed 650 separator hours for 1000 of the engine.
// [grower-hours-2012]
func (r Repair) TotalUSD(listUSD, hours float64) float64 {
	return r.RF1 * listUSD * math.Pow(hours/1000, r.RF2)
}

// USDPerHour returns what the next hour costs at so many hours.
func (r Repair) USDPerHour(listUSD, hours float64) float64 {
	return r.RF1 * r.RF2 * listUSD / 1000 * math.Pow(hours/1000, r.RF2-1)
}

// DefaultFuelGalPerAcre returns the diesel a combine burns: 1.5 [iowa-fuel-2006] to 2.4 [purdue-fuel-2006] in
// corn, 2.02 in soybeans, and 35 % either way by the published tables' own word [iowa-a3-27]. The values are a
// choice between them. ok is false for crops not listed. [judgement]
func DefaultFuelGalPerAcre(k crop.Kind) (gal float64, ok bool) {
	switch k {
	case crop.Soybean:
		return 1.6, true
	case crop.Corn:
		return 2.0, true
	case crop.Wheat:
		return 1.3, true
	default:
		return 0, false
	}
}

// What else a machine hour or acre costs.
const (
	CartFuelGalPerAcre = 0.5  // tractor and cart. [judgement]
	LubePartOfFuel     = 0.15 // of the fuel bill. [capacity-recalled]
	LaborUSDPerHour    = 24   // one operator. [judgement]
)

// A CustomRate is what people pay others for the work, dollars per acre: a scale to compare with.
type CustomRate struct {
	Work       string
	USDPerAcre float64
	Year       int
	Key        string // of the source, in docs/sources
}

// CustomRates returns Iowa averages.
func CustomRates() []CustomRate {
	return []CustomRate{
		{Work: "combining corn", USDPerAcre: 35.95, Year: 2019, Key: "iowa-custom-2019"},
		{Work: "combining soybeans", USDPerAcre: 35.10, Year: 2019, Key: "iowa-custom-2019"},
		{Work: "combining small grain", USDPerAcre: 31.90, Year: 2019, Key: "iowa-custom-2019"},
		{Work: "combining corn with cart and truck", USDPerAcre: 54.10, Year: 2019, Key: "iowa-custom-2019"},
		{Work: "grain cart in corn", USDPerAcre: 6.55, Year: 2019, Key: "iowa-custom-2019"},
		{Work: "grain cart in soybeans", USDPerAcre: 5.75, Year: 2019, Key: "iowa-custom-2019"},
		{Work: "combining corn", USDPerAcre: 35.10, Year: 2021, Key: "iowa-custom-2021"},
		{Work: "combining corn", USDPerAcre: 41.30, Year: 2023, Key: "iowa-custom-2023"},
		{Work: "combining soybeans", USDPerAcre: 39.90, Year: 2023, Key: "iowa-custom-2023"},
	}
}
