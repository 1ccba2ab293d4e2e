// Package estimate says what a field will yield: from counts before harvest, with how far off they usually are,
// then from the first weighed loads.
//
// It leaves out losses: counts see the crop that stands, so multiply by the fraction kept (package loss) before
// comparing with a scale. Yields are trade bushels an acre at whatever moisture the seed size belongs to.
//
// The algebra of yield components is exact; the seed size in it is a guess until maturity, and people place
// their spots where they can walk. Extension authors warn that such an estimate seldom agrees with the scale
// [missouri-estimates]: show its spread.
//
// Sources: docs/sources/estimate.md; equations and tests: docs/model/estimate.md.
package estimate

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
)

// Trade bushels, pounds.
var (
	soybeanLb = bushelLb(crop.Soybean)
	cornLb    = bushelLb(crop.Corn)
	wheatLb   = bushelLb(crop.Wheat)
	sorghumLb = bushelLb(crop.Sorghum)
)

func bushelLb(k crop.Kind) float64 {
	lb, _ := crop.BushelPounds(k)
	return lb.Float()
}

// sqFtPerAcre is 43,560.
const sqFtPerAcre = float64(units.Acre / units.SquareFoot)

// A Size is how many seeds weigh a pound, before anybody has weighed them.
type Size struct {
	PerPound  float64
	Low, High float64 // usual range: many small seeds to few large ones
	Key       string  // of the source, in docs/sources
}

// DefaultSize returns the usual seed size of k in yield estimates; ok is false for crops not listed. Corn is
// [DefaultKernelsPerBu], wheat 32 g a thousand of 25 to 40. Counting losses takes its own sizes (package loss):
// what lies on the ground has filled.
func DefaultSize(k crop.Kind) (s Size, ok bool) {
	switch k {
	case crop.Soybean:
		return Size{PerPound: 3000, Low: 2500, High: 3500, Key: "purdue-casteel"}, true
	case crop.Corn:
		return Size{PerPound: DefaultKernelsPerBu / cornLb, Low: 75000 / cornLb, High: 110000 / cornLb, Key: "purdue-nielsen-2021"}, true
	case crop.Wheat:
		return Size{PerPound: PerPound(32), Low: PerPound(40), High: PerPound(25), Key: "omafra-yield-2017"}, true
	case crop.Sorghum:
		return Size{PerPound: 15500, Low: 12500, High: 19000, Key: "ksu-sorghum-yield"}, true
	default:
		return Size{}, false
	}
}

// PerPound turns the weight of a thousand seeds in grams into seeds a pound.
func PerPound(thousandGrams float64) float64 { return 1e6 * float64(units.Pound) / thousandGrams }

// DefaultKernelsPerBu is the usual corn: 75,000 where it filled very well, 90,000 in the classic rule.
// [purdue-nielsen-2021]
const DefaultKernelsPerBu = 85000

// DefaultSeedsPerPod is the usual mean of soybeans. [purdue-casteel]
const DefaultSeedsPerPod = 2.5

// RowLength returns how much of one row makes a part of an acre: 17.42 ft of 30-inch rows are a thousandth.
func RowLength(acres float64, spacing units.Length) units.Length {
	return units.Length(acres * float64(units.Acre) / float64(spacing))
}

// Soybean counts, as means of the spots.
type Soybean struct {
	Plants      float64 // in a thousandth of an acre
	PodsPer     float64 // on a plant
	SeedsPerPod float64
	SeedsPerLb  float64
}

// BuPerAcre returns plants an acre × pods × seeds over seeds a bushel. [soybean-research-yield]
func (c Soybean) BuPerAcre() (float64, error) {
	if err := check(
		entry{"plants in 1/1000 acre", c.Plants, 0, 2000}, entry{"pods a plant", c.PodsPer, 0, 1000},
		entry{"seeds a pod", c.SeedsPerPod, 0, 5}, size(c.SeedsPerLb, 1000, 10000),
	); err != nil {
		return 0, err
	}
	return 1000 * c.Plants * c.PodsPer * c.SeedsPerPod / (c.SeedsPerLb * soybeanLb), nil
}

// SoybeanPods is the short way: pods in a ten-thousandth of an acre, 20.91 inches of one 30-inch row, two rows
// of 15, four of 7.5. At 3,000 seeds a pound it is pods × 2.5 / 18. [purdue-casteel]
func SoybeanPods(pods, seedsPerPod, seedsPerLb float64) (buPerAcre float64, err error) {
	if err := check(
		entry{"pods in 1/10,000 acre", pods, 0, 20000}, entry{"seeds a pod", seedsPerPod, 0, 5}, size(seedsPerLb, 1000, 10000),
	); err != nil {
		return 0, err
	}
	return 10000 * pods * seedsPerPod / (seedsPerLb * soybeanLb), nil
}

