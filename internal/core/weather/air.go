package weather

import (
	"math"

	"threshday/internal/core/units"
)

// Air as the whole tool computes it: one saturation formula, Tetens as in FAO-56, over water at every
// temperature, also below freezing, as meteorologists count humidity. Temperatures are °C, pressures kPa,
// relative humidity a fraction.
const (
	tetensKPa   = 0.6108 // saturation pressure at 0 °C, kPa [fao-56] eq. 11
	tetensSlope = 17.27  // [fao-56] eq. 11
	tetensC     = 237.3  // °C [fao-56] eq. 11
)

// SaturationKPa returns the vapor pressure of saturated air over water, kPa, at tC °C. Within 0.11 % of the
// ASHRAE formula from 0 to 40 °C. Meant for −40 to 60 °C; the formula has no answer at −237.3.
func SaturationKPa(tC float64) float64 {
	return tetensKPa * math.Exp(tetensSlope*tC/(tC+tetensC)) // [fao-56] eq. 11
}

// VaporKPa returns the vapor pressure, kPa, of air of tC °C and relative humidity rh.
func VaporKPa(tC, rh float64) float64 { return rh * SaturationKPa(tC) }

// DewPointC returns the temperature, °C, at which air of vapor pressure eKPa is saturated over water.
// Panics unless eKPa is above zero: air without any vapor has no dew point.
func DewPointC(eKPa float64) float64 {
	if !(eKPa > 0) {
		panic("weather: no dew point without vapor")
	}
	x := math.Log(eKPa / tetensKPa)
	return tetensC * x / (tetensSlope - x) // eq. 11 solved for T
}

// RelativeHumidity returns the relative humidity, a fraction of at most 1, of air of tC °C with dew point dewC.
func RelativeHumidity(tC, dewC float64) float64 {
	return min(1, SaturationKPa(dewC)/SaturationKPa(tC))
}

// VaporDeficitKPa returns how much vapor, as pressure in kPa, air of tC °C with dew point dewC could still
// take up; never below zero.
func VaporDeficitKPa(tC, dewC float64) float64 {
	return max(0, SaturationKPa(tC)-SaturationKPa(dewC))
}

// PressureKPa returns the pressure of the standard atmosphere at an elevation, kPa. Weather moves it by
// some 2 % either way. For −500 to 11 000 m, beyond which the formula ends. [ashrae-2017] eq. 3
func PressureKPa(elevation units.Length) float64 {
	return 101.325 * math.Pow(1-2.25577e-5*elevation.Meters(), 5.2559)
}

// wetBulbSteps halvings bring the bracket of at most some 70 °C under 1e-9 °C.
const wetBulbSteps = 36

// WetBulbC returns the wet-bulb temperature, °C, of air of tC °C with dew point dewC at pressure pKPa: where
// es(Tw) − γ·(T−Tw) equals the vapor pressure, γ = 6.53e-4·(1+0.000944·Tw)·p, the ventilated psychrometer
// over water. [wmo-8] annex 4.B. It lies between dew point and temperature; a dew point above tC counts as
// tC. Found by bisection, so it costs some forty exponentials.
func WetBulbC(tC, dewC, pKPa float64) float64 {
	dewC = min(dewC, tC)
	e := SaturationKPa(dewC)
	lo, hi := dewC, tC
	for range wetBulbSteps {
		tw := (lo + hi) / 2
		gamma := 6.53e-4 * (1 + 0.000944*tw) * pKPa // kPa/K [wmo-8] annex 4.B
		if SaturationKPa(tw)-gamma*(tC-tw) < e {
			lo = tw
		} else {
			hi = tw
		}
	}
	return (lo + hi) / 2
}

// lowestAnemometer is where the profile over grass stops making sense, well above its blades. [judgement]
const lowestAnemometer = 0.5 * units.Meter

// WindAt2m returns the wind 2 m above short grass when height above it blows wind: the logarithmic profile
// of [fao-56] eq. 47, 0.748 of the wind at 10 m. Panics for a height below 0.5 m.
func WindAt2m(wind units.Speed, height units.Length) units.Speed {
	if !(height >= lowestAnemometer) {
		panic("weather: wind measured below 0.5 m")
	}
	return wind * units.Speed(4.87/math.Log(67.8*height.Meters()-5.42)) // [fao-56] eq. 47
}

// ppfdPerWatt is photons of the photosynthetic band, µmol/(m²·s), for one W/m² of global solar radiation, as
// measured; others assume 2.06 to 2.3, so a record turned by it is good to some 10 %. [britton-dodd-1976]
const ppfdPerWatt = 2.11

// SolarFromPPFD returns global solar radiation, W/m², from photosynthetic photon flux, µmol/(m²·s).
func SolarFromPPFD(ppfd float64) float64 { return ppfd / ppfdPerWatt }
