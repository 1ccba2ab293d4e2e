package weather

import (
	"time"

	"threshday/internal/core/calendar"
)

// An EnsembleForecast is what a service says in several equally likely runs of one forecast. Runs of such services
// spread too little near the ground, so only their middle is used: the error of a forecast of that age stands
// for the spread.
type EnsembleForecast struct {
	Members []*Series // of the same hours
}

// Ahead returns what the runs say about the local days that still have hours from now on: means over the runs, and
// as chance of rain the share of runs that are wet in the hours still to come. Runs that do not all tell a thing
// leave it unsaid.
func (f EnsembleForecast) Ahead(now calendar.Hour, zone *time.Location) []Ahead {
	var out []Ahead
	for m, member := range f.Members {
		days := HourlyForecast{Hours: member}.Ahead(now, zone)
		if m == 0 {
			out = days
			continue
		}
		out = both(out, days, float64(m))
	}
	for i := range out {
		f.rain(&out[i], now, zone)
	}
	return out
}

// both joins the means of n runs with one run more; days that only one of them has fall out.
func both(means, one []Ahead, n float64) []Ahead {
	var out []Ahead
	for _, a := range means {
		for _, b := range one {
			if a.On != b.On {
				continue
			}
			for _, x := range []struct{ mean, more **float64 }{{&a.High, &b.High}, {&a.Low, &b.Low}, {&a.Dew, &b.Dew}, {&a.Wind, &b.Wind}, {&a.Sky, &b.Sky}} {
				if *x.mean == nil || *x.more == nil {
					*x.mean = nil
					continue
				}
				joined := (**x.mean*n + **x.more) / (n + 1)
				*x.mean = &joined
			}
			out = append(out, a)
		}
	}
	return out
}

// rain sets the share of wet runs and their mean amount.
func (f EnsembleForecast) rain(a *Ahead, now calendar.Hour, zone *time.Location) {
	first, end := a.On.Hours(zone)
	first = max(first, now)
	wet, amount := 0.0, 0.0
	for _, member := range f.Members {
		total := 0.0
		for h := first; h < end; h++ {
			mm, ok := member.At(RainMM, h)
			if !ok {
				return
			}
			total += mm
		}
		if total >= WetDayMM {
			wet++
			amount += total
		}
	}
	chance := wet / float64(len(f.Members))
	a.Rain = &chance
	if wet > 0 {
		amount /= wet
		a.Amount = &amount
	}
}
