package lookahead

import (
	"math"
	"slices"

	"threshday/internal/core/worth"
)

// Days that are looked at one by one, and how many are taken together after them. Late days matter as room for
// what is left, not for their order. [judgement]
const (
	singleDays = 14
	spanDays   = 7
)

// spans part the hours of a table into stretches of days that the program does not tell apart: today, days, weeks.
type spans struct {
	of    []int // per hour
	first []int // per span: its first day
	days  []int // per span: how many
}

func spansOf(t *worth.Table) spans {
	var s spans
	of := make([]int, t.Days())
	for day := range of {
		if day < singleDays || (day-singleDays)%spanDays == 0 {
			s.first, s.days = append(s.first, day), append(s.days, 0)
		}
		of[day] = len(s.days) - 1
		s.days[of[day]]++
	}
	s.of = make([]int, t.Hours)
	for h, day := range t.Day {
		s.of[h] = of[day]
	}
	return s
}

// A Take says which value of a day stands for it.
type Take uint8

const (
	// Fair is the mean over the day's hours of a crop that comes up to expectation: what a plan can get.
	Fair Take = iota
	// Best is the most an acre nets in any hour, and the least it takes, of the member's own crop: what no plan can beat.
	Best
)

// A Cell is cutting a field within a span of days for a destination: in how many hours that is possible, and what an
// acre brings and takes.
type Cell struct {
	Span, Field, Destination int
	Hours                    float64
	USD, Bushels, Points     float64 // an acre: net dollars, wet bushels, dryer point-bushels
}

// A member is one weather's season by spans.
type member struct {
	cells []Cell      // by field, then span, then destination
	hours [][]float64 // per combine, then span: hours it runs with something to cut
	live  []float64   // per span: hours with something to cut
	days  []float64   // per span: days with such hours
}

// lookAt sums a member's hours up by spans.
func lookAt(t *worth.Table, s spans, m int, take Take) *member {
	out := &member{hours: make([][]float64, len(t.Combines)), live: make([]float64, len(s.days)), days: make([]float64, len(s.days))}
	for k := range out.hours {
		out.hours[k] = make([]float64, len(s.days))
	}
	hours, open := running(t), make([]bool, t.Hours)
	for f := range t.Fields {
		if t.Fields[f].Acres > 0 {
			out.cells = append(out.cells, cellsOf(t, s.of, len(s.days), m, f, take, hours, open)...)
		}
	}
	last := -1
	for h, yes := range open {
		if !yes {
			continue
		}
		out.live[s.of[h]]++
		if t.Day[h] != last {
			last = t.Day[h]
			out.days[s.of[h]]++
		}
		for k := range t.Combines {
			if t.Combines[k].Runs[h] {
				out.hours[k][s.of[h]]++
			}
		}
	}
	return out
}

// running lists the hours in which any combine may run.
func running(t *worth.Table) []int {
	var out []int
	for h := range t.Hours {
		if slices.ContainsFunc(t.Combines, func(c worth.CombineRow) bool { return c.Runs[h] }) {
			out = append(out, h)
		}
	}
	return out
}

// BestOfDays returns what an acre of field f brings in member m at most on every day, and what it takes at least, by day and
// destination; of the hours given. The span of a cell is its day.
func BestOfDays(t *worth.Table, m, f int, hours []int) []Cell {
	return cellsOf(t, t.Day, t.Days(), m, f, Best, hours, make([]bool, t.Hours))
}

// cellsOf returns the cells of field f that earn something, by spans numbered per hour, and marks in open the hours in which it can
// be cut.
func cellsOf(t *worth.Table, of []int, spans, m, f int, take Take, hours []int, open []bool) []Cell {
	crop := 1.0
	if take == Best {
		crop = float64(t.Crop[m*len(t.Fields)+f])
	}
	nd := len(t.Destinations)
	sums := make([]Cell, spans*nd)
	for _, h := range hours {
		i := t.At(m, h, f)
		if !t.Workable[i] {
			continue
		}
		bu := float64(t.Bushels[f][t.Moisture[i]]) * float64(t.Keep[i]) * crop
		for d := range nd {
			usd, ok := t.Net(m, h, f, d)
			if !ok {
				continue
			}
			open[h] = true
			if take == Best {
				usd = t.Earned(m, f, usd)
			}
			points := 0.0
			if p := t.Destinations[d].Points; p != nil {
				points = bu * float64(p[t.Moisture[i]])
			}
			c := &sums[of[h]*nd+d]
			c.Hours++
			switch {
			case take == Fair:
				c.USD, c.Bushels, c.Points = c.USD+usd, c.Bushels+bu, c.Points+points
			case c.Hours == 1:
				c.USD, c.Bushels, c.Points = usd, bu, points
			default:
				c.USD, c.Bushels, c.Points = max(c.USD, usd), min(c.Bushels, bu), min(c.Points, points)
			}
		}
	}
	var out []Cell
	for i, c := range sums {
		if c.Hours == 0 {
			continue
		}
		if take == Fair {
			c.USD, c.Bushels, c.Points = c.USD/c.Hours, c.Bushels/c.Hours, c.Points/c.Hours
		}
		if c.USD > 0 || i < nd { // today's may be demanded at a loss
			c.Span, c.Field, c.Destination = i/nd, f, i%nd
			out = append(out, c)
		}
	}
	return out
}

// startsAtAField is how often a combine comes to a field until it is done. [judgement]
const startsAtAField = 1.5

// hoursPerAcre returns, per combine and field, what an acre takes of the combine's hours: cutting it, and its part of coming to
// the field from the nearest place.
func hoursPerAcre(t *worth.Table, take Take) [][]float64 {
	out := make([][]float64, len(t.Combines))
	for k := range out {
		out[k] = make([]float64, len(t.Fields))
		for f, row := range t.Fields {
			if t.Combines[k].Rate[f] <= 0 || row.Acres <= 0 {
				continue
			}
			out[k][f] = 1 / t.Combines[k].Rate[f]
			if near := nearest(t.MoveHours[k], f); take == Fair && !math.IsInf(near, 1) {
				out[k][f] += startsAtAField * near / row.Acres
			}
		}
	}
	return out
}

// nearest returns the least hours of coming to field f from another or the yard.
func nearest(moves [][]float64, f int) float64 {
	out := math.Inf(1)
	for from, row := range moves {
		if from != f {
			out = min(out, row[f])
		}
	}
	return out
}
