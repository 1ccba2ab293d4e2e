package drydown

import (
	"threshday/internal/core/crop"
	"threshday/internal/core/moisture"
)

// Params is everything the model of one crop needs to know before weather and readings. Every number has a
// name, a unit and a tag in [Params.Coefficients], and may be changed with [Params.With].
type Params struct {
	Crop crop.Kind
	EMC  moisture.Isotherm // desorption equilibrium

	MatureWB   float64 // moisture at maturity (R7, black layer, hard dough), % wet basis
	MatureSDWB float64 // its standard deviation between fields and years, points

	Slow        float64 // kw: drying rate of wet grain at 20 °C, 1/h
	Quick       float64 // kd: additional rate of bone-dry grain, 1/h
	QuickScale  float64 // Ms: moisture over which the additional rate falls by e, % dry basis
	WarmthPower float64 // qT: power of saturation vapor pressure in the rate
	DampCap     float64 // rc: highest relative humidity the equilibrium curve is asked at
	WetRate     float64 // ra: rate of gaining water from damp air, as a share of the drying rate
	DeadBand    float64 // δ: adsorption equilibrium lies this much below desorption, % dry basis

	SunWarming  float64 // aS: surface above air per W/m² of sun in still air, K m²/W
	NightChill  float64 // aL: surface below air in a clear still night, K
	WindCooling float64 // w = 1 + WindCooling·u divides both, s/m
	Catch       float64 // cI: free water caught per mm of rain, mm
	FilmMax     float64 // Fm: most free water the plant holds, mm
	DewPerHour  float64 // free water that condenses in an hour with the surface at the dew point, mm
	FilmDrying  float64 // free water evaporated per kPa of deficit in still air, mm/h
	RainWets    float64 // rain in an hour from which the crop counts as rained on, mm
	Uptake      float64 // uw: liquid water taken up under a film of rain by dry grain, % dry basis per hour
	UptakeMax   float64 // Mx: moisture at which that uptake ends, % dry basis

	PodDays       float64 // spread of maturity among the pods, ears or heads of one spot, days SD
	AreaEven      float64 // spread across an even field, days SD
	AreaSome      float64 // across a field with some unevenness, days SD
	AreaUneven    float64 // across replant, ponding or mixed soils, days SD
	FloorSDWB     float64 // spread that remains when all strata are equal, points SD
	ImmatureShare float64 // part of the weight in the tank that will not have ripened with the rest, 0 to 1
	ImmatureWB    float64 // moisture it stays at until it dies, % wet basis
	ImmatureDays  float64 // days after the median plant's maturity until it dies and starts to dry

	DentWB   float64 // moisture at dent, from which a line in heat units leads to maturity, % wet basis; 0: none
	DentHeat float64 // heat units from dent to maturity, °F

	KappaSD      float64 // spread of the log of the drying rate between fields, SD
	KappaWalk    float64 // how much it may wander in a day, SD
	EMCSDWB      float64 // spread of the equilibrium between varieties and forms, points SD
	GrowthWet    float64 // error the model gains in a day above GrowthSplit, points SD
	GrowthDry    float64 // and below, points SD
	GrowthSplit  float64 // moisture between the two, % wet basis
	SpotSDWB     float64 // spread between samples of dry grain from different spots, points SD
	SpotDryWB    float64 // moisture below which that holds, % wet basis
	SpotSDMidWB  float64 // spread at 25 % wet basis, points SD
	SpotSDWetWB  float64 // spread at 45 % wet basis and above, points SD
	SpotUnevenBy float64 // factor on the spread in an uneven field
}

