package quantity

import (
	"math"
	"strconv"
	"strings"

	"threshday/internal/core/problem"
)

// maxDigits bounds the digits of a modelled number. It leaves room for every float64 written without an exponent.
const maxDigits = 400

// ParseNumber reads a modelled number as a strict decimal: an optional sign, digits, at most one decimal point with
// digits on both sides, and commas that part the whole number in threes throughout or not at all. Exponents, names
// such as NaN, and a comma as the decimal mark are refused. Printed numbers are read by package trade instead.
func ParseNumber(label, s string) (float64, error) {
	const want = "a number in digits, as 1250 or 15.5"
	x, hint, ok := decimal(s)
	if !ok {
		return 0, &problem.InputError{Rule: "number.form", Label: label, Got: shorten(s), Want: want, Next: hint}
	}
	return x, nil
}

// FormatNumber returns the shortest text that [ParseNumber] reads back as x.
func FormatNumber(x float64) string {
	if x == 0 {
		return "0" // also for -0
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// decimal returns the number s stands for; when there is none, hint says what to do, where that can be guessed.
func decimal(s string) (x float64, hint string, ok bool) {
	text := strings.Replace(strings.TrimSpace(s), "−", "-", 1) // the typographic minus of pasted text
	body := strings.TrimPrefix(strings.TrimPrefix(text, "+"), "-")
	if len(text)-len(body) > 1 {
		return 0, "", false
	}
	whole, fraction, point := strings.Cut(body, ".")
	joined, ok := ungroup(whole)
	if !ok {
		if _, last, _ := strings.Cut(whole, ","); !point && digitsOnly(last) && len(last) < 3 {
			return 0, "Use a point as the decimal mark: " + strings.Replace(shorten(text), ",", ".", 1) + ".", false
		}
		return 0, "Commas must part the whole number in threes: 78,420.", false
	}
	if !digitsOnly(joined) || (point && !digitsOnly(fraction)) || len(joined)+len(fraction) > maxDigits {
		return 0, "", false
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", ""), 64)
	if err != nil {
		return 0, "", false // larger than any float64
	}
	if x == 0 {
		x = 0 // and never -0, which would be written back as "-0"
	}
	return x, "", true
}

// ungroup removes commas that part whole in threes.
func ungroup(whole string) (joined string, ok bool) {
	groups := strings.Split(whole, ",")
	for i, g := range groups[1:] {
		if len(g) != 3 || (i == 0 && (len(groups[0]) < 1 || len(groups[0]) > 3)) {
			return "", false
		}
	}
	return strings.Join(groups, ""), true
}

func digitsOnly(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

// exact returns the shortest decimal near x for which same is true; ok is false when there is none. Dividing by a
// unit's factor may land one float64 off, so the neighbours of x are tried as well.
func exact(x float64, same func(float64) bool) (text string, ok bool) {
	const most = 17 // significant digits that tell any two float64 apart
	for precision := 1; precision <= most; precision++ {
		rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', precision, 64), 64)
		if err == nil && same(rounded) {
			return FormatNumber(rounded), true
		}
	}
	for _, next := range []float64{math.Nextafter(x, math.Inf(-1)), math.Nextafter(x, math.Inf(1))} {
		if same(next) {
			return FormatNumber(next), true
		}
	}
	return "", false
}