// Corn counts, as means of the spots.
type Corn struct {
	Ears         float64 // in a thousandth of an acre
	Rows         float64 // around the ear
	Kernels      float64 // along a row
	KernelsPerBu float64
}

// BuPerAcre returns ears an acre × rows × kernels over kernels a bushel. [purdue-nielsen-2021]
func (c Corn) BuPerAcre() (float64, error) {
	if err := check(
		entry{"ears in 1/1000 acre", c.Ears, 0, 200}, entry{"rows on an ear", c.Rows, 0, 40},
		entry{"kernels in a row", c.Kernels, 0, 100}, entry{"kernels a bushel", c.KernelsPerBu, 30000, 200000},
	); err != nil {
		return 0, err
	}
	return 1000 * c.Ears * c.Rows * c.Kernels / c.KernelsPerBu, nil
}

// Wheat counts, as means of the spots.
type Wheat struct {
	HeadsPerSqFt  float64
	Kernels       float64 // in a head
	ThousandGrams float64 // weight of a thousand kernels
}

// BuPerAcre returns heads × kernels × grams × 0.001600556; prints have 0.0016. [omafra-yield-2017]
func (c Wheat) BuPerAcre() (float64, error) {
	if err := check(
		entry{"heads a square foot", c.HeadsPerSqFt, 0, 500}, entry{"kernels a head", c.Kernels, 0, 200},
		entry{"grams a thousand kernels", c.ThousandGrams, 10, 80},
	); err != nil {
		return 0, err
	}
	return sqFtPerAcre * c.HeadsPerSqFt * c.Kernels / (PerPound(c.ThousandGrams) * wheatLb), nil
}

// HeadsPerSqFt turns heads on a foot of one row into heads a square foot. Prints that multiply heads from five
// feet of row by the factor for one are five times too high.
func HeadsPerSqFt(headsPerFootOfRow float64, spacing units.Length) float64 {
	return headsPerFootOfRow / spacing.Feet()
}

// WheatByHeadWeight returns the yield from heads a square foot and the grain in one head, grams: 0.513 on
// average, 0.409 poor and 0.618 good in western Kansas. [ksu-head-weight]
func WheatByHeadWeight(headsPerSqFt, gramsPerHead float64) (buPerAcre float64, err error) {
	if err := check(entry{"heads a square foot", headsPerSqFt, 0, 500}, entry{"grams of grain a head", gramsPerHead, 0, 10}); err != nil {
		return 0, err
	}
	grams := units.Mass(headsPerSqFt*gramsPerHead/1000) * units.Kilogram
	return sqFtPerAcre * grams.Pounds() / wheatLb, nil
}

// Sorghum counts, as means of the spots.
type Sorghum struct {
	Heads      float64 // in a thousandth of an acre
	Seeds      float64 // in a head: counted, 500 to 2,500
	SeedsPerLb float64
}

// BuPerAcre returns heads an acre × seeds over seeds a bushel. [ksu-sorghum-yield]
func (c Sorghum) BuPerAcre() (float64, error) {
	if err := check(
		entry{"heads in 1/1000 acre", c.Heads, 0, 500}, entry{"seeds a head", c.Seeds, 0, 6000}, size(c.SeedsPerLb, 8000, 30000),
	); err != nil {
		return 0, err
	}
	return 1000 * c.Heads * c.Seeds / (c.SeedsPerLb * sorghumLb), nil
}

// Earliest returns the stage before which a count says little; ok is false for crops not listed.
func Earliest(k crop.Kind) (stage string, ok bool) {
	switch k {
	case crop.Soybean: // [purdue-casteel]
		return "R5 at the earliest, better R6 or later", true
	case crop.Corn: // [purdue-nielsen-2021]
		return "R3, 18 to 22 days after pollination", true
	case crop.Sorghum: // [ksu-sorghum-yield]
		return "3 to 4 weeks after flowering, half to three quarters of the kernel filled", true
	default:
		return "", false
	}
}

// An entry is one number and the range it may have.
type entry struct {
	label          string
	got, low, high float64
}

func size(perPound, low, high float64) entry { return entry{"seeds a pound", perPound, low, high} }

func check(all ...entry) error {
	var bad problem.InputErrors
	for _, e := range all {
		if !(e.got >= e.low && e.got <= e.high) {
			bad = append(bad, &problem.InputError{
				Rule: "yield.range", Label: e.label, Got: fmt.Sprintf("%.6g", e.got), Want: fmt.Sprintf("%g to %g", e.low, e.high),
			})
		}
	}
	return bad.Or()
}
