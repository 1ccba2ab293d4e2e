package scenario

import (
	"context"
	"slices"
)

// hoursPerAcre returns the combine hours, of a combine of speed 1, that an acre of a field takes in the eyes of a rule
// that looks ahead. Where moves take time every field needs at least one start, unless a combine stands there; it is
// spread over the acres left. A plan may make a start in hours that are idle anyway, so this is no bound.
func (s *season) hoursPerAcre(f int, from state) float64 {
	hours := 1 / s.Fields[f].AcresPerHour
	if s.MoveHours > 0 && from.acres[f] > 0 && !slices.Contains(from.at, f) {
		hours += startsPerField * s.MoveHours * slices.Min(s.Speeds) / from.acres[f]
	}
	return hours
}

// startsPerField is how often a field is begun in the eyes of a rule that looks ahead: of 0.5, 1, 1.5 and 2 the one that
// lost least against proven plans. [judgement]
const startsPerField = 1.5

// addClocks adds, for each block of a stage and each combine, a row of its hours.
func (s *season) addClocks(p *program, k int) {
	node := &s.Nodes[p.view[k].node]
	p.clock[k] = make([][]int, len(node.Blocks))
	for b := range node.Blocks {
		p.clock[k][b] = make([]int, len(s.Speeds))
		p.hours[k][b] = -1
		for c := range p.clock[k][b] {
			p.clock[k][b][c] = -1
			if workable(&node.Blocks[b]) {
				p.clock[k][b][c] = p.room(node.Blocks[b].Share * s.BlockHours)
			}
		}
	}
}

// A round is where combines go on a day.
type round struct {
	to  [][][]int // by block and combine: the fields it moves to, the one it ends in last
	end [][]int   // by block and combine: the field it stands in at the end; -1 for none
	at  []int     // by combine: the field it stands in when the day is over
}

// Of a morning's program starts are counted on so many days, or fewer so that so many columns stand for those days, but at
// least today. Of one to four days, three lost least. [judgement]
const (
	countedDays    = 3
	countedColumns = 2000
)

// sendOut plans the day at a node where moves take time: whole starts for the next days, starts by the acre after them.
func (r *rolling) sendOut(ctx context.Context, n int) error {
	node := &r.Nodes[n]
	if r.own[n]+r.paths[n] == 0 || !slices.ContainsFunc(node.Blocks, func(b Block) bool { return workable(&b) }) {
		return nil
	}
	v := r.shared(n, r.SharedDays, r.few(n, r.size, r.morning, fewestLeaves, r.Seed))
	until, columns := node.Day+1, 0
	for day := node.Day; day < node.Day+countedDays; day++ {
		for _, st := range v {
			if r.Nodes[st.node].Day == day {
				columns += r.moving(st.node, r.own[st.node])
			}
		}
		if columns <= countedColumns {
			until = max(until, day+1)
		}
	}
	q := r.newSearch(v, r.left[n], until, wish{mean: 1})
	if _, err := q.run(ctx, r.tries, carry(q.program, r.last[n]...)); err != nil || q.best == nil {
		return err
	}
	r.plan[n] = q.inTurn(0, q.cuts(q.best.X)[0])
	r.last[n] = []*answer{{program: q.program, basis: q.best.Basis}}
	r.sent[n] = q.round()
	return nil
}

// moving returns how many columns a node has at most where starts are counted, with so many cells that earn something.
func (s *season) moving(n, cells int) int {
	columns := cells
	for b := range s.Nodes[n].Blocks {
		if workable(&s.Nodes[n].Blocks[b]) {
			columns += 2*len(s.Fields) + 1
		}
	}
	return columns * len(s.Speeds)
}

// round returns where the best solution sends combines in its first stage.
func (q *search) round() *round {
	r := &round{to: make([][][]int, q.Blocks), end: make([][]int, q.Blocks), at: slices.Clone(q.from.at)}
	is := func(j int) bool { return j >= 0 && q.best.X[j] > 0.5 }
	for b := range r.to {
		r.to[b] = make([][]int, len(q.Speeds))
		for c, k := range q.turn[0][b] {
			t := &q.turns[k]
			for f := range q.Fields {
				if is(t.move[f]) {
					r.to[b][c], r.at[c] = append(r.to[b][c], f), f
				}
			}
			for f := range q.Fields {
				if is(t.end[f]) {
					r.at[c] = f
				}
			}
		}
		r.end[b] = slices.Clone(r.at)
	}
	return r
}

// begin tries the routes that mornings planned one after the other chose, by node.
func (q *search) begin(ctx context.Context, sent []*round) error {
	for k := range q.turns {
		t := &q.turns[k]
		for f := range q.Fields {
			for _, j := range []int{t.move[f], t.end[f]} {
				if j >= 0 {
					q.lp.SetColumn(j, 0, 0)
				}
			}
		}
		r := sent[q.view[t.stage].node]
		if r == nil {
			continue // nothing is wanted there any more
		}
		for _, f := range r.to[t.block][t.combine] {
			if t.move[f] >= 0 {
				q.lp.SetColumn(t.move[f], 1, 1)
			}
		}
		if f := r.end[t.block][t.combine]; f >= 0 && t.end[f] >= 0 {
			q.lp.SetColumn(t.end[f], 1, 1)
		}
	}
	sol, err := q.solve(ctx, nil)
	if err == nil && sol != nil {
		q.take(sol)
	}
	return err
}
