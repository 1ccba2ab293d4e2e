package loss

import "math"

// A Spread says how the factor k of a field and season is distributed: lognormal, the same all season in a
// field, partly shared by fields of one crop.
type Spread struct {
	Median  float64
	GSD     float64 // geometric standard deviation: two fields in three lie within Median/GSD to Median*GSD
	Between float64 // correlation of log k between fields of the same crop, 0 to 1
}

// DefaultSpread returns median 1, geometric SD 1.8, correlation 0.3. [judgement]
func DefaultSpread() Spread { return Spread{Median: 1, GSD: 1.8, Between: 0.3} }

// Factor returns k for two standard normal draws: one shared by all fields of the crop, one of the field's own.
func (s Spread) Factor(zCrop, zField float64) float64 {
	z := math.Sqrt(s.Between)*zCrop + math.Sqrt(1-s.Between)*zField
	return s.Median * math.Exp(z*math.Log(s.GSD))
}

// z90 is the 90 % point of the standard normal distribution.
const z90 = 1.2815515655446004

// Band returns the losses at the 10, 50 and 90 % points of k. Every loss grows with k, so these are the points
// of the loss as well.
func (s Spread) Band(m Model, stand Stand) (p10, p50, p90 Parts) {
	step := math.Exp(z90 * math.Log(s.GSD))
	return m.At(stand, s.Median/step), m.At(stand, s.Median), m.At(stand, s.Median*step)
}

// Given returns the spread once a count has put the field's k at measured with geometric SD gsd: the two are
// normal in log k, and each weighs by its inverse variance. A gsd of 1 is certain and replaces the prior.
// Panics unless measured is positive and gsd at least 1.
func (s Spread) Given(measured, gsd float64) Spread {
	if !(measured > 0) || !(gsd >= 1) {
		panic("loss: a measured factor must be positive and its geometric SD at least 1")
	}
	prior, noise := sq(math.Log(s.GSD)), sq(math.Log(gsd))
	if prior == 0 {
		return s
	}
	w := prior / (prior + noise)
	median := math.Exp((1-w)*math.Log(s.Median) + w*math.Log(measured))
	return Spread{Median: median, GSD: math.Exp(math.Sqrt(prior * (1 - w))), Between: s.Between}
}

func sq(x float64) float64 { return x * x }

// FactorFromCount returns the k at which m gives the pre-harvest loss counted in a field standing at s, percent
// of the mature crop. ok is false where the model's loss does not depend on k yet, as on the ripe day, or the
// count lies under what the stand loses without delay.
func FactorFromCount(m Model, s Stand, preHarvestPct float64) (k float64, ok bool) {
	none := m.At(s, 0).PrePct
	perK := m.At(s, 1).PrePct - none
	if !(perK > 0) || !(preHarvestPct > none) {
		return 0, false
	}
	return (preHarvestPct - none) / perK, true
}
