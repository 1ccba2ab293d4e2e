package trade

import (
	"fmt"
	"math/bits"
	"slices"
	"strings"

	"threshday/internal/core/problem"
)

// Parts of a whole follow the largest remainder: each share is rounded down to the step, and the steps left
// over go one by one to the largest fractional parts, ties to the share named first. Nothing is lost and
// nothing is drawn by lot. The order of the shares is the order fixed in the lease. (Common practice, no source.)

// Split returns a in parts by shares, which must sum to exactly 1; the parts sum to a.
// The error is a *problem.InputError that names the sum found.
func (a Amount) Split(shares []Fraction) ([]Amount, error) { return split(a, 1, shares) }

// Split returns w in whole pounds by shares, which must sum to exactly 1; the parts sum to w.
func (w Pounds) Split(shares []Fraction) ([]Pounds, error) { return split(w, 1, shares) }

// Split returns b in parts of that many decimals (0 to 3) by shares, which must sum to exactly 1. The parts
// sum to b; should b itself have more decimals, the first part carries what the others cannot.
func (b Bushels) Split(shares []Fraction, decimals int) ([]Bushels, error) {
	if decimals < 0 || decimals > 3 {
		panic("trade: bushel decimals outside 0 to 3")
	}
	return split(b, Bushels(pow10[3-decimals]), shares)
}

// Proportions returns the shares that follow weights: 19840 and 31520 as parts of their sum. Panics where a
// weight is negative or all are zero.
func Proportions(weights ...int64) []Fraction {
	var sum int64
	for _, w := range weights {
		if w < 0 || sum > 1<<62-w {
			panic("trade: weight negative or too large")
		}
		sum += w
	}
	if sum == 0 {
		panic("trade: no weight")
	}
	shares := make([]Fraction, len(weights))
	for i, w := range weights {
		shares[i] = NewFraction(w, sum)
	}
	return shares
}

// CheckShares returns nil when no share is negative and together they are exactly 1, and otherwise a
// *problem.InputError.
func CheckShares(shares []Fraction) error {
	var sum Fraction
	for i, s := range shares {
		var ok bool
		if sum, ok = sum.plus(s); !ok || s.Sign() < 0 {
			return shareError(sumOf(shares[:i+1]))
		}
	}
	if sum != NewFraction(1, 1) {
		return shareError(fmt.Sprintf("%s = %s", sumOf(shares), sum))
	}
	return nil
}

// sumOf writes shares as a sum, "1/3 + 1/3".
func sumOf(shares []Fraction) string {
	names := make([]string, len(shares))
	for i, s := range shares {
		names[i] = s.String()
	}
	return strings.Join(names, " + ")
}

func shareError(got string) error {
	return &problem.InputError{
		Rule: "T05", Label: "Shares", Got: got, Want: "fractions of 0 or more that sum to exactly 1",
		Next: "Write thirds as 1/3 and 2/3, not as decimals.",
	}
}

func split[T ~int64](whole, step T, shares []Fraction) ([]T, error) {
	if err := CheckShares(shares); err != nil {
		return nil, err
	}
	sign := T(1)
	if whole < 0 {
		whole, sign = -whole, -1
	}
	parts := make([]T, len(shares))
	rest := make([]Fraction, len(shares)) // fractional parts
	order := make([]int, len(shares))
	steps := int64(whole / step)
	left := steps
	for i, s := range shares {
		floor := Floor.MulDiv(steps, s.Num(), s.Den())
		parts[i] = T(floor)
		rest[i] = remainder(steps, s)
		order[i] = i
		left -= floor
	}
	slices.SortStableFunc(order, func(i, j int) int { return rest[j].Cmp(rest[i]) })
	for _, i := range order[:left] {
		parts[i]++
	}
	for i := range parts {
		parts[i] *= step * sign
	}
	parts[0] += whole % step * sign
	return parts, nil
}

// remainder returns the fractional part of n*s for n and s of 0 or more.
func remainder(n int64, s Fraction) Fraction {
	den := magnitude(s.Den())
	hi, lo := bits.Mul64(magnitude(n), magnitude(s.Num()))
	return NewFraction(int64(bits.Rem64(hi, lo, den)), s.Den()) //nolint:gosec // less than den
}
