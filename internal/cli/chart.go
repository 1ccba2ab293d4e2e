package cli

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"strings"

	"threshday/internal/app"
)

// A chart is lines over a common x, drawn as SVG. A gap in a line is NaN.
type chart struct {
	title, x, y string
	xs          []float64
	lines       []chartLine
}

type chartLine struct {
	name string
	ys   []float64
}

// Sizes of a drawing, in its own units.
const (
	chartWidth, chartHeight = 860.0, 460.0
	chartLeft, chartRight   = 70.0, 210.0
	chartTop, chartBottom   = 44.0, 52.0
)

// chartInk are colours that people who see few colours still tell apart, the dashes beside them.
var chartInk = []struct{ color, dash string }{
	{"#1b4f8a", ""}, {"#b3541e", "7 4"}, {"#2f7d4f", "2 4"}, {"#7a3b8f", "10 3 2 3"}, {"#444444", "5 2"}, {"#0f7f8c", "12 4"}, {"#a32a4a", "3 2"}, {"#6b6b1f", "8 2 2 2"},
}

// bounds returns the range of y, with a little room.
func (c *chart) bounds() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, l := range c.lines {
		for _, y := range l.ys {
			if !math.IsNaN(y) {
				low, high = min(low, y), max(high, y)
			}
		}
	}
	if !(high > low) {
		return low - 1, low + 1
	}
	room := (high - low) * 0.05
	return low - room, high + room
}

// tick returns a round step that parts a range into about n.
func tick(span float64, n float64) float64 {
	raw := span / n
	base := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5} {
		if raw <= m*base {
			return m * base
		}
	}
	return 10 * base
}

// svg draws the chart.
func (c *chart) svg() []byte {
	var b bytes.Buffer
	low, high := c.bounds()
	first, last := c.xs[0], c.xs[len(c.xs)-1]
	if last <= first {
		last = first + 1
	}
	px := func(x float64) float64 {
		return chartLeft + (x-first)/(last-first)*(chartWidth-chartLeft-chartRight)
	}
	py := func(y float64) float64 {
		return chartHeight - chartBottom - (y-low)/(high-low)*(chartHeight-chartTop-chartBottom)
	}
	put := func(format string, args ...any) { _, _ = fmt.Fprintf(&b, format+"\n", args...) } // a buffer does not fail
	put(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" role="img" font-family="sans-serif" font-size="13">`, chartWidth, chartHeight)
	put(`<title>%s</title><rect width="100%%" height="100%%" fill="#ffffff"/>`, escaped(c.title))
	put(`<text x="%.0f" y="24" font-size="16">%s</text>`, chartLeft, escaped(c.title))
	rise := tick(high-low, 6)
	for y := math.Ceil(low/rise) * rise; y <= high; y += rise {
		put(`<path d="M%.1f %.1fH%.1f" stroke="#dddddd"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`, chartLeft, py(y), chartWidth-chartRight, chartLeft-8, py(y)+4, short(y, 4))
	}
	step := tick(last-first, 10)
	for x := math.Ceil(first/step) * step; x <= last+1e-9; x += step {
		put(`<text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`, px(x), chartHeight-chartBottom+20, short(x, 2))
	}
	put(`<text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`, (chartLeft+chartWidth-chartRight)/2, chartHeight-10, escaped(c.x))
	put(`<text x="16" y="%.1f" transform="rotate(-90 16 %.1f)" text-anchor="middle">%s</text>`, chartHeight/2, chartHeight/2, escaped(c.y))
	for i, l := range c.lines {
		ink := chartInk[i%len(chartInk)]
		put(`<path d="%s" fill="none" stroke="%s" stroke-width="2" stroke-dasharray="%s"/>`, l.path(c.xs, px, py), ink.color, ink.dash)
		at := chartTop + 18*float64(i) + 10
		put(`<path d="M%.1f %.1fh26" stroke="%s" stroke-width="2" stroke-dasharray="%s"/><text x="%.1f" y="%.1f">%s</text>`,
			chartWidth-chartRight+12, at, ink.color, ink.dash, chartWidth-chartRight+44, at+4, escaped(l.name))
	}
	put(`</svg>`)
	return b.Bytes()
}

// path is a line's way, broken where it has a gap.
func (l chartLine) path(xs []float64, px, py func(float64) float64) string {
	var d strings.Builder
	pen := "M"
	for i, y := range l.ys {
		if math.IsNaN(y) {
			pen = "M"
			continue
		}
		_, _ = fmt.Fprintf(&d, "%s%.1f %.1f", pen, px(xs[i]), py(y)) // a builder does not fail
		pen = "L"
	}
	return d.String()
}

func escaped(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a builder does not fail
	return b.String()
}

// pricePicture draws what every offer nets by moisture.
func pricePicture(s *app.PriceSheet) []byte {
	unit, _ := s.Unit()
	c := chart{title: "What a load of " + s.Crop.String() + " nets, " + s.AsOf.Format("2 Jan 2006"), x: "moisture, percent wet basis", y: "net dollars a gross " + unit}
	for i, o := range s.Offers {
		c.lines = append(c.lines, chartLine{name: fmt.Sprintf("%d %s", i+1, o.Name)})
	}
	for _, row := range s.Rows {
		c.xs = append(c.xs, row.Moisture.Float())
		for i, cell := range row.Cells {
			y := math.NaN()
			if cell.OK() {
				y = s.PerUnit(cell).Float()
			}
			c.lines[i].ys = append(c.lines[i].ys, y)
		}
	}
	return c.svg()
}