// DefaultParams returns the parameters the program starts from; false for a crop it has no model of.
// Wheat takes the equilibrium curve of its class.
func DefaultParams(k crop.Kind, class crop.WheatClass) (Params, bool) {
	var p Params
	switch k {
	case crop.Soybean:
		p = Params{
			MatureWB: 60, MatureSDWB: 3, Slow: 0.0085, Quick: 0.14, QuickScale: 12, WarmthPower: 0.4, DampCap: 0.92,
			WetRate: 0.25, DeadBand: 1.5, SunWarming: 0.010, NightChill: 2.5, Catch: 0.10, FilmMax: 0.30, Uptake: 0.80,
			UptakeMax: 60, PodDays: 1.7, FloorSDWB: 1.2, GrowthWet: 1.0, GrowthDry: 0.6, SpotSDWB: 1.0, SpotDryWB: 16,
		}
	case crop.Corn:
		p = Params{
			MatureWB: 33, MatureSDWB: 3, Slow: 0.0036, Quick: 0, QuickScale: 12, WarmthPower: 1, DampCap: 0.93,
			WetRate: 0.5, DeadBand: 1.5, SunWarming: 0.006, NightChill: 1.0, Catch: 0.05, FilmMax: 0.20, Uptake: 0.05,
			UptakeMax: 45, PodDays: 2, FloorSDWB: 0.6, DentWB: 60, DentHeat: 660, GrowthWet: 0.4, GrowthDry: 0.4,
			SpotSDWB: 0.6, SpotDryWB: 20,
		}
	case crop.Wheat:
		p = Params{
			MatureWB: 38, MatureSDWB: 3, Slow: 0.010, Quick: 0.20, QuickScale: 10, WarmthPower: 1, DampCap: 0.93,
			WetRate: 0.5, DeadBand: 1.5, SunWarming: 0.010, NightChill: 2.5, Catch: 0.10, FilmMax: 0.30, Uptake: 0.80,
			UptakeMax: 45, PodDays: 1, FloorSDWB: 0.6, GrowthWet: 1.0, GrowthDry: 0.6, SpotSDWB: 0.6, SpotDryWB: 16,
		}
	case crop.Sorghum:
		p = Params{
			MatureWB: 30, MatureSDWB: 3, Slow: 0.0055, Quick: 0.10, QuickScale: 10, WarmthPower: 1, DampCap: 0.93,
			WetRate: 0.5, DeadBand: 1.5, SunWarming: 0.010, NightChill: 2.5, Catch: 0.10, FilmMax: 0.30, Uptake: 0.40,
			UptakeMax: 45, PodDays: 2, FloorSDWB: 0.6, GrowthWet: 0.6, GrowthDry: 0.6, SpotSDWB: 0.6, SpotDryWB: 16,
		}
	case crop.Canola:
		p = Params{
			MatureWB: 35, MatureSDWB: 5, Slow: 0.009, Quick: 0.15, QuickScale: 8, WarmthPower: 1, DampCap: 0.92,
			WetRate: 0.4, DeadBand: 1.0, SunWarming: 0.010, NightChill: 2.5, Catch: 0.10, FilmMax: 0.30, Uptake: 0.35,
			UptakeMax: 40, PodDays: 2, FloorSDWB: 0.6, GrowthWet: 1.0, GrowthDry: 0.6, SpotSDWB: 0.6, SpotDryWB: 16,
		}
	case crop.Sunflower:
		p = Params{
			MatureWB: 36, MatureSDWB: 4, Slow: 0.0065, Quick: 0.10, QuickScale: 8, WarmthPower: 1, DampCap: 0.92,
			WetRate: 0.4, DeadBand: 1.0, SunWarming: 0.008, NightChill: 2.0, Catch: 0.08, FilmMax: 0.40, Uptake: 0.30,
			UptakeMax: 45, PodDays: 2, FloorSDWB: 0.6, GrowthWet: 1.0, GrowthDry: 0.6, SpotSDWB: 0.6, SpotDryWB: 16,
		}
	default:
		return Params{}, false
	}
	p.Crop = k
	p.EMC, _ = moisture.Recommended(k, class)
	p.WindCooling, p.DewPerHour, p.FilmDrying, p.RainWets = 0.5, 0.05, 0.0875, 0.1
	p.AreaEven, p.AreaSome, p.AreaUneven = 1.5, 2.5, 4
	p.ImmatureShare, p.ImmatureWB, p.ImmatureDays = 0.01, 40, 10
	p.KappaSD, p.KappaWalk, p.EMCSDWB, p.GrowthSplit = 0.25, 0.03, 0.7, 20
	p.SpotSDMidWB, p.SpotSDWetWB, p.SpotUnevenBy = 1.5, 3, 2
	return p, true
}

// spotSD returns the spread between samples from different spots at moisture wb, points. [judgement]
func (p *Params) spotSD(wb float64, uneven bool) float64 {
	sd := p.SpotSDWetWB
	switch {
	case wb <= p.SpotDryWB:
		sd = p.SpotSDWB
	case wb < 25:
		sd = between(wb, p.SpotDryWB, 25, p.SpotSDWB, p.SpotSDMidWB)
	case wb < 45:
		sd = between(wb, 25, 45, p.SpotSDMidWB, p.SpotSDWetWB)
	}
	if uneven {
		sd *= p.SpotUnevenBy
	}
	return sd
}

// growthVar returns the variance the model gains in a day at moisture wb, points².
func (p *Params) growthVar(wb float64) float64 {
	if wb > p.GrowthSplit {
		return p.GrowthWet * p.GrowthWet
	}
	return p.GrowthDry * p.GrowthDry
}

// rate returns the drying rate at 20 °C of grain at db percent dry basis, 1/h.
func (p *Params) rate(db float64) float64 {
	if p.Quick == 0 {
		return p.Slow
	}
	return p.Slow + float64(p.Quick*decay(db/p.QuickScale))
}

// between returns the value at x of the line through (x0, y0) and (x1, y1).
func between(x, x0, x1, y0, y1 float64) float64 { return y0 + float64((y1-y0)*(x-x0)/(x1-x0)) }
