package app

import (
	"fmt"
	"math"

	"threshday/internal/core/calendar"
	"threshday/internal/core/planner"
	"threshday/internal/core/weather"
)

// Rules of a flip by rain. [judgement]
const (
	wettingMM    = 1.0 // rain within wettingHours that wets a stand: less dries off in an hour of wind
	wettingHours = 3
	rainReach    = 7 * 24 // hours; later rain is no reason to do another thing today
	rainStep     = 6      // hours between the moments that are tried
)

// firstRains returns for each member the hours from now until rain wets the stand; +Inf where none does within rainReach.
func firstRains(e *weather.Ensemble, now calendar.Hour) []float64 {
	out := make([]float64, e.Members)
	from := int(now - e.Start)
	for m := range out {
		out[m] = math.Inf(1)
		rain := e.Row(weather.RainMM, m)
		sum := 0.0
		for h := max(from, 0); h < min(from+rainReach, len(rain)); h++ {
			sum += float64(rain[h])
			if h-wettingHours >= from {
				sum -= float64(rain[h-wettingHours])
			}
			if sum >= wettingMM {
				out[m] = float64(h - from)
				break
			}
		}
	}
	return out
}

// rainFlip says by when rain would have to come, or until when it would have to stay away, for the answer to turn. The members
// are parted at a moment by whether rain has come; where the mean worth of waiting has one sign on one side and the other sign on
// the other, each by flipSure standard errors of its own, the moment that parts them most clearly is said. Other moments are not.
func rainFlip(a *FieldAdvice, rains []float64, waits []planner.Wait, say func(hours int) string) []Flip {
	if a.Advice == Cannot {
		return nil
	}
	best := bestWait(waits)
	at, clearest, early := 0, 0.0, false
	for h := rainStep; h <= rainReach; h += rainStep {
		var wet, dry []float64
		for m, usd := range best.USD {
			if rains[m] < float64(h) {
				wet = append(wet, usd)
			} else {
				dry = append(dry, usd)
			}
		}
		if len(wet) < flipFew || len(dry) < flipFew {
			continue
		}
		wetMean, wetSE := planner.Mean(wet)
		dryMean, drySE := planner.Mean(dry)
		if (wetMean > 0) == (dryMean > 0) || math.Abs(wetMean) < flipSure*wetSE || math.Abs(dryMean) < flipSure*drySE {
			continue
		}
		if apart := math.Abs(wetMean-dryMean) / math.Hypot(wetSE, drySE); apart > clearest {
			// The side that does not do what is advised is the one to tell of.
			at, clearest, early = h, apart, (wetMean > 0) != (a.Advice == Leave)
		}
	}
	if clearest == 0 {
		return nil
	}
	f := Flip{If: "no rain comes before " + say(at), Then: fmt.Sprintf("waiting %s pays", days(best.Days))}
	if early {
		f.If = "rain comes before " + say(at)
	}
	if a.Advice == Leave {
		f.Then = "cutting it today pays"
	}
	return []Flip{f}
}

// rains returns the first wetting rain of every member; they are looked through once.
func (mo *morning) rains() []float64 {
	if mo.firstRain == nil {
		mo.firstRain = firstRains(mo.ensemble, mo.build.Span.Start)
	}
	return mo.firstRain
}

// moment says a moment so many hours after the plan's first.
func (mo *morning) moment(hours int) string {
	t := (mo.build.Span.Start + calendar.Hour(hours)).Start().In(mo.zone)
	return short(calendar.DayOf(t, mo.zone)) + t.Format(" 15:04")
}
