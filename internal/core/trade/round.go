package trade

import "math/bits"

// A Rounding says what becomes of the part that is smaller than the step kept. It is data in a buyer's
// terms; the zero Rounding is HalfUp, the mode of the grain standards (2.45 to 2.5, 0.45 to 0.5) [cfr-868-308].
type Rounding uint8

// The roundings. Halves and floors of negative figures mirror nothing but what is said here.
const (
	HalfUp   Rounding = iota // a half or more goes away from zero
	HalfEven                 // a half goes to the even neighbour, as banks do
	Floor                    // toward the smaller number
	Ceiling                  // toward the larger number
)

// String returns the name used in files, "half_up".
func (r Rounding) String() string {
	switch r {
	case HalfUp:
		return "half_up"
	case HalfEven:
		return "half_even"
	case Floor:
		return "floor"
	case Ceiling:
		return "ceil"
	}
	return ""
}

// Div returns a/den rounded to a whole number. Panics unless den is positive.
func (r Rounding) Div(a, den int64) int64 { return r.MulDiv(a, 1, den) }

// MulDiv returns a*b/den rounded once to a whole number; the product is exact, in 128 bits.
// Panics unless den is positive and the result fits an int64.
func (r Rounding) MulDiv(a, b, den int64) int64 {
	if den <= 0 {
		panic("trade: division by a number that is not positive")
	}
	negative := (a < 0) != (b < 0)
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	var q, rem uint64
	switch {
	case hi == 0: // the usual case, and much the cheaper one
		q, rem = lo/uint64(den), lo%uint64(den)
	case hi < uint64(den):
		q, rem = bits.Div64(hi, lo, uint64(den))
	default:
		panic("trade: result too large")
	}
	if r.awayFromZero(q, rem, uint64(den), negative) {
		q++
	}
	if q > 1<<63-1 {
		panic("trade: result too large")
	}
	if negative {
		return -int64(q)
	}
	return int64(q)
}

func (r Rounding) awayFromZero(q, rem, den uint64, negative bool) bool {
	if rem == 0 {
		return false
	}
	switch r {
	case HalfUp:
		return rem >= den-rem
	case HalfEven:
		return rem > den-rem || rem == den-rem && q%2 == 1
	case Floor:
		return negative
	case Ceiling:
		return !negative
	}
	panic("trade: unknown rounding")
}

// Of returns p percent of w, rounded to a whole pound.
func (p Percent) Of(w Pounds, r Rounding) Pounds {
	return Pounds(r.MulDiv(int64(w), int64(p), 100_00))
}

// Times returns b units at p each, rounded to the cent.
func (p Price) Times(b Bushels, r Rounding) Amount {
	return Amount(r.MulDiv(int64(b), int64(p), 1_000_000))
}

// StepsOver returns how many full steps p lies above base; none at or below it. A percentage of 12.6 over
// 12.0 in steps of 0.2 has 3. Panics unless step is positive.
func (p Percent) StepsOver(base, step Percent) int64 { return p.steps(base, step, Floor) }

// StartedOver returns how many steps p lies above base, a started one counted as a whole: "or fraction
// thereof". The base itself is free. Panics unless step is positive.
func (p Percent) StartedOver(base, step Percent) int64 { return p.steps(base, step, Ceiling) }

func (p Percent) steps(base, step Percent, r Rounding) int64 {
	if p <= base {
		return 0
	}
	return r.Div(int64(p-base), int64(step))
}

// Round returns p kept to a multiple of step: hundredths to tenths with step 10.
func (p Percent) Round(step Percent, r Rounding) Percent {
	return Percent(r.Div(int64(p), int64(step))) * step
}
