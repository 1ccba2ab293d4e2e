package cli

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// pngScale is how many pixels a point is.
const pngScale = 2

// A pngCanvas draws into an image.
type pngCanvas struct {
	img   *image.Gray
	font  *opentype.Font
	faces map[float64]font.Face
	err   error
}

func (c *pngCanvas) size(width, height float64) {
	c.img = image.NewGray(image.Rect(0, 0, int(pngScale*width), int(pngScale*height)))
	draw.Draw(c.img, c.img.Bounds(), image.White, image.Point{}, draw.Src)
	c.faces = map[float64]font.Face{}
	c.font, c.err = opentype.Parse(goregular.TTF)
}

// fill inks the polygons; where they overlap they are inked once. Only the pixels around them are gone through.
func (c *pngCanvas) fill(polygons [][][2]float64, grey float64) {
	box := around(polygons).Intersect(c.img.Bounds())
	if box.Empty() {
		return
	}
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	for _, polygon := range polygons {
		for i, at := range polygon {
			x, y := float32(pngScale*at[0]-float64(box.Min.X)), float32(pngScale*at[1]-float64(box.Min.Y))
			if i == 0 {
				r.MoveTo(x, y)
			} else {
				r.LineTo(x, y)
			}
		}
		r.ClosePath()
	}
	r.Draw(c.img, box, image.NewUniform(color.Gray{Y: uint8(math.Round(255 * grey))}), image.Point{})
}

// around returns the pixels that the polygons touch.
func around(polygons [][][2]float64) (box image.Rectangle) {
	for _, polygon := range polygons {
		for _, at := range polygon {
			x, y := int(math.Floor(pngScale*at[0])), int(math.Floor(pngScale*at[1]))
			box = box.Union(image.Rect(x, y, x+1, y+1))
		}
	}
	return box
}

func (c *pngCanvas) path(points [][2]float64, p pen) {
	var strokes [][][2]float64
	for _, line := range dashed(points, p.dash) {
		for i := 1; i < len(line); i++ {
			strokes = append(strokes, stroke(line[i-1], line[i], p.width))
		}
	}
	c.fill(strokes, p.grey)
}

// stroke returns a piece of line as a four-cornered polygon, always wound the same way and a little longer than it is, so that
// pieces meet.
func stroke(a, b [2]float64, width float64) [][2]float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	length := math.Hypot(dx, dy)
	if length == 0 {
		return nil
	}
	dx, dy = dx/length*width/2, dy/length*width/2
	const over = 0.3 // of half the width
	ex, ey := over*dx, over*dy
	return [][2]float64{{a[0] - ex - dy, a[1] - ey + dx}, {b[0] + ex - dy, b[1] + ey + dx}, {b[0] + ex + dy, b[1] + ey - dx}, {a[0] - ex + dy, a[1] - ey - dx}}
}

// dashed parts a line into dashes; 0: it stays whole.
func dashed(points [][2]float64, dash float64) [][][2]float64 {
	if dash == 0 {
		return [][][2]float64{points}
	}
	var out [][][2]float64
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		at := func(d float64) [2]float64 {
			part := min(d/length, 1)
			return [2]float64{a[0] + part*(b[0]-a[0]), a[1] + part*(b[1]-a[1])}
		}
		for d := 0.0; d < length; d += 2 * dash {
			out = append(out, [][2]float64{at(d), at(d + dash)})
		}
	}
	return out
}

func (c *pngCanvas) ring(x, y, radius float64) {
	const stroke = 1.6
	c.fill([][][2]float64{circle(x, y, radius+stroke/2)}, 0)
	c.fill([][][2]float64{circle(x, y, radius-stroke/2)}, 1)
}

func circle(x, y, radius float64) [][2]float64 {
	const corners = 40
	var out [][2]float64
	for i := range corners {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / corners)
		out = append(out, [2]float64{x + radius*cos, y + radius*sin})
	}
	return out
}

func (c *pngCanvas) text(x, y, size float64, at anchor, text string) {
	if c.err != nil {
		return
	}
	face := c.faces[size]
	if face == nil {
		if face, c.err = opentype.NewFace(c.font, &opentype.FaceOptions{Size: size * pngScale, DPI: 72, Hinting: font.HintingNone}); c.err != nil {
			return
		}
		c.faces[size] = face
	}
	d := font.Drawer{Dst: c.img, Src: image.Black, Face: face}
	dot := fixed.Point26_6{X: fixed.Int26_6(64 * pngScale * x), Y: fixed.Int26_6(64 * pngScale * y)}
	switch wide := d.MeasureString(text); at {
	case atMiddle:
		dot.X -= wide / 2
	case atEnd:
		dot.X -= wide
	case atStart:
	}
	d.Dot = dot
	d.DrawString(text)
}

func (c *pngCanvas) bytes() ([]byte, error) {
	var b bytes.Buffer
	if c.err == nil {
		c.err = png.Encode(&b, c.img)
	}
	if c.err != nil {
		return nil, fmt.Errorf("draw the picture: %w", c.err)
	}
	return b.Bytes(), nil
}
