package drydown

import (
	"fmt"
	"math"
)

// doubtfulAt is how many standard deviations off a sighting is doubted aloud. [judgement]
const doubtfulAt = 3

// see takes in a sighting of a stage, which speaks of the maturity date alone.
func (a *assimilation) see(s Sighting) trace {
	tr := trace{lesson: Lesson{ID: s.ID, At: s.At}, sure: 1}
	days, sd, err := a.Field.toMaturity(s)
	switch {
	case err != nil:
		tr.lesson.Say = err.Error()
	case a.baseWB > 0:
		tr.lesson.Say = "The field's forecast starts from a reading, not from its maturity, so the stage adds nothing."
	}
	if tr.lesson.Say != "" {
		return tr
	}
	a.advance(s.At)
	belief := &a.t.belief
	mean := a.slopes(Whole)
	tr.was, tr.before = a.now(), math.Sqrt(max(0, belief.variance(mean)))
	seen := float64(s.At-a.Ripe.Hour)/24 + days
	miss := seen - a.mean(atShift)
	h := sight{{a.first + atShift, 1}}
	noise := SightingSDDays*SightingSDDays + sd*sd
	spread := a.variance(atShift) + noise
	if s.Stage == GreenStage && s.Pct == nil {
		// Not yet mature: the date lies after what was seen, nobody says how long.
		if miss > doubtfulAt*math.Sqrt(spread) {
			tr.lesson.Say = doubt(s.Stage, miss)
		}
		belief.cut(h, -miss/math.Sqrt(spread), spread, 1)
	} else {
		if math.Abs(miss) > doubtfulAt*math.Sqrt(spread) {
			tr.lesson.Say = doubt(s.Stage, miss)
		}
		belief.learn(h, miss, noise)
	}
	tr.is, tr.after = a.now(), Estimate{a.straight(Whole, mean), math.Sqrt(max(0, belief.variance(mean)))}
	tr.lesson.Used = true
	return tr
}

func doubt(s Stage, miss float64) string {
	when := "later"
	if miss > 0 {
		when = "earlier"
	}
	return fmt.Sprintf("%s was expected about %.0f days %s: look again.", s, math.Abs(miss), when)
}

// toMaturity returns how many days after a sighting half the plants of the field mature (negative: before), and the spread of
// that beyond the look itself.
func (f *Field) toMaturity(s Sighting) (days, sdDays float64, err error) {
	days, sdDays, err = ToMaturity(f.Params.Crop, s.Stage)
	if err != nil {
		return 0, 0, err
	}
	switch {
	case s.Pct != nil && s.Stage == BrownStage:
		// R8 is 95 % of the pods brown; fewer are before it by what the field's dates spread.
		days += plantsShift(*s.Pct, f.SpreadDays) - plantsShift(podsAtR8, f.SpreadDays)
	case s.Pct != nil && s.Stage == GreenStage:
		days += plantsShift(100-*s.Pct, f.SpreadDays)
	case s.Pct != nil:
		days += plantsShift(*s.Pct, f.SpreadDays)
	}
	return days - f.zoneDays(s.Zone), sdDays, nil
}

// podsAtR8 is the part of the pods at mature colour that makes R8, percent. [osu-827]
const podsAtR8 = 95

// zoneDays returns how many days later than the field its zone matures.
func (f *Field) zoneDays(z Zone) float64 {
	half := len(f.quantiles) / 2
	if half == 0 || (z != Low && z != Knob) {
		return 0
	}
	part := f.quantiles[:half]
	if z == Low {
		part = f.quantiles[len(f.quantiles)-half:]
	}
	var sum float64
	for _, q := range part {
		sum += q
	}
	return sum / float64(half) * f.SpreadDays
}
