package land

import (
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
)

// A Machine as it goes on the road, and a Way it must pass. What is not known is nil.
type (
	Machine struct {
		Width, Height *units.Length
		Weight        *units.Mass
	}
	Way struct {
		Width, Height *units.Length // of the gate, crossing or bridge; under the lowest line
		Limit         *units.Mass   // posted or stated
	}
)

// A Verdict on one measure of a way.
type Verdict string

// The verdicts. There is none that says a way is safe: a way within its limits as entered may still be soft,
// broken or measured wrongly.
const (
	TooNarrow Verdict = "too narrow"
	TooLow    Verdict = "too low"
	TooHeavy  Verdict = "too heavy"
	NotKnown  Verdict = "not known"
	AsEntered Verdict = "passes by the figures entered; look before you drive"
)

// Refuses reports whether the machine must not go that way by the figures entered.
func (v Verdict) Refuses() bool { return v == TooNarrow || v == TooLow || v == TooHeavy }

// A Clearance is the verdict on each measure.
type Clearance struct{ Width, Height, Weight Verdict }

// Refuses reports whether any measure does.
func (c Clearance) Refuses() bool {
	return c.Width.Refuses() || c.Height.Refuses() || c.Weight.Refuses()
}

// Compare sets a machine against a way, each as entered. A machine as wide as the gate or as high as the line
// does not pass: nothing is left on either side.
func Compare(m Machine, w Way) Clearance {
	c := Clearance{Width: NotKnown, Height: NotKnown, Weight: NotKnown}
	if m.Width != nil && w.Width != nil {
		c.Width = verdict(*m.Width >= *w.Width, TooNarrow)
	}
	if m.Height != nil && w.Height != nil {
		c.Height = verdict(*m.Height >= *w.Height, TooLow)
	}
	if m.Weight != nil && w.Limit != nil {
		c.Weight = verdict(*m.Weight > *w.Limit, TooHeavy)
	}
	return c
}

func verdict(refused bool, why Verdict) Verdict {
	if refused {
		return why
	}
	return AsEntered
}

// Cautions returns the texts to show with a way into a field.
func Cautions() []problem.Caution {
	return []problem.Caution{
		{Rule: "way.not-known", Key: "common-practice-1", Say: "Measure the gate and the lowest line before the first machine goes through. Nothing here says that a way is safe."},
		{Rule: "way.duals", Key: "common-practice-1", Say: "The outer duals of a large combine are about 18 ft over all; a crossing of 20 ft is the usual least."},
		{Rule: "way.bridge", Key: "common-practice-1", Say: "A posted bridge is posted for a reason: the combine, the full cart and the loaded truck each count."},
	}
}
