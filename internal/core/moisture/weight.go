package moisture

import (
	"threshday/internal/core/crop"
	"threshday/internal/core/units"
)

// AtMoisture returns what grain weighing wet at moisture from weighs once its moisture is to.
// Dry matter is conserved; handling loss is separate, see [TotalShrinkPct]. [sdsu-corn-shrink]
// Panics unless both moistures lie in 0 to below 100 % wet basis.
func AtMoisture(wet units.Mass, from, to Content) units.Mass {
	from.mustBeGrain()
	to.mustBeGrain()
	return wet * units.Mass(from.DryMatter()/to.DryMatter())
}

// WaterShrinkPct returns the weight that leaves as water when grain goes from one moisture to another, in
// percent of the wet weight. Negative where the grain gains: whether anybody pays for that is the buyer's
// terms, not this formula. [sdsu-corn-shrink]
// Panics unless both moistures lie in 0 to below 100 % wet basis.
func WaterShrinkPct(from, to Content) float64 {
	from.mustBeGrain()
	to.mustBeGrain()
	return 100 * (from.wb - to.wb) / to.DryMatter()
}

// FactorPctPerPoint returns the water shrink for each point of moisture taken out down to the moisture to, in
// percent of the wet weight, whatever the grain started at: 1.1765 for corn to 15 %. [sdsu-corn-shrink]
// Panics unless to lies in 0 to below 100 % wet basis.
func FactorPctPerPoint(to Content) float64 {
	to.mustBeGrain()
	return 1 / to.DryMatter()
}

// TotalShrinkPct returns water shrink and a constant handling loss together, both in percent of the wet
// weight; 0.5 is a common handling figure. [seed-shrink-half]
// Panics unless both moistures lie in 0 to below 100 % wet basis.
func TotalShrinkPct(from, to Content, handlingPct float64) float64 {
	return WaterShrinkPct(from, to) + handlingPct
}

// HandlingInFactorPct returns the handling loss hidden in a buyer's one factor, pctPerPoint percent for each
// point over the base: what it takes beyond the water, in percent of the wet weight. Negative where the
// factor does not even cover the water.
// Panics unless both moistures lie in 0 to below 100 % wet basis.
func HandlingInFactorPct(from, base Content, pctPerPoint float64) float64 {
	return pctPerPoint*(from.WetBasisPct()-base.WetBasisPct()) - WaterShrinkPct(from, base)
}

// OverDryLostPct returns the part of the saleable weight given away by selling grain drier than the base its
// price is for, in percent of what it would weigh at the base. Zero at and above the base, where the
// buyer's discounts act instead. [unl-cropwatch-overdry]
// Panics unless both moistures lie in 0 to below 100 % wet basis.
func OverDryLostPct(soldAt, base Content) float64 {
	soldAt.mustBeGrain()
	base.mustBeGrain()
	if soldAt.wb >= base.wb {
		return 0
	}
	return 100 * (1 - base.DryMatter()/soldAt.DryMatter())
}

// BushelsAtBase returns how many trade bushels grain weighing wet at moisture at holds once its water is
// brought to the base. ok is false for a crop without a trade bushel, see crop.BushelPounds.
// Panics unless both moistures lie in 0 to below 100 % wet basis.
func BushelsAtBase(k crop.Kind, wet units.Mass, at, base Content) (bu float64, ok bool) {
	return crop.Bushels(k, AtMoisture(wet, at, base))
}
