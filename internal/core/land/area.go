package land

import (
	"fmt"
	"math"

	"threshday/internal/core/problem"
	"threshday/internal/core/units"
)

// A Ring is a closed line of points; the first may be repeated at the end. Its direction does not matter.
type Ring []Point

// A Polygon is an outer ring, then the holes in it.
type Polygon []Ring

// A Measure is the size of a polygon.
type Measure struct {
	Area      units.Area   // inside the outer ring, outside the holes
	Perimeter units.Length // of all rings
}

// widest is the most degrees a field may span either way: what is larger is a mistake, or crosses the
// antimeridian.
const widest = 1.5

// Measure returns the area and perimeter of p. Sides are the lines of sight between the points: the area is
// that of a polygon of great circles on the sphere of equal area, within a few ten-millionths of the geodesic
// polygon on the ellipsoid; the perimeter is the sum of the geodesics. An error says where the boundary cannot
// be used: a point out of range, fewer than three points, a line that crosses or touches itself or another, a
// hole outside.
func (p Polygon) Measure() (Measure, error) {
	rings, err := p.clean()
	if err != nil {
		return Measure{}, err
	}
	if err := simple(rings); err != nil {
		return Measure{}, err
	}
	var m Measure
	for i, r := range rings {
		a := units.Area(r.squareMeters())
		if i > 0 {
			a = -a
		}
		m.Area += a
		for j, from := range r {
			d, ok := Distance(from, r[(j+1)%len(r)])
			if !ok {
				panic("land: no distance along the edge of a field")
			}
			m.Perimeter += d
		}
	}
	return m, nil
}

// clean returns the rings without repeated neighbours, or says which cannot be used.
func (p Polygon) clean() ([]Ring, error) {
	if len(p) == 0 {
		return nil, &problem.InputError{
			Rule: "boundary.empty", Label: "boundary", Want: "an outer ring of three points or more",
			Next: "Draw the field's outline, or enter its acres.",
		}
	}
	rings := make([]Ring, len(p))
	for i, r := range p {
		out := make(Ring, 0, len(r))
		for j, pt := range r {
			if !pt.inRange() {
				return nil, &problem.InputError{
					Rule: "boundary.range", Label: fmt.Sprintf("%s, point %d", ringName(i), j+1),
					Got: fmt.Sprintf("%g, %g", pt.Lat, pt.Lon), Want: "latitude -85 to 85, longitude -180 to 180 degrees",
					Next: "Check that latitude and longitude have not changed places.",
				}
			}
			if len(out) == 0 || out[len(out)-1] != pt {
				out = append(out, pt)
			}
		}
		for len(out) > 1 && out[0] == out[len(out)-1] {
			out = out[:len(out)-1]
		}
		if len(out) < 3 {
			return nil, &problem.InputError{
				Rule: "boundary.points", Label: ringName(i), Got: fmt.Sprintf("%d different points", len(out)), Want: "three or more",
			}
		}
		if lat, lon := out.spans(); lat > widest || lon > widest {
			return nil, &problem.InputError{
				Rule: "boundary.span", Label: ringName(i), Got: fmt.Sprintf("%.3g by %.3g degrees", lat, lon),
				Want: fmt.Sprintf("a field, at most %g degrees across and not over the antimeridian", widest),
			}
		}
		rings[i] = out
	}
	return rings, nil
}

func (r Ring) spans() (lat, lon float64) {
	lo, hi := r[0], r[0]
	for _, p := range r {
		lo.Lat, lo.Lon = min(lo.Lat, p.Lat), min(lo.Lon, p.Lon)
		hi.Lat, hi.Lon = max(hi.Lat, p.Lat), max(hi.Lon, p.Lon)
	}
	return hi.Lat - lo.Lat, hi.Lon - lo.Lon
}

func ringName(i int) string {
	if i == 0 {
		return "boundary"
	}
	return fmt.Sprintf("hole %d", i)
}

// squareMeters returns the area inside r: each side, its two meridians and the equator bound a four-sided piece
// of the sphere of equal area, and the signed sum of the pieces around the ring is the inside. [karney-2013]
//
// The plane with x = λ N cos φ, y = φ M is not used: its straight sides are not lines of sight, and the bulge
// of one long slanting side makes 8e-5 of a field of 230 acres. A sphere of mean radius errs by up to 0.27 %.
func (r Ring) squareMeters() float64 {
	var excess float64
	last := r[len(r)-1]
	tanLast := math.Tan(authalic(last.Lat) / 2)
	for _, p := range r {
		tan := math.Tan(authalic(p.Lat) / 2)
		half := (p.Lon - last.Lon) * radian / 2
		excess += 2 * math.Atan2(math.Tan(half)*(tanLast+tan), 1+tanLast*tan)
		last, tanLast = p, tan
	}
	return math.Abs(excess) * authalicRadius2()
}

// authalic returns the latitude, radians, on the sphere that has the ellipsoid's area between any two parallels.
// [snyder-1395] eq. 3-11
func authalic(latDeg float64) float64 {
	return math.Asin(equalAreaQ(math.Sin(latDeg*radian)) / equalAreaQ(1))
}

// authalicRadius2 returns the square of that sphere's radius, m². [snyder-1395] eq. 3-13
func authalicRadius2() float64 { return semiMajor * semiMajor * equalAreaQ(1) / 2 }

// equalAreaQ grows with the area of the ellipsoid between the equator and the latitude of that sine.
// [snyder-1395] eq. 3-12
func equalAreaQ(sin float64) float64 {
	e := math.Sqrt(eccentric2)
	return (1 - eccentric2) * (sin/(1-eccentric2*sin*sin) + math.Atanh(e*sin)/e)
}

// Differs returns a doubt when the measured area is more than 2 % off the stated acres; ok is true when it is
// not, or when nothing is stated. Neither figure replaces the other. [judgement]
func Differs(measured units.Area, statedAcres float64) (f problem.Finding, ok bool) {
	const limit = 0.02
	if statedAcres <= 0 || math.Abs(measured.Acres()-statedAcres) <= limit*statedAcres {
		return problem.Finding{}, true
	}
	return problem.Finding{
		Rule: "boundary.acres", Severity: problem.Warning, Label: "acres",
		Got: fmt.Sprintf("%.1f stated", statedAcres), Want: fmt.Sprintf("%.1f by the boundary", measured.Acres()),
		Say:  fmt.Sprintf("The boundary measures %.1f acres, the field is entered with %.1f.", measured.Acres(), statedAcres),
		Next: "Check the boundary for ditches, waterways and the neighbor's corner. Insured and program acres stay as they are.",
	}, false
}
