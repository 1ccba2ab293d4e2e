package weather

import (
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
)

// An Issue is a forecast as it was kept: what was said, and when.
type Issue struct {
	At   calendar.Hour
	Days []Ahead
}

// A Verification says how forecasts did, lead day by lead day; index 0 is the day of the forecast itself.
type Verification struct {
	Lead [LongestLead]LeadScore
}

// A LeadScore is how forecasts of one lead day did.
type LeadScore struct {
	High, Low, Dew ErrorScore // °C
	RootWind       ErrorScore // square root of m/s at 2 m
	Rain           RainScore
}

// An ErrorScore sums up errors, forecast less observed.
type ErrorScore struct {
	N               int
	Bias, MAE, RMSE float64
	Share           float64 // root mean square of the error over the climate's standard deviation for the date
}

// A RainScore sums up chances of rain.
type RainScore struct {
	Chances []Chance
	Brier   float64
	Usual   float64 // Brier score of the climate's own frequency of wet days
	Trust   float64 // how much of a chance's distance from the usual came true, 0 to 1: slope of the least-squares line
}

// Verify compares forecasts with what was observed. Of each date's issues the first counts, as a plan is made in the morning.
// A day counts as observed when none of its hours is missing; of the day of the issue itself, rain counts from the issue on.
// An entry that counts as older than it is adds to the lead day at which it is used.
func Verify(issues []Issue, observed *Series, c *Climate, zone *time.Location) *Verification {
	v := verifier{observed: observed, climate: c, zone: zone}
	for _, issue := range firstOfDays(issues, zone) {
		today := calendar.DayOf(issue.At.Start(), zone)
		for _, a := range issue.Days {
			lead := a.On.DaysSince(today) + 1 + a.Late
			if !a.On.Before(today) && lead <= LongestLead {
				v.compare(&v.leads[lead-1], issue.At, a)
			}
		}
	}
	var out Verification
	for i := range v.leads {
		out.Lead[i] = v.leads[i].score()
	}
	return &out
}

// firstOfDays returns the first issue of each date, in order.
func firstOfDays(issues []Issue, zone *time.Location) []Issue {
	sorted := slices.Clone(issues)
	slices.SortStableFunc(sorted, func(a, b Issue) int { return int(a.At - b.At) })
	return slices.CompactFunc(sorted, func(a, b Issue) bool {
		return calendar.DayOf(a.At.Start(), zone) == calendar.DayOf(b.At.Start(), zone)
	})
}

// A verifier gathers errors.
type verifier struct {
	observed *Series
	climate  *Climate
	zone     *time.Location
	leads    [LongestLead]leadErrors
}

// leadErrors are the errors of one lead day.
type leadErrors struct {
	off, inSDs [quantities][]float64
	chances    []Chance
	usual      []float64 // frequency of wet days on the dates of chances
}

func (v *verifier) compare(into *leadErrors, at calendar.Hour, a Ahead) {
	first, end := a.On.Hours(v.zone)
	air := v.observed.Summary(first, end)
	if !air.Known {
		return
	}
	wet := v.climate.usualWet(a.On)
	truth := airVector(air)
	for k, x := range [quantities]*float64{a.High, a.Low, a.Dew, a.Wind} {
		if x == nil {
			continue
		}
		off := *x - truth[k]
		if k == dayRoot {
			off = math.Sqrt(max(0, *x)) - truth[k]
		}
		sd := wet*sdOn(v.climate.Spread[1][k], a.On) + (1-wet)*sdOn(v.climate.Spread[0][k], a.On)
		into.off[k] = append(into.off[k], off)
		into.inSDs[k] = append(into.inSDs[k], off/sd)
	}
	if a.Rain != nil {
		left := v.observed.Summary(max(first, at), end)
		into.chances = append(into.chances, Chance{P: *a.Rain, Came: left.Wet()})
		into.usual = append(into.usual, wet*float64(end-max(first, at))/float64(end-first))
	}
}

func (e *leadErrors) score() LeadScore {
	var out LeadScore
	for k, into := range [quantities]*ErrorScore{&out.High, &out.Low, &out.Dew, &out.RootWind} {
		n := float64(len(e.off[k]))
		if n == 0 {
			continue
		}
		into.N = len(e.off[k])
		for i, off := range e.off[k] {
			into.Bias += off / n
			into.MAE += math.Abs(off) / n
			into.RMSE += off * off / n
			into.Share += e.inSDs[k][i] * e.inSDs[k][i] / n
		}
		into.RMSE, into.Share = math.Sqrt(into.RMSE), math.Sqrt(into.Share)
	}
	out.Rain.Chances = e.chances
	if len(e.chances) == 0 {
		return out
	}
	usual := slices.Clone(e.chances)
	said, came := 0.0, 0.0
	for i, c := range e.chances {
		usual[i].P = e.usual[i]
		away := c.P - e.usual[i]
		said += away * away
		came += away * (float64(statusOf(c.Came)) - e.usual[i])
	}
	out.Rain.Brier, out.Rain.Usual = Brier(e.chances), Brier(usual)
	if said > 0 {
		out.Rain.Trust = max(0, min(1, came/said))
	}
	return out
}

// leastVerified days of a lead day replace the table's figure. [judgement]
const leastVerified = 60

// Table returns a table of forecast errors learned from the verification, and for how many lead days each of its four parts
// was: from 60 verified days on, the others keep base. An error never shrinks and trust never grows with the lead day.
func (v *Verification) Table(base ErrorTable) (t ErrorTable, learned [4]int) {
	t = base
	for i, l := range v.Lead {
		if n := l.High.N + l.Low.N; n >= 2*leastVerified {
			high, low := float64(l.High.N)*l.High.Share*l.High.Share, float64(l.Low.N)*l.Low.Share*l.Low.Share
			t.Temp[i] = math.Sqrt((high + low) / float64(n))
			learned[0]++
		}
		if l.Dew.N >= leastVerified {
			t.Dew[i] = l.Dew.Share
			learned[1]++
		}
		if l.RootWind.N >= leastVerified {
			t.Wind[i] = l.RootWind.Share
			learned[2]++
		}
		if len(l.Rain.Chances) >= leastVerified {
			t.Rain[i] = l.Rain.Trust
			learned[3]++
		}
		for _, s := range []*[LongestLead]float64{&t.Temp, &t.Dew, &t.Wind} {
			s[i] = min(1, s[i])
			if i > 0 {
				s[i] = max(s[i], s[i-1])
			}
		}
		if i > 0 {
			t.Rain[i] = min(t.Rain[i], t.Rain[i-1])
		}
	}
	return t, learned
}
