package scenario

import (
	"slices"

	"threshday/internal/core/linear"
)

// A turn is one combine's part in one workable block of a stage. It begins where the combine's turn before ended, moves
// on to other fields, each move with its time, and ends in the field moved to last.
type turn struct {
	stage, block, combine int
	before                int   // the combine's turn before; -1: none
	after                 []int // its turns next, one for each way the weather may go
	hours                 float64
	clock                 int // row: work and moves within the hours
	// Rows by field; -1 where nothing is to be said about the field.
	work  []int // no work where the combine neither stood nor moved
	reach []int // ends only where it stood or moved
	leave []int // having moved, does not end where it stood
	away  []int // moving somewhere is moving
	one   int   // ends in one field
	// Columns by field, of 0 or 1; -1 where it would not help.
	move, end []int
	moved     int // column: moves at all
}

// addTurns adds the rows of all turns of a program that tells combines apart in all its stages.
func (s *season) addTurns(p *program, from state) {
	p.turn = make([][][]int, len(p.view))
	for k, st := range p.view {
		p.turn[k] = make([][]int, s.Blocks)
		for b := range s.Blocks {
			if p.clock[k] == nil || !workable(&s.Nodes[st.node].Blocks[b]) {
				continue
			}
			stage, block := s.before(p, k, b)
			for c := range s.Speeds {
				t := turn{stage: k, block: b, combine: c, before: -1, hours: s.Nodes[st.node].Blocks[b].Share * s.BlockHours, clock: p.clock[k][b][c]}
				at := len(p.turns)
				if stage >= 0 {
					t.before = p.turn[stage][block][c]
					p.turns[t.before].after = append(p.turns[t.before].after, at)
				}
				p.turn[k][b] = append(p.turn[k][b], at)
				p.turns = append(p.turns, t)
			}
		}
	}
	wanted := s.wanted(p, from)
	for k := range p.turns {
		s.addTurn(p, k, wanted, from)
	}
	whole := !slices.ContainsFunc(p.clock, func(rows [][]int) bool { return rows == nil })
	p.cover = make([][][]int, len(p.field))
	for w := range p.cover {
		p.cover[w] = make([][]int, len(s.Fields))
		for f := range s.Fields {
			for c := range s.Speeds {
				row := -1
				if from.at[c] != f && whole {
					row = p.lp.AddRow(-1-2*float64(len(p.turns))*from.acres[f], 0)
				}
				p.cover[w][f] = append(p.cover[w][f], row)
			}
		}
	}
}

// before returns the last workable block before block b of stage k on the way there; -1 where there is none.
func (s *season) before(p *program, k, b int) (stage, block int) {
	for b--; ; b-- {
		if b < 0 {
			if k = p.view[k].parent; k < 0 {
				return -1, -1
			}
			b = s.Blocks
			continue
		}
		if workable(&s.Nodes[p.view[k].node].Blocks[b]) {
			return k, b
		}
	}
}

// wanted returns, by turn and field, whether something of the field can earn in the turn or after it.
func (s *season) wanted(p *program, from state) [][]bool {
	out := make([][]bool, len(p.turns))
	for k := len(p.turns) - 1; k >= 0; k-- {
		t := &p.turns[k]
		net := s.Nodes[p.view[t.stage].node].Blocks[t.block].Net
		out[k] = make([]bool, len(s.Fields))
		for f := range out[k] {
			for _, v := range net[f*s.dests : (f+1)*s.dests] {
				out[k][f] = out[k][f] || v > 0 && from.acres[f] > 0
			}
			for _, next := range t.after {
				out[k][f] = out[k][f] || out[next][f]
			}
		}
	}
	return out
}

// addTurn adds the rows of one turn. Columns are numbered later; those that there will be are marked with 0.
func (s *season) addTurn(p *program, k int, wanted [][]bool, from state) {
	t := &p.turns[k]
	none := slices.Repeat([]int{-1}, len(s.Fields))
	t.work, t.reach, t.leave, t.away = slices.Clone(none), slices.Clone(none), slices.Clone(none), slices.Clone(none)
	t.move, t.end, t.moved, t.one = slices.Clone(none), slices.Clone(none), -1, -1
	for f := range s.Fields {
		if wanted[k][f] && t.hours >= s.MoveHours {
			t.move[f] = 0
		}
		later := slices.ContainsFunc(t.after, func(next int) bool { return wanted[next][f] })
		stood := s.stood(p, k, f, from)
		if wanted[k][f] {
			most := 0.0
			if t.before < 0 && stood {
				most, _ = s.longest(t, f, from)
			}
			t.work[f] = p.lp.AddRow(-2-3*t.hours, most)
		}
		if later && (stood || t.move[f] == 0) {
			t.end[f] = 0
			most := 0.0
			if t.before < 0 && stood {
				most = 1
			}
			t.reach[f] = p.lp.AddRow(-3, most)
		}
	}
	if !slices.Contains(t.end, 0) {
		return
	}
	t.one = p.room(1)
	t.moved = 0
	for f := range s.Fields {
		if t.end[f] == 0 && s.stood(p, k, f, from) {
			t.leave[f] = p.lp.AddRow(-2, 1)
		}
		if t.move[f] == 0 {
			t.away[f] = p.lp.AddRow(-2, 0)
		}
	}
}

// stood says whether a combine can stand in a field when a turn begins.
func (s *season) stood(p *program, k, f int, from state) bool {
	if t := &p.turns[k]; t.before >= 0 {
		return p.turns[t.before].end[f] >= 0
	}
	return from.at[p.turns[k].combine] == f
}

// longest returns the most hours that a turn can work in a field where the combine stood, and in one it moved to.
func (s *season) longest(t *turn, f int, from state) (stood, moved float64) {
	all := from.acres[f] / (s.Fields[f].AcresPerHour * s.Speeds[t.combine])
	return min(t.hours, all), min(t.hours-s.MoveHours, all)
}

// addMoves adds the columns of all turns.
func (s *season) addMoves(p *program, from state, futures [][]int) {
	var entries []linear.Entry
	use := func(row int, coef float64) {
		if row >= 0 {
			entries = append(entries, linear.Entry{Row: row, Coef: coef})
		}
	}
	add := func() int {
		j := p.lp.AddColumn(0, 0, 1, entries...)
		entries = entries[:0]
		return j
	}
	for k := range p.turns {
		t := &p.turns[k]
		for f := range s.Fields {
			if t.move[f] == 0 {
				_, longest := s.longest(t, f, from)
				use(t.clock, s.MoveHours)
				use(t.work[f], -longest)
				use(t.reach[f], -1)
				use(t.leave[f], -1)
				use(t.away[f], 1)
				for _, w := range futures[t.stage] {
					use(p.cover[w][f][t.combine], -from.acres[f])
				}
				t.move[f] = add()
			}
			if t.end[f] == 0 {
				use(t.reach[f], 1)
				use(t.leave[f], 1)
				use(t.one, 1)
				for _, next := range t.after {
					n := &p.turns[next]
					longest, _ := s.longest(n, f, from)
					use(n.work[f], -longest)
					use(n.reach[f], -1)
				}
				t.end[f] = add()
			}
		}
		if t.moved == 0 {
			for f := range s.Fields {
				use(t.leave[f], 1)
				use(t.away[f], -1)
			}
			t.moved = add()
		}
	}
}
