package drydown

import (
	"math"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// A Posterior is what is believed about a field once its evidence is in.
type Posterior struct {
	At   calendar.Hour // the forecast goes on from the beginning of this cell
	Film Film          // free water on the plant then
	a    assimilation
	mean sight // slopes of the field mean
	now  Estimate
}

func (a *assimilation) posterior() *Posterior {
	p := &Posterior{At: a.at, a: *a, mean: a.slopes(Whole)}
	p.now = Estimate{a.whole(a.now(), a.at, Whole), math.Sqrt(max(0, a.t.belief.variance(p.mean)))}
	if a.Record != nil && a.at == a.Record.End() {
		p.Film = a.Record.EndFilm(0)
	}
	return p
}

// Mean returns the field mean at At and its standard deviation.
func (p *Posterior) Mean() Estimate { return p.now }

// Chances returns the middle of what is believed of the unknowns, and their standard deviations.
func (p *Posterior) Chances() (middle, sd Chances) {
	root := func(i int) float64 { return math.Sqrt(max(0, p.a.variance(i))) }
	middle = p.a.chances()
	middle.LevelWB = p.a.mean(atLevel)
	return middle, Chances{ShiftDays: root(atShift), Kappa: root(atKappa), EMCWB: root(atEMC), LevelWB: root(atLevel)}
}

// Ripe returns when the median plant matures as now believed; false where the field starts from a reading.
func (p *Posterior) Ripe() (Ripening, bool) {
	if p.a.Ripe == nil || p.a.baseWB > 0 {
		return Ripening{}, false
	}
	middle, sd := p.Chances()
	return Ripening{Hour: p.a.Field.ripeHour(p.a.Ripe.Hour, middle.ShiftDays), SDDays: sd.ShiftDays}, true
}

// State returns the field at At in the middle of what is believed.
func (p *Posterior) State() State {
	s := p.a.look(p.a.chances(), p.At)
	s.shiftLevel(p.a.Field, p.a.mean(atLevel))
	return s
}

// fieldDraw is the purpose of a field's draws; drydown's lie in 200 to 299.
const fieldDraw weather.Purpose = 200

// drawDay stands for the day in a field's stream: what is unknown of a field does not change with it.
var drawDay = calendar.Day{Year: 1970, Month: 1, Date: 1}

// States returns the field at At for members 0 to n−1, each with its own draw of what is still unknown and of how it will leave
// the model from then on. root must
// differ from field to field: a hash of the season's root and the field's identity. Member i is a pure
// function of root and what is believed, so it is the same for any n; the first n members of any n cover
// the distribution evenly.
func (p *Posterior) States(root [32]byte, n int) []State {
	l := p.a.t.belief.root(p.a.first, unknowns)
	points := newSequence(root)
	out := make([]State, n)
	for m := range out {
		z := points.at(m)
		var off [unknowns]float64
		for i := range off {
			off[i] = dot(l[i][:i+1], z[:i+1])
		}
		out[m] = p.member(off)
		out[m].wanders(root, m)
	}
	return out
}

// member returns the field with the unknowns off the middle by off.
func (p *Posterior) member(off [unknowns]float64) State {
	a := &p.a
	c := a.chances()
	for i, by := range off {
		c.move(i, by)
	}
	s := a.look(c, p.At)
	level := a.mean(atLevel) + off[atLevel]
	if a.learned {
		// A reading has tied the mean down; the model bends away from the straight line it was tied with, so
		// the level takes back what that would loosen.
		level = p.now.WB - a.Field.MeanWB(&s)
		for _, w := range p.mean {
			level += float64(off[w.at-a.first] * w.by)
		}
	}
	s.shiftLevel(a.Field, level)
	return s
}

// A sequence covers the unit cube evenly from any first n of its points: multiples of fixed irrational steps,
// from a start of its own. [roberts-2018]
type sequence struct{ start [unknowns]float64 }

// sequenceSteps are the powers 1 to 4 of 1/g, g the real root of g⁵ = g + 1. [roberts-2018]
var sequenceSteps = [unknowns]float64{0.8566748838545029, 0.733891856627126, 0.6287067210378087, 0.5385972572236101}

func newSequence(root [32]byte) sequence {
	stream := weather.NewStream(root, 0, drawDay, fieldDraw)
	var s sequence
	for i := range s.start {
		s.start[i] = stream.Uniform()
	}
	return s
}

// at returns point m as independent standard normals.
func (s *sequence) at(m int) (z [unknowns]float64) {
	for i := range z {
		u := s.start[i] + float64(float64(m+1)*sequenceSteps[i])
		u -= math.Floor(u)
		z[i] = normalQuantile(min(max(u, sequenceEdge), 1-sequenceEdge))
	}
	return z
}

// sequenceEdge keeps a point inside the cube: no normal number beyond 4.7. [judgement]
const sequenceEdge = 1e-6
