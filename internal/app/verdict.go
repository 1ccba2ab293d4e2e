package app

import (
	"fmt"
	"math"

	"threshday/internal/core/planner"
)

// A verdict is what the weathers say of waiting against cutting today.
type verdict int

const (
	level   verdict = iota // neither, as far as they can tell
	cutPays                // every delay costs
	waitingPays
)

// judge says what the best delay is worth and what that means, at so many standard errors. usd holds, by delay, the difference to
// cutting today by member.
func judge(usd [][]float64, acres, sure float64) (v verdict, best int) {
	top, of := math.Inf(-1), 0.0
	for w, x := range usd {
		if m, se := planner.Mean(x); m > top {
			top, of, best = m, se, w
		}
	}
	switch {
	case math.Abs(top) <= sure*of || math.Abs(top) <= leastGain*acres:
		return level, best
	case top > 0:
		return waitingPays, best
	default:
		return cutPays, best
	}
}

// then puts a verdict that is not today's into words.
func (v verdict) then(wait planner.Wait) string {
	switch v {
	case cutPays:
		return "cutting it today pays"
	case waitingPays:
		return fmt.Sprintf("waiting %s pays", days(wait.Days))
	case level:
	}
	return "it is a toss-up"
}

// turnable returns the delays of field f and what the weathers say of them; ok is false where the answer hangs on
// neither price nor rain: nothing is fit today, or the answer is not that of the delays.
func (mo *morning) turnable(a *FieldAdvice, p *planner.Plan, f int) (usd [][]float64, now verdict, ok bool) {
	if a.Advice == Cannot || len(p.Waits[f]) < 2 || mo.build.Fields[f].Under[0] < hopeless {
		return nil, level, false
	}
	for _, w := range p.Waits[f][1:] {
		usd = append(usd, w.USD)
	}
	now, _ = judge(usd, a.AcresLeft, sureBy)
	ok = now == level || (now == cutPays) == (a.Advice == Cut)
	return usd, now, ok
}
