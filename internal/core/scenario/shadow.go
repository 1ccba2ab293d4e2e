package scenario

import (
	"cmp"
	"slices"
)

// Shadow prices say what one more of what limits the season is worth, $: the duals of the limits. What is added counts at the margin;
// a whole one more brings at most as much. They are those of the program of the whole tree where it was solved, else of the rule's
// program for today, whose later days know the leaf.
type Shadow struct {
	Whole  bool // of the program of the whole tree
	Leaves int  // that the program looks at

	HourToday      float64 // per combine hour (of a combine of speed 1) in the block of today where it brings most
	HourEachDay    Spread  // per combine hour on every day, each in its best block
	TruckToday     float64 // per truck hour, likewise
	TruckEachDay   Spread
	ByDestinations []Room
}

// A Room is what one more bushel of room at a destination is worth, $/bu.
type Room struct {
	Today   float64 // of what it takes today
	EachDay Spread  // of what it takes on every day
	Total   Spread  // of what it takes in all
}

// A Spread is a mean over leaves, by their weights, and between what the leaves lie but for a tenth at either end.
type Spread struct{ Mean, P10, P90 float64 }

// shadow reads the prices from a program from the root on.
func (s *season) shadow(q *question) *Shadow {
	p := q.program
	out := &Shadow{Leaves: len(p.leaf), ByDestinations: make([]Room, s.dests)}
	price := func(k, row int) float64 {
		if row < 0 || p.view[k].weight == 0 {
			return 0
		}
		return max(0, q.base.RowDual[row]) / p.view[k].weight
	}
	dearest := func(k int, rows []int) float64 {
		most := 0.0
		for _, row := range rows {
			most = max(most, price(k, row))
		}
		return most
	}
	weights := make([]float64, len(p.end))
	for w, end := range p.end {
		weights[w] = p.view[end].weight
	}
	// over adds what a stage's row is worth along each future.
	over := func(at func(k int) float64) Spread {
		sums := make([]float64, len(p.end))
		for w, k := range p.end {
			for ; k >= 0; k = p.view[k].parent {
				sums[w] += at(k)
			}
		}
		return spreadOf(sums, weights)
	}
	out.HourToday, out.TruckToday = dearest(0, p.hours[0]), dearest(0, p.trucks[0])
	out.HourEachDay = over(func(k int) float64 { return dearest(k, p.hours[k]) })
	out.TruckEachDay = over(func(k int) float64 { return dearest(k, p.trucks[k]) })
	for d := range out.ByDestinations {
		room := Room{Today: price(0, p.dump[0][d])}
		room.EachDay = over(func(k int) float64 { return price(k, p.dump[k][d]) })
		totals := make([]float64, len(p.end))
		for w, end := range p.end {
			totals[w] = price(end, p.total[w][d])
		}
		room.Total = spreadOf(totals, weights)
		out.ByDestinations[d] = room
	}
	return out
}

// spreadOf returns mean and range of weighted values; weights are zero or more, not all zero.
func spreadOf(values, weights []float64) Spread {
	order := make([]int, len(values))
	all := 0.0
	var out Spread
	for k := range order {
		order[k] = k
		all += weights[k]
		out.Mean += weights[k] * values[k]
	}
	out.Mean /= all
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(values[a], values[b]) })
	quantile := func(share float64) float64 {
		passed := 0.0
		for _, k := range order {
			if passed += weights[k]; passed >= share*all-1e-12 {
				return values[k]
			}
		}
		return values[order[len(order)-1]]
	}
	out.P10, out.P90 = quantile(0.1), quantile(0.9)
	return out
}
