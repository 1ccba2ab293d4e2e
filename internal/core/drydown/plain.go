package drydown

import (
	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// A PlainHour is one hour of one stratum with everything that moved it.
type PlainHour struct {
	Hour        calendar.Hour
	WB, DB      float64 // moisture at the end of the hour, percent on each basis
	RatePerHour float64 // drying rate in the hour, 1/h
	Exposure
}

// Plain runs one stratum of startWB percent wet basis through hours [from, to) of member m of e, on a plant that
// is dry at first: the plain physics, in double precision, with no spread, no readings and no maturity.
// Panics where e lacks hours or startWB lies outside 0 to below 100.
func Plain(p Params, e *weather.Ensemble, m int, from, to calendar.Hour, startWB float64) []PlainHour {
	if from < e.Start || to > e.End() {
		panic("drydown: run outside the weather")
	}
	if !(startWB >= 0 && startWB < 100) {
		panic("drydown: start outside 0 to below 100 % wet basis")
	}
	row := airRow{
		e.Row(weather.TempC, m), e.Row(weather.DewC, m), e.Row(weather.SolarWM2, m),
		e.Row(weather.WindMS, m), e.Row(weather.SkyFrac, m), e.Row(weather.RainMM, m),
	}
	db := DryBasis(startWB)
	var film Film
	out := make([]PlainHour, 0, to-from)
	for h := from; h < to; h++ {
		x := p.Expose(row.at(int(h-e.Start)), film)
		film = x.Film
		k := p.rate(db) * x.Rate
		db = p.dry(db, x.EMCDB, k, film.Rain)
		out = append(out, PlainHour{Hour: h, WB: WetBasis(db), DB: db, RatePerHour: k, Exposure: x})
	}
	return out
}
