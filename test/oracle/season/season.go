// Package season draws harvest seasons for tests and benchmarks of the planner.
//
// Nothing in it is farm data: the shapes are those of a season (wet and dry spells with a wetter or drier
// year behind them, drying toward an equilibrium, rewetting by rain, losses that grow with ripe days and wet
// spells, mornings cut short by dew, an elevator closed one weekday, a premium that ends, a bin, a contract),
// the figures are chosen to make the choices hard. [judgement]
package season

import (
	"math"
	"math/rand/v2"

	"threshday/internal/core/scenario"
)

// A Size says how large a season to draw.
type Size struct {
	Fields, Days, Blocks, Destinations, Leaves int
	Fan                                        bool // every leaf parts from the others on the second day
}

// Draw returns a season tree. Equal arguments give equal trees.
func Draw(size Size, seed uint64) *scenario.Tree {
	g := &drawing{Size: size, seed: seed, rng: stream(seed, 1)}
	g.tree = &scenario.Tree{Days: size.Days, Blocks: size.Blocks, BlockHours: 10 / float64(size.Blocks)}
	g.farm()
	g.outlets()
	start := sky{wetness: 0.3 + 0.3*g.rng.Float64(), crop: make([]crop, size.Fields)}
	for f := range start.crop {
		start.crop[f] = crop{moisture: 15 + 7*g.rng.Float64()}
	}
	g.grow(0, -1, 1, size.Leaves, start)
	g.scaleAcres()
	g.limit()
	return g.tree
}

// stream returns the k-th stream of numbers of a seed.
func stream(seed, k uint64) *rand.Rand {
	return rand.New(rand.NewPCG(seed, k)) //nolint:gosec // test seasons, not secrets
}

// A drawing is a season half drawn.
type drawing struct {
	Size
	seed   uint64
	rng    *rand.Rand
	tree   *scenario.Tree
	fields []trait
	prices []outlet
}

// A trait is what makes one field's crop unlike another's.
type trait struct {
	price     float64 // $/bu at the best outlet
	drying    float64 // share of the way to equilibrium in a dry day
	fragile   float64 // share lost per ripe day
	machine   float64 // $/ac
	openAbove float64 // moisture above which it cannot be threshed, %
}

// An outlet is a destination's price rule.
type outlet struct {
	basis     float64 // $/bu on the field's price
	limit     float64 // moisture above which a discount runs, %
	discount  float64 // $/bu and point
	reject    float64 // moisture above which it is not accepted, %
	firstDay  int
	lastDay   int // of the premium; the price stands outside, without basis
	closedDay int // of seven; -1 never
	freight   []float64
}

// A sky is the state of weather and crop along one branch.
type sky struct {
	wetness float64 // chance of a wet day to come
	wet     bool
	crop    []crop
}

// A crop is the state of one field along one branch.
type crop struct {
	moisture float64 // %
	ripe     float64 // days under 16 %
	lost     float64 // share of the yield
}

func (g *drawing) between(lo, hi float64) float64 { return lo + (hi-lo)*g.rng.Float64() }

func (g *drawing) farm() {
	combines := 1
	if g.Fields > 12 {
		combines = 2
	}
	for range combines {
		g.tree.Speeds = append(g.tree.Speeds, g.between(0.8, 1.2))
	}
	for range g.Fields {
		bean := g.rng.IntN(2) == 0
		field := scenario.Field{Acres: g.between(40, 160), BushelsPerAcre: g.between(150, 220), AcresPerHour: g.between(7, 11)}
		kind := trait{price: g.between(4, 4.8), drying: g.between(0.08, 0.2), fragile: g.between(0.001, 0.01), machine: g.between(20, 35), openAbove: 28}
		if bean {
			field.BushelsPerAcre, field.AcresPerHour = g.between(40, 70), g.between(9, 14)
			kind.price, kind.fragile, kind.openAbove = g.between(9.5, 11.5), g.between(0.003, 0.025), 19
		}
		g.tree.Fields = append(g.tree.Fields, field)
		g.fields = append(g.fields, kind)
	}
}

