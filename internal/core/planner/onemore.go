package planner

import (
	"slices"

	"threshday/internal/core/worth"
)

// A More is what one more of something would earn over the season, under the same rule and today's choices on the same
// weathers. A plan made for it could earn more still.
type More struct {
	Truck   bool
	Combine int       // another like this one; -1: not a combine
	Room    int       // a thousand bushels more at this destination; -1: not a room
	USD     []float64 // per member: the gain
	Left    []float64 // per field: mean acres still left at the end
}

// roomMore is how much more room is tried, bushels: about a truckload.
const roomMore = 1000

// oneMore values another truck, another combine of each kind, and room where what there is gets used up.
func (e *evaluator) oneMore(rule Rule, bend bends, base []float64) []More {
	t := e.t
	var out []More
	try := func(m More, changed worth.Table) {
		other := *e
		other.t, other.pool = &changed, make([]*state, t.Members)
		usd, left := make([]float64, t.Members), make([][]float64, t.Members)
		other.members(func(s *state, i int) {
			s.fold = e.exp[0].fold[i]
			usd[i] = other.season(s, i, rule, bend, nil) - base[i]
			left[i] = slices.Clone(s.acres)
		})
		m.USD, m.Left = usd, make([]float64, len(t.Fields))
		for _, acres := range left {
			for f, x := range acres {
				m.Left[f] += x / float64(t.Members)
			}
		}
		out = append(out, m)
	}
	more := *t
	more.TruckHours++
	try(More{Truck: true, Combine: -1, Room: -1}, more)
	for k := range t.Combines {
		more := *t
		more.Combines = append(slices.Clone(t.Combines), t.Combines[k])
		more.MoveHours = append(slices.Clone(t.MoveHours), t.MoveHours[k])
		try(More{Combine: k, Room: -1}, more)
	}
	for d := range t.Destinations {
		if t.Destinations[d].Room > 1e9 || t.Destinations[d].Contract != "" {
			continue
		}
		more := *t
		more.Destinations = slices.Clone(t.Destinations)
		more.Destinations[d].Room += roomMore
		try(More{Combine: -1, Room: d}, more)
	}
	return out
}
