package trade

import (
	"math/bits"
	"strconv"
	"strings"
)

// maxDigits keeps a Decimal's digits inside an int64 with room to spare.
const maxDigits = 17

// maxPlaces is the finest step a Decimal may carry; it keeps a change of step inside an int64 factor.
const maxPlaces = 9

// A Decimal is an exact decimal number of up to 17 digits, at most 9 of them behind the point: a rate, a
// threshold or a step as a schedule prints it. The zero Decimal is 0. Equal numbers of different length
// ("1.0", "1") are not ==; compare them with [Decimal.Cmp].
type Decimal struct {
	n      int64
	places uint8
}

// NewDecimal returns n divided by ten to the power places, 0 to 9: NewDecimal(125, 2) is 1.25.
func NewDecimal(n int64, places int) Decimal {
	if places < 0 || places > maxPlaces {
		panic("trade: decimal places outside 0 to 9")
	}
	return Decimal{n, uint8(places)}
}

// Sign returns -1, 0 or 1.
func (d Decimal) Sign() int {
	switch {
	case d.n < 0:
		return -1
	case d.n > 0:
		return 1
	}
	return 0
}

// Places returns the digits behind the point, trailing zeros not counted: 0 for 2, 1.0 and 100.
func (d Decimal) Places() int { return int(d.trim().places) }

// Cmp returns -1 when d is smaller than e, 0 when equal, 1 when larger, exactly.
func (d Decimal) Cmp(e Decimal) int {
	if d.Sign() != e.Sign() {
		return compare(int64(d.Sign()), int64(e.Sign()))
	}
	cmp := compareProducts(magnitude(d.n), magnitude(pow10[e.places]), magnitude(e.n), magnitude(pow10[d.places]))
	if d.n < 0 {
		return -cmp
	}
	return cmp
}

// Units returns d counted in units of ten to the power -places, and whether that count is exact and fits:
// 1.25 has 125 units at 2 places, 12500 at 4, and none at 1.
func (d Decimal) Units(places int) (int64, bool) {
	if places < 0 || places > maxPlaces {
		panic("trade: decimal places outside 0 to 9")
	}
	t := d.trim()
	if int(t.places) > places {
		return 0, false
	}
	factor := pow10[places-int(t.places)]
	hi, lo := bits.Mul64(magnitude(t.n), magnitude(factor))
	if hi != 0 || lo > 1<<63-1 {
		return 0, false
	}
	return t.n * factor, true
}

// Float returns d as a float64, for physics and drawings.
func (d Decimal) Float() float64 { return float64(d.n) / float64(pow10[d.places]) }

// String returns d with the digits it was made with: "1.25", "-0.5", "13.0".
func (d Decimal) String() string { return fixed(d.n, int(d.places), int(d.places)) }

func (d Decimal) trim() Decimal {
	for d.places > 0 && d.n%10 == 0 {
		d.n /= 10
		d.places--
	}
	return d
}

var pow10 = [...]int64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9}

func compare[T int64 | uint64](a, b T) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func magnitude(n int64) uint64 {
	if n < 0 {
		return -uint64(n) //nolint:gosec // wraps on purpose: right for the lowest int64 too
	}
	return uint64(n)
}

// fixed writes n with places digits behind the point, dropping trailing zeros down to least of them.
func fixed(n int64, places, least int) string {
	for places > least && n%10 == 0 {
		n /= 10
		places--
	}
	digits := strconv.FormatUint(magnitude(n), 10)
	if short := places + 1 - len(digits); short > 0 {
		digits = strings.Repeat("0", short) + digits
	}
	if places > 0 {
		digits = digits[:len(digits)-places] + "." + digits[len(digits)-places:]
	}
	if n < 0 {
		return "-" + digits
	}
	return digits
}
