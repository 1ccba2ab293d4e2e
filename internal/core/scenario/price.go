package scenario

import (
	"context"
	"math"
)

// How prices of the shared resources are looked for. [judgement]
const (
	mostSteps   = 150  // a leaf
	firstAim    = 0.04 // share by which a step aims under the least bound so far
	lastAim     = 1e-4 // smaller aims are not worth a step
	shrinkAim   = 0.6
	leastGain   = 1e-7 // share of the bound: a step that lowers it by less has stalled
	stallsToAim = 6    // steps without a lower bound before the aim shrinks
	inARow      = 25   // leaves that are priced one after the other, each starting from the prices of the one before
	newShare    = 0.3  // of a step's direction: what is asked for now; the rest is the direction before
)

// priced returns a bound on every plan without a linear program: for every leaf the shared resources are priced by
// subgradient steps with Polyak's length, and each field takes its best cell. Any prices of zero or more give a valid
// bound, so what is not found costs closeness, never validity.
func (s *season) priced(ctx context.Context, workers int) (float64, error) {
	bounds := make([]float64, len(s.leaves))
	rows := (len(s.leaves) + inARow - 1) / inARow
	err := each(ctx, workers, rows, func(k int) error {
		p := s.newPricing()
		for leaf := k * inARow; leaf < min((k+1)*inARow, len(s.leaves)); leaf++ {
			if err := ctx.Err(); err != nil {
				return err
			}
			v := s.foresight(s.leaves[leaf])
			p.lay(v, 0)
			p.descend(mostSteps)
			at := p.prices()
			bounds[leaf] = s.relaxed(v, &at)
			s.watch.step("prices of weathers", 1, len(s.leaves))
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	sum := 0.0
	for k, leaf := range s.leaves {
		sum += s.weight[leaf] * bounds[k]
	}
	return sum, nil
}

// A pricing holds the season of one leaf laid out for pricing, and the search over it. Prices are dollars for all of a resource,
// so that steps in hours, bushels and truck hours are alike. It is used again from leaf to leaf.
//
// Resources are numbered: combine hours by slot (day of the path and block), truck hours by slot, what destinations take by
// door (day and destination), and in all by destination.
type pricing struct {
	*season
	days int
	// Cells that earn something, field after field: first[f] to first[f+1] are those of field f.
	first []int
	net   []float64 // $/ac
	slot  []int32
	door  []int32
	dest  []int32

	capacity []float64 // by resource; +Inf: no limit
	price    []float64 // by resource: $ for all of it
	best     []float64
	unit     []float64 // by resource: $ for one of it
	used     []float64 // by resource: share of it that is asked for
	way      []float64 // by resource: direction of the last step
	top      []float64 // by field: $/ac in its best cell

	known []bool // by stage and cell: in the program that is being sifted
	found []int
	worth []float64
}

func (s *season) newPricing() *pricing {
	return &pricing{season: s, first: make([]int, len(s.Fields)+1), top: make([]float64, len(s.Fields))}
}

// The numbers of resources.
func (p *pricing) hoursAt(slot int32) int  { return int(slot) }
func (p *pricing) trucksAt(slot int32) int { return p.days*p.Blocks + int(slot) }
func (p *pricing) doorAt(door int32) int   { return 2*p.days*p.Blocks + int(door) }
func (p *pricing) totalAt(dest int32) int  { return 2*p.days*p.Blocks + p.days*p.dests + int(dest) }

// lay lays the path of a view out, of it the stages from a number on. Prices found before stay where the path is as long; else they begin at nothing.
func (p *pricing) lay(v view, from int) {
	if p.days != len(v) || p.capacity == nil {
		p.days = len(v)
		n := 2*p.days*p.Blocks + p.days*p.dests + p.dests
		p.capacity, p.price, p.best = make([]float64, n), make([]float64, n), make([]float64, n)
		p.unit, p.used, p.way = make([]float64, n), make([]float64, n), make([]float64, n)
	}
	for k := range v {
		node := &p.Nodes[v[k].node]
		for b := range p.Blocks {
			slot := int32(k*p.Blocks + b) //nolint:gosec // an index
			p.capacity[p.hoursAt(slot)], p.capacity[p.trucksAt(slot)] = 0, 0
			if block := &node.Blocks[b]; k >= from && workable(block) {
				p.capacity[p.hoursAt(slot)], p.capacity[p.trucksAt(slot)] = p.hours(block), p.TruckHours
			}
		}
		for d := range p.dests {
			p.capacity[p.doorAt(int32(k*p.dests+d))] = p.Destinations[d].DayBushels[node.Day] //nolint:gosec // an index
		}
	}
	for d := range p.dests {
		p.capacity[p.totalAt(int32(d))] = p.Destinations[d].TotalBushels //nolint:gosec // an index
	}
	for i, c := range p.capacity {
		if c <= 0 || math.IsInf(c, 1) {
			p.price[i] = 0 // nothing there to be paid for, or no end of it
		}
	}
	p.layCells(v)
}

// layCells lists what each field can do that earns something with resources that are there.
func (p *pricing) layCells(v view) {
	p.net, p.slot, p.door, p.dest = p.net[:0], p.slot[:0], p.door[:0], p.dest[:0]
	for f := range p.Fields {
		p.first[f] = len(p.net)
		for k := range v {
			for b := range p.Nodes[v[k].node].Blocks {
				block := &p.Nodes[v[k].node].Blocks[b]
				if !workable(block) {
					continue
				}
				for d := range p.dests {
					if net := block.Net[f*p.dests+d]; net > 0 && p.open(k, b, f, d) {
						p.net = append(p.net, net)
						p.slot = append(p.slot, int32(k*p.Blocks+b)) //nolint:gosec // an index
						p.door = append(p.door, int32(k*p.dests+d))  //nolint:gosec // an index
						p.dest = append(p.dest, int32(d))            //nolint:gosec // an index
					}
				}
			}
		}
	}
	p.first[len(p.Fields)] = len(p.net)
}

// open says that nothing a cell uses is shut.
func (p *pricing) open(k, b, f, d int) bool {
	slot, door := int32(k*p.Blocks+b), int32(k*p.dests+d)                                                              //nolint:gosec // indices
	return p.capacity[p.hoursAt(slot)] > 0 && p.capacity[p.doorAt(door)] > 0 && p.capacity[p.totalAt(int32(d))] > 0 && //nolint:gosec // an index
		(p.capacity[p.trucksAt(slot)] > 0 || p.TruckHoursPerBushel[f*p.dests+d] == 0)
}

// descend lowers the bound from the prices at hand by at most so many steps, and leaves the least that it found and its prices. A
// step goes along what is asked for too much or too little, averaged with the steps before as in the volume algorithm
// [barahona-anbil-2000], so that it does not swing from side to side.
func (p *pricing) descend(steps int) float64 {
	now := p.bound()
	least := now
	copy(p.best, p.price)
	fresh := 1.0
	for aim, stalls, step := firstAim, 0, 0; step < steps && aim > lastAim; step++ {
		steep := p.turn(fresh)
		if steep == 0 {
			break // every priced resource is used up, none is asked for too much: the bound is the best plan for the leaf
		}
		fresh = newShare
		length := (now - least*(1-aim)) / steep
		for i, way := range p.way {
			p.price[i] = max(0, p.price[i]+length*way)
		}
		if now = p.bound(); now < least*(1-leastGain) {
			least, stalls = now, 0
			copy(p.best, p.price)
			continue
		}
		if stalls++; stalls == stallsToAim {
			aim, stalls, fresh = aim*shrinkAim, 0, 1
			copy(p.price, p.best)
			now = p.bound()
		}
	}
	copy(p.price, p.best)
	return p.bound()
}

// turn sets the direction of the next step, of which so much is new, and returns its length squared.
func (p *pricing) turn(fresh float64) float64 {
	steep := 0.0
	for i, used := range p.used {
		way := fresh*(used-1) + (1-fresh)*p.way[i]
		if way < 0 && p.price[i] == 0 {
			way = 0
		}
		p.way[i] = way
		steep += way * way
	}
	return steep
}

// bound returns what the leaf earns at most at the prices at hand, and leaves in used what is asked for at them.
func (p *pricing) bound() float64 {
	sum := 0.0
	for i, price := range p.price {
		p.unit[i], p.used[i] = 0, 0
		if price > 0 {
			p.unit[i] = price / p.capacity[i]
			sum += price
		}
	}
	slots, doors := p.days*p.Blocks, p.days*p.dests
	hours, trucks := p.unit[:slots], p.unit[slots:2*slots]
	door, total := p.unit[2*slots:2*slots+doors], p.unit[2*slots+doors:]
	for f := range p.Fields {
		field := &p.Fields[f]
		cycle := p.TruckHoursPerBushel[f*p.dests : (f+1)*p.dests]
		perHour, top, at := 1/field.AcresPerHour, 0.0, -1
		for c := p.first[f]; c < p.first[f+1]; c++ {
			slot, d := p.slot[c], p.dest[c]
			perBushel := cycle[d]*trucks[slot] + door[p.door[c]] + total[d]
			if net := p.net[c] - hours[slot]*perHour - field.BushelsPerAcre*perBushel; net > top {
				top, at = net, c
			}
		}
		p.top[f] = top
		if at >= 0 {
			sum += field.Acres * top
			p.ask(field, cycle, at)
		}
	}
	return sum
}

// ask adds what all acres of a field use in a cell.
func (p *pricing) ask(field *Field, cycle []float64, c int) {
	bushels := field.Acres * field.BushelsPerAcre
	take := func(i int, much float64) {
		if much > 0 {
			p.used[i] += much / p.capacity[i]
		}
	}
	take(p.hoursAt(p.slot[c]), field.Acres/field.AcresPerHour)
	take(p.trucksAt(p.slot[c]), bushels*cycle[p.dest[c]])
	take(p.doorAt(p.door[c]), bushels)
	take(p.totalAt(p.dest[c]), bushels)
}

// shutPrice is dollars for one of a resource that is not there: dear enough that nothing asks for it, and nothing is fetched.
const shutPrice = 1e9

// prices returns the prices at hand for one of each resource.
func (p *pricing) prices() prices {
	out := newPrices(p.days, p.Blocks, p.dests)
	one := func(i int) float64 {
		if p.capacity[i] <= 0 {
			return shutPrice
		}
		return p.price[i] / p.capacity[i]
	}
	for k := range p.days {
		for b := range p.Blocks {
			slot := int32(k*p.Blocks + b) //nolint:gosec // an index
			out.hours[k][b], out.trucks[k][b] = one(p.hoursAt(slot)), one(p.trucksAt(slot))
		}
		for d := range p.dests {
			out.dump[k][d] = one(p.doorAt(int32(k*p.dests + d))) //nolint:gosec // an index
		}
	}
	for d := range p.dests {
		out.total[d] = one(p.totalAt(int32(d))) //nolint:gosec // an index
	}
	return out
}
