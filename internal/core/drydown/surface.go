package drydown

import (
	"math"

	"threshday/internal/core/weather"
)

// Air is the weather of one hour: state at the start of the cell, rain as total and sun as mean over it.
type Air struct {
	TempC, DewC float64
	SolarWM2    float64
	WindMS      float64 // at 2 m
	Sky         float64 // cloud cover, 0 to 1
	RainMM      float64
}

// A Film is the free water on pods, ears or heads, carried from hour to hour. The zero Film is a dry plant.
type Film struct {
	MM   float64
	Rain bool // it holds rain, not only dew
}

// An Exposure is what grain meets in one hour.
type Exposure struct {
	SurfaceC float64 // temperature of pod, ear or head
	Humidity float64 // relative humidity there, a fraction; 1 or more: dew falls
	EMCDB    float64 // moisture at which drying ends, % dry basis
	Rate     float64 // factor of the weather on the drying rate, 1 at 20 °C
	Film     Film    // free water at the end of the hour
	Clear    bool    // no rain in the hour and no free water at its end
}

// sunUp is the radiation from which the surface follows the sun, not the sky, W/m². [judgement]
const sunUp = 20

// lowestHumidity is where the equilibrium curve is held in very dry air. [judgement]
const lowestHumidity = 0.05

// referenceC is the temperature at which the rates of Params hold, °C. [judgement]
const referenceC = 20

// Expose returns what grain meets in an hour of air a, film being the free water at its beginning.
// The structure, free water on the plant beside absorbed water, follows [atzema-1998]; the equations are ours,
// all coefficients [judgement].
func (p *Params) Expose(a Air, film Film) Exposure {
	w := 1 + float64(p.WindCooling*a.WindMS)
	ts := a.TempC - float64(p.NightChill*(1-a.Sky)/w)
	if a.SolarWM2 >= sunUp {
		ts = a.TempC + float64(p.SunWarming*a.SolarWM2/w)
	}
	vapor, saturated := weather.SaturationKPa(a.DewC), weather.SaturationKPa(ts)
	hs := vapor / saturated

	film.MM = min(p.FilmMax, film.MM+float64(p.Catch*a.RainMM))
	rained := a.RainMM >= p.RainWets
	film.Rain = film.Rain || rained
	if hs >= 1 {
		film.MM = min(p.FilmMax, film.MM+p.DewPerHour)
	} else {
		film.MM = max(0, film.MM-float64(p.FilmDrying*(saturated-vapor)*w))
	}
	film.Rain = film.Rain && film.MM > 0

	he := p.DampCap
	if film.MM == 0 {
		he = min(max(hs, lowestHumidity), p.DampCap)
	}
	rate := saturated / weather.SaturationKPa(referenceC)
	if p.WarmthPower != 1 {
		rate = math.Exp(p.WarmthPower * math.Log(rate))
	}
	return Exposure{
		SurfaceC: ts, Humidity: hs, EMCDB: p.EMC.DryBasisPct(ts, he), Rate: rate, Film: film,
		Clear: !rained && film.MM == 0,
	}
}

// Dry returns the moisture, % dry basis, of grain that had db at the beginning of an hour exposed to e. rate is
// the grain's drying rate in that hour, 1/h: [Params.rate] times the weather's and the field's factors.
// First-order relaxation, exact over the hour, so that it cannot overshoot the equilibrium however long the
// rate [martinez-feria-2019]; the dead band and the uptake of rain are ours [judgement].
func (p *Params) dry(db, emc, rate float64, uptake bool) float64 {
	if db > emc {
		db = emc + float64((db-emc)*decay(rate))
	} else if wetting := emc - p.DeadBand; db < wetting {
		db = wetting - float64((wetting-db)*decay(p.WetRate*rate))
	}
	if uptake && db < p.UptakeMax {
		db += float64(p.Uptake * (1 - db/p.UptakeMax))
	}
	return db
}
