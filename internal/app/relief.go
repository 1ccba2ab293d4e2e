package app

import (
	"fmt"
	"slices"

	"threshday/internal/core/planner"
)

// Rules of what is said of acres left standing. [judgement]
const (
	leftWorthSaying = 0.02 // of a field's acres: less is not worth saying
	relieved        = 0.5  // of the acres left: one more of something relieves a field where it leaves no more than this
)

// whyLeft says how many acres of a field are left at the end, for want of what, and the least that would relieve it.
func (mo *morning) whyLeft(p *planner.Plan, f int) string {
	facts := &mo.build.Fields[f]
	if mo.noMachine(f) {
		return facts.Field.Name + ": " + mo.whyNoMachine(facts)
	}
	left := p.Left[f]
	say := fmt.Sprintf("%s: about %.0f of %.0f acres are not cut by the season's end, in the mean of all weathers",
		facts.Field.Name, left, mo.build.Table.Fields[f].Acres)
	if len(p.OneMore) == 0 {
		return say + "."
	}
	more, ok := leastRelief(p.OneMore, f, left)
	if !ok {
		return say + ", for want of days fit to cut it; one more truck, combine or bin would not halve that."
	}
	return fmt.Sprintf("%s, for want of %s: one more %s would leave about %.0f.", say, wantOf(more), mo.moreOf(more), more.Left[f])
}

// leastRelief returns what relieves a field and costs least to come by: room before a truck, a truck before a combine; of
// one kind what leaves the fewest acres.
func leastRelief(all []planner.More, f int, left float64) (planner.More, bool) {
	cost := func(m planner.More) int {
		switch {
		case m.Combine >= 0:
			return 2
		case m.Truck:
			return 1
		}
		return 0
	}
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b planner.More) int {
		if by := cost(a) - cost(b); by != 0 || a.Left[f] == b.Left[f] {
			return by
		}
		if a.Left[f] < b.Left[f] {
			return -1
		}
		return 1
	})
	for _, m := range all {
		if m.Left[f] <= relieved*left {
			return m, true
		}
	}
	return planner.More{}, false
}

func wantOf(m planner.More) string {
	switch {
	case m.Truck:
		return "trucks"
	case m.Combine >= 0:
		return "combine hours"
	default:
		return "room"
	}
}
