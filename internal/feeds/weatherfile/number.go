package weatherfile

import (
	"math"
	"strconv"
)

// A decimal of up to 15 digits and up to 22 places is one exact division away from its nearest float64; that
// covers nearly all figures of a weather file and is several times quicker than the general way.
var tens = [23]float64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// parseNumber reads a decimal number with point as its decimal mark. Infinity and not-a-number are refused.
func parseNumber(b []byte, point byte) (float64, bool) {
	var mantissa int64
	figures, places, seenPoint, negative := 0, 0, false, false
	for i, c := range b {
		switch {
		case c >= '0' && c <= '9':
			mantissa = mantissa*10 + int64(c-'0')
			figures++
			if seenPoint {
				places++
			}
			if figures > 15 {
				return parseAnyNumber(b, point)
			}
		case c == point && !seenPoint:
			seenPoint = true
		case i == 0 && (c == '-' || c == '+'):
			negative = c == '-'
		default:
			return parseAnyNumber(b, point)
		}
	}
	if figures == 0 {
		return 0, false
	}
	x := float64(mantissa) / tens[places]
	if negative {
		x = -x
	}
	return x, true
}

// parseAnyNumber reads what parseNumber does not, such as 6.94e-18.
func parseAnyNumber(b []byte, point byte) (float64, bool) {
	text := make([]byte, len(b))
	for i, c := range b {
		switch c {
		case point:
			c = '.'
		case '.', '_', 'x', 'X', 'p', 'P': // Go's own forms are not the file's
			return 0, false
		}
		text[i] = c
	}
	x, err := strconv.ParseFloat(string(text), 64)
	return x, err == nil && !math.IsInf(x, 0) && !math.IsNaN(x)
}
