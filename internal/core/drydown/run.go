package drydown

import (
	"math"

	"threshday/internal/core/calendar"
)

// Run takes state s of member m of the drivers from s.At to the beginning of cell to, and writes each hour into
// row m of out; a nil out records nothing. Panics where the drivers do not cover those hours.
func (f *Field) Run(d *Drivers, m int, s *State, to calendar.Hour, out *Track) {
	if s.At >= to {
		return
	}
	if !d.Covers(s.At, to) {
		panic("drydown: run outside the drivers")
	}
	p := &f.Params
	last := max(s.ripe[s.n-1], s.dies)
	var line dentLine
	if p.DentWB > 0 && s.At < last {
		line = f.dentLine(d, m, s)
	}
	row := m * d.Hours
	for s.At < to {
		i := row + int(s.At-d.Start)
		if s.astray.on && s.At%24 == wanderHour {
			s.stray(f)
		}
		emc, rate := max(leastEMC, float64(d.emc[i])+s.emcShift), float64(d.rate[i])*s.factor
		uptake := d.flags[i]&flagUptake != 0
		if s.At < last {
			f.stepRipening(d, i, s, emc, rate, uptake, &line)
		} else {
			for k := range s.db[:s.n] {
				s.db[k] = p.dry(s.db[k], emc, p.rate(s.db[k])*rate, uptake)
			}
			s.green = p.dry(s.green, emc, p.Slow*rate, uptake)
		}
		s.At++
		if out != nil {
			out.write(f, s, m, d.flags[i]&flagClear != 0)
		}
	}
}

// leastEMC keeps a shifted equilibrium above bone-dry grain, % dry basis. [judgement]
const leastEMC = 0.5

// RunAll runs one state per member of the drivers, one after the other, to the beginning of cell to.
func (f *Field) RunAll(d *Drivers, states []State, to calendar.Hour, out *Track) {
	for m := range states {
		f.Run(d, m, &states[m], to, out)
	}
}

// stepRipening is the hour of a field of which a part is not yet mature.
func (f *Field) stepRipening(d *Drivers, i int, s *State, emc, rate float64, uptake bool, line *dentLine) {
	p := &f.Params
	for k := range s.db[:s.n] {
		switch {
		case s.At >= s.ripe[k]:
			s.db[k] = p.dry(s.db[k], emc, p.rate(s.db[k])*rate, uptake)
		case p.DentWB > 0:
			s.db[k] = line.at(k, float64(d.heat[i]))
		}
	}
	if s.At >= s.dies {
		s.green = p.dry(s.green, emc, p.Slow*rate, uptake)
		return
	}
	// Alive, late plants dry with the median plant down to the moisture they stay at.
	s.green = max(s.db[s.n/2], min(s.mature, DryBasis(p.ImmatureWB)))
}

// A dentLine is the moisture of maturing corn: linear in heat units from dent to black layer, in % wet basis,
// for water leaves by displacement then, not by evaporation. The straight line between two published moistures
// is [judgement].
type dentLine struct {
	heatRipe [MaxStrata]float64 // heat at which each stratum is mature
	matureWB float64
	slope    float64 // points per heat unit short of maturity
	dentWB   float64
}

func (f *Field) dentLine(d *Drivers, m int, s *State) dentLine {
	mature := WetBasis(s.mature)
	l := dentLine{matureWB: mature, dentWB: max(f.Params.DentWB, mature)}
	if f.Params.DentHeat > 0 {
		l.slope = (l.dentWB - mature) / f.Params.DentHeat
	}
	for k := range s.ripe[:s.n] {
		l.heatRipe[k] = d.heatTo(m, s.ripe[k])
	}
	return l
}

// at returns the moisture of stratum k, % dry basis, with heat units heat through the hour.
func (l *dentLine) at(k int, heat float64) float64 {
	short := max(0, l.heatRipe[k]-heat)
	return DryBasis(min(l.dentWB, l.matureWB+float64(l.slope*short)))
}

// The steady air in which StartAt lets a field dry, about the daily mean of a mild autumn, and for how long at
// most. [judgement]
const (
	startAtC        = 20
	startAtHumidity = 0.60
	startAtHours    = 24 * 120
)

// StartAt returns the field at the beginning of cell at with a mean of meanWB at the scale, for a field whose
// drying nobody has recorded: the strata stand as they would after drying in steady mild air down to that
// mean. Panics unless meanWB lies in 2 to 80.
func (f *Field) StartAt(at calendar.Hour, meanWB float64, c Chances) State {
	if !(meanWB >= leastMeanWB && meanWB <= mostMeanWB) {
		panic("drydown: start outside 2 to 80 % wet basis")
	}
	p := &f.Params
	s := f.Start(0, 0, Chances{Kappa: c.Kappa, EMCWB: c.EMCWB})
	first := f.FirstRipe(0)
	s.At = min(first, 0)
	emc := p.EMC.DryBasisPct(startAtC, startAtHumidity)
	best, gap := s, math.Abs(f.MeanWB(&s)-meanWB)
	for range startAtHours {
		for k := range s.db[:s.n] {
			if s.At >= s.ripe[k] {
				s.db[k] = p.dry(s.db[k], emc, p.rate(s.db[k]), false)
			}
		}
		if s.At >= s.dies {
			s.green = p.dry(s.green, emc, p.Slow, false)
		} else {
			s.green = max(s.db[s.n/2], min(s.mature, DryBasis(p.ImmatureWB)))
		}
		s.At++
		if g := math.Abs(f.MeanWB(&s) - meanWB); g < gap {
			best, gap = s, g
		}
	}
	move := at - best.At
	best.At = at
	for k := range best.ripe[:best.n] {
		best.ripe[k] += move
	}
	best.dies += move
	best.shiftLevel(f, meanWB-f.MeanWB(&best)+c.LevelWB)
	return best
}
