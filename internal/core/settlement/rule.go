package settlement

import (
	"math"

	"threshday/internal/core/trade"
)

// A rule is a row compiled to integers. Readings and thresholds are hundredths.
type rule struct {
	row    int // index into the schedule's rows
	factor Factor
	side   int64 // 1: counts above from; -1: below; 0: a flag
	mode   StepMode
	from   int64
	width  int64 // of the band, from the threshold; math.MaxInt64 when open
	step   int64
	coef   int64 // what one unit counted takes, over the item's denominator
	limit  int64 // largest magnitude of what the row takes, over the denominator; math.MaxInt64: none
}

// count returns what the row counts at x: steps, hundredths where prorated, 1 where flat. The band is
// (from, to] above and [to, from) below: the threshold itself is free. A stepped row keeps its full count
// once x is past the band; a flat one leaves off.
func (r *rule) count(x int64, noted bool) int64 {
	if r.side == 0 {
		if noted {
			return 1
		}
		return 0
	}
	over := (x - r.from) * r.side
	if over <= 0 {
		return 0
	}
	if over > r.width {
		if r.mode == Flat {
			return 0
		}
		over = r.width
	}
	switch r.mode {
	case OrFraction:
		return (over + r.step - 1) / r.step
	case EachFull:
		return over / r.step
	case Flat:
		return 1
	case Prorated:
	}
	return over
}

// takes returns what the row takes at x, over the item's denominator; negative is a premium.
func (r *rule) takes(x int64, noted bool) int64 {
	n := r.coef * r.count(x, noted)
	return max(-r.limit, min(n, r.limit))
}

// steps returns the count in steps, for a person.
func (r *rule) steps(x int64, noted bool) trade.Fraction {
	n := r.count(x, noted)
	if r.mode == Prorated && r.side != 0 {
		return trade.NewFraction(n, r.step)
	}
	return trade.NewFraction(n, 1)
}

// hit reports whether x lies in the band of a row that rejects or warns.
func (r *rule) hit(x int64, noted bool) bool {
	if r.side == 0 {
		return noted
	}
	over := (x - r.from) * r.side
	return over > 0 && over <= r.width
}

// class says what a sum of rows is, once divided by its denominator.
type class uint8

const (
	pctOfWeight class = iota
	pctOfPrice
	cents       // per bushel or hundredweight
	dollarsFlat // per load
)

// An item is what one factor takes in one way: the rows that are tiers of one another. Their amounts are
// summed exactly over den and rounded once.
type item struct {
	kind     Kind
	factor   Factor
	class    class
	qty      Qty
	additive bool // weight: percent of the scale weight, not of what is left
	group    int  // rows of which only the largest counts; 0: none
	den      int64
	rules    []rule
	single   bool         // a row with a limit in dollars stands alone
	least    trade.Amount // of what it takes from a load, once it takes anything
	most     trade.Amount
}

// takes returns what the item takes, over its denominator.
func (it *item) takes(v *values) int64 {
	var sum int64
	for i := range it.rules {
		r := &it.rules[i]
		sum += r.takes(v.x[r.factor], v.noted(r.factor))
	}
	return sum
}

// values are the readings of one load, rounded as recorded.
type values struct {
	have uint64
	x    [factorCount]int64 // of flags: unused
}

func (v *values) noted(f Factor) bool { return f == EveryLoad || v.have>>f&1 == 1 }

const open = math.MaxInt64
