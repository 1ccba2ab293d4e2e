// Package moisture models the water in grain: its content on two bases, what its change does to a weight, and
// where it settles with the air around it.
//
// It leaves out how fast grain dries (package drydown), what a buyer takes for water (package settlement) and
// readings as meters print them (package trade). Percent wet basis is kilograms of water in 100 kg of grain,
// what farmers and scales say; percent dry basis is kilograms of water for 100 kg of dry matter, what the
// equilibrium equations use. 20 % wet is 25 % dry: names here carry wet or dry.
//
// The equilibrium curves were fitted roughly to 5–40 °C and 20–90 % relative humidity and extrapolate
// beyond. They are good to 0.5–1 point at best (variety, form, direction of drying): a parameter to be
// learned, not the truth. All are mostly drying curves; grain that gains water settles 1–2 points lower: air
// of 70–75 % brings dry soybeans up to 13 %, where the curve says 13.7–16.5. [ndsu-recondition]
// Sources: ASAE D245 as quoted, and others by crop, see docs/sources/moisture.md.
package moisture

// A Content is a modelled grain moisture, held as a fraction of the wet weight. The zero Content is bone-dry
// grain.
type Content struct{ wb float64 }

// WetBasis returns the Content of pct kilograms of water in 100 kg of wet grain. Grain lies in 0 to below 100.
func WetBasis(pct float64) Content { return Content{pct / 100} }

// DryBasis returns the Content of pct kilograms of water for 100 kg of dry matter, 0 or more.
func DryBasis(pct float64) Content { return Content{pct / (100 + pct)} }

// WetBasisPct returns kilograms of water in 100 kg of wet grain.
func (c Content) WetBasisPct() float64 { return 100 * c.wb }

// DryBasisPct returns kilograms of water for 100 kg of dry matter.
func (c Content) DryBasisPct() float64 { return 100 * c.wb / (1 - c.wb) }

// DryMatter returns the share of the wet weight that is not water, 0 to 1.
func (c Content) DryMatter() float64 { return 1 - c.wb }

// mustBeGrain panics unless some of the grain is dry matter and none of its water is negative.
func (c Content) mustBeGrain() {
	if !(c.wb >= 0 && c.wb < 1) {
		panic("moisture: content outside 0 to below 100 % wet basis")
	}
}
