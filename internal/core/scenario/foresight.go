package scenario

import (
	"context"
	"math"

	"threshday/internal/core/linear"
)

// Foresight is what a season is worth to someone who knows the weather to come, and what follows from that.
type Foresight struct {
	USD      float64 // mean over the leaves of the best plan for each
	BoundUSD float64 // no plan earns more: see [season.relaxed]
	ByLeaf   []float64
	prices   []prices // by leaf
	answers  []*answer
}

// Prices of the shared resources along the days to one leaf; nil where a resource cannot bind.
type prices struct {
	hours, trucks [][]float64 // by day of the path, then block: $ per speed-hour, $ per truck hour
	dump          [][]float64 // by day, then destination: $ per bushel
	total         []float64   // by destination: $ per bushel
}

// foresee solves the season of every leaf on its own.
func (s *season) foresee(ctx context.Context, workers int) (*Foresight, error) {
	out := &Foresight{ByLeaf: make([]float64, len(s.leaves)), prices: make([]prices, len(s.leaves)), answers: make([]*answer, len(s.leaves))}
	bounds := make([]float64, len(s.leaves))
	err := each(ctx, workers, len(s.leaves), func(k int) error {
		defer s.watch.step("seasons with foresight", 1, len(s.leaves))
		v := s.foresight(s.leaves[k])
		p := s.build(v, s.fresh(), free)
		sol := p.lp.Solve(ctx, linear.Options{})
		if err := solved(ctx, &sol); err != nil {
			return err
		}
		out.ByLeaf[k] = sol.Objective
		out.prices[k] = s.pricesOf(p, sol.RowDual)
		out.answers[k] = &answer{program: p, basis: sol.Basis}
		bounds[k] = s.relaxed(v, &out.prices[k])
		return nil
	})
	if err != nil {
		return nil, err
	}
	for k, leaf := range s.leaves {
		out.USD += s.weight[leaf] * out.ByLeaf[k]
		out.BoundUSD += s.weight[leaf] * bounds[k]
	}
	return out, nil
}

// pricesOf reads the prices of the shared rows from the duals of a path's program.
func (s *season) pricesOf(p *program, dual []float64) prices {
	out := newPrices(len(p.view), s.Blocks, s.dests)
	read := func(to []float64, rows []int) {
		for k, row := range rows {
			if row >= 0 {
				to[k] = max(0, dual[row])
			}
		}
	}
	for k := range p.view {
		read(out.hours[k], p.hours[k])
		read(out.trucks[k], p.trucks[k])
		read(out.dump[k], p.dump[k])
	}
	read(out.total, p.total[0])
	return out
}

func newPrices(days, blocks, dests int) prices {
	grid := func(width int) [][]float64 {
		g := make([][]float64, days)
		for k := range g {
			g[k] = make([]float64, width)
		}
		return g
	}
	return prices{hours: grid(blocks), trucks: grid(blocks), dump: grid(dests), total: make([]float64, dests)}
}

// relaxed returns what the path of a leaf can earn at most when the shared resources are not limited but
// charged at the given prices, plus what all of them would fetch: an upper bound on the best plan for any
// prices of zero or more (Lagrangian relaxation). Each field then takes its best cell for all its acres.
func (s *season) relaxed(v view, at *prices) float64 {
	sum := 0.0
	for d, p := range at.total {
		if p > 0 {
			sum += p * s.Destinations[d].TotalBushels
		}
	}
	best := make([]float64, len(s.Fields)) // $ per acre
	for k := range v {
		node := &s.Nodes[v[k].node]
		for d, p := range at.dump[k] {
			sum += p * s.Destinations[d].DayBushels[node.Day]
		}
		for b := range node.Blocks {
			block := &node.Blocks[b]
			if !workable(block) {
				continue
			}
			sum += at.hours[k][b]*s.hours(block) + at.trucks[k][b]*s.TruckHours
			for f := range s.Fields {
				for d := range s.dests {
					best[f] = max(best[f], s.margin(k, b, f, d, block, at))
				}
			}
		}
	}
	for f, field := range s.Fields {
		sum += field.Acres * best[f]
	}
	return sum
}

// margin returns what an acre of a cell nets after the resources it uses are charged; -Inf where it cannot go.
func (s *season) margin(k, b, f, d int, block *Block, at *prices) float64 {
	net := block.Net[f*s.dests+d]
	if math.IsInf(net, -1) {
		return net
	}
	field := &s.Fields[f]
	perBushel := s.TruckHoursPerBushel[f*s.dests+d]*at.trucks[k][b] + at.dump[k][d] + at.total[d]
	return net - at.hours[k][b]/field.AcresPerHour - field.BushelsPerAcre*perBushel
}
