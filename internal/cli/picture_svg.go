package cli

import (
	"bytes"
	"fmt"
	"math"
)

// An svgCanvas writes what is drawn as SVG.
type svgCanvas struct{ b bytes.Buffer }

func (c *svgCanvas) put(format string, args ...any) { _, _ = fmt.Fprintf(&c.b, format+"\n", args...) } // a buffer does not fail

func (c *svgCanvas) size(width, height float64) {
	c.put(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" role="img" font-family="sans-serif">`, width, height)
	c.put(`<rect width="100%%" height="100%%" fill="#ffffff"/>`)
}

// ink returns the colour of a grey.
func ink(grey float64) string {
	v := int(math.Round(255 * grey))
	return fmt.Sprintf("#%02x%02x%02x", v, v, v)
}

func (c *svgCanvas) path(points [][2]float64, p pen) {
	_, _ = c.b.WriteString(`<path fill="none" d="`)
	for i, at := range points {
		_, _ = fmt.Fprintf(&c.b, "%c%.1f %.1f", "ML"[min(i, 1)], at[0], at[1])
	}
	dash := ""
	if p.dash > 0 {
		dash = fmt.Sprintf(` stroke-dasharray="%g"`, p.dash)
	}
	c.put(`" stroke="%s" stroke-width="%g"%s/>`, ink(p.grey), p.width, dash)
}

func (c *svgCanvas) ring(x, y, radius float64) {
	c.put(`<circle cx="%.1f" cy="%.1f" r="%g" fill="#ffffff" stroke="#000000" stroke-width="1.6"/>`, x, y, radius)
}

func (c *svgCanvas) text(x, y, size float64, at anchor, text string) {
	c.put(`<text x="%.1f" y="%.1f" font-size="%g" text-anchor="%s">%s</text>`, x, y, size, [...]string{"start", "middle", "end"}[at], escaped(text))
}

func (c *svgCanvas) bytes() ([]byte, error) {
	c.put(`</svg>`)
	return c.b.Bytes(), nil
}
