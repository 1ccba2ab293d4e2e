package planner

import (
	"cmp"
	"context"
	"slices"
)

// StandingUSD is what an hour is taken to cost in which a combine stands or drives between its first and its last cut of
// the day: a driver's hour and the fuel of an idling engine. It is weighed in today's order of work, and is in no
// dollars told. [judgement]
const StandingUSD = 40

// Bounds of the search for today's order of work. [judgement]
const (
	mostReorders = 6    // changes kept
	glance       = 4    // the first look is at every so many-th member
	fullLooks    = 10   // changes of a round that are tried on all members
	mostInserts  = 8    // fields tried out of their turn
	hourApart    = 0.1  // hours in the mean by which an order may send combines apart for longer
	hourSaved    = 0.25 // hours in the mean that a change must save where it is not sure to earn more
	acresKept    = 0.95 // share of the day's acres that it must still cut then: a fit evening is not given up to save a move
)

// A trial is what today's choices bring, by member: dollars of the season, hours lost today between cuts, and hours today for
// which fields are cut that no cart is at, and acres cut today.
type trial struct{ usd, lost, apart, acres []float64 }

// worth returns the dollars with the hours lost today paid for.
func (t trial) worth() []float64 {
	out := slices.Clone(t.usd)
	for i, h := range t.lost {
		out[i] -= StandingUSD * h
	}
	return out
}

// orderToday improves the order in which combines take today's fields: a field left out, put in, or taken in another
// order, fields changed between two combines, a combine held where it is. Each is tried on all weathers with the rule as what
// follows. It is kept where it is sure to earn more, or where it saves hours worth more than what it costs and cuts as much.
func (e *evaluator) orderToday(ctx context.Context, rule Rule, bend bends, r *record) (bends, *record, error) {
	all, few := e.every(1), e.every(glance)
	ref := e.reference(rule, bend)
	base := trial{e.seen(r.usd), e.seen(r.lost), e.seen(r.apart), e.seen(r.acres())}
	changed := false
	for range mostReorders {
		options := e.reorders(bend, e.sequence(rule, bend, ref), r.today)
		options = e.promising(rule, options, base, few)
		best, gain := -1, 0.0
		var found trial
		for i, o := range options {
			if err := ctx.Err(); err != nil {
				return bends{}, nil, err
			}
			got := e.run(rule, o, all)
			if g, ok := better(got, base); ok && g > gain {
				best, gain, found = i, g, got
			}
		}
		if best < 0 {
			break
		}
		bend, base, changed = options[best], found, true
	}
	if changed {
		r = e.record(rule, bend)
	}
	return bend, r, nil
}

// better returns what a is worth more than b, and whether it is to be preferred. Combines are sent apart no longer than they
// were: what a field without a cart costs is not in the table.
func better(a, b trial) (gain float64, ok bool) {
	if a.further(b) {
		return 0, false
	}
	gain, _ = paired(a.worth(), b.worth())
	if _, sure := paired(a.usd, b.usd); sure {
		return gain, gain > 0
	}
	less, _ := Mean(a.lost)
	more, _ := Mean(b.lost)
	is, _ := Mean(a.acres)
	was, _ := Mean(b.acres)
	return gain, gain > 0 && more-less >= hourSaved && is >= acresKept*was
}

func (t trial) further(than trial) bool {
	is, _ := Mean(t.apart)
	was, _ := Mean(than.apart)
	return is > was+hourApart
}

// every returns every n-th of the members that choices are made on.
func (e *evaluator) every(n int) []int {
	var out []int
	for m := 0; m < e.t.Members-e.set.Apart; m += n {
		out = append(out, m)
	}
	return out
}

// promising returns the options that a glance at few members ranks best.
func (e *evaluator) promising(rule Rule, options []bends, base trial, few []int) []bends {
	type looked struct {
		option int
		gain   float64
	}
	before := trial{at(base.usd, few), at(base.lost, few), at(base.apart, few), at(base.acres, few)}
	var ranked []looked
	for i, o := range options {
		got := e.run(rule, o, few)
		if got.further(before) {
			continue
		}
		gain, _ := paired(got.worth(), before.worth())
		ranked = append(ranked, looked{i, gain})
	}
	slices.SortStableFunc(ranked, func(a, b looked) int { return cmp.Compare(b.gain, a.gain) })
	var out []bends
	for _, l := range ranked[:min(fullLooks, len(ranked))] {
		out = append(out, options[l.option])
	}
	return out
}

func at(x []float64, members []int) []float64 {
	out := make([]float64, len(members))
	for i, m := range members {
		out[i] = x[m]
	}
	return out
}

