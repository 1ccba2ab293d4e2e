package storage

import (
	"fmt"
	"math"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
)

// A Bin is grain lying in a round bin.
type Bin struct {
	Diameter units.Length
	Eave     units.Length  // depth of the grain along the wall: the eave's height when full
	Peak     *units.Length // height of the heap above the wall line; nil: level
	Hollow   *units.Length // depth of the cone drawn out of the middle; nil: none
}

// Volume returns pi/4 D² (h + peak/3 - hollow/3). An error says which measure cannot be.
func (b Bin) Volume() (units.Volume, error) {
	if err := b.check(); err != nil {
		return 0, err
	}
	depth := float64(b.Eave)
	if b.Peak != nil {
		depth += float64(*b.Peak) / 3
	}
	if b.Hollow != nil {
		depth -= float64(*b.Hollow) / 3
	}
	return units.Volume(math.Pi / 4 * float64(b.Diameter) * float64(b.Diameter) * depth), nil
}

func (b Bin) check() error {
	const widest, tallest = 200 * units.Foot, 200 * units.Foot
	var bad problem.InputErrors
	need := func(ok bool, label string, got units.Length, want string) {
		if !ok {
			bad = append(bad, &problem.InputError{Rule: "bin.range", Label: label, Got: fmt.Sprintf("%.4g ft", got.Feet()), Want: want})
		}
	}
	need(b.Diameter > 0 && b.Diameter <= widest, "diameter", b.Diameter, "more than 0 to 200 ft")
	need(b.Eave >= 0 && b.Eave <= tallest, "depth at the wall", b.Eave, "0 to 200 ft")
	if b.Peak != nil {
		need(*b.Peak >= 0 && *b.Peak <= tallest, "peak", *b.Peak, "0 to 200 ft above the wall line")
	}
	if b.Hollow != nil {
		top := b.Eave
		if b.Peak != nil {
			top += *b.Peak
		}
		need(*b.Hollow >= 0 && *b.Hollow <= top, "hollow", *b.Hollow, "0 to the depth of the grain")
	}
	return bad.Or()
}

// DefaultPeak returns the height at which dry clean grain heaps, to be offered where it was not measured; wet
// grain and fines heap higher. ok is false for crops without a figure. [iowa-warehouse]
func DefaultPeak(k crop.Kind, diameter units.Length) (units.Length, bool) {
	switch k {
	case crop.Corn:
		return 0.4 * diameter / 2, true
	case crop.Soybean:
		return 0.5 * diameter / 2, true
	default:
		return 0, false
	}
}

// A Conversion turns cubic feet into volume bushels. Three circulate: store the cubic feet.
type Conversion struct {
	PerCubicFoot float64
	Name         string
	Key          string // of the source, in docs/sources
}

// Exact returns 1728 / 2150.42 = 0.803564, the Winchester bushel itself. [nist-44]
func Exact() Conversion {
	return Conversion{PerCubicFoot: float64(units.CubicFoot / units.VolumeBushel), Name: "exact", Key: "nist-44"}
}

// Warehouse returns 0.80385, of a state warehouse bureau. [iowa-warehouse]
func Warehouse() Conversion {
	return Conversion{PerCubicFoot: 0.80385, Name: "warehouse", Key: "iowa-warehouse"}
}

// FarmRule returns 0.8: a hundred cubic feet are eighty bushels. [farm-bushel-rule]
func FarmRule() Conversion {
	return Conversion{PerCubicFoot: 0.8, Name: "farm rule", Key: "farm-bushel-rule"}
}

// VolumeBushels returns the bushels of volume in v.
func (c Conversion) VolumeBushels(v units.Volume) float64 { return v.CubicFeet() * c.PerCubicFoot }

// TradeBushels turns volume bushels into bushels by weight: heavier grain than the trade bushel holds more than
// its volume says. testWeight is in lb/bu, measured at the moisture the grain lies at; the bushels are as wet
// as the grain. pack is the weight gained by settling, 1 for none: corn packs by 3 to 8 % in ordinary bins
// [storage-recalled], and official factors are a table this program does not have.
func TradeBushels(volumeBushels, testWeight, poundsPerBushel, pack float64) float64 {
	return volumeBushels * testWeight / poundsPerBushel * pack
}

// MeasureErrorPct is how far bushels measured in a bin may lie from the scale. In corn bins the insurance
// method erred by -2.69 to 4.97 %, a warehouse method by -3.33 to 5.67, a pressure model by -4.54 to 4.53.
// [bhadra-2018]
const MeasureErrorPct = 5
