package drydown

import (
	"fmt"
	"math"
)

// read takes in a reading. The mean of the field moves by gain × miss, exactly: what maturity, rate and
// equilibrium do not bring, the level does.
func (a *assimilation) read(r Reading) Lesson {
	l := Lesson{ID: r.ID, At: r.At}
	trust := TrustIn(r.Device, r.WB)
	switch {
	case trust.Say != "":
		l.Say = trust.Say
	case r.At < a.base && a.Record == nil:
		l.Say = "Nobody recorded the weather since: the last reading counts alone."
	case r.At < a.base:
		l.Say = "It was taken before the weather record, or the field's drying, begins."
	case !(r.WB >= leastMeanWB && r.WB <= mostMeanWB):
		l.Say = fmt.Sprintf("Grain is never at %g %%.", r.WB)
	}
	if l.Say != "" {
		return l
	}
	a.advance(r.At)
	device := a.device(r, trust)
	seen := a.slopes(r.Zone)
	mean := seen.mid
	if r.Zone != Whole {
		mean = a.slopes(Whole).mid
	}
	l.Used, l.Before = true, a.estimate(mean)
	l.ExpectedWB = a.expected(r.Zone)
	if device >= 0 {
		mean = append([]float64(nil), mean...) // the field has no bias, only what is read of it
		seen.bias(device)
		l.ExpectedWB += a.belief.mean[device]
	}
	noise := a.Field.noise(r, trust, a.pace(r))
	miss := r.WB - l.ExpectedWB
	spread := a.belief.variance(seen.toward(miss)) + noise
	l.Sure = sure(miss, spread)
	l.Gain = l.Sure * dot(mean, a.belief.along(seen.mid)) / (a.belief.variance(seen.mid) + noise)
	if l.Sure < 0.5 {
		l.Say = fmt.Sprintf("%.1f %% where %.1f give or take %.1f was expected: counted at %.0f %%. Look at the entry, or read again.",
			r.WB, l.ExpectedWB, math.Sqrt(spread), 100*l.Sure)
	}
	was := append([]float64(nil), a.belief.mean...)
	moved := a.belief.learn(seen.mid, miss, noise, l.Sure)
	a.settle(was, moved, l.Before.WB+float64(l.Gain*miss))
	for i := range moved {
		moved[i] = a.belief.mean[i] - was[i]
	}
	l.Moved, l.After, a.learned = chancesOf(moved), a.estimate(a.slopes(Whole).mid), true
	if device >= 0 {
		l.BiasWB = moved[device]
	}
	return l
}

// device returns the place of the bias of r's device in the belief; −1 for one that has none.
func (a *assimilation) device(r Reading, t Trust) int {
	if t.BiasSDWB == 0 {
		return -1
	}
	key := r.Device.String() + " " + r.Name
	i, known := a.devices[key]
	if !known {
		i = a.belief.grow(t.BiasSDWB)
		a.devices[key] = i
	}
	return i
}

// expected returns what an unbiased device should read in zone z now.
func (a *assimilation) expected(z Zone) float64 {
	s := a.look(a.belief.chances(), a.at)
	s.shiftLevel(a.Field, a.belief.mean[atLevel])
	return a.Field.zoneWB(&s, z)
}

// pace returns how fast the mean changes about the time of r, points per hour; 0 where the time is sure.
func (a *assimilation) pace(r Reading) float64 {
	if r.HoursSure == 0 || a.at <= a.base {
		return 0
	}
	before := a.look(a.belief.chances(), a.at-1)
	return a.zoneAt(a.belief.chances(), Whole) - a.Field.MeanWB(&before)
}

// The search of settle.
const (
	settleReach = 2.0  // at most this many times the straight-line move
	settleNear  = 0.01 // points from the target that will do: the level takes the rest
	settleSteps = 12
)

// settle makes the field mean what it should be after a lesson. The model bends, so the move of maturity, rate
// and equilibrium that a straight line asks for is lengthened or shortened along its direction until the
// mean is right; the rest, where they cannot bring it, goes to the level.
func (a *assimilation) settle(was, moved []float64, target float64) {
	off := func(length float64) float64 {
		c := Chances{
			ShiftDays: was[atShift] + float64(length*moved[atShift]),
			Kappa:     was[atKappa] + float64(length*moved[atKappa]),
			EMCWB:     was[atEMC] + float64(length*moved[atEMC]),
		}
		return a.zoneAt(c, Whole) + a.belief.mean[atLevel] - target
	}
	length := 1.0
	left := off(length)
	if math.Abs(left) > settleNear {
		length, left = settleLength(off, left)
	}
	for i := range atLevel {
		a.belief.mean[i] = was[i] + float64(length*moved[i])
	}
	a.belief.mean[atLevel] -= left
}

// settleLength returns the length at which off is near zero, and what it is off there; atOne is off(1). Where the
// target lies outside of what the reach can bring, the straight line's own length stands. False position, with
// the value of a side that stays halved.
func settleLength(off func(float64) float64, atOne float64) (length, left float64) {
	lo, atLo, hi, atHi := 0.0, off(0), 1.0, atOne
	if atLo*atHi > 0 {
		lo, atLo, hi, atHi = 1, atOne, settleReach, off(settleReach)
	}
	if atLo*atHi > 0 {
		return 1, atOne
	}
	length, left = 1, atOne
	for range settleSteps {
		if math.Abs(left) <= settleNear {
			break
		}
		length = lo - atLo*(hi-lo)/(atHi-atLo)
		left = off(length)
		if left*atHi > 0 {
			hi, atHi = length, left
			atLo /= 2
		} else {
			lo, atLo = length, left
			atHi /= 2
		}
	}
	return length, left
}
