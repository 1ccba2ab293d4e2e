// Package land measures ground: the area and edge of a field from its boundary, the distance between two
// points, and whether a machine is wider, higher or heavier than a way into a field is said to allow.
//
// It leaves out map projections, roads and files; farm records hold the boundaries. Points are degrees on the
// WGS 84 ellipsoid, areas and lengths are units. Legal acres (insured, program, deeded) are figures of their
// own: what is measured here stands beside them and never replaces them.
//
// Areas are good to a few ten-millionths for anything from a garden to a whole degree; a boundary over 1.5
// degrees is refused. The antimeridian and the poles are not supported. Clearances are
// only compared as entered: the package never says that a way is safe.
//
// Sources: docs/sources/land.md; equations and tests: docs/model/land.md.
package land

import "math"

// A Point on the ellipsoid, degrees north and east.
type Point struct{ Lat, Lon float64 }

// The ellipsoid. [wgs-84]
const (
	semiMajor  = 6378137.0 // m
	flattening = 1 / 298.257223563
	semiMinor  = semiMajor * (1 - flattening)
	eccentric2 = flattening * (2 - flattening) // square of the first eccentricity
)

const radian = math.Pi / 180

// inRange reports whether p is a point on which a field may lie.
func (p Point) inRange() bool {
	return math.Abs(p.Lat) <= 85 && math.Abs(p.Lon) <= 180
}