func (g *drawing) outlets() {
	for d := range g.Destinations {
		o := outlet{limit: g.between(13, 15), discount: g.between(0.05, 0.25), reject: g.between(17, 24), firstDay: 0, lastDay: g.Days, closedDay: g.rng.IntN(7)}
		o.basis = g.between(-0.5, 0)
		switch d % 3 {
		case 1: // a premium that ends
			o.basis, o.lastDay = g.between(0.1, 0.5), 1+g.rng.IntN(g.Days)
		case 2: // an own bin takes it wetter, never closes
			o.reject, o.closedDay, o.discount = 30, -1, g.between(0.04, 0.1)
		}
		for range g.Fields {
			o.freight = append(o.freight, g.between(0.05, 0.35))
		}
		g.prices = append(g.prices, o)
	}
	for range g.Fields {
		for d := range g.Destinations {
			hours := g.between(0.0006, 0.0022)
			if d%3 == 2 {
				hours /= 2
			}
			g.tree.TruckHoursPerBushel = append(g.tree.TruckHoursPerBushel, hours)
		}
	}
}

// grow adds the node of a day and, below it, as many branches as it takes to end in the given leaves.
func (g *drawing) grow(day, parent int, probability float64, leaves int, s sky) {
	n := len(g.tree.Nodes)
	rng := stream(g.seed, uint64(n)+2)
	g.tree.Nodes = append(g.tree.Nodes, g.node(day, parent, probability, s, rng))
	if day == g.Days-1 {
		return
	}
	counts := g.split(day, leaves, rng)
	left, share := probability, 1.0
	for k, count := range counts {
		p := left
		if k < len(counts)-1 {
			// Branches weigh like their leaves, give or take.
			cut := float64(count) / float64(leaves) * (0.7 + 0.6*rng.Float64()) / share
			cut = min(cut, 0.9)
			p = left * cut
			share -= float64(count) / float64(leaves)
		}
		left -= p
		// Neighbouring branches part into a wet and a dry day.
		wet := rng.Float64() < s.wetness
		if len(counts) > 1 {
			wet = k%2 == 1
		}
		g.grow(day+1, n, p, count, s.next(wet, g.fields, rng))
	}
}

// split shares the leaves of a node out to its children.
func (g *drawing) split(day, leaves int, rng *rand.Rand) []int {
	rest := g.Days - 1 - day
	switch {
	case leaves == 1:
		return []int{1}
	case g.Fan || rest == 1:
		counts := make([]int, leaves)
		for k := range counts {
			counts[k] = 1
		}
		return counts
	case float64(leaves) <= math.Pow(2, float64(rest-1)) && rng.Float64() < 0.15:
		return []int{leaves} // nothing is learnt this day
	}
	return []int{(leaves + 1) / 2, leaves / 2}
}

// next returns the sky of the day after, wet or dry.
func (s *sky) next(wet bool, fields []trait, rng *rand.Rand) sky {
	out := sky{wet: wet, crop: make([]crop, len(s.crop))}
	if wet {
		out.wetness = min(0.8, s.wetness+0.25)
	} else {
		out.wetness = max(0.1, s.wetness-0.1)
	}
	rain := 1 + 4*rng.Float64()
	for f, c := range s.crop {
		if wet {
			c.moisture = min(30, c.moisture+rain*0.6)
		} else {
			c.moisture += (11.5 - c.moisture) * fields[f].drying
		}
		if c.moisture < 16 {
			c.ripe++
		}
		hazard := fields[f].fragile * (c.ripe / 4)
		if wet {
			hazard += fields[f].fragile * c.ripe / 2
		}
		c.lost = 1 - (1-c.lost)*math.Exp(-hazard)
		out.crop[f] = c
	}
	return out
}

