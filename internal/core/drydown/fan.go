package drydown

import (
	"math"

	"threshday/internal/core/calendar"
)

// A fan is a field run under the point at which the model is taken for straight, and under a step up and down from it of each
// unknown it runs with: what the moisture of any zone is there, and how it depends on them.
type fan struct {
	point    Chances
	step     [atLevel]float64
	prior    [atLevel]float64 // standard deviations before any evidence
	moved    [atLevel]float64 // of the point since the pass before, in those
	damping  float64
	middle   State
	up, down [atLevel]State
}

// leastStep keeps the steps of a fan from being lost in whole hours and small differences: days, logarithm, points.
var leastStep = [atLevel]float64{atShift: 0.5, atKappa: 0.02, atEMC: 0.1}

// open begins a fan at the field's base around point; its steps are the standard deviations sd.
func (a *assimilation) open(point Chances, sd [atLevel]float64) {
	f := fan{point: point, step: sd, middle: a.begun(point), prior: a.fan.prior, moved: a.fan.moved, damping: a.fan.damping}
	for i := range f.step {
		if f.step[i] == 0 {
			continue
		}
		f.step[i] = max(f.step[i], leastStep[i])
		more, less := point, point
		more.move(i, f.step[i])
		less.move(i, -f.step[i])
		f.up[i], f.down[i] = a.begun(more), a.begun(less)
	}
	a.fan, a.at, a.learned = f, a.base, false
}

// boldest is how far the point goes in one pass, in standard deviations before any evidence, and calm by how much a step is cut
// that goes back on the one before. [judgement]
const (
	boldest = 1.0
	calm    = 0.5
)

// reopen begins the next pass around what the last came to believe, or on the way there where that is far or where passes go
// back and forth.
func (a *assimilation) reopen() {
	f := &a.fan
	now, was := a.chances(), f.point
	to := [atLevel]float64{now.ShiftDays - was.ShiftDays, now.Kappa - was.Kappa, now.EMCWB - was.EMCWB}
	var back, most float64
	for i := range to {
		if f.prior[i] > 0 {
			to[i] /= f.prior[i]
		}
		back += float64(to[i] * f.moved[i])
		most = max(most, math.Abs(to[i]))
	}
	if f.damping = min(1, f.damping/calm); back < 0 {
		f.damping *= calm * calm
	}
	length := f.damping
	if most*length > boldest {
		length = boldest / most
	}
	for i := range to {
		f.moved[i] = length * to[i]
		was.move(i, f.moved[i]*f.prior[i])
	}
	a.open(was, a.sds())
}

// straighten gives to the level what the bent model is off the straight one at the end, where the passes did not meet.
func (a *assimilation) straighten() {
	bent := a.look(a.chances(), a.at)
	a.t.belief.mean[a.first+atLevel] = a.straight(Whole, a.slopes(Whole)) - a.Field.MeanWB(&bent)
}

// run takes all but the middle to the beginning of cell to.
func (f *fan) run(a *assimilation, to calendar.Hour) {
	for i := range f.step {
		if f.step[i] > 0 {
			a.run(&f.up[i], to)
			a.run(&f.down[i], to)
		}
	}
}

// slopes returns how the moisture of zone z depends on each unknown of the field at the hour of the belief, over a step to
// either side.
func (a *assimilation) slopes(z Zone) sight {
	h := sight{{a.first + atLevel, 1}}
	for i, step := range a.fan.step {
		if step > 0 {
			h = append(h, weight{a.first + i, (a.Field.zoneWB(&a.fan.up[i], z) - a.Field.zoneWB(&a.fan.down[i], z)) / (2 * step)})
		}
	}
	return h
}

// add lets one more unknown count whole.
func (h *sight) add(at int) { *h = append(*h, weight{at, 1}) }

// straight returns the moisture of zone z that the straight model gives in the middle of the belief, h being its slopes there.
func (a *assimilation) straight(z Zone, h sight) float64 {
	wb := a.Field.zoneWB(&a.fan.middle, z) + a.mean(atLevel)
	point := [atLevel]float64{a.fan.point.ShiftDays, a.fan.point.Kappa, a.fan.point.EMCWB}
	for _, w := range h {
		if i := w.at - a.first; i >= 0 && i < atLevel {
			wb += float64(w.by * (a.mean(i) - point[i]))
		}
	}
	return wb
}

// sds returns how unsure the unknowns are that the model runs with.
func (a *assimilation) sds() (out [atLevel]float64) {
	for i := range out {
		out[i] = math.Sqrt(max(0, a.variance(i)))
	}
	return out
}
