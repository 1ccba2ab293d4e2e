package land

import (
	"math"

	"threshday/internal/core/units"
)

// Bounds of Vincenty's iteration: the longitude has settled when it moves by less than this part of itself, so
// that short lines are as exact as long ones; points that have not settled after so many rounds lie nearly
// opposite on the globe.
const (
	settled   = 1e-12
	maxRounds = 200
)

// Distance returns the length of the geodesic between a and b, good to a millimetre. ok is false when the
// points lie so nearly opposite on the globe that the iteration does not settle, or are no points on it.
// [vincenty-1975]
func Distance(a, b Point) (d units.Length, ok bool) {
	if !(math.Abs(a.Lat) <= 90 && math.Abs(b.Lat) <= 90 && math.Abs(a.Lon) <= 180 && math.Abs(b.Lon) <= 180) {
		return 0, false
	}
	if a == b {
		return 0, true
	}
	sinU1, cosU1 := reduced(a.Lat)
	sinU2, cosU2 := reduced(b.Lat)
	l := math.Remainder((b.Lon-a.Lon)*radian, 2*math.Pi)
	lambda := l
	for range maxRounds {
		sinλ, cosλ := math.Sincos(lambda)
		sinσ := math.Hypot(cosU2*sinλ, cosU1*sinU2-sinU1*cosU2*cosλ)
		if sinσ == 0 {
			return 0, true // the same place written in two ways
		}
		cosσ := sinU1*sinU2 + cosU1*cosU2*cosλ
		σ := math.Atan2(sinσ, cosσ)
		sinα := cosU1 * cosU2 * sinλ / sinσ
		cos2α := 1 - sinα*sinα
		var cos2σm float64 // of the middle of the line; on the equator any value serves
		if cos2α > 0 {
			cos2σm = cosσ - 2*sinU1*sinU2/cos2α
		}
		c := flattening / 16 * cos2α * (4 + flattening*(4-3*cos2α)) // eq. 10
		last := lambda
		lambda = l + (1-c)*flattening*sinα*(σ+c*sinσ*(cos2σm+c*cosσ*(2*cos2σm*cos2σm-1))) // eq. 11
		if math.Abs(lambda) > math.Pi {
			return 0, false
		}
		if math.Abs(lambda-last) <= settled*math.Abs(lambda) {
			return units.Length(arc(cos2α, cos2σm, sinσ, cosσ, σ)), true
		}
	}
	return 0, false
}

// reduced returns sine and cosine of the latitude on the sphere that goes with the ellipsoid.
func reduced(latDeg float64) (sin, cos float64) {
	sinφ, cosφ := math.Sincos(latDeg * radian)
	sin, cos = (1-flattening)*sinφ, cosφ
	h := math.Hypot(sin, cos)
	return sin / h, cos / h
}

// arc returns the length of the line, m, by Vincenty's equations 3, 4, 6 and 19.
func arc(cos2α, cos2σm, sinσ, cosσ, σ float64) float64 {
	u2 := cos2α * (semiMajor*semiMajor - semiMinor*semiMinor) / (semiMinor * semiMinor)
	a := 1 + u2/16384*(4096+u2*(-768+u2*(320-175*u2)))
	b := u2 / 1024 * (256 + u2*(-128+u2*(74-47*u2)))
	sq := cos2σm * cos2σm
	Δσ := b * sinσ * (cos2σm + b/4*(cosσ*(-1+2*sq)-b/6*cos2σm*(-3+4*sinσ*sinσ)*(-3+4*sq)))
	return semiMinor * a * (σ - Δσ)
}

// RoadGuess returns the range in which road miles lie on a section grid, 1.25 to 1.35 times the straight line;
// it cannot exceed 1.414. Ask for the real figure. [judgement]
func RoadGuess(straight units.Length) (low, high units.Length) {
	return 1.25 * straight, 1.35 * straight
}
