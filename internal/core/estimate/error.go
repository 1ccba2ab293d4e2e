package estimate

import (
	"math"

	"threshday/internal/core/crop"
)

// A Yield is an estimate with its spread.
type Yield struct {
	BuPerAcre float64
	SDPct     float64 // one standard deviation, percent of the mean
}

// SpotCV returns the usual variation between spots of one field as a fraction of the mean; ok is false for
// crops not listed. [judgement]
func SpotCV(k crop.Kind) (cv float64, ok bool) {
	switch k {
	case crop.Corn:
		return 0.15, true
	case crop.Wheat:
		return 0.20, true
	case crop.Soybean, crop.Sorghum:
		return 0.25, true
	default:
		return 0, false
	}
}

// PlacementSDPct is the error that no number of spots takes away: the seed's weight and where people walk, 8 to
// 10 %. [judgement]
const PlacementSDPct = 9

// WeighedSDPct is the whole error after R7 or black layer with the seed weighed. [judgement]
const WeighedSDPct = 7

// CountedSDPct returns the whole error of an estimate of k from counts made in the usual way, percent; ok is
// false for crops not listed. [judgement]
func CountedSDPct(k crop.Kind) (sdPct float64, ok bool) {
	switch k {
	case crop.Corn, crop.Wheat:
		return 12, true
	case crop.Soybean, crop.Sorghum:
		return 15, true
	default:
		return 0, false
	}
}

// Z90 is the standard normal point for 90 % between its two sides.
const Z90 = 1.6448536269514722

// SpotsNeeded returns how many spots hold the mean within halfWidth (a fraction) with the confidence of z, as
// computed and rounded up: (z cv / halfWidth)². Five to ten are usual [ksu-sorghum-yield]; below two nothing
// can be said of the spread.
func SpotsNeeded(cv, halfWidth, z float64) (exact float64, whole int) {
	ratio := z * cv / halfWidth
	exact = ratio * ratio
	return exact, int(math.Ceil(exact))
}

// FromSpots returns the mean yield of the spots, each in bushels an acre, with its spread: what the spots show,
// and [PlacementSDPct] beside it. A single spot, or spots that agree by chance, take the usual variation cv
// instead of their own where it is larger. Panics without spots.
func FromSpots(buPerAcre []float64, cv float64) Yield {
	n := float64(len(buPerAcre))
	if n == 0 {
		panic("estimate: no spots")
	}
	var sum, squares float64
	for _, y := range buPerAcre {
		sum += y
	}
	mean := sum / n
	for _, y := range buPerAcre {
		squares += (y - mean) * (y - mean)
	}
	const few = 5 // fewer spots say too little of their own spread. [judgement]
	if n > 1 && mean > 0 {
		own := math.Sqrt(squares/(n-1)) / mean
		if n >= few || own > cv {
			cv = own
		}
	}
	return Yield{BuPerAcre: mean, SDPct: math.Hypot(100*cv/math.Sqrt(n), PlacementSDPct)}
}

// A Field is what is known of a field partly cut.
type Field struct {
	Acres    float64
	CutAcres float64
	CutBu    float64 // weighed, at the moisture the estimate is for
	Before   Yield   // expected in the tank before the first load: the estimate times what losses leave
}

// An Update is the field's yield once loads are weighed.
type Update struct {
	Cut   float64 // bu/ac so far; 0 before the first load
	Rest  Yield   // of the acres left
	Whole Yield   // of the field
}

// keep is the part of the first acres' relative surprise that is believed of the rest; it is also the part of
// the prior's variance that the loads take away. [judgement]
const keep = 0.5

// Update returns the yield of the acres left and of the whole field. Cut acres are known; the rest keeps half
// of their relative surprise. Panics unless there are acres, no more of them cut than there are, and an
// estimate to start from.
func (f Field) Update() Update {
	if !(f.Acres > 0) || !(f.CutAcres >= 0 && f.CutAcres <= f.Acres) || !(f.Before.BuPerAcre > 0) {
		panic("estimate: cut acres outside the field, or no estimate to update")
	}
	if f.CutAcres == 0 {
		return Update{Rest: f.Before, Whole: f.Before}
	}
	cut := f.CutBu / f.CutAcres
	surprise := cut/f.Before.BuPerAcre - 1
	rest := Yield{
		BuPerAcre: f.Before.BuPerAcre * (1 + keep*surprise),
		SDPct:     f.Before.SDPct * math.Sqrt(1-keep),
	}
	left := f.Acres - f.CutAcres
	whole := (f.CutBu + left*rest.BuPerAcre) / f.Acres
	u := Update{Cut: cut, Rest: rest, Whole: Yield{BuPerAcre: whole}}
	if whole > 0 {
		u.Whole.SDPct = rest.SDPct * left * rest.BuPerAcre / (f.Acres * whole)
	}
	return u
}
