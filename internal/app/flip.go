package app

import (
	"fmt"
	"math"

	"threshday/internal/core/planner"
	"threshday/internal/core/worth"
)

// A Flip says what would change a field's answer.
type Flip struct{ If, Then string }

// Rules of a flip.
const (
	flipSure  = 2.0 // the slope must be this many times its standard error
	flipReach = 4.0 // points of moisture: further off nobody's reading is
	flipFew   = 8   // members beyond the turn that must really turn, in their mean
)

// flips says at which moisture the answer would turn. The members differ in how wet the field is now; the worth of waiting is
// set against that by a straight line over them, and the line's zero is where cutting and waiting are level. Nothing is said
// where the line is not sure of its slope, its zero lies beyond any reading, or the members beyond it do not turn themselves.
func flips(a *FieldAdvice, facts *worth.FieldFacts, waits []planner.Wait) []Flip {
	if a.Advice == Cannot {
		return nil
	}
	best := bestWait(waits)
	level, slope, se := line(facts.ByMember, best.USD)
	if se == 0 || math.Abs(slope) < flipSure*se {
		return nil
	}
	at := -level / slope
	now := facts.Now.Mean
	pays := level+slope*now > 0
	if pays && at > a.LimitPct {
		return nil // what is too wet to cut is no reason to cut it
	}
	if math.Abs(at-now) > flipReach || pays != (a.Advice == Leave) || !turned(facts.ByMember, best.USD, at, at > now, pays) {
		return nil
	}
	side := "or drier"
	if at > now {
		side = "or wetter"
	}
	f := Flip{If: fmt.Sprintf("it really stands at about %s %s, not %s", pct(at), side, pct(now))}
	if pays {
		f.Then = "cutting it today pays"
	} else {
		f.Then = fmt.Sprintf("waiting %s pays", days(best.Days))
	}
	return []Flip{f}
}

// bestWait returns the wait that is worth most in the mean; waits begin with today.
func bestWait(waits []planner.Wait) planner.Wait {
	best := waits[1]
	for _, w := range waits[1:] {
		if mean(w.USD) > mean(best.USD) {
			best = w
		}
	}
	return best
}

// turned reports whether the members beyond the turn have, in their mean, the other sign.
func turned(moisture, usd []float64, at float64, wetter, pays bool) bool {
	var beyond []float64
	for m, x := range moisture {
		if (x > at) == wetter {
			beyond = append(beyond, usd[m])
		}
	}
	return len(beyond) >= flipFew && (mean(beyond) > 0) != pays
}

func mean(x []float64) float64 {
	m, _ := planner.Mean(x)
	return m
}

// line fits y = level + slope·x by least squares and returns the slope's standard error; 0 where x does not vary.
func line(x, y []float64) (level, slope, se float64) {
	n := float64(len(x))
	mx, my := mean(x), mean(y)
	var sxx, sxy float64
	for i := range x {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	if sxx == 0 || n < 3 {
		return my, 0, 0
	}
	slope = sxy / sxx
	level = my - slope*mx
	ss := 0.0
	for i := range x {
		r := y[i] - level - slope*x[i]
		ss += r * r
	}
	return level, slope, math.Sqrt(ss / (n - 2) / sxx)
}
