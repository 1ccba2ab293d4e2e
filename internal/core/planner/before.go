package planner

import (
	"context"
	"math"
	"slices"

	"threshday/internal/core/worth"
)

// ChangeUSD is what an order for today must earn more, for each combine's turn at a field that it changes, before it takes the
// place of one that was given out earlier that day: calls, a truck on the wrong road, a head on its trailer. [judgement]
const ChangeUSD = 50

// An Against compares today's order of work with that of a plan made earlier, for what is left of the day.
type Against struct {
	Was, Is [][]int   // per combine: fields in order, then and now
	Changed int       // turns at a field that differ, over all combines, as Changes counts them
	USD     []float64 // per member: what the season earns more than with the earlier order; nil: it was kept
}

// keepOrder returns today's choices with the earlier plan's order where no other is sure, by twice its standard error, to
// earn more than the price of the changes. Orders are compared as orders: each led through all weathers, with the rule as what follows.
func (e *evaluator) keepOrder(ctx context.Context, rule Rule, bend bends, r *record) (bends, *record, []float64, error) {
	ref := e.reference(rule, bend)
	fresh := e.sequence(rule, bend, ref)
	if changes(e.set.Before, fresh) == 0 {
		return bend, r, nil, nil
	}
	all := e.every(1)
	look := func(b bends) ordered {
		return ordered{b, e.run(rule, b, all), changes(e.set.Before, e.sequence(rule, b, ref))}
	}
	kept := e.earlier(bend, look)
	now := kept
	whole := look(bends{until: bend.until, turn: bend.turn, bar: bend.bar, lead: fresh})
	for range len(fresh) + 1 {
		if err := ctx.Err(); err != nil {
			return bends{}, nil, nil, err
		}
		options := []ordered{whole}
		for k := range fresh {
			options = append(options, look(now.bend.led(len(fresh), k, fresh[k], bend.bars(k))))
		}
		best, most := -1, 0.0
		for i, o := range options {
			gain, se := Mean(difference(o.usd, now.usd))
			price := e.set.ChangeUSD * float64(o.changed-now.changed)
			if net := gain - price; net > most && net >= 2*se {
				best, most = i, net
			}
		}
		if best < 0 {
			break
		}
		if now = options[best]; best == 0 {
			break
		}
	}
	if now.changed > 0 && now.same(whole) {
		return bend, r, difference(now.usd, kept.usd), nil
	}
	r = e.record(rule, now.bend)
	if now.same(kept) {
		return now.bend, r, nil, nil
	}
	return now.bend, r, difference(now.usd, kept.usd), nil
}

// An ordered is a set of today's choices with what it brings, and how many turns differ from the earlier plan's.
type ordered struct {
	bend bends
	trial
	changed int
}

func (o ordered) same(other ordered) bool { return &o.usd[0] == &other.usd[0] }

// earlier returns the way to keep the earlier order that changes least, the best of those: what was held since then held or
// not, the combines free for other fields when they are through or not.
func (e *evaluator) earlier(bend bends, look func(bends) ordered) ordered {
	lead := make([][]int, len(e.t.Combines))
	copy(lead, e.set.Before)
	closed := make([][]int, len(lead))
	for k := range closed {
		closed[k] = e.others(lead[k])
	}
	best, least, most := ordered{}, math.MaxInt, 0.0
	for _, b := range []bends{{lead: lead}, {until: e.free(bend.until, lead), lead: lead}, {lead: lead, bar: closed}} {
		o := look(b)
		if mean, _ := Mean(o.usd); o.changed < least || o.changed == least && mean > most {
			best, least, most = o, o.changed, mean
		}
	}
	return best
}

// free returns until without the fields that a lead names.
func (e *evaluator) free(until []int, lead [][]int) []int {
	out := slices.Clone(until)
	for f := range out {
		if slices.ContainsFunc(lead, func(list []int) bool { return slices.Contains(list, f) }) {
			out[f] = 0
		}
	}
	return out
}

// changes counts the turns in which an order differs from the one before it: those left out, put in between or in another order.
// What a combine does when it is through with the earlier order is no change.
func changes(was, is [][]int) int {
	n := 0
	for k, a := range was {
		n += Changes(a, of(is, k))
	}
	return n
}

// Changes counts the turns of one combine that differ.
func Changes(was, is []int) int {
	least := len(was)
	for j := range is {
		least = min(least, max(len(was), j+1)-common(was, is[:j+1]))
	}
	return least
}

// common returns the length of the longest sequence that is in both lists in order.
func common(a, b []int) int {
	row := make([]int, len(b)+1)
	for _, x := range a {
		diagonal := 0
		for j, y := range b {
			up := row[j+1]
			if x == y {
				row[j+1] = diagonal + 1
			} else {
				row[j+1] = max(up, row[j])
			}
			diagonal = up
		}
	}
	return row[len(b)]
}

// against says what became of the earlier order.
func (e *evaluator) against(is [][]int, usd []float64) *Against {
	return &Against{Was: e.set.Before, Is: is, Changed: changes(e.set.Before, is), USD: usd}
}

// standing returns the orders without the fields that nothing is left of.
func standing(t *worth.Table, orders [][]int) [][]int {
	out := slices.Clone(orders)
	for k := range out {
		out[k] = slices.DeleteFunc(slices.Clone(out[k]), func(f int) bool { return t.Fields[f].Acres <= leastAcres })
	}
	return out
}