// run runs some members' seasons.
func (e *evaluator) run(rule Rule, bend bends, members []int) trial {
	out := trial{make([]float64, len(members)), make([]float64, len(members)), make([]float64, len(members)), make([]float64, len(members))}
	e.some(members, func(s *state, i, m int) {
		s.fold = e.exp[0].fold[m]
		out.usd[i] = e.season(s, m, rule, bend, nil)
		out.lost[i], out.apart[i], out.acres[i] = s.lost(), s.apart, sum(s.today)
	})
	return out
}

func sum(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v
	}
	return s
}

// acres returns the acres cut on day 0, by member.
func (r *record) acres() []float64 {
	out := make([]float64, len(r.cut))
	for m, fields := range r.cut {
		out[m] = sum(fields)
	}
	return out
}

// lost returns the hours of day 0 in which a combine stood or drove between its first cut and its last.
func (s *state) lost() float64 {
	hours := 0.0
	for _, o := range s.out {
		hours += o.to - o.from - o.cuts
	}
	return hours
}

// countApart adds the hour just run where more fields were cut than there are carts.
func (s *state) countApart() {
	fields := 0
	for k, f := range s.cutIn {
		if f >= 0 && !slices.Contains(s.cutIn[:k], f) {
			fields++
		}
	}
	for k := range s.cutIn {
		s.cutIn[k] = -1
	}
	if s.t.Carts > 0 {
		s.apart += float64(max(0, fields-s.t.Carts))
	}
}

// sequence returns the fields that each combine cuts on day 0 in member m, in order.
func (e *evaluator) sequence(rule Rule, bend bends, m int) [][]int {
	out := make([][]int, len(e.t.Combines))
	e.some([]int{m}, func(s *state, _, m int) {
		s.fold, s.through = e.exp[0].fold[m], 0
		e.season(s, m, rule, bend, func(_ int, w work) {
			if l := out[w.Combine]; len(l) == 0 || l[len(l)-1] != w.Field {
				out[w.Combine] = append(l, w.Field)
			}
		})
	})
	return out
}

// reorders returns what may be changed in today's order: of one combine, or of all together where one list is for all.
func (e *evaluator) reorders(bend bends, seq [][]int, today []float64) []bends {
	n := len(seq)
	var out []bends
	inserts := e.inserts(seq, today)
	for k, list := range seq {
		for _, v := range e.variants(list, bend.bars(k), inserts) {
			out = append(out, bend.led(n, k, v.fields, v.barred))
			if n == 1 {
				continue
			}
			all := bend
			for j := range n {
				all = all.led(n, j, v.fields, v.barred)
			}
			out = append(out, all)
		}
		for j := range k {
			both := bend.led(n, k, seq[j], bend.bars(j))
			out = append(out, both.led(n, j, list, bend.bars(k)))
		}
	}
	return out
}

// A variant is a list for a combine, and the fields that it keeps off.
type variant struct{ fields, barred []int }

// variants returns the list as it is, with a field left out, ended early, with two neighbours swapped, with a field put in.
func (e *evaluator) variants(list, barred, inserts []int) []variant {
	out := []variant{{list, barred}}
	for i, f := range list {
		out = append(out, variant{slices.Delete(slices.Clone(list), i, i+1), append(slices.Clone(barred), f)}, variant{list[:i], e.others(list[:i])})
		if i > 0 {
			swapped := slices.Clone(list)
			swapped[i-1], swapped[i] = list[i], list[i-1]
			out = append(out, variant{swapped, barred})
		}
	}
	for _, f := range inserts {
		if slices.Contains(list, f) {
			continue
		}
		free := slices.DeleteFunc(slices.Clone(barred), func(g int) bool { return g == f })
		for i := range len(list) + 1 {
			out = append(out, variant{slices.Insert(slices.Clone(list), i, f), free})
		}
	}
	return out
}

// inserts returns the fields cut today in some member or by some combine: those cut in most members first.
func (e *evaluator) inserts(seq [][]int, today []float64) []int {
	var out []int
	for f := range e.t.Fields {
		if today[f] > 0 || slices.ContainsFunc(seq, func(list []int) bool { return slices.Contains(list, f) }) {
			out = append(out, f)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(today[b], today[a]) })
	return out[:min(mostInserts, len(out))]
}

// others returns all fields but these.
func (e *evaluator) others(fields []int) []int {
	var out []int
	for f := range e.t.Fields {
		if !slices.Contains(fields, f) {
			out = append(out, f)
		}
	}
	return out
}