// node returns the tables of one day.
func (g *drawing) node(day, parent int, probability float64, s sky, rng *rand.Rand) scenario.Node {
	n := scenario.Node{Day: day, Parent: parent, Probability: probability, Blocks: make([]scenario.Block, g.Blocks)}
	for b := range n.Blocks {
		share := 0.6 + 0.4*rng.Float64()
		if b == 0 {
			share -= 0.3 * rng.Float64() // dew
		}
		if s.wet {
			if rng.Float64() < 0.7 {
				continue
			}
			share *= 0.4
		}
		n.Blocks[b] = scenario.Block{Share: share, Net: g.nets(day, b, s)}
	}
	return n
}

func (g *drawing) nets(day, block int, s sky) []float64 {
	net := make([]float64, 0, g.Fields*g.Destinations)
	for f, kind := range g.fields {
		c := s.crop[f]
		moisture := c.moisture + 0.5*float64(g.Blocks-1-2*block)/float64(g.Blocks)
		for _, o := range g.prices {
			if moisture > o.reject || moisture > kind.openAbove || o.closedDay >= 0 && day%7 == o.closedDay {
				net = append(net, scenario.NotAccepted())
				continue
			}
			price := kind.price - o.freight[f]
			if o.basis < 0 || day >= o.firstDay && day <= o.lastDay {
				price += o.basis
			}
			price -= o.discount * max(0, math.Ceil(2*(moisture-o.limit))/2)
			bushels := g.tree.Fields[f].BushelsPerAcre * (1 - c.lost)
			shrink := max(0, moisture-o.limit) * 0.0118
			net = append(net, bushels*price*(1-shrink)-kind.machine)
		}
	}
	return net
}

// scaleAcres makes the hours needed 0.95 of those expected to be fit.
func (g *drawing) scaleAcres() {
	fit, speed := 0.0, 0.0
	for _, v := range g.tree.Speeds {
		speed += v
	}
	for _, n := range g.tree.Nodes {
		for _, b := range n.Blocks {
			fit += n.Probability * b.Share * g.tree.BlockHours * speed
		}
	}
	needed := 0.0
	for _, f := range g.tree.Fields {
		needed += f.Acres / f.AcresPerHour
	}
	for f := range g.tree.Fields {
		g.tree.Fields[f].Acres *= 0.95 * fit / needed
	}
}

// limit sets what trucks and destinations can take from what the combines can cut.
func (g *drawing) limit() {
	crop, daily := 0.0, 0.0
	for _, f := range g.tree.Fields {
		crop += f.Acres * f.BushelsPerAcre
	}
	daily = 2 * crop / float64(g.Days)
	g.tree.TruckHours = daily * g.between(0.001, 0.002) / float64(g.Blocks)
	for d := range g.Destinations {
		dest := scenario.Destination{TotalBushels: math.Inf(1)}
		share := g.between(0.5, 1.2)
		switch d % 6 {
		case 2:
			dest.TotalBushels = 0.25 * crop // a bin
		case 4:
			dest.TotalBushels = 0.12 * crop // a contract
		}
		for range g.Days {
			dest.DayBushels = append(dest.DayBushels, daily*share)
		}
		g.tree.Destinations = append(g.tree.Destinations, dest)
	}
}

// Scramble replaces the tables of a tree by numbers without any order: half the blocks are unworkable, a
// quarter of the cells not accepted, some lose money.
func Scramble(t *scenario.Tree, seed uint64) {
	rng := stream(seed, 0)
	for n := range t.Nodes {
		for b := range t.Nodes[n].Blocks {
			if rng.IntN(2) == 0 {
				t.Nodes[n].Blocks[b] = scenario.Block{}
				continue
			}
			block := scenario.Block{Share: rng.Float64()}
			for range len(t.Fields) * len(t.Destinations) {
				net := 450*rng.Float64()*rng.Float64() - 20
				if rng.IntN(4) == 0 {
					net = scenario.NotAccepted()
				}
				block.Net = append(block.Net, net)
			}
			t.Nodes[n].Blocks[b] = block
		}
	}
}
