package scenario

import (
	"cmp"
	"context"
	"math"
	"slices"

	"threshday/internal/core/linear"
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

// A route says, by block and combine, which fields a combine works in, in this order.
type route [][][]int

// A dispatch is the program of today with combines told apart, and what it takes to compare routes.
type dispatch struct {
	*season
	*program
	from  state
	base  linear.Solution
	hours [][][]float64 // by block, combine and field: what the program without starts would work there
	price float64       // $ of a speed-hour on later days
	tries int
}

// dispatchRoutes decides where combines go today: from what the program would do if starts took no time, the routes
// that come nearest, then changes to one block of one combine at a time, each tried with everything else of today
// and later planned anew, as long as they gain.
func (s *season) dispatchRoutes(ctx context.Context, v view, from state, start []*answer, tries int) ([]Cut, []*answer, error) {
	p := s.build(v, from, apart)
	d := &dispatch{season: s, program: p, from: from, tries: tries}
	d.base = p.lp.Solve(ctx, linear.Options{Start: carry(p, start...)})
	if err := solved(ctx, &d.base); err != nil {
		return nil, nil, err
	}
	d.read()
	best := d.nearest()
	sol, worth, err := d.try(ctx, best)
	if err != nil {
		return nil, nil, err
	}
	for _, other := range d.days(best) {
		if d.tries--; d.tries < 0 {
			break
		}
		found, its, err := d.try(ctx, other)
		if err != nil {
			return nil, nil, err
		}
		if its > worth*(1+1e-9) {
			best, sol, worth = other, found, its
		}
	}
	for gained := true; gained && d.tries > 0; {
		gained = false
		for b := range best {
			for c := range best[b] {
				for _, fields := range d.others(best, b, c) {
					if d.tries--; d.tries < 0 {
						break
					}
					other := slices.Clone(best)
					other[b] = slices.Clone(best[b])
					other[b][c] = fields
					found, its, err := d.try(ctx, other)
					if err != nil {
						return nil, nil, err
					}
					if its > worth*(1+1e-9) {
						best, sol, worth, gained = other, found, its, true
					}
				}
			}
		}
	}
	return d.inOrder(best, sol), []*answer{{program: p, basis: sol.Basis}}, nil
}

// read takes from the program without starts the hours it would work, and what an hour is worth later.
func (d *dispatch) read() {
	d.hours = make([][][]float64, d.Blocks)
	for b := range d.hours {
		d.hours[b] = make([][]float64, len(d.Speeds))
		for c := range d.hours[b] {
			d.hours[b][c] = make([]float64, len(d.Fields))
		}
	}
	for j := range d.columns[:d.first[1]] {
		c := d.columns[j].cut
		d.hours[c.Block][c.Combine][c.Field] += d.base.X[j] / (d.Fields[c.Field].AcresPerHour * d.Speeds[c.Combine])
	}
	dual, weight := 0.0, 0.0
	for k := 1; k < len(d.view); k++ {
		for _, row := range d.program.hours[k] {
			if row >= 0 {
				dual, weight = dual+max(0, d.base.RowDual[row]), weight+d.view[k].weight
			}
		}
	}
	if weight > 0 {
		d.price = dual / weight
	}
}

// nearest returns routes that follow the program without starts: in each block a combine works where it stands if it
// is wanted there, and goes to the fields that want it longer than the move takes.
func (d *dispatch) nearest() route {
	r := make(route, d.Blocks)
	at := slices.Clone(d.from.at)
	for b := range r {
		r[b] = make([][]int, len(d.Speeds))
		for c := range r[b] {
			if d.clock[0][b][c] < 0 {
				continue
			}
			var fields []int
			longest := -1
			for f, h := range d.hours[b][c] {
				if f != at[c] && h > d.MoveHours {
					fields = append(fields, f)
				}
				if h > 0 && (longest < 0 || h > d.hours[b][c][longest]) {
					longest = f
				}
			}
			slices.SortStableFunc(fields, func(x, y int) int { return cmp.Compare(d.hours[b][c][x], d.hours[b][c][y]) })
			if at[c] >= 0 && d.from.acres[at[c]] > 0 {
				fields = append([]int{at[c]}, fields...)
			}
			if len(fields) == 0 && longest >= 0 {
				fields = []int{longest}
			}
			for _, most := d.lp.Row(d.clock[0][b][c]); len(fields) > 0 && d.MoveHours*float64(starts(fields, at[c])) >= most; {
				fields = fields[:len(fields)-1]
			}
			r[b][c] = fields
			if len(fields) > 0 {
				at[c] = fields[len(fields)-1]
			}
		}
	}
	return r
}

// widest is how many fields the search sends a combine to, those that the program without starts works longest in
// today. [judgement]
const widest = 5

// days returns routes in which one combine stays in one field all day.
func (d *dispatch) days(r route) []route {
	var out []route
	for c := range d.Speeds {
		for f := range d.Fields {
			if d.from.acres[f] <= 0 {
				continue
			}
			other := slices.Clone(r)
			for b := range other {
				other[b] = slices.Clone(r[b])
				if d.clock[0][b][c] >= 0 {
					other[b][c] = []int{f}
				}
			}
			out = append(out, other)
		}
	}
	return out
}

// others returns other ways for a combine through a block: where it comes from, one field, or one after the other.
func (d *dispatch) others(r route, b, c int) [][]int {
	if d.clock[0][b][c] < 0 {
		return nil
	}
	from := d.from.at[c]
	for before := range b {
		if n := len(r[before][c]); n > 0 {
			from = r[before][c][n-1]
		}
	}
	wanted := make([]float64, len(d.Fields))
	for _, block := range d.hours {
		for _, combine := range block {
			for f, h := range combine {
				wanted[f] += h
			}
		}
	}
	var fields []int
	for f := range wanted {
		if wanted[f] > 0 || f == from && d.from.acres[f] > 0 {
			fields = append(fields, f)
		}
	}
	slices.SortStableFunc(fields, func(x, y int) int { return cmp.Compare(wanted[y], wanted[x]) })
	var out [][]int
	add := func(fields ...int) {
		if !slices.Equal(fields, r[b][c]) {
			out = append(out, fields)
		}
	}
	few := fields[:min(widest, len(fields))]
	if from >= 0 && d.from.acres[from] > 0 {
		add(from)
	}
	for _, f := range few {
		if f != from {
			add(f)
			if from >= 0 && d.from.acres[from] > 0 {
				add(from, f)
			}
		}
	}
	for _, f := range few {
		for _, g := range few {
			if f != g && f != from && g != from {
				add(f, g)
			}
		}
	}
	return out
}

// try solves today and all later days with combines on their routes. The program charges a later start by the acres;
// the worth charges a whole one for every field begun and not done, none where a combine ends in it. It is -Inf where the moves alone take more than a block has.
func (d *dispatch) try(ctx context.Context, r route) (*linear.Solution, float64, error) {
	lp := d.lp.Clone()
	at := slices.Clone(d.from.at)
	for b := range r {
		for c, fields := range r[b] {
			row := d.clock[0][b][c]
			if row < 0 {
				continue
			}
			_, most := d.lp.Row(row)
			most -= d.MoveHours * float64(starts(fields, at[c]))
			if most < 0 {
				return nil, math.Inf(-1), nil
			}
			lp.SetRow(row, -1, most)
			if len(fields) > 0 {
				at[c] = fields[len(fields)-1]
			}
		}
	}
	for j := range d.columns[:d.first[1]] {
		c := d.columns[j].cut
		if !slices.Contains(r[c.Block][c.Combine], c.Field) {
			lp.SetColumn(j, 0, 0)
		}
	}
	sol := lp.Solve(ctx, linear.Options{Start: &d.base.Basis})
	if err := solved(ctx, &sol); err != nil {
		return nil, 0, err
	}
	left := d.after(d.from, d.cuts(sol.X)[0])
	worth := sol.Objective
	for f, acres := range left.acres {
		if acres <= leastAcres {
			continue
		}
		charge := d.MoveHours * slices.Min(d.Speeds)
		counted := 0.0
		if !slices.Contains(d.from.at, f) {
			counted = startsPerField * charge * acres / d.from.acres[f]
		}
		if slices.Contains(at, f) {
			charge = 0
		}
		worth -= d.price * (charge - counted)
	}
	return &sol, worth, nil
}

// starts returns how many moves it takes to go through fields one after the other.
func starts(fields []int, at int) int {
	n := 0
	for _, f := range fields {
		if f != at {
			n++
			at = f
		}
	}
	return n
}

// inOrder returns today's cuts, each combine's of a block in the order of its route.
func (d *dispatch) inOrder(r route, sol *linear.Solution) []Cut {
	cuts := d.cuts(sol.X)[0]
	slices.SortStableFunc(cuts, func(x, y Cut) int {
		if x.Block != y.Block {
			return x.Block - y.Block
		}
		if x.Combine != y.Combine {
			return x.Combine - y.Combine
		}
		on := r[x.Block][x.Combine]
		return slices.Index(on, x.Field) - slices.Index(on, y.Field)
	})
	return cuts
}
