package scenario

import (
	"math"

	"threshday/internal/core/linear"
)

// A program is the linear program of a view from a state on: which acres of which field to cut in which block
// and haul where.
type program struct {
	lp      *linear.Problem
	view    view
	columns []column
	first   []int // by stage: its first column; one more at the end
	// Rows by what they limit; -1 where the limit cannot bind and has no row.
	hours, trucks [][]int // by stage, then block
	dump          [][]int // by stage, then destination
	field, total  [][]int // by future, then field or destination
	leaf          []int   // by future: the leaf node it ends at
	today         []int   // by field: acres cut in the first stage; nil unless asked for
}

// A column is the cut that a column of the program stands for.
type column struct {
	stage int
	cut   Cut // acres: the most that fits
}

// build writes the program of a view. With forced, the first stage keeps columns that lose money and gets a
// row for each field's acres, so that cutting can be demanded.
func (s *season) build(v view, from state, forced bool) *program {
	p := &program{lp: linear.New(linear.Maximise), view: v}
	p.hours, p.trucks, p.dump = make([][]int, len(v)), make([][]int, len(v)), make([][]int, len(v))
	for k := range v {
		s.addDay(p, k, &s.Nodes[v[k].node], from)
	}
	ends := s.addSeason(p, v, from)
	if forced {
		p.today = make([]int, len(s.Fields))
		for f := range s.Fields {
			p.today[f] = p.lp.AddRow(0, from.acres[f])
		}
	}
	for k := range v {
		p.first = append(p.first, len(p.columns))
		s.addCuts(p, k, &v[k], from, ends[k], forced && k == 0)
	}
	p.first = append(p.first, len(p.columns))
	return p
}

// room adds a row that uses at most so much. Its lower bound can never bind, as nothing uses less than nothing;
// it is there because the dual simplex method starts easily from variables with two bounds.
func (p *program) room(most float64) int { return p.lp.AddRow(-1-most, most) }

// addDay adds the rows of one stage.
func (s *season) addDay(p *program, k int, node *Node, from state) {
	p.hours[k], p.trucks[k] = make([]int, len(node.Blocks)), make([]int, len(node.Blocks))
	p.dump[k] = make([]int, s.dests)
	dayBushels := 0.0
	for b := range node.Blocks {
		block := &node.Blocks[b]
		p.hours[k][b], p.trucks[k][b] = -1, -1
		if !workable(block) {
			continue
		}
		p.hours[k][b] = p.room(s.hours(block))
		most, needed := 0.0, 0.0 // at most so many bushels and truck hours
		for f := range s.Fields {
			acres := min(from.acres[f], s.hours(block)*s.Fields[f].AcresPerHour)
			bushels := acres * s.Fields[f].BushelsPerAcre
			most += bushels
			worst := 0.0
			for d := range s.dests {
				worst = max(worst, s.TruckHoursPerBushel[f*s.dests+d])
			}
			needed += bushels * worst
		}
		dayBushels += most
		if needed > s.TruckHours {
			p.trucks[k][b] = p.room(s.TruckHours)
		}
	}
	for d := range s.dests {
		p.dump[k][d] = -1
		if capacity := s.Destinations[d].DayBushels[node.Day]; capacity < dayBushels {
			p.dump[k][d] = p.room(capacity)
		}
	}
}

// addSeason adds, for every future of the view, the rows of fields and total room, and returns by stage which
// futures pass through it.
func (s *season) addSeason(p *program, v view, from state) [][]int {
	last := make([]bool, len(v))
	for k := range v {
		last[k] = true
		if v[k].parent >= 0 {
			last[v[k].parent] = false
		}
	}
	all := 0.0
	for f := range s.Fields {
		all += from.acres[f] * s.Fields[f].BushelsPerAcre
	}
	through := make([][]int, len(v))
	for k := range v {
		if !last[k] {
			continue
		}
		future := len(p.field)
		fields, totals := make([]int, len(s.Fields)), make([]int, s.dests)
		for f := range fields {
			fields[f] = p.room(from.acres[f])
		}
		for d := range totals {
			totals[d] = -1
			if from.bushels[d] < all {
				totals[d] = p.room(from.bushels[d])
			}
		}
		p.field, p.total, p.leaf = append(p.field, fields), append(p.total, totals), append(p.leaf, v[k].node)
		for at := k; at >= 0; at = v[at].parent {
			through[at] = append(through[at], future)
		}
	}
	return through
}

// addCuts adds the columns of one stage.
func (s *season) addCuts(p *program, k int, st *stage, from state, futures []int, forced bool) {
	node := &s.Nodes[st.node]
	entries := make([]linear.Entry, 0, 4+2*len(futures))
	for b := range node.Blocks {
		block := &node.Blocks[b]
		if !workable(block) {
			continue
		}
		hours := s.hours(block)
		for f := range s.Fields {
			field := &s.Fields[f]
			for d := range s.dests {
				net := block.Net[f*s.dests+d]
				if math.IsInf(net, -1) || net <= 0 && !forced {
					continue
				}
				most := min(from.acres[f], hours*field.AcresPerHour)
				if most <= 0 {
					continue
				}
				entries = entries[:0]
				add := func(row int, coef float64) {
					if row >= 0 {
						entries = append(entries, linear.Entry{Row: row, Coef: coef})
					}
				}
				add(p.hours[k][b], 1/field.AcresPerHour)
				add(p.trucks[k][b], field.BushelsPerAcre*s.TruckHoursPerBushel[f*s.dests+d])
				add(p.dump[k][d], field.BushelsPerAcre)
				for _, w := range futures {
					add(p.field[w][f], 1)
					add(p.total[w][d], field.BushelsPerAcre)
				}
				if forced {
					add(p.today[f], 1)
				}
				p.lp.AddColumn(st.weight*net, 0, looseBox*most, entries...)
				p.columns = append(p.columns, column{stage: k, cut: Cut{Block: b, Field: f, Destination: d, Acres: most}})
			}
		}
	}
}

// cuts returns the cuts of a solution by stage.
func (p *program) cuts(x []float64) [][]Cut {
	out := make([][]Cut, len(p.view))
	for j, c := range p.columns {
		if x[j] > leastAcres {
			c.cut.Acres = x[j]
			out[c.stage] = append(out[c.stage], c.cut)
		}
	}
	return out
}

// looseBox times the most that fits is the upper bound of a column: far enough that only rows bind and carry
// prices, near enough that the dual simplex method can start from it.
const looseBox = 2

// leastAcres is the smallest cut kept from a solution; less is rounding.
const leastAcres = 1e-9
