package weather

import (
	"cmp"
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
)

// An HourlyForecast is what a service says of the hours to come.
type HourlyForecast struct {
	// Hours hold state and expected rain, chance included. What nothing is said of is missing.
	Hours *Series
	// Chances of rain stand apart from the hours: a chance is of its whole block, however many hours that has.
	Chances []RainChance // in order, none over another
}

// A RainChance is the probability that 0.254 mm or more falls between Start and End, once or often.
type RainChance struct {
	Start, End calendar.Hour
	P          float64
}

// How chances of neighbouring blocks, and of parts of one, go together. Both are set with one-day rain in view.
const (
	blocksTogether  = 0.4 // share of the next block's own chance that is the same rain as the larger one's [judgement]
	usualSpell      = 4   // wet hours of a wet day: 4.19 in the autumn of 2016 at O'Hare [isd-lite-725300]
	longestUnsaid   = 3   // hours at the edge of a day that may lie outside the blocks [judgement]
	leastSaid       = 12  // hours of a day from which its mean is taken [judgement]
	leastRainChance = 0.05
	leastRainAmount = 0.5       // mm of a wet day [judgement]
	mostOfTheRain   = 2.0 / 3.0 // of a day's rain in one part of it, from which the part is named [judgement]
)

// ChanceOf returns the probability of rain in hours [first, end) from the blocks that touch it. The blocks' chances
// are combined as overlapping events, p = p₁ + (1−p₁)·p₂·(1−0.4) from the largest on, so that the answer lies between
// the largest and that of independent blocks. A block of which only a part lies inside counts with the share of
// its wet spells of four hours that touch that part. ok is false where the blocks leave out more than three hours.
func ChanceOf(blocks []RainChance, first, end calendar.Hour) (p float64, ok bool) {
	var parts []float64
	said := 0
	for _, b := range blocks {
		inside := int(min(b.End, end) - max(b.Start, first))
		if inside <= 0 {
			continue
		}
		said += inside
		whole := int(b.End - b.Start)
		parts = append(parts, b.P*float64(inside+usualSpell-1)/float64(whole+usualSpell-1))
	}
	if said == 0 || int(end-first)-said > longestUnsaid {
		return 0, false
	}
	slices.SortFunc(parts, func(a, b float64) int { return cmp.Compare(b, a) })
	for i, part := range parts {
		if i == 0 {
			p = part
		} else {
			p += (1 - p) * part * (1 - blocksTogether)
		}
	}
	return p, true
}

// Ahead returns what the forecast says about the local days that still have hours from now on. A day that it holds
// in part gets what that part can tell: the high from the afternoon's hours, the low from dawn's, means from half a
// day, rain from the hours still to come.
func (f HourlyForecast) Ahead(now calendar.Hour, zone *time.Location) []Ahead {
	var out []Ahead
	for _, day := range Days(min(now, f.Hours.Start), f.Hours.End(), zone) {
		if day.End <= now {
			continue
		}
		midnight, next := day.Date.Hours(zone)
		d := forecastDay{f: f, zone: zone, first: midnight, end: next, now: now}
		if a := d.ahead(day.Date); a != (Ahead{On: day.Date}) {
			out = append(out, a)
		}
	}
	return out
}

// A forecastDay is one civil day of a forecast.
type forecastDay struct {
	f          HourlyForecast
	zone       *time.Location
	first, end calendar.Hour
	now        calendar.Hour
}

func (d forecastDay) ahead(on calendar.Day) Ahead {
	a := Ahead{On: on, Dew: d.mean(DewC), Wind: d.mean(WindMS), Sky: d.mean(SkyFrac)}
	if d.holds(TempC, 12, 17) { // the hours of nearly all highs
		a.High = d.furthest(TempC, func(x, y float64) bool { return x > y })
	}
	if d.holds(TempC, 5, 7) { // and of most lows
		a.Low = d.furthest(TempC, func(x, y float64) bool { return x < y })
	}
	if p, ok := ChanceOf(d.f.Chances, max(d.now, d.first), d.end); ok {
		a.Rain = &p
		d.amount(&a)
	}
	return a
}

// holds reports whether v is known in every hour between two hours of the clock, both included.
func (d forecastDay) holds(v Var, from, to int) bool {
	held := 0
	for h := d.first; h < d.end; h++ {
		clock := h.Start().In(d.zone).Hour()
		if _, ok := d.f.Hours.At(v, h); ok && clock >= from && clock <= to {
			held++
		}
	}
	return held > to-from
}

func (d forecastDay) furthest(v Var, further func(x, y float64) bool) *float64 {
	var out *float64
	for h := d.first; h < d.end; h++ {
		if x, ok := d.f.Hours.At(v, h); ok && (out == nil || further(x, *out)) {
			out = &x
		}
	}
	return out
}

func (d forecastDay) mean(v Var) *float64 {
	sum, n := 0.0, 0
	for h := d.first; h < d.end; h++ {
		if x, ok := d.f.Hours.At(v, h); ok {
			sum += x
			n++
		}
	}
	if n < leastSaid {
		return nil
	}
	sum /= float64(n)
	return &sum
}

// amount sets the mean rain of a wet day and when most of it falls, where rain is said of all hours still to come.
// A service's amount is an expectation, dry outcomes included; over the chance it is the mean if it rains.
func (d forecastDay) amount(a *Ahead) {
	total := 0.0
	var quarter [4]float64
	for h := max(d.now, d.first); h < d.end; h++ {
		mm, ok := d.f.Hours.At(RainMM, h)
		if !ok {
			return
		}
		total += mm
		quarter[h.Start().In(d.zone).Hour()/6] += mm
	}
	if *a.Rain < leastRainChance || total <= 0 {
		return
	}
	mm := max(total / *a.Rain, leastRainAmount)
	a.Amount = &mm
	for i, part := range []Part{Night, Morning, Afternoon, Evening} {
		if quarter[i] >= mostOfTheRain*total && total >= WetDayMM {
			a.Part = part
		}
	}
}

// DewWord returns the word for the dew of a morning with lowest temperature low under a mean dew point, both °C: the
// class whose usual distance between the two lies nearest.
func DewWord(low, dew float64) Dew {
	best := dewClasses[0]
	for _, c := range dewClasses {
		if math.Abs(dew-low-c.value) < math.Abs(dew-low-best.value) {
			best = c
		}
	}
	return Dew(best.word)
}
