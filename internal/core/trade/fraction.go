package trade

import (
	"math/bits"
	"strconv"
	"strings"

	"threshday/internal/core/problem"
)

// A Fraction is an exact ratio: an owner's share of a crop, or a rate that no decimal holds. It is kept in
// lowest terms, so equal fractions are ==. The zero Fraction is 0.
type Fraction struct {
	num   int64
	extra int64 // denominator less one, so that the zero value is 0/1
}

// NewFraction returns num/den in lowest terms. Panics unless den is positive.
func NewFraction(num, den int64) Fraction {
	if den <= 0 {
		panic("trade: denominator is not positive")
	}
	g := int64(gcd(magnitude(num), uint64(den))) //nolint:gosec // at most den
	return Fraction{num / g, den/g - 1}
}

// ParseFraction reads "1/3", "100/84.5" or a plain decimal, "0.5". Neither part may have more than
// 9 digits, so that products with weights and money stay exact.
func ParseFraction(label, text string) (Fraction, error) {
	f, ok := scanFraction(text)
	if !ok {
		return Fraction{}, &problem.InputError{
			Rule: "fraction.form", Label: label, Got: strings.TrimSpace(text),
			Want: "a decimal like 1.25 or a ratio like 1/3, at most 9 digits above and below the line",
		}
	}
	return f, nil
}

// MustFraction is [ParseFraction] for constants in code and tests.
func MustFraction(text string) Fraction {
	f, ok := scanFraction(text)
	if !ok {
		panic("trade: " + text + " is not a fraction")
	}
	return f
}

func scanFraction(text string) (Fraction, bool) {
	above, below, ratio := strings.Cut(text, "/")
	if !ratio {
		below = "1"
	}
	a, aok := scan(above)
	b, bok := scan(below)
	if !aok || !bok || b.n <= 0 || strings.ContainsAny(below, "+") {
		return Fraction{}, false
	}
	places := max(a.Places(), b.Places())
	num, aok := a.Units(places)
	den, bok := b.Units(places)
	if !aok || !bok {
		return Fraction{}, false
	}
	f := NewFraction(num, den)
	if magnitude(f.num) > maxPart || f.Den() > maxPart {
		return Fraction{}, false
	}
	return f, true
}

// maxPart bounds what ParseFraction accepts above and below the line.
const maxPart = 1_000_000_000

// Num returns what stands above the line; it carries the sign.
func (f Fraction) Num() int64 { return f.num }

// Den returns what stands below the line, 1 or more.
func (f Fraction) Den() int64 { return f.extra + 1 }

// Sign returns -1, 0 or 1.
func (f Fraction) Sign() int { return compare(f.num, 0) }

// Cmp returns -1 when f is smaller than g, 0 when equal, 1 when larger, exactly.
func (f Fraction) Cmp(g Fraction) int {
	if f.Sign() != g.Sign() {
		return compare(int64(f.Sign()), int64(g.Sign()))
	}
	cmp := compareProducts(magnitude(f.num), magnitude(g.Den()), magnitude(g.num), magnitude(f.Den()))
	if f.num < 0 {
		return -cmp
	}
	return cmp
}

// Float returns f as a float64, for drawings.
func (f Fraction) Float() float64 { return float64(f.num) / float64(f.Den()) }

// Ratio returns f as a lease writes it, "1/2", and a whole number by itself, "1".
func (f Fraction) Ratio() string {
	if f.Den() == 1 {
		return strconv.FormatInt(f.Num(), 10)
	}
	return strconv.FormatInt(f.Num(), 10) + "/" + strconv.FormatInt(f.Den(), 10)
}

// String returns a plain decimal where one holds f exactly, "1.25", and the ratio otherwise, "1/3".
func (f Fraction) String() string {
	for places, scale := range pow10 {
		if scale%f.Den() == 0 {
			hi, lo := bits.Mul64(magnitude(f.num), magnitude(scale/f.Den()))
			if hi != 0 || lo > 1<<63-1 {
				break
			}
			n := int64(lo)
			if f.num < 0 {
				n = -n
			}
			return fixed(n, places, 0)
		}
	}
	return strconv.FormatInt(f.num, 10) + "/" + strconv.FormatInt(f.Den(), 10)
}

// plus returns f+g, or false where the sum has no room.
func (f Fraction) plus(g Fraction) (Fraction, bool) {
	common := int64(gcd(magnitude(f.Den()), magnitude(g.Den()))) //nolint:gosec // at most a denominator
	fscale, gscale := g.Den()/common, f.Den()/common
	den, ok := times(f.Den(), fscale)
	a, aok := times(f.num, fscale)
	b, bok := times(g.num, gscale)
	sum := a + b
	if !ok || !aok || !bok || (a > 0) == (b > 0) && (sum > 0) != (a > 0) && sum != 0 {
		return Fraction{}, false
	}
	return NewFraction(sum, den), true
}

// times returns a*b for b positive, or false where it does not fit.
func times(a, b int64) (int64, bool) {
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	if hi != 0 || lo > 1<<63-1 {
		return 0, false
	}
	return a * b, true
}

// compareProducts compares a*b with c*d in 128 bits.
func compareProducts(a, b, c, d uint64) int {
	hi, lo := bits.Mul64(a, b)
	chi, clo := bits.Mul64(c, d)
	if cmp := compare(hi, chi); cmp != 0 {
		return cmp
	}
	return compare(lo, clo)
}

func gcd(a, b uint64) uint64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
