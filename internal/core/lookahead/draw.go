package lookahead

import (
	"cmp"
	"slices"

	"threshday/internal/core/worth"
)

// draw picks members for each batch: all members in the order of how much of the fields can be cut in the days ahead, taken
// at even steps and dealt out in turn, so that every batch has its share of wet and dry seasons.
func draw(t *worth.Table, s spans, set Settings) [][]int {
	known := t.Members - set.Apart
	if known < 1 {
		panic("lookahead: no member to look at")
	}
	batches := max(1, min(set.Batches, known))
	per := max(1, min(set.Members, known/batches))
	if perMember := columnsOf(t, s); perMember > 0 && set.Columns > 0 {
		per = max(1, min(per, set.Columns/(perMember*batches)))
	}
	fit := make([]float64, known)
	order := make([]int, known)
	hours := running(t)
	for m := range order {
		order[m] = m
		fit[m] = fitAhead(t, s, m, hours)
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(fit[a], fit[b]) })
	out := make([][]int, batches)
	n := batches * per
	for i := range n {
		out[i%batches] = append(out[i%batches], order[(2*i+1)*known/(2*n)])
	}
	return out
}

// fitAhead returns the acre-hours that can be cut in the days looked at one by one.
func fitAhead(t *worth.Table, s spans, m int, hours []int) float64 {
	sum := 0.0
	for _, h := range hours {
		if s.of[h] >= singleDays {
			break
		}
		for f := range t.Fields {
			if t.Workable[t.At(m, h, f)] {
				sum += t.Fields[f].Acres
			}
		}
	}
	return sum
}

// columnsOf returns about how many columns a member has at most.
func columnsOf(t *worth.Table, s spans) int {
	n := 0
	for f := range t.Fields {
		ways, combines := 0, 0
		for d := range t.Destinations {
			if slices.ContainsFunc(t.Value[f*len(t.Destinations)+d], func(v float32) bool { return v == v }) {
				ways++
			}
		}
		for _, c := range t.Combines {
			if c.Rate[f] > 0 {
				combines++
			}
		}
		if t.Fields[f].Acres > 0 {
			n += ways * combines * len(s.days)
		}
	}
	return n
}
