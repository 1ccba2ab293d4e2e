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
	if l.Say = a.unusable(r, trust); l.Say != "" {
		return l
	}
	a.advance(r.At)
	belief := &a.t.belief
	seen := a.slopes(r.Zone)
	mean := seen.mid
	if r.Zone == Low || r.Zone == Knob {
		mean = a.slopes(Whole).mid
	}
	l.Used, l.Before = true, a.estimate(mean)
	l.ExpectedWB = a.expected(r.Zone)
	device := a.t.device(r)
	on := device.on(a.Field.Params.Crop)
	bias := device.bias[on]
	if bias >= 0 { // the field has no bias, only what is read of it
		seen.add(bias, 1, 1, 1)
		l.ExpectedWB += belief.mean[bias]
	}
	own, other := a.Field.noise(r, trust, a.pace(r))
	if at, known := a.t.strips[strip{a.place, r.Load}]; known {
		seen.add(at, 1, 1, 1)
		l.ExpectedWB += belief.mean[at]
		other -= stripSD * stripSD * (1 - r.Share)
	}
	noise := float64(own*device.scatter.factor()) + other
	miss := r.WB - l.ExpectedWB
	toward := belief.variance(seen.toward(miss))
	l.Sure = sure(miss, toward+noise)
	l.Gain = l.Sure * mean.dot(belief.along(seen.mid)) / (belief.variance(seen.mid) + noise)
	if l.Sure < 0.5 {
		l.Say = fmt.Sprintf("%.1f %% where %.1f give or take %.1f was expected: counted at %.0f %%. Look at the entry, or read again.",
			r.WB, l.ExpectedWB, math.Sqrt(toward+noise), 100*l.Sure)
	}
	device.scatter.learn(miss, toward+other, own)
	device.used[on]++
	was := append([]float64(nil), belief.mean...)
	moved := belief.learn(seen.mid, miss, noise, l.Sure)
	a.settle(was[a.first:], moved[a.first:], l.Before.WB+float64(l.Gain*miss))
	l.Moved, l.After, a.learned = a.moved(was), a.estimate(a.slopes(Whole).mid), true
	if bias >= 0 {
		l.BiasWB = moved[bias]
	}
	return l
}

// unusable says why a reading is not used; empty: it is.
func (a *assimilation) unusable(r Reading, trust Trust) string {
	switch {
	case trust.Say != "":
		return trust.Say
	case r.At < a.base && a.Record == nil:
		return "Nobody recorded the weather since: the last reading counts alone."
	case r.At < a.base:
		return "It was taken before the weather record, or the field's drying, begins."
	case !(r.WB >= leastMeanWB && r.WB <= mostMeanWB):
		return fmt.Sprintf("Grain is never at %g %%.", r.WB)
	default:
		return ""
	}
}

// moved returns by how much the unknowns of the field have moved from what all were.
func (a *assimilation) moved(was []float64) Chances {
	by := func(k int) float64 { return a.mean(k) - was[a.first+k] }
	return Chances{ShiftDays: by(atShift), Kappa: by(atKappa), EMCWB: by(atEMC), LevelWB: by(atLevel)}
}

// expected returns what an unbiased device should read in zone z now.
func (a *assimilation) expected(z Zone) float64 {
	s := a.look(a.chances(), a.at)
	s.shiftLevel(a.Field, a.mean(atLevel))
	return a.Field.zoneWB(&s, z)
}

// pace returns how fast the mean changes about the time of r, points per hour; 0 where the time is sure.
func (a *assimilation) pace(r Reading) float64 {
	if r.HoursSure == 0 || a.at <= a.base {
		return 0
	}
	before := a.look(a.chances(), a.at-1)
	return a.zoneAt(a.chances(), Whole) - a.Field.MeanWB(&before)
}

// The search of settle.
const (
	settleReach = 2.0  // at most this many times the straight-line move
	settleNear  = 0.01 // points from the target that will do: the level takes the rest
	settleSteps = 12
)

// settle makes the field mean what it should be after a lesson. The model bends, so the move of maturity, rate
// and equilibrium that a straight line asks for is lengthened or shortened along its direction until the
// mean is right; the rest, where they cannot bring it, goes to the level. was and moved begin with the field.
func (a *assimilation) settle(was, moved []float64, target float64) {
	off := func(length float64) float64 {
		c := Chances{
			ShiftDays: was[atShift] + float64(length*moved[atShift]),
			Kappa:     was[atKappa] + float64(length*moved[atKappa]),
			EMCWB:     was[atEMC] + float64(length*moved[atEMC]),
		}
		return a.zoneAt(c, Whole) + a.mean(atLevel) - target
	}
	length := 1.0
	left := off(length)
	if math.Abs(left) > settleNear {
		length, left = settleLength(off, left)
	}
	for i := range atLevel {
		a.t.belief.mean[a.first+i] = was[i] + float64(length*moved[i])
	}
	a.t.belief.mean[a.first+atLevel] -= left
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
