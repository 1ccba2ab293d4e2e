package planner

import "slices"

// A turn is what overrides the rule for one field today.
type turn uint8

const (
	plainTurn turn = iota
	nextTurn       // after the first, before all others
	firstTurn
)

// bends are today's decisions that override the rule. Nil slices bend nothing.
type bends struct {
	until []int   // per field: not before this day
	turn  []turn  // per field: out of turn on day 0
	lead  [][]int // per combine: the fields it goes to first on day 0, in order; the rule follows
	bar   [][]int // per combine: fields it does not go to on day 0 unless it is led there
}

func (b bends) notBefore(f int) int {
	if b.until == nil {
		return 0
	}
	return b.until[f]
}

func (b bends) turnOf(f int) turn {
	if b.turn == nil {
		return plainTurn
	}
	return b.turn[f]
}

// leads returns what combine k is led to, and bars what it keeps off.
func (b bends) leads(k int) []int { return of(b.lead, k) }
func (b bends) bars(k int) []int  { return of(b.bar, k) }

func of(lists [][]int, k int) []int {
	if k >= len(lists) { // another combine, which only a question about one more knows
		return nil
	}
	return lists[k]
}

// with returns b with field f bent so; until 0 and plainTurn frees it. A field that goes first goes before what combines are
// led to, and none keeps off one that goes out of turn.
func (b bends) with(fields, f, until int, t turn) bends {
	out := b
	out.until, out.turn = make([]int, fields), make([]turn, fields)
	copy(out.until, b.until)
	copy(out.turn, b.turn)
	out.until[f], out.turn[f] = until, t
	if t == plainTurn {
		return out
	}
	out.lead, out.bar = slices.Clone(b.lead), slices.Clone(b.bar)
	is := func(g int) bool { return g == f }
	for k := range out.bar {
		out.bar[k] = slices.DeleteFunc(slices.Clone(b.bar[k]), is)
	}
	for k := range out.lead {
		if t == firstTurn {
			out.lead[k] = append([]int{f}, slices.DeleteFunc(slices.Clone(b.lead[k]), is)...)
		}
	}
	return out
}

// led returns b with combine k led to fields, and kept off those barred.
func (b bends) led(combines, k int, fields, barred []int) bends {
	out := b
	out.lead, out.bar = make([][]int, combines), make([][]int, combines)
	copy(out.lead, b.lead)
	copy(out.bar, b.bar)
	out.lead[k], out.bar[k] = fields, barred
	return out
}
