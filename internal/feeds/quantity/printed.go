package quantity

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// ParsePrice reads money per unit with its mark, "$9.8725", "-$0.35", "35c" or "-35c", as [trade.ParsePrice] does,
// but refuses a bare number. Where per names a unit ("bu", "h", "mi"), "/bu" may follow, and any other unit is
// refused.
func ParsePrice(label, s, per string) (trade.Price, error) {
	want := "dollars or cents with their mark, as $9.8725, 35c or -35c"
	if per != "" {
		want = fmt.Sprintf("dollars or cents per %s with their mark, as $9.8725, 35c or 35c/%s", per, per)
	}
	money, unit, given := strings.Cut(s, "/")
	if given && (per == "" || !strings.EqualFold(strings.TrimSpace(unit), per)) {
		return 0, &problem.InputError{Rule: "unit.unknown", Label: label, Got: shorten(s), Want: want}
	}
	money = strings.TrimSpace(money)
	if strings.TrimRight(money, "0123456789") != money && !strings.Contains(money, "$") {
		e := &problem.InputError{Rule: "unit.missing", Label: label, Got: shorten(s), Want: want}
		if _, _, ok := decimal(money); ok {
			e.Next = fmt.Sprintf("Say which: %s for dollars or %sc for cents.", dollars(shorten(money)), shorten(money))
		}
		return 0, e
	}
	p, err := trade.ParsePrice(label, money)
	var refusal *problem.InputError
	if errors.As(err, &refusal) {
		refusal.Got = shorten(s)
	}
	return p, err
}

// FormatPrice returns p as [ParsePrice] reads it: whole cents below a dollar as "-35c", whole dollars as "$180", all
// else as "$9.8725".
func FormatPrice(p trade.Price) string {
	const cent, dollar = 1000, 100_000 // steps of a price
	if p%cent == 0 && p != 0 && p > -dollar && p < dollar {
		return strconv.FormatInt(int64(p/cent), 10) + "c"
	}
	return dollars(strings.TrimSuffix(p.String(), ".00"))
}

// dollars puts the sign of number before the dollar mark.
func dollars(number string) string {
	if rest, ok := strings.CutPrefix(number, "-"); ok {
		return "-$" + rest
	}
	return "$" + number
}

// ParsePercent reads a modelled percentage, "12.5%" or "12.5", and returns it in percent. Percentages printed on
// paper, moisture above all, are read by [trade.ParsePercentIn].
func ParsePercent(label, s string) (float64, error) {
	x, hint, ok := decimal(strings.TrimSuffix(strings.TrimSpace(s), "%"))
	if !ok {
		return 0, &problem.InputError{Rule: "percent.form", Label: label, Got: shorten(s), Want: "a percentage, as 12 or 12.5%", Next: hint}
	}
	return x, nil
}

// FormatPercent returns pct as [ParsePercent] reads it, "12.5%".
func FormatPercent(pct float64) string { return FormatNumber(pct) + "%" }
