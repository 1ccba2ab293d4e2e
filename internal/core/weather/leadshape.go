package weather

import (
	"math"
	"slices"
)

// An anchor is by how much a member's curve is moved at one hour.
type anchor struct {
	at int
	by float64
}

// move adds to row[from:to] the straight lines between anchors; before the first it keeps its value.
func move(row []float32, from, to int, anchors []anchor) {
	slices.SortStableFunc(anchors, func(a, b anchor) int { return a.at - b.at })
	k := 0
	for i := from; i < to; i++ {
		for k+1 < len(anchors) && anchors[k+1].at <= i {
			k++
		}
		by := anchors[k].by
		if i > anchors[k].at && k+1 < len(anchors) {
			next := anchors[k+1]
			by += (next.by - by) * float64(i-anchors[k].at) / float64(next.at-anchors[k].at)
		}
		row[i] += float32(by)
	}
}

// startAnchor returns the anchor at the last observed hour, if there is one.
func (l *lead) startAnchor(by float64) []anchor {
	if !l.seen || l.now == 0 {
		return nil
	}
	return []anchor{{l.now - 1, by}}
}

// moveTemperature moves a member so that the highs and lows of its days are where the forecast puts them.
func (l *lead) moveTemperature(m int) {
	anchors := l.startAnchor(l.dT[m])
	said := false
	for _, d := range l.days {
		first := int(d.view.First - l.base.Start)
		for _, a := range []struct {
			to   []float64
			at   int
			from float64
		}{{d.high, d.own[m].HighAt, d.own[m].High}, {d.low, d.own[m].LowAt, d.own[m].Low}} {
			if a.to == nil || first+a.at < l.now {
				continue
			}
			said = true
			anchors = append(anchors, anchor{first + a.at, a.to[m] - a.from})
		}
	}
	if !said {
		return
	}
	row := l.out.Row(TempC, m)
	move(row, l.now, l.horizon(), append(anchors, anchor{l.horizon(), 0}))
	for _, d := range l.days {
		if d.high == nil || d.low == nil || d.cut || d.first > int(d.view.First-l.base.Start) {
			continue // of a day that has begun, the high or the low may be past
		}
		low, high := float32(d.low[m]), float32(d.high[m])
		for i := d.first; i < d.end; i++ {
			row[i] = max(low, min(high, row[i]))
		}
	}
}

// dewRamp is how long before and after midnight a dew point passes from one day's shift to the next's.
const dewRamp = 3 // h [judgement]

// moveDew shifts a member's dew point day by day, with ramps between.
func (l *lead) moveDew(m int) {
	anchors := l.startAnchor(l.dD[m])
	said := false
	for _, d := range l.days {
		if d.dew == nil {
			continue
		}
		said = true
		by, ramp := d.dew[m]-d.own[m].Dew, min(dewRamp, (d.end-d.first)/2)
		anchors = append(anchors, anchor{d.first + ramp, by}, anchor{d.end - ramp, by})
	}
	if said {
		move(l.out.Row(DewC, m), l.now, l.horizon(), append(anchors, anchor{l.horizon(), 0}))
	}
}

// moveWind draws the square roots of the members' mean winds towards that of the forecast. [judgement] for
// the root, which makes wind nearly normal.
func (l *lead) moveWind(d *leadDay) {
	if d.Wind == nil {
		return
	}
	mean := 0.0
	for _, own := range d.own {
		mean += math.Sqrt(own.Wind) / float64(len(d.own))
	}
	s := atLead(l.table.Wind, d.age)
	for m, own := range d.own {
		to := max(0, math.Sqrt(*d.Wind)+s*(math.Sqrt(own.Wind)-mean))
		row := l.out.Row(WindMS, m)[d.first:d.end]
		for i := range row {
			if own.Wind > calm {
				row[i] *= float32(to * to / own.Wind)
			} else {
				row[i] = float32(to * to)
			}
		}
	}
}

const calm = 0.05 // m/s: a day's mean below it has no shape to keep

// moveSky draws a member's cloud towards the forecast, with the error of its dew point, and lets through as
// much sun as that cloud would. [judgement]
func (l *lead) moveSky(d *leadDay, m int) {
	if d.Sky == nil {
		return
	}
	mean := 0.0
	for _, own := range d.own {
		mean += own.Sky / float64(len(d.own))
	}
	s := atLead(l.table.Dew, d.age)
	by := *d.Sky + s*(d.own[m].Sky-mean) - d.own[m].Sky
	for i := d.first; i < d.end; i++ {
		if l.out.Row(RainMM, m)[i] < smallestHour { // rain keeps its cloud
			l.cover(m, i, float64(l.out.Row(SkyFrac, m)[i])+by)
		}
	}
}

// cover sets the cloud of one hour of a member and its sun with it.
func (l *lead) cover(m, i int, to float64) {
	sky, solar := l.out.Row(SkyFrac, m), l.out.Row(SolarWM2, m)
	to = max(0, min(1, to))
	solar[i] *= float32(throughCloud(to) / throughCloud(float64(sky[i])))
	sky[i] = float32(to)
}
