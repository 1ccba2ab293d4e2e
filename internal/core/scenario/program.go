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
	hours, trucks [][]int   // by stage, then block
	dump          [][]int   // by stage, then destination
	field, total  [][]int   // by future, then field or destination
	leaf, end     []int     // by future: the leaf node and the stage it ends at
	loss          []int     // by future: how far its earnings lie under the worst tenth's best; nil unless care is taken
	today         []int     // by field: acres cut in the first stage; nil unless asked for
	clock         [][][]int // by stage, block and combine; nil for a stage that does not tell combines apart
	turns         []turn    // of all combines, those of earlier stages first; nil unless starts are counted
	turn          [][][]int // by stage, block and combine: its turn
	cover         [][][]int // by future, field and combine: none of the field without a start
	rank          []int     // columns in the order of stages and cuts, which first counts in; nil where they stand in it
}

// A form says what the first stage of a program is to show besides.
type form uint8

const (
	plain   form = iota
	free         // in all stages: takes moves for nothing, so that no plan can earn more
	forced       // keeps what loses money and has a row for each field's acres, so that cutting can be demanded
	counted      // in the first days: tells combines apart and counts whole starts
)

// A column is the cut that a column of the program stands for.
type column struct {
	stage int
	cut   Cut // acres: the most that fits
}

// build writes the program of a view. Moves are in it as hours per acre, see [season.hoursPerAcre]. Where there is a menu, only cells
// on it have columns; of the day that is planned, and where starts are counted, all have.
func (s *season) build(v view, from state, first form) *program {
	return s.buildFor(v, from, first, wish{mean: 1})
}

// buildFor writes the program of a view for a wish other than the mean.
func (s *season) buildFor(v view, from state, first form, w wish) *program {
	return s.buildUntil(v, from, first, w, s.Days)
}

// buildUntil writes the program of a view that, where it counts starts, does so for the days before one alone.
func (s *season) buildUntil(v view, from state, first form, w wish, until int) *program {
	return s.buildOf(v, from, first, w, until, func(k, cell int) bool {
		node := v[k].node
		return s.menu == nil || k == 0 && first != free || first == counted && s.Nodes[node].Day < until || s.menu.has(node, cell)
	})
}

// buildOf writes the program of those cells of a view, by stage and number within the node, that are wanted.
func (s *season) buildOf(v view, from state, first form, w wish, until int, wanted func(stage, cell int) bool) *program {
	p := &program{lp: linear.New(linear.Maximise), view: v}
	p.hours, p.trucks, p.dump = make([][]int, len(v)), make([][]int, len(v)), make([][]int, len(v))
	for k := range v {
		s.addDay(p, k, &s.Nodes[v[k].node], from)
	}
	ends := s.addSeason(p, v, from)
	s.addLosses(p, w)
	p.clock = make([][][]int, len(v))
	if first == counted {
		for k := range v {
			if s.Nodes[v[k].node].Day < until {
				s.addClocks(p, k)
			}
		}
		s.addTurns(p, from)
	}
	if first == forced {
		p.today = make([]int, len(s.Fields))
		for f := range s.Fields {
			p.today[f] = p.lp.AddRow(0, from.acres[f])
		}
	}
	for k := range v {
		p.first = append(p.first, len(p.columns))
		as := first
		if k > 0 && first != free && (first != counted || p.clock[k] == nil) {
			as = plain
		}
		s.addCuts(p, k, &v[k], from, ends[k], as, w, wanted)
	}
	p.first = append(p.first, len(p.columns))
	s.addTail(p, w)
	if first == counted {
		s.addMoves(p, from, ends)
	}
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
		p.end = append(p.end, k)
		for at := k; at >= 0; at = v[at].parent {
			through[at] = append(through[at], future)
		}
	}
	return through
}

// addCuts adds the columns of one stage.
func (s *season) addCuts(p *program, k int, st *stage, from state, futures []int, as form, w wish, wanted func(stage, cell int) bool) {
	node := &s.Nodes[st.node]
	combines := 1
	if p.clock[k] != nil {
		combines = len(s.Speeds)
	}
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
				if math.IsInf(net, -1) || net <= 0 && as != forced || from.acres[f] <= 0 || !wanted(k, s.cell(b, f, d)) {
					continue
				}
				for c := range combines {
					cut := Cut{Block: b, Field: f, Destination: d, Combine: c, Acres: from.acres[f]}
					if p.clock[k] == nil {
						cut.Acres = min(cut.Acres, hours*field.AcresPerHour)
					}
					if cut.Acres > 0 {
						s.addCut(p, k, net, cut, from, futures, as, w)
					}
				}
			}
		}
	}
}

// addCut adds the column of a cut of at most its acres, which nets so much an acre.
func (s *season) addCut(p *program, k int, net float64, cut Cut, from state, futures []int, as form, w wish) {
	p.lp.AddColumn(w.mean*p.view[k].weight*net, 0, looseBox*cut.Acres, p.losing(net, futures, s.uses(p, k, cut, from, futures, as))...)
	p.columns = append(p.columns, column{stage: k, cut: cut})
}

// uses returns what an acre of a cut takes of every row.
func (s *season) uses(p *program, k int, c Cut, from state, futures []int, as form) []linear.Entry {
	field := &s.Fields[c.Field]
	entries := make([]linear.Entry, 0, 5+2*len(futures))
	add := func(row int, coef float64) {
		if row >= 0 {
			entries = append(entries, linear.Entry{Row: row, Coef: coef})
		}
	}
	switch as {
	case counted:
		add(p.clock[k][c.Block][c.Combine], 1/(field.AcresPerHour*s.Speeds[c.Combine]))
	case free:
		add(p.hours[k][c.Block], 1/field.AcresPerHour)
	default:
		add(p.hours[k][c.Block], s.hoursPerAcre(c.Field, from))
	}
	add(p.trucks[k][c.Block], field.BushelsPerAcre*s.TruckHoursPerBushel[c.Field*s.dests+c.Destination])
	add(p.dump[k][c.Destination], field.BushelsPerAcre)
	for _, w := range futures {
		add(p.field[w][c.Field], 1)
		add(p.total[w][c.Destination], field.BushelsPerAcre)
	}
	switch as {
	case forced:
		add(p.today[c.Field], 1)
	case counted:
		add(p.turns[p.turn[k][c.Block][c.Combine]].work[c.Field], 1/(field.AcresPerHour*s.Speeds[c.Combine]))
		for _, w := range futures {
			add(p.cover[w][c.Field][c.Combine], 1)
		}
	default: // nothing for the others
	}
	return entries
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
