// Package loss models the grain that never reaches the tank: what falls, lodges or sprouts before the combine
// comes, what the header leaves, and what goes over the walker or out with the pods.
//
// A [Model] is one crop's set of formulas with named, editable parameters; a [Tracker] turns the hours a
// stratum has lived through into the few numbers the models ask for: days ripe, wet-dry cycles, wettings. What
// a person counts on the ground goes through [Counts]. Losses are percent of the crop standing at maturity,
// moisture is percent wet basis, both in the name.
//
// It leaves out the price of the grain, dry weight given away by selling over-dry (package moisture), and how
// moisture comes about (package drydown). Birds, hail and sprayer tracks are the owner's own entries.
//
// Validity: nobody has published a validated daily loss model driven by hourly weather. Published figures give
// levels for good and poor machines, season-long slopes and the direction of each effect; they set season
// totals, not days. The shape between is this project's judgement, and every parameter says which it is, so
// that the owner can put in a field's own count. Show two significant digits and the 10 to 90 % range of
// [Spread.Band], never more.
//
// Sources: docs/sources/loss.md; the equations and how they were tested: docs/model/loss.md.
package loss

import (
	"threshday/internal/core/crop"
)

// A Stand is the state of one stratum of a field in the hour it is cut. The zero Stand is bone-dry and has
// just ripened: give MoisturePct always.
type Stand struct {
	DaysRipe    float64 // since the stratum first reached the crop's ripe moisture, see Model.RipeAtPct
	Cycles      float64 // wet-dry cycles since then
	Wettings    float64 // wetting events since then (wheat)
	MoisturePct float64 // grain, percent wet basis, in the hour of cutting
	LodgedPct   float64 // percent of plants down; corn: newly down since maturity
	GreenPct    float64 // percent of plants still green-stemmed or green-podded
	Gusts       float64 // gusts over 45 mph on a ripe stand under 12 % (soybean)
	EventsPct   float64 // percent lost to hail, birds and the like, as the owner entered it
	SpeedMPH    float64 // ground speed; 0: at or under what the header takes
}

// A Model is the losses of one crop. k scales everything that delay does: the factor of the field and season,
// drawn from a [Spread] or found from a count; 1 is the median, 0 takes all effects of delay away and leaves
// the machine's.
type Model interface {
	// At returns what is lost by cutting s now.
	At(s Stand, k float64) Parts
	// RipeAtPct returns the moisture at which the days of delay start to count, percent wet basis.
	RipeAtPct() float64
	// Params lists the parameters with unit, range and source.
	Params() []Param
	// With returns the model with one parameter changed, or an InputError.
	With(name string, value float64) (Model, error)
}

// Default returns the model of k with its default parameters. ok is false for barley and oats, for which no
// loss figures are known here, and for no crop.
func Default(k crop.Kind) (m Model, ok bool) {
	switch k {
	case crop.Soybean:
		return DefaultSoybean(), true
	case crop.Corn:
		return DefaultCorn(), true
	case crop.Wheat:
		return DefaultWheat(), true
	case crop.Sorghum:
		return DefaultSorghum(), true
	case crop.Canola:
		return DefaultCanola(), true
	case crop.Sunflower:
		return DefaultSunflower(), true
	default:
		return nil, false
	}
}

// worstPct is where a loss before or at the machine stops: the straight lines of the models pass 100 % in the
// end, and something always stands. [judgement]
const worstPct = 99

// Parts are the losses of a stand, each in percent of what had come through the parts before it.
type Parts struct {
	PrePct    float64 // on the ground or out of reach before the combine comes; percent of the mature crop
	GatherPct float64 // left by the header
	ThreshPct float64 // unthreshed, or carried out of the back
	BasePct   float64 // the whole machine, for crops whose figures do not split it; then Gather and Thresh are 0
}

// Kept returns the fraction of the mature crop that reaches the tank, above 0 and at most 1.
func (p Parts) Kept() float64 {
	return (1 - p.PrePct/100) * (1 - p.GatherPct/100) * (1 - p.ThreshPct/100) * (1 - p.BasePct/100)
}

// TotalPct returns everything lost in percent of the mature crop, 0 to below 100.
func (p Parts) TotalPct() float64 { return 100 * (1 - p.Kept()) }

// Overloaded returns the parts for a machine driven past its throughput ceiling by the fraction over (0.1 is
// 10 %): half a percent more goes out of the back for each 5 %. Losses climb steeply past the sweet spot
// [canola-council-settings]; this rate is ours. [judgement]
func (p Parts) Overloaded(over float64) Parts {
	const pctPerFraction = 0.5 / 0.05
	extra := pctPerFraction * max(over, 0)
	if p.BasePct > 0 {
		p.BasePct = upTo(p.BasePct + extra)
	} else {
		p.ThreshPct = upTo(p.ThreshPct + extra)
	}
	return p
}

// Shares splits the mature crop into where each part ends, fractions that sum to 1.
type Shares struct{ Tank, Pre, Gather, Thresh, Base float64 }

// Shares returns where the mature crop ends: times the mature bushels they are bushels.
func (p Parts) Shares() Shares {
	pre, gather, thresh, base := p.PrePct/100, p.GatherPct/100, p.ThreshPct/100, p.BasePct/100
	standing := 1 - pre
	gathered := standing * (1 - gather)
	threshed := gathered * (1 - thresh)
	return Shares{
		Tank:   threshed * (1 - base),
		Pre:    pre,
		Gather: standing * gather,
		Thresh: gathered * thresh,
		Base:   threshed * base,
	}
}

// A Stratum is a part of a field that ripens together.
type Stratum struct {
	Weight      float64 // share of the mature crop by dry mass; any scale
	MoisturePct float64 // percent wet basis
	Parts       Parts
}

// Mix returns what a field of several strata loses, and what the grain in the tank tests. The loss of the mean
// moisture is not the mean loss: a field that ripens unevenly is always mixed here. Dry mass and water are
// added up apart. Panics when the weights sum to nothing.
func Mix(strata []Stratum) (s Shares, moisturePct float64) {
	var total, dry, wet float64
	for _, one := range strata {
		total += one.Weight
	}
	if !(total > 0) {
		panic("loss: strata without weight")
	}
	for _, one := range strata {
		w, part := one.Weight/total, one.Parts.Shares()
		s.Tank += w * part.Tank
		s.Pre += w * part.Pre
		s.Gather += w * part.Gather
		s.Thresh += w * part.Thresh
		s.Base += w * part.Base
		dry += w * part.Tank
		wet += w * part.Tank / (1 - one.MoisturePct/100)
	}
	return s, 100 * (1 - dry/wet)
}

// upTo holds a percentage between nothing and worstPct.
func upTo(pct float64) float64 { return min(max(pct, 0), worstPct) }
