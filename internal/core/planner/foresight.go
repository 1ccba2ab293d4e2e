package planner

import (
	"math"

	"threshday/internal/core/lookahead"
)

// foresightMembers is how many members the bound of perfect foresight is worked out for: the mean over them is close
// enough to say how far the plan may be from it. [judgement]
const foresightMembers = 32

// A Foresight compares the plan with a bound on what perfect knowledge of the weather could earn.
type Foresight struct {
	Members []int     // those it was worked out for
	USD     []float64 // per such member: no plan whatever earns more, not even one that knows its future
}

// Gap returns how far the plan stays under the bound, as a share of the bound, in the mean over the members compared, and its
// standard error. Zero is perfect foresight; the truth may be nearer, since the bound itself is not reached.
func (f Foresight) Gap(plan []float64) (gap, se float64) {
	bound, _ := Mean(f.USD)
	if bound <= 0 {
		return 0, 0
	}
	diff := make([]float64, len(f.Members))
	for i, m := range f.Members {
		diff[i] = (f.USD[i] - plan[m]) / bound
	}
	return Mean(diff)
}

// foresight bounds the season of some members, spread evenly over all; of those apart where there are any.
func (e *evaluator) foresight() Foresight {
	from, of := 0, e.t.Members
	if e.set.Apart > 0 {
		from, of = e.t.Members-e.set.Apart, e.set.Apart
	}
	n := min(foresightMembers, of)
	f := Foresight{Members: make([]int, n), USD: make([]float64, n)}
	slot := make([]int, e.t.Members)
	for m := range slot {
		slot[m] = -1
	}
	for i := range n {
		f.Members[i] = from + i*of/n
		slot[f.Members[i]] = i
	}
	e.members(func(_ *state, m int) {
		if slot[m] >= 0 {
			f.USD[slot[m]] = e.relax(m).bound()
		}
	})
	return f
}

// An activity is cutting an acre of a field on a day with a combine for a destination: what it brings at most, and what it
// takes at least of each resource, as a share of what there is.
type activity struct {
	usd  float64
	rows [5]int32 // combine's day, trucks' day, site's day, destination, dryer's day; -1: none
	uses [5]float64
}

// A relaxation is one member's season with moves, the order of hours and the mixing of hours left out, so that its best is at
// least what any plan can earn: in a day an acre may be cut at its best hour, and takes as little as in its driest.
type relaxation struct {
	acres   []float64
	options [][]activity // per field
	rows    int
}

// relax lays out the member's activities. Rows are normalised to a capacity of one.
func (e *evaluator) relax(m int) *relaxation {
	t := e.t
	r := &relaxation{acres: make([]float64, len(t.Fields)), options: make([][]activity, len(t.Fields))}
	days := t.Days()
	live := make([]float64, days)
	runs := make([][]float64, len(t.Combines))
	for k := range runs {
		runs[k] = make([]float64, days)
	}
	for _, h := range e.live[m] {
		live[t.Day[h]]++
		for k, c := range t.Combines {
			if c.Runs[h] {
				runs[k][t.Day[h]]++
			}
		}
	}
	next := int32(0)
	index := func(n int) []int32 {
		out := make([]int32, n)
		for i := range out {
			out[i] = next
			next++
		}
		return out
	}
	combineRow, truckRow := index(len(t.Combines)*days), index(days)
	siteRow, destRow, dryerRow := index(len(t.Sites)*days), index(len(t.Destinations)), index(len(t.Destinations)*days)
	r.rows = int(next)

	for f, row := range t.Fields {
		r.acres[f] = row.Acres
		if row.Acres <= leastAcres {
			continue
		}
		for _, c := range lookahead.BestOfDays(t, m, f, e.live[m]) {
			d, day := c.Destination, c.Span
			dest, site := &t.Destinations[d], &t.Sites[t.Destinations[d].Site]
			for k, combine := range t.Combines {
				if combine.Rate[f] <= 0 || runs[k][day] == 0 || c.USD <= 0 {
					continue
				}
				a := activity{usd: c.USD, rows: [5]int32{-1, -1, -1, -1, -1}}
				put := func(i int, row int32, use, capacity float64) {
					if use > 0 && !math.IsInf(capacity, 1) {
						a.rows[i], a.uses[i] = row, use/max(capacity, 1e-9)
					}
				}
				put(0, combineRow[k*days+day], 1/combine.Rate[f], runs[k][day])
				put(1, truckRow[day], c.Bushels*row.TruckBu[d], t.TruckHours*live[day])
				put(2, siteRow[dest.Site*days+day], c.Bushels, min(site.PerDay, site.PerHour*live[day]))
				put(3, destRow[d], c.Bushels, dest.Room)
				if dest.Points != nil {
					put(4, dryerRow[d*days+day], c.Points, dest.PointDay)
				}
				r.options[f] = append(r.options[f], a)
			}
		}
	}
	return r
}

// Steps of the subgradient search: the target lies est under the best bound, est shrinks after stalls.
const (
	boundSteps    = 120
	firstEst      = 0.04
	shrinkEst     = 0.6
	stallsAllowed = 6
	leastEst      = 1e-4
)

// bound returns the least value found of the Lagrangian dual: for any prices of the resources, what they cost plus what each
// acre still brings at them is at least what any plan earns. Polyak's step.
func (r *relaxation) bound() float64 {
	price := make([]float64, r.rows)
	best := make([]float64, r.rows)
	slope := make([]float64, r.rows)
	least := math.Inf(1)
	est, stalls := firstEst, 0
	for range boundSteps {
		value := r.dual(price, slope)
		if value < least*(1-1e-6) {
			least, stalls = value, 0
			copy(best, price)
		} else if stalls++; stalls >= stallsAllowed {
			est, stalls = est*shrinkEst, 0
			copy(price, best)
			if est < leastEst {
				break
			}
			value = r.dual(price, slope)
		}
		norm := 0.0
		for i, g := range slope {
			if price[i] > 0 || g < 0 {
				norm += g * g
			}
		}
		if norm < 1e-12 {
			break
		}
		step := (value - least*(1-est)) / norm
		for i, g := range slope {
			price[i] = max(0, price[i]-step*g)
		}
	}
	return least
}

// dual returns the dual value at prices and its slope there.
func (r *relaxation) dual(price, slope []float64) float64 {
	value := 0.0
	for i, p := range price {
		value += p
		slope[i] = 1
	}
	for f, acres := range r.acres {
		top, at := 0.0, -1
		for j := range r.options[f] {
			a := &r.options[f][j]
			v := a.usd
			for i, row := range a.rows {
				if row >= 0 {
					v -= price[row] * a.uses[i]
				}
			}
			if v > top {
				top, at = v, j
			}
		}
		if at < 0 {
			continue
		}
		value += acres * top
		for i, row := range r.options[f][at].rows {
			if row >= 0 {
				slope[row] -= acres * r.options[f][at].uses[i]
			}
		}
	}
	return value
}
