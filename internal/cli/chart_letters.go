package cli

import (
	"math"
	"strings"
)

// letters draws one line with letters, rows from the highest value down.
func (c *chart) letters(rows int) []string {
	low, high := c.bounds()
	l := c.lines[0]
	out := make([]string, rows)
	for r := range out {
		top := high - (high-low)*float64(r)/float64(rows)
		bottom := high - (high-low)*float64(r+1)/float64(rows)
		var b strings.Builder
		b.WriteString(pad("", 9-len(digits((top+bottom)/2, 2))) + digits((top+bottom)/2, 2) + " |")
		for _, y := range l.ys {
			switch {
			case !math.IsNaN(y) && y <= top && (y > bottom || r == rows-1):
				b.WriteByte('*')
			default:
				b.WriteByte(' ')
			}
		}
		out[r] = strings.TrimRight(b.String(), " ")
	}
	axis := []byte(strings.Repeat(" ", len(c.xs)+8))
	for i := 0; i < len(c.xs); i += 10 {
		copy(axis[i:], short(c.xs[i], 1))
	}
	return append(out, strings.Repeat(" ", 10)+"+"+strings.Repeat("-", len(c.xs)), strings.Repeat(" ", 11)+strings.TrimRight(string(axis), " ")+" "+c.x)
}
