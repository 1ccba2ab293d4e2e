package drydown

import (
	"math"
	"slices"

	"threshday/internal/core/calendar"
)

// A fan is a field run under the point at which the model is taken for straight, and under a step up and down from it of each
// unknown it runs with: at every hour something is seen of it, what the moisture of its zones is there, and how that depends
// on them.
type fan struct {
	point   Chances
	step    [atLevel]float64
	prior   [atLevel]float64 // standard deviations before any evidence
	moved   [atLevel]float64 // of the point since the pass before, in those
	damping float64
	visits  []visit
	now     int // the visit the belief is at
}

// A visit is the fan at one hour.
type visit struct {
	at     calendar.Hour
	keep   float64 // part of the level that has not faded since the visit before
	growth float64 // variance the error of the model gained since
	zones  [Load]view
}

// A view is the moisture of one zone at the point, and a step up and down of each unknown.
type view struct {
	middle   float64
	up, down [atLevel]float64
}

// leastStep keeps the steps of a fan from being lost in whole hours and small differences: days, logarithm, points.
var leastStep = [atLevel]float64{atShift: 0.5, atKappa: 0.02, atEMC: 0.1}

// open makes the fan around point with steps of the standard deviations sd: seven runs from the field's base to its last hour.
func (a *assimilation) open(point Chances, sd [atLevel]float64) {
	f := &a.fan
	f.point, f.step = point, sd
	f.visits = f.visits[:0]
	for _, at := range a.hours() {
		f.visits = append(f.visits, visit{at: at, keep: 1})
	}
	a.runMiddle()
	for i := range f.step {
		if f.step[i] == 0 {
			continue
		}
		f.step[i] = max(f.step[i], leastStep[i])
		more, less := point, point
		more.move(i, f.step[i])
		less.move(i, -f.step[i])
		a.along(more, func(v *visit, z Zone, wb float64) { v.zones[z].up[i] = wb })
		a.along(less, func(v *visit, z Zone, wb float64) { v.zones[z].down[i] = wb })
	}
}

// hours returns when the fan is looked at: where the field begins, at every piece of evidence, and at its last hour.
func (a *assimilation) hours() []calendar.Hour {
	out := []calendar.Hour{a.base, max(a.base, a.last)}
	for _, e := range a.evidence() {
		if e.at > a.base && e.at < a.last {
			out = append(out, e.at)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// along runs the field under the chances through the visits and tells the moisture of every zone at each.
func (a *assimilation) along(c Chances, tell func(v *visit, z Zone, wb float64)) {
	s := a.begun(c)
	for i := range a.fan.visits {
		v := &a.fan.visits[i]
		a.run(&s, v.at)
		for z := range v.zones {
			tell(v, Zone(z), a.Field.zoneWB(&s, Zone(z)))
		}
	}
}

// runMiddle runs the point, and works out from its hours how the level fades, as fast as the field forgets, and how error
// grows.
func (a *assimilation) runMiddle() {
	p := &a.Field.Params
	s := a.begun(a.fan.point)
	at := a.base
	for i := range a.fan.visits {
		v := &a.fan.visits[i]
		hours := int(v.at - at)
		track := &Track{Start: at, Hours: hours, Members: 1, MeanWB: make([]float32, hours), Green: make([]float32, hours)}
		wb, green := a.Field.MeanWB(&s), a.Field.GreenShare(&s)
		first := s
		a.runInto(&s, v.at, track)
		for h := range hours {
			cell := at + calendar.Hour(h)
			ripe := 1 - green
			if a.Record != nil && cell >= a.Record.Start {
				rate := p.rate(DryBasis(wb)) * float64(a.Record.rate[cell-a.Record.Start]) * first.factor
				fade := math.Exp(-ripe * rate)
				v.keep *= fade
				v.growth *= fade * fade
				wb, green = float64(track.MeanWB[h]), float64(track.Green[h])
			}
			v.growth += ripe * p.growthVar(wb) / 24
		}
		for z := range v.zones {
			v.zones[z].middle = a.Field.zoneWB(&s, Zone(z))
		}
		at = v.at
	}
}

// rewind goes back to the first visit.
func (a *assimilation) rewind() { a.fan.now, a.at, a.learned = 0, a.base, false }

// advance lets the belief age to the beginning of cell to, a visit of the fan: the level fades and error grows.
func (a *assimilation) advance(to calendar.Hour) {
	to = min(to, a.last)
	for a.at < to {
		a.fan.now++
		v := &a.fan.visits[a.fan.now]
		p := &a.Field.Params
		a.t.belief.fade(a.first+atLevel, v.keep, v.growth)
		days := float64(v.at-a.at) / 24
		walk := min(days*p.KappaWalk*p.KappaWalk, max(0, p.KappaSD*p.KappaSD-a.variance(atKappa)))
		a.t.belief.fade(a.first+atKappa, 1, walk)
		a.at = v.at
	}
}

// boldest is how far the point goes in one pass, in standard deviations before any evidence, and calm by how much a step is cut
// that goes back on the one before. near is how many standard deviations from the point need no other. [judgement]
const (
	boldest = 1.0
	calm    = 0.5
	near    = 0.1
)

// reopen makes the fan around what the last pass came to believe, or on the way there where that is far or where passes go
// back and forth; false where it is near already.
func (a *assimilation) reopen() bool {
	f := &a.fan
	now, was, sd := a.chances(), f.point, a.sds()
	to := [atLevel]float64{now.ShiftDays - was.ShiftDays, now.Kappa - was.Kappa, now.EMCWB - was.EMCWB}
	var back, most float64
	far := false
	for i := range to {
		far = far || math.Abs(to[i]) > near*sd[i]
		if f.prior[i] > 0 {
			to[i] /= f.prior[i]
		}
		back += float64(to[i] * f.moved[i])
		most = max(most, math.Abs(to[i]))
	}
	if !far {
		return false
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
	a.open(was, sd)
	return true
}

// straighten gives to the level what the bent model is off the straight one at the end, where the passes did not meet.
func (a *assimilation) straighten() {
	bent := a.look(a.chances(), a.at)
	a.t.belief.mean[a.first+atLevel] = a.straight(Whole, a.slopes(Whole)) - a.Field.MeanWB(&bent)
}

// view returns that of zone z at the hour of the belief.
func (a *assimilation) view(z Zone) *view {
	if z >= Load {
		z = Whole
	}
	return &a.fan.visits[a.fan.now].zones[z]
}

// slopes returns how the moisture of zone z depends on each unknown of the field at the hour of the belief, over a step to
// either side.
func (a *assimilation) slopes(z Zone) sight {
	h := sight{{a.first + atLevel, 1}}
	v := a.view(z)
	for i, step := range a.fan.step {
		if step > 0 {
			h = append(h, weight{a.first + i, (v.up[i] - v.down[i]) / (2 * step)})
		}
	}
	return h
}

// add lets one more unknown count whole.
func (h *sight) add(at int) { *h = append(*h, weight{at, 1}) }

// straight returns the moisture of zone z that the straight model gives in the middle of the belief, h being its slopes there.
func (a *assimilation) straight(z Zone, h sight) float64 {
	wb := a.view(z).middle + a.mean(atLevel)
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
