package ground

import (
	"math"

	"threshday/internal/core/calendar"
	"threshday/internal/core/units"
	"threshday/internal/core/weather"
)

// A Penman holds a day's means for the reference evapotranspiration of grass.
type Penman struct {
	TempC   float64
	Slope   float64 // of the saturation curve, kPa/°C
	Gamma   float64 // psychrometric constant, kPa/°C
	NetMJ   float64 // net radiation, MJ/m² a day
	SoilMJ  float64 // heat into the soil, MJ/m² a day
	WindMS  float64 // at 2 m
	Deficit float64 // vapor pressure deficit, kPa
}

// MM returns the reference evapotranspiration of a day, mm; never below zero. [fao-56-soil] eq. 6
func (p Penman) MM() float64 {
	radiation := 0.408 * p.Slope * (p.NetMJ - p.SoilMJ)
	air := p.Gamma * 900 / (p.TempC + 273) * p.WindMS * p.Deficit
	return max(0, (radiation+air)/(p.Slope+p.Gamma*(1+0.34*p.WindMS)))
}

// slopeKPa returns the slope of the saturation curve. [fao-56-recalled] eq. 13
func slopeKPa(tC float64) float64 {
	return 4098 * weather.SaturationKPa(tC) / ((tC + 237.3) * (tC + 237.3))
}

// elevation stands for that of a farm: 500 m off, evaporation changes by one part in a hundred. [judgement]
const elevation = 250 * units.Meter

// The radiation balance of grass.
const (
	albedo    = 0.23     // [fao-56-recalled] eq. 38
	stefanMJ  = 4.903e-9 // MJ/(K⁴ m² day) [fao-56-recalled] eq. 39
	clearPart = 0.75     // of extraterrestrial radiation that a clear sky lets through [fao-56] eq. 37
	dullest   = 1.0 / 3  // least that cloud leaves of a clear sky's radiation: 0.25/0.75 [fao-56] eq. 35
)

// clearness returns the day's radiation as a part of a clear sky's: from the radiation itself where place and whole day are
// known, else from the cloud cover, half where nobody saw it.
func clearness(air weather.DayAir, day calendar.Day, whole bool, at *weather.Spot) float64 {
	if whole && at != nil {
		if clear := clearPart * weather.ExtraterrestrialMJ(day, at.Lat); clear > 0 {
			return min(max(air.SolarMJ/clear, dullest), 1)
		}
	}
	sky := air.Sky
	if math.IsNaN(sky) {
		sky = 0.5
	}
	return dullest + (1-dullest)*(1-sky)
}

// referenceMM returns the reference evapotranspiration of part of a day (1: all of it) with the air given, mm: the day's
// equation with its terms cut to that part.
func referenceMM(air weather.DayAir, day calendar.Day, part float64, at *weather.Spot) float64 {
	vapor := weather.SaturationKPa(air.Dew)
	kelvin := func(c float64) float64 { return math.Pow(c+273.16, 4) }
	long := stefanMJ * (kelvin(air.High) + kelvin(air.Low)) / 2 * (0.34 - 0.14*math.Sqrt(vapor)) *
		(1.35*clearness(air, day, part == 1, at) - 0.35) // [fao-56-recalled] eq. 39
	mean := (air.High + air.Low) / 2
	return part * Penman{
		TempC: mean, Slope: slopeKPa(mean), Gamma: 0.665e-3 * weather.PressureKPa(elevation), // [fao-56-recalled] eq. 8
		NetMJ: (1-albedo)*air.SolarMJ/part - long, WindMS: air.Wind, // [fao-56-recalled] eq. 38, 40
		Deficit: max(0, (weather.SaturationKPa(air.High)+weather.SaturationKPa(air.Low))/2-vapor), // [fao-56-recalled] eq. 12
	}.MM()
}

// windTerm returns what wind and dry air add to the most a crop evaporates, before its height counts. [fao-56-soil] eq. 72
func windTerm(air weather.DayAir) float64 {
	driest := 100 * weather.RelativeHumidity(air.High, air.Dew)
	return 0.04*(min(max(air.Wind, 1), 6)-2) - 0.004*(min(max(driest, 20), 80)-45)
}

// kcMax returns the most that crop and soil evaporate together, as a multiple of the reference. [fao-56-soil] eq. 72
func (c *Cover) kcMax(windTerm, heightFactor float64) float64 {
	return max(1.2+windTerm*heightFactor, c.Kcb+0.05)
}
