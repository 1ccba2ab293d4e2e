package drydown

import (
	"fmt"
	"math"

	"threshday/internal/core/calendar"
)

// A trace is what one piece of evidence met and did in a pass, kept until the passes agree.
type trace struct {
	lesson   Lesson
	was, is  Chances // the field's unknowns before and after, level included
	expected float64 // what the device added to the field: its bias and that of a load
	zone     Zone
	bias     int // place of the device's in the belief; −1: it has none
	biasMove float64
	before   float64 // spread of the field mean, points
	after    Estimate
	level    float64 // of the field after it
	unsure   float64 // variance of what was read, its noise apart, after it
	sure     float64
	gain     float64
}

// read takes in a reading. How likely it is no blunder is judged by what the pass before, last, came to believe of that hour
// from all evidence; in the first pass nothing is doubted. It counts with that part of its precision.
func (a *assimilation) read(r Reading, last *trace) trace {
	tr := trace{lesson: Lesson{ID: r.ID, At: r.At}, zone: r.Zone}
	trust := TrustIn(r.Device, r.WB)
	if tr.lesson.Say = a.unusable(r, trust); tr.lesson.Say != "" {
		return tr
	}
	a.advance(r.At)
	belief := &a.t.belief
	seen, mean := a.slopes(r.Zone), a.slopes(Whole)
	expected := a.straight(r.Zone, seen)
	device := a.t.device(r)
	on := device.on(a.Field.Params.Crop)
	if tr.bias = device.bias[on]; tr.bias >= 0 { // the field has no bias, only what is read of it
		seen.add(tr.bias)
		tr.expected += belief.mean[tr.bias]
		tr.biasMove = -belief.mean[tr.bias]
	}
	own, other := a.Field.noise(r, trust, a.pace(r))
	if at, known := a.t.strips[strip{a.place, r.Load}]; known {
		seen.add(at)
		tr.expected += belief.mean[at]
		other -= stripSD * stripSD * (1 - r.Share)
	}
	noise := float64(own*device.scatter.factor()) + other
	miss := r.WB - expected - tr.expected
	tr.was, tr.before = a.now(), math.Sqrt(max(0, belief.variance(mean)))
	tr.sure = 1
	if last != nil && last.lesson.Used {
		off := r.WB - a.view(r.Zone).middle - last.level - a.t.offBy(seen, a.first)
		square := off*off + last.unsure
		tr.sure = sure(square, a.t.lenience*noise)
		device.learned.learn(square, other, own)
	}
	noise /= max(tr.sure, 1e-9)
	tr.gain = mean.dot(belief.along(seen)) / (belief.variance(seen) + noise)
	belief.learn(seen, miss, noise)
	device.used[on]++
	if tr.bias >= 0 {
		tr.biasMove += belief.mean[tr.bias]
	}
	tr.is, tr.after = a.now(), Estimate{a.straight(Whole, mean), math.Sqrt(max(0, belief.variance(mean)))}
	tr.level, tr.unsure = a.mean(atLevel), belief.variance(seen)
	tr.lesson.Used, a.learned = true, true
	return tr
}

// now returns the middle of the field's unknowns, level included.
func (a *assimilation) now() Chances {
	c := a.chances()
	c.LevelWB = a.mean(atLevel)
	return c
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

// pace returns how fast the mean changes about the time of r, points per hour; 0 where the time is sure.
func (a *assimilation) pace(r Reading) float64 {
	if r.HoursSure == 0 || a.at <= a.base {
		return 0
	}
	before := a.look(a.fan.point, a.at-1)
	return a.view(Whole).middle - a.Field.MeanWB(&before)
}

// whole returns the moisture of zone z at the beginning of cell at under the chances, level included.
func (a *assimilation) whole(c Chances, at calendar.Hour, z Zone) float64 {
	s := a.look(c, min(at, a.last))
	s.shiftLevel(a.Field, c.LevelWB)
	return a.Field.zoneWB(&s, z)
}

// tell turns the trace of a reading or sighting into its lesson, with what the bent model gives before and after.
func (a *assimilation) tell(tr *trace, e fact) Lesson {
	l := tr.lesson
	if !l.Used {
		return l
	}
	l.Sure, l.Gain = tr.sure, tr.gain
	l.Before = Estimate{a.whole(tr.was, l.At, Whole), tr.before}
	l.After = tr.after
	l.Moved = Chances{
		ShiftDays: tr.is.ShiftDays - tr.was.ShiftDays, Kappa: tr.is.Kappa - tr.was.Kappa,
		EMCWB: tr.is.EMCWB - tr.was.EMCWB, LevelWB: tr.is.LevelWB - tr.was.LevelWB,
	}
	if e.reading == nil {
		return l
	}
	l.BiasWB, l.OffWB = tr.biasMove, tr.expected
	l.ExpectedWB = a.whole(tr.was, l.At, tr.zone) + tr.expected
	if miss := e.reading.WB - l.ExpectedWB; math.Abs(miss) > leastMiss {
		l.Gain = (l.After.WB - l.Before.WB) / miss
	}
	if l.Sure < 0.5 {
		l.Say = fmt.Sprintf("%.1f %% where about %.1f was expected: counted at %.0f %%. Look at the entry, or read again.", e.reading.WB, l.ExpectedWB, 100*l.Sure)
	}
	return l
}

// leastMiss is the miss, points, under which the share of it that was believed is told by the straight model.
const leastMiss = 0.2
