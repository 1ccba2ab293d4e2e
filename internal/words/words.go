// Package words says figures as people read them: grouped, shortened, counted, listed. It knows no unit and no trade.
package words

import (
	"fmt"
	"strconv"
	"strings"
)

// Digits returns x with that many decimals and commas that part the thousands: "1,934.55".
func Digits(x float64, decimals int) string {
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	whole, fraction, point := strings.Cut(strings.TrimPrefix(text, "-"), ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if point {
		whole += "." + fraction
	}
	if strings.HasPrefix(text, "-") && strings.Trim(whole, "0.,") != "" {
		whole = "-" + whole
	}
	return whole
}

// Short returns x with at most that many decimals, zeros at the end left off: "4.5", "12".
func Short(x float64, decimals int) string {
	text := Digits(x, decimals)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// Two returns x with two significant digits, which is all that a forecast of losses deserves: "7.0", "0.64", "15".
func Two(x float64) string {
	switch {
	case x >= 9.95:
		return Digits(x, 0)
	case x >= 0.995:
		return Digits(x, 1)
	}
	return Digits(x, 2)
}

// Plural returns "1 load", "1,204 loads", "3 entries".
func Plural(n int64, one string) string {
	if n == 1 {
		return "1 " + one
	}
	if stem, ok := strings.CutSuffix(one, "ry"); ok {
		return fmt.Sprintf("%s %sries", Digits(float64(n), 0), stem)
	}
	return fmt.Sprintf("%s %ss", Digits(float64(n), 0), one)
}

// OneOf returns "a, b or c".
func OneOf(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// Sentence gives text a capital and a full stop where it has none.
func Sentence(text string) string {
	if text == "" {
		return ""
	}
	if !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
		text += "."
	}
	return strings.ToUpper(text[:1]) + text[1:]
}
