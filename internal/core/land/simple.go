package land

import (
	"fmt"
	"slices"

	"threshday/internal/core/problem"
)

// An edge is one side of a ring, with the smaller longitude first in lo.
type edge struct {
	ring, n int // n counts from 0 in its ring of size points
	size    int
	a, b    Point
	lo, hi  float64
}

// simple returns an error where any two sides that are not neighbours cross or touch, or a hole does not lie
// inside the boundary and outside the other holes. Sides are compared as straight lines in degrees, which differ
// from lines of sight by centimetres.
func simple(rings []Ring) error {
	var edges []edge
	for i, r := range rings {
		for j, a := range r {
			b := r[(j+1)%len(r)]
			edges = append(edges, edge{i, j, len(r), a, b, min(a.Lon, b.Lon), max(a.Lon, b.Lon)})
		}
	}
	slices.SortStableFunc(edges, func(x, y edge) int {
		switch {
		case x.lo < y.lo:
			return -1
		case x.lo > y.lo:
			return 1
		default:
			return 0
		}
	})
	for i, x := range edges {
		for _, y := range edges[i+1:] {
			if y.lo > x.hi { // sorted: none of the rest reaches back to x
				break
			}
			if !neighbours(x, y) && meet(x.a, x.b, y.a, y.b) {
				return crossing(x, y)
			}
		}
	}
	for i := 1; i < len(rings); i++ {
		for j := range i {
			if inside := contains(rings[j], rings[i][0]); inside != (j == 0) || (j > 0 && contains(rings[i], rings[j][0])) {
				return &problem.InputError{
					Rule: "boundary.hole", Label: ringName(i), Got: fmt.Sprintf("a ring at %.5f, %.5f", rings[i][0].Lat, rings[i][0].Lon),
					Want: "a ring inside the boundary and outside the other holes",
				}
			}
		}
	}
	return nil
}

func neighbours(x, y edge) bool {
	if x.ring != y.ring {
		return false
	}
	gap := (x.n - y.n + x.size) % x.size
	return gap == 1 || gap == x.size-1
}

func crossing(x, y edge) error {
	if y.ring < x.ring || (y.ring == x.ring && y.n < x.n) {
		x, y = y, x
	}
	return &problem.InputError{
		Rule: "boundary.crossing", Label: ringName(x.ring),
		Got: fmt.Sprintf("side %d of the %s meets side %d of the %s near %.5f, %.5f",
			x.n+1, ringName(x.ring), y.n+1, ringName(y.ring), x.a.Lat, x.a.Lon),
		Want: "a line that neither crosses nor touches itself or another",
		Next: "Move or delete the points there; a walked boundary often overlaps where it starts.",
	}
}

// turn is positive when a, b, c turn left, negative when right, 0 on one line.
func turn(a, b, c Point) float64 {
	return (b.Lon-a.Lon)*(c.Lat-a.Lat) - (b.Lat-a.Lat)*(c.Lon-a.Lon)
}

// meet reports whether the sides ab and cd have a point in common.
func meet(a, b, c, d Point) bool {
	if max(a.Lat, b.Lat) < min(c.Lat, d.Lat) || max(c.Lat, d.Lat) < min(a.Lat, b.Lat) ||
		max(a.Lon, b.Lon) < min(c.Lon, d.Lon) || max(c.Lon, d.Lon) < min(a.Lon, b.Lon) {
		return false
	}
	apart := func(s, t float64) bool { return (s > 0 && t > 0) || (s < 0 && t < 0) }
	return !apart(turn(a, b, c), turn(a, b, d)) && !apart(turn(c, d, a), turn(c, d, b))
}

// contains reports whether p lies inside r, counting the sides a line to the east meets.
func contains(r Ring, p Point) bool {
	in := false
	a := r[len(r)-1]
	for _, b := range r {
		if (a.Lat > p.Lat) != (b.Lat > p.Lat) && p.Lon < a.Lon+(p.Lat-a.Lat)/(b.Lat-a.Lat)*(b.Lon-a.Lon) {
			in = !in
		}
		a = b
	}
	return in
}
