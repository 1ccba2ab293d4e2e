// Package capacity models how much a harvest crew gets done: acres and bushels an hour of a combine, the
// ceilings that slow it, carts, trucks and their cycles, lines at the pit, what a machine hour and a hauled
// bushel cost, and what a truck may weigh on its axles.
//
// It leaves out when the crop can be cut (package drydown), which machine goes where (package planner), prices
// and settlements, and the law of any state: [Cautions] says so where it matters. Speeds and lengths are units,
// scale weights are trade.Pounds, rates and money carry their unit in the name.
//
// Identities (field capacity, queues, the bridge formula, the form of repair cost) are exact. Defaults such as
// ceilings, speeds, minutes and waits are this project's judgement where they say so: offer them, mark them as
// assumed, and replace them by the farm's own records after two days.
//
// Sources: docs/sources/capacity.md; equations and tests: docs/model/capacity.md.
package capacity

import (
	"threshday/internal/core/crop"
	"threshday/internal/core/units"
)

// A Pass is how a machine works a field.
type Pass struct {
	Speed      units.Speed
	Width      units.Length // working width: rows times spacing, or the platform less half a foot to a foot of overlap
	Efficiency float64      // part of the time spent working, above 0 to 1
}

// perHour returns the area covered in an hour of work without pauses.
func (p Pass) perHour() units.Area { return units.Area(float64(p.Speed) * 3600 * float64(p.Width)) }

// AcresPerHour returns the effective field capacity: mph × ft × efficiency / 8.25. [asabe-ep496-text]
func (p Pass) AcresPerHour() float64 { return p.perHour().Acres() * p.Efficiency }

// DefaultEfficiency is the typical field efficiency of a combine, of a range of 0.65 to 0.80; field experience
// with machines that must be tended is nearer 0.60 [farm-press-efficiency]. [capacity-recalled]
const DefaultEfficiency = 0.70

// AcresPerHourStanding returns the field capacity of a combine that stops to unload: p.Efficiency is then the
// efficiency without unloading, and every tankBu cost minPerDump minutes. Unloading on the move costs no
// combine time.
func (p Pass) AcresPerHourStanding(buPerAcre, tankBu, minPerDump float64) float64 {
	return 1 / (1/p.AcresPerHour() + buPerAcre/tankBu*minPerDump/60)
}

// DefaultTurnSeconds is one turn on the headland. [judgement]
const DefaultTurnSeconds = 25

// OnPasses returns p with its efficiency lowered by turning at the end of passes of the given length; about
// the field's area over its width across the passes. [judgement]
func (p Pass) OnPasses(length units.Length, turnSeconds float64) Pass {
	p.Efficiency *= float64(length) / (float64(length) + float64(p.Speed)*turnSeconds)
	return p
}

// What holds a combine back.
const (
	BySpeed   = "speed"   // the ground speed chosen
	ByCeiling = "ceiling" // what it can thresh
)

// Work is a pass through a crop.
type Work struct {
	Pass
	BuPerAcre        float64 // in the tank, wet as it comes
	CeilingBuPerHour float64 // what the machine can thresh; 0: not known, nothing holds it back
}

// A Rate is what a combine gets done.
type Rate struct {
	AcresPerHour float64
	BuPerHour    float64
	Speed        units.Speed // at which it runs
	LimitedBy    string      // BySpeed or ByCeiling
}

// Rate returns the rate at the speed chosen, or at the lower speed at which the crop just fills the machine.
func (w Work) Rate() Rate {
	r := Rate{Speed: w.Speed, LimitedBy: BySpeed}
	if s, ok := w.FullSpeed(); ok && s < w.Speed {
		r.Speed, r.LimitedBy = s, ByCeiling
		w.Speed = s
	}
	r.AcresPerHour = w.AcresPerHour()
	r.BuPerHour = r.AcresPerHour * w.BuPerAcre
	return r
}

// FullSpeed returns the speed at which the crop just fills the machine; ok is false where no ceiling is known
// or there is no crop to fill it.
func (w Work) FullSpeed() (s units.Speed, ok bool) {
	if w.CeilingBuPerHour <= 0 || w.BuPerAcre <= 0 {
		return 0, false
	}
	oneMPH := w.Pass
	oneMPH.Speed = units.MilePerHour
	return units.Speed(w.CeilingBuPerHour/(w.BuPerAcre*oneMPH.AcresPerHour())) * units.MilePerHour, true
}

// Overload returns by what fraction the chosen speed overfills the machine, 0 when it does not: the loss models
// turn it into grain out of the back.
func (w Work) Overload() float64 {
	s, ok := w.FullSpeed()
	if !ok || w.Speed <= s {
		return 0
	}
	return float64(w.Speed/s) - 1
}

// NeededAcresPerHour returns the field capacity that cuts acres in so many suitable days of so many hours.
// [iowa-a3-25]
func NeededAcresPerHour(acres, suitableDays, hoursADay float64) float64 {
	return acres / suitableDays / hoursADay
}

// DefaultHoursADay returns the hours a crop can be cut on a suitable day where no hourly weather says better;
// ok is false for crops not listed. [judgement]
func DefaultHoursADay(k crop.Kind) (hours float64, ok bool) {
	switch k {
	case crop.Soybean:
		return 8, true
	case crop.Wheat, crop.Canola:
		return 9, true
	case crop.Sorghum, crop.Sunflower:
		return 10, true
	case crop.Corn:
		return 12, true
	default:
		return 0, false
	}
}

// Late is what the EP496 form of timeliness asks for.
type Late struct {
	Acres        float64
	AcresPerHour float64
	HoursADay    float64
	Suitable     float64 // fraction of days fit for work
	BuPerAcre    float64
	USDPerBu     float64
	LossPerDay   float64 // fraction of the yield lost a day; see DefaultLossPerDay
}

// Cost returns the days the work takes and what its mean delay costs, when it begins at the best time and goes
// on steadily. For reports only: a plan uses the losses of package loss hour by hour.
func (l Late) Cost() (days, usd float64) {
	days = l.Acres / (l.AcresPerHour * l.HoursADay * l.Suitable)
	return days, l.LossPerDay * l.BuPerAcre * l.USDPerBu * l.Acres * days / 2
}

// DefaultLossPerDay returns the timeliness coefficient as a fraction of the yield a day: soybean the lower end
// of 0.006 to 0.010 and shelled corn [asabe-d497-wisconsin], wheat [judgement].
func DefaultLossPerDay(k crop.Kind) (perDay float64, ok bool) {
	switch k {
	case crop.Soybean:
		return 0.006, true
	case crop.Corn, crop.Wheat:
		return 0.003, true
	default:
		return 0, false
	}
}
