package scenario

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"

	"threshday/internal/core/linear"
)

// How large programs of leaves are made small. [judgement]
const (
	siftSteps   = 120 // of pricing before the first program
	cellsAtOnce = 8   // cells of a field that the first program knows
	cellsToAdd  = 6   // cells of a field that a later one knows besides
	mostSifts   = 12  // programs of a leaf
	cellsListed = 20  // cells of a field that programs of many leaves know of each
)

// sift finds what foresight earns on every leaf by programs of few cells: those that prices found by steps nearly want, and then,
// round by round, those that the duals of the last program want more than what it knows (sifting [bixby-1992]). When no cell is
// wanted more, the duals bound the program of all cells. It leaves a menu of the cells that the last program of a leaf knew or nearly
// wants.
func (s *season) sift(ctx context.Context, workers int) (*Foresight, error) {
	out := &Foresight{ByLeaf: make([]float64, len(s.leaves)), answers: make([]*answer, len(s.leaves))}
	bounds := make([]float64, len(s.leaves))
	lists := make([][]int32, len(s.leaves))
	pool := sync.Pool{New: func() any { return s.newPricing() }}
	// A leaf starts from no prices, not from those of the leaf before: what one leaf's program knows must not hang on another's weather.
	err := each(ctx, workers, len(s.leaves), func(k int) error {
		p, _ := pool.Get().(*pricing) //nolint:errcheck // only pricings go in
		defer pool.Put(p)
		v := s.foresight(s.leaves[k])
		p.lay(v, 0)
		clear(p.price)
		p.descend(siftSteps)
		var err error
		out.answers[k], out.ByLeaf[k], bounds[k], err = p.sift(ctx, v)
		if err == nil {
			lists[k] = p.list(out.answers[k].program)
			s.watch.step("seasons with foresight", 1, len(s.leaves))
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	s.menu, s.sight = &menu{season: s, sets: make([][]uint64, len(s.Nodes))}, out.answers
	for k, leaf := range s.leaves {
		out.USD += s.weight[leaf] * out.ByLeaf[k]
		out.BoundUSD += s.weight[leaf] * bounds[k]
		s.menu.add(out.answers[k].view, lists[k])
	}
	return out, nil
}

// sift solves the leaf that is laid out and priced. It returns the last program with its basis, what its plan earns, and what no plan
// for the leaf beats. Prices are left at the duals.
func (p *pricing) sift(ctx context.Context, v view) (*answer, float64, float64, error) {
	bound := p.bound()
	p.know(cellsAtOnce)
	program := p.buildOf(v, p.fresh(), free, wish{mean: 1}, p.Days, func(stage, cell int) bool { return p.known[stage*p.cells()+cell] })
	start := p.crash(program)
	for round := 1; ; round++ {
		sol := program.lp.Solve(ctx, linear.Options{Start: start})
		if err := solved(ctx, &sol); err != nil {
			return nil, 0, 0, err
		}
		p.takeDuals(program, sol.RowDual)
		bound = min(bound, p.bound())
		if bound-sol.Objective <= siftTol*math.Abs(sol.Objective) || round == mostSifts || !p.widen(program, p.fresh(), sol.RowDual) {
			program.sort()
			return &answer{program: program, basis: sol.Basis}, sol.Objective, bound, nil
		}
		start = sol.Basis.Extend(program.lp.Columns())
	}
}

// siftTol is the share of a leaf's value by which its bound may lie above it for its program to count as solved.
const siftTol = 1e-8

// reduced returns what an acre of cell c of a field nets at the prices of the last bound.
func (p *pricing) reduced(f, c int) float64 {
	slot, d := p.slot[c], p.dest[c]
	perBushel := p.TruckHoursPerBushel[f*p.dests+int(d)]*p.unit[p.trucksAt(slot)] + p.unit[p.doorAt(p.door[c])] + p.unit[p.totalAt(d)]
	return p.net[c] - p.unit[p.hoursAt(slot)]/p.Fields[f].AcresPerHour - p.Fields[f].BushelsPerAcre*perBushel
}

// place numbers cell c of a field over all stages.
func (p *pricing) place(f, c int) int {
	k, b := int(p.slot[c])/p.Blocks, int(p.slot[c])%p.Blocks
	return k*p.cells() + p.cell(b, f, int(p.dest[c]))
}

// know makes the cells of each field known that net most at the prices of the last bound.
func (p *pricing) know(most int) {
	p.forget()
	for f := range p.Fields {
		for _, c := range p.dearest(f, most, math.Inf(-1)) {
			p.known[p.place(f, c)] = true
		}
	}
}

// list returns the cells that a leaf's last program knows, and those of each field that net most at its duals, by place.
func (p *pricing) list(program *program) []int32 {
	p.know(cellsListed)
	p.mark(program)
	var places []int32
	for place, known := range p.known {
		if known {
			places = append(places, int32(place)) //nolint:gosec // an index
		}
	}
	return places
}

// mark makes the cells of a program's columns known.
func (p *pricing) mark(program *program) {
	for _, c := range program.columns {
		p.known[c.stage*p.cells()+p.cell(c.cut.Block, c.cut.Field, c.cut.Destination)] = true
	}
}

// forget makes no cell known.
func (p *pricing) forget() {
	if n := p.days * p.cells(); len(p.known) == n {
		clear(p.known)
	} else {
		p.known = make([]bool, n)
	}
}

// dearest returns up to so many cells of a field that are not known and net more than a limit, those that net most first.
func (p *pricing) dearest(f, most int, above float64) []int {
	p.found, p.worth = p.found[:0], p.worth[:0]
	for c := p.first[f]; c < p.first[f+1]; c++ {
		net := p.reduced(f, c)
		if net <= above || len(p.found) == most && net <= p.worth[most-1] || p.known[p.place(f, c)] {
			continue
		}
		if len(p.found) < most {
			p.found, p.worth = append(p.found, 0), append(p.worth, 0)
		}
		k := len(p.found) - 1
		for ; k > 0 && p.worth[k-1] < net; k-- {
			p.found[k], p.worth[k] = p.found[k-1], p.worth[k-1]
		}
		p.found[k], p.worth[k] = c, net
	}
	return p.found
}

// takeDuals makes the duals of the leaf's program the prices.
func (p *pricing) takeDuals(program *program, dual []float64) {
	p.eachRow(program, func(row, i int) {
		p.price[i] = 0
		if row >= 0 && p.capacity[i] > 0 && !math.IsInf(p.capacity[i], 1) {
			p.price[i] = max(0, dual[row]) * p.capacity[i]
		}
	})
}

// eachRow calls visit for every resource of the leaf with its row in the program; -1 where it has none.
func (p *pricing) eachRow(program *program, visit func(row, resource int)) {
	for k := range program.view {
		for b := range p.Blocks {
			slot := int32(k*p.Blocks + b) //nolint:gosec // an index
			visit(program.hours[k][b], p.hoursAt(slot))
			visit(program.trucks[k][b], p.trucksAt(slot))
		}
		for d := range p.dests {
			visit(program.dump[k][d], p.doorAt(int32(k*p.dests+d))) //nolint:gosec // an index
		}
	}
	for d := range p.dests {
		visit(program.total[0][d], p.totalAt(int32(d))) //nolint:gosec // an index
	}
}

// leastWanted is by how many dollars an acre a cell has to net more for a program to learn of it.
const leastWanted = 1e-7

// widen adds the cells to a program that net more at its duals than an acre of the field is worth to it, and says whether there are any.
func (p *pricing) widen(program *program, left state, dual []float64) bool {
	before := len(program.columns)
	for f := range p.Fields {
		worth := max(0, dual[program.field[0][f]]) + leastWanted
		for _, c := range p.dearest(f, cellsToAdd, worth) {
			p.known[p.place(f, c)] = true
			k, b := int(p.slot[c])/p.Blocks, int(p.slot[c])%p.Blocks
			block := &p.Nodes[program.view[k].node].Blocks[b]
			cut := Cut{Block: b, Field: f, Destination: int(p.dest[c]), Acres: min(left.acres[f], p.hours(block)*p.Fields[f].AcresPerHour)}
			if cut.Acres > 0 {
				p.addCut(program, k, p.net[c], cut, left, []int{0}, free, wish{mean: 1})
			}
		}
	}
	return len(program.columns) > before
}

// crash returns a basis to start the leaf's program from: resources that have a price and fields that are worth something are used
// up, and as many columns as there are of those are basic, those that lack least of the best of their fields.
func (p *pricing) crash(program *program) *linear.Basis {
	b := &linear.Basis{Columns: make([]linear.Standing, program.lp.Columns()), Rows: make([]linear.Standing, program.lp.Rows())}
	for i := range b.Rows {
		b.Rows[i] = linear.Basic
	}
	tight := 0
	use := func(row int, price float64) {
		if row >= 0 && price > 0 {
			b.Rows[row] = linear.AtLower
			tight++
		}
	}
	p.eachRow(program, func(row, i int) { use(row, p.price[i]) })
	for f := range p.Fields {
		use(program.field[0][f], p.top[f])
	}
	lack, order := make([]float64, len(program.columns)), make([]int, len(program.columns))
	for j, c := range program.columns {
		order[j] = j
		slot, door := int32(c.stage*p.Blocks+c.cut.Block), int32(c.stage*p.dests+c.cut.Destination) //nolint:gosec // indices
		f, d := c.cut.Field, c.cut.Destination
		perBushel := p.TruckHoursPerBushel[f*p.dests+d]*p.unit[p.trucksAt(slot)] + p.unit[p.doorAt(door)] + p.unit[p.totalAt(int32(d))] //nolint:gosec // an index
		net, _, _ := program.lp.Column(j)
		net -= p.unit[p.hoursAt(slot)]/p.Fields[f].AcresPerHour + p.Fields[f].BushelsPerAcre*perBushel
		lack[j] = (p.top[f] - net) * p.Fields[f].AcresPerHour
	}
	slices.SortStableFunc(order, func(x, y int) int { return cmp.Compare(lack[x], lack[y]) })
	for _, j := range order[:min(tight, len(order))] {
		b.Columns[j] = linear.Basic
	}
	return b
}
