package capacity

import (
	"fmt"
	"math"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

// A Truck is what bounds one load. The gross limit is the owner's own; a split over the axles, where known,
// bounds it further.
type Truck struct {
	Gross trade.Pounds  // limit of the rig with its load
	Tare  trade.Pounds  // empty
	Axles *trade.Pounds // heaviest load by axles and bridge, from Split.MaxLoad; nil: split not known
	Box   *units.Volume // room; nil: not known
}

// Usual tares of trucks, with their ranges, for the owner to replace by a scale ticket. [judgement]
const (
	SemiTare     = 26000 // five-axle hopper, 24,000 to 28,000
	StraightTare = 20000 // tandem straight truck, 20,000 to 22,000 of 50,000 to 54,000 gross
)

// What bounds a payload.
const (
	ByGross = "gross limit"
	ByAxles = "axles"
	ByBox   = "room in the box"
)

// Payload returns the heaviest load of grain weighing poundsPerVolumeBushel (its test weight as it comes, for
// the box; any value where no box is given), and what bounds it. Without Axles the gross limit stands for them:
// say that the axles were not checked.
func (t Truck) Payload(poundsPerVolumeBushel float64) (load trade.Pounds, by string, err error) {
	if t.Tare <= 0 || t.Gross <= t.Tare {
		return 0, "", &problem.InputError{
			Rule: "payload.tare", Label: "tare", Got: fmt.Sprintf("%d lb", t.Tare),
			Want: fmt.Sprintf("more than 0 and less than the gross limit of %d lb", t.Gross),
		}
	}
	load, by = t.Gross-t.Tare, ByGross
	if t.Axles != nil && *t.Axles < load {
		load, by = *t.Axles, ByAxles
	}
	if t.Box != nil {
		if full := trade.Pounds(math.Floor(t.Box.Bushels() * poundsPerVolumeBushel)); full < load {
			load, by = full, ByBox
		}
	}
	return load, by, nil
}

// LoadTo is the part of a limit that a cart operator aims at, so that a load seldom comes in over. [judgement]
const LoadTo = 0.97

// OverLimit returns what to say of a loaded rig over the limit set for it; ok is true when it is not over. The
// weight is recorded all the same.
func OverLimit(gross, limit trade.Pounds) (f problem.Finding, ok bool) {
	if gross <= limit {
		return problem.Finding{}, true
	}
	return problem.Finding{
		Rule: "truck.over-limit", Severity: problem.Error, Label: "gross weight",
		Got: fmt.Sprintf("%d lb", gross), Want: fmt.Sprintf("at most %d lb", limit),
		Say:  fmt.Sprintf("%d lb over the limit you set. Brakes, bridges and your insurance are set for that limit.", gross-limit),
		Next: "Take grain out before it goes on the road.",
	}, false
}
