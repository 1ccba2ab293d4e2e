package trade

import (
	"fmt"
	"strings"

	"threshday/internal/core/problem"
)

// A kind says how one sort of printed number is written.
type kind struct {
	rule      string
	places    int    // digits behind the point that are kept
	low, high int64  // range in units of the last place
	want      string // what is accepted, for the person
	unit      string // may stand behind the number
}

var (
	percents = kind{"percent", 2, 0, 100_00, "0 to 100 %, at most two decimals, like 15.6", "%"}
	pounds   = kind{"pounds", 0, 0, 1e9, "whole pounds from 0 to 1,000,000,000, like 51,280", "lb"}
	bushels  = kind{"bushels", 3, 0, 1e12, "bushels from 0 to 1,000,000,000, at most three decimals, like 1,240.50", "bu"}
	prices   = kind{"price", 5, -1e10, 1e10, "dollars like $9.8725 or cents like -35c, at most five decimals of a dollar, up to $100,000", ""}
	amounts  = kind{"amount", 2, -1e14, 1e14, "dollars and cents like $1,240.50, up to $1,000,000,000,000", ""}
	decimals = kind{"decimal", maxPlaces, -1e17, 1e17, "a plain decimal number like 1.25, at most 17 digits, 9 of them behind the point", ""}
)

// ParsePercent reads a percentage from 0 to 100 as a person or a file writes it: "15.6", "13.25 %".
// The error is a *problem.InputError carrying label, what was typed and what is accepted.
func ParsePercent(label, text string) (Percent, error) {
	n, err := percents.parse(label, text)
	return Percent(n), err
}

// ParsePercentIn is [ParsePercent] with a range of its own: moisture in 0 to 60 %, say.
func ParsePercentIn(label, text string, low, high Percent) (Percent, error) {
	k := percents
	k.low, k.high = int64(low), int64(high)
	k.want = fmt.Sprintf("%s to %s %%, at most two decimals", low, high)
	n, err := k.parse(label, text)
	return Percent(n), err
}

// ParseTestWeight reads pounds per bushel between 0 and 100, kept in hundredths: "55.1", "55.1 lb/bu".
func ParseTestWeight(label, text string) (Percent, error) {
	k := percents
	k.rule, k.want, k.unit = "test-weight", "0 to 100 lb per bushel, at most two decimals, like 55.1", "lb/bu"
	n, err := k.parse(label, text)
	return Percent(n), err
}

// ParsePounds reads a scale weight: "51,280", "51280 lb".
func ParsePounds(label, text string) (Pounds, error) {
	n, err := pounds.parse(label, text)
	return Pounds(n), err
}

// ParseBushels reads a quantity of bushels: "1,240", "847.83 bu".
func ParseBushels(label, text string) (Bushels, error) {
	n, err := bushels.parse(label, text)
	return Bushels(n), err
}

// ParsePrice reads dollars, or cents when a c or ¢ stands behind the number: "$9.8725", "9.8725", "-35c",
// "-$0.35", "+6.25 c".
func ParsePrice(label, text string) (Price, error) {
	s := strings.TrimSpace(text)
	for _, mark := range []string{"cents", "c", "¢"} {
		if bare, ok := strings.CutSuffix(s, mark); ok && !strings.Contains(s, "$") {
			k := prices
			k.places = 3
			n, err := k.parse(label, bare)
			if err != nil {
				return 0, prices.fail(label, text, "form")
			}
			return Price(n), nil
		}
	}
	n, err := prices.parse(label, text)
	return Price(n), err
}

// ParseAmount reads dollars and cents: "$1,240.50", "-12".
func ParseAmount(label, text string) (Amount, error) {
	n, err := amounts.parse(label, text)
	return Amount(n), err
}

// ParseDecimal reads a plain decimal number: "1.25", "-0.5".
func ParseDecimal(label, text string) (Decimal, error) {
	d, ok := scan(text)
	if !ok {
		return Decimal{}, decimals.fail(label, text, "form")
	}
	return d, nil
}

// MustDecimal is [ParseDecimal] for constants in code and tests.
func MustDecimal(text string) Decimal {
	d, ok := scan(text)
	if !ok {
		panic("trade: " + text + " is not a decimal number")
	}
	return d
}

func (k kind) parse(label, text string) (int64, error) {
	s := strings.TrimSpace(text)
	if k.unit != "" {
		s = strings.TrimSpace(strings.TrimSuffix(s, k.unit))
	}
	if k.rule == "price" || k.rule == "amount" {
		s = cutDollar(s)
	}
	d, ok := scan(s)
	if !ok {
		return 0, k.fail(label, text, "form")
	}
	n, exact := d.Units(k.places)
	if !exact && d.Places() > k.places {
		return 0, k.fail(label, text, "precision")
	}
	if !exact || n < k.low || n > k.high {
		return 0, k.fail(label, text, "range")
	}
	return n, nil
}

func (k kind) fail(label, text, what string) error {
	e := &problem.InputError{Rule: k.rule + "." + what, Label: label, Got: strings.TrimSpace(text), Want: k.want}
	if strings.Contains(text, ",") && what == "form" {
		e.Next = "Write a point before decimals; a comma only parts groups of three digits."
	}
	return e
}

// cutDollar takes a dollar sign away that stands before the number or between its sign and the number.
func cutDollar(s string) string {
	if rest, ok := strings.CutPrefix(s, "$"); ok {
		if rest = strings.TrimSpace(rest); rest != "" && rest[0] != '-' && rest[0] != '+' {
			return rest
		}
		return s // "$-5" is nobody's way of writing: refused by scan
	}
	if len(s) > 1 && (s[0] == '-' || s[0] == '+') && s[1] == '$' {
		return s[:1] + s[2:]
	}
	return s
}

// scan reads [+|-] digits [. digits] with commas allowed between groups of three before the point.
func scan(text string) (Decimal, bool) {
	s := strings.TrimSpace(text)
	s = strings.Replace(s, "−", "-", 1) // the typographic minus of pasted text
	negative := strings.HasPrefix(s, "-")
	if negative || strings.HasPrefix(s, "+") {
		s = s[1:]
	}
	whole, part, point := strings.Cut(s, ".")
	if point && part == "" || whole == "" && part == "" {
		return Decimal{}, false
	}
	whole, ok := ungroup(whole)
	if !ok {
		return Decimal{}, false
	}
	for len(part) > maxPlaces && part[len(part)-1] == '0' {
		part = part[:len(part)-1]
	}
	digits := strings.TrimLeft(whole+part, "0")
	if len(digits) > maxDigits || len(part) > maxPlaces {
		return Decimal{}, false
	}
	var n int64
	for _, c := range []byte(whole + part) {
		if c < '0' || c > '9' {
			return Decimal{}, false
		}
		n = n*10 + int64(c-'0')
	}
	if negative {
		n = -n
	}
	return Decimal{n, uint8(len(part))}, true //nolint:gosec // at most maxPlaces
}

// ungroup takes the commas out of 1,240,000 and refuses 12,5.
func ungroup(whole string) (string, bool) {
	groups := strings.Split(whole, ",")
	if len(groups) == 1 {
		return whole, true
	}
	if n := len(groups[0]); n < 1 || n > 3 {
		return "", false
	}
	for _, g := range groups[1:] {
		if len(g) != 3 {
			return "", false
		}
	}
	return strings.Join(groups, ""), true
}
