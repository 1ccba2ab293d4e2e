package drydown

import (
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
)

// An Outlook is a field's moisture to come, over all members.
type Outlook struct {
	Hours []OutlookHour
	Days  []OutlookDay
}

// An OutlookHour is what the members say of the end of one hour. P10 to P90 are of the field's mean, those of loads of what
// a truckload would test at the scale: loads differ around the mean of their member, and the scale is off a little. % wet basis.
type OutlookHour struct {
	Hour                    calendar.Hour
	MeanWB                  float64
	P10, P25, P50, P75, P90 float64
	SDWB                    float64   // mean spread between the strata of the field, points
	Over                    []float64 // per limit of the track: mean share of the mass above it
	LoadP10, LoadP90        float64   // one load in ten tests under and over
	LoadsOver               []float64 // per limit: share of the loads that would test over it
	Clear                   float64   // share of members with no rain in the hour and nothing free on the plant
	Closed                  float64   // share of members in which it is closed from outside
	Workable                float64   // share of members that can cut in it
}

// An OutlookDay is what the members say of one local day. Opens and Closes hold for the members in which the day
// is fit: the middle one, and the early and late one of ten.
type OutlookDay struct {
	Day      calendar.Day
	OddsFit  float64 // share of members with at least MinHours workable hours
	OddsCrop float64 // the same of the crop alone, were nothing closed from outside
	// OddsGround is the same of what closes the field from outside alone, as soft ground, were the crop always fit.
	OddsGround float64
	// OddsUnder is, per limit of the track, the share of members in which some working hour is clear, not closed, and has a mean at
	// or under it.
	OddsUnder []float64
	Hours     float64 // mean workable hours, over all members
	Fit       bool    // at least one member is fit, so that the rest means something
	Opens     calendar.Hour
	OpensP10  calendar.Hour
	OpensP90  calendar.Hour
	Closes    calendar.Hour // the cell after the last workable one
	CloseP10  calendar.Hour
	CloseP90  calendar.Hour
}

// Working says when the owner cuts and what he calls a fit day.
type Working struct {
	LimitWB  float64 // wettest field mean he cuts at, % wet basis
	From     calendar.Clock
	Until    calendar.Clock // of the local day, 24:00 at most
	MinHours int            // workable hours that make a day fit
	LoadSDWB float64        // how much truckloads of the field differ around its mean, points SD
}

// DefaultMinHours is what makes a day fit unless the owner says otherwise: less is not worth the move. [judgement]
const DefaultMinHours = 2

// Summarize turns a track into the outlook of the local days of loc that it touches. The track must hold MeanWB
// and Clear.
func Summarize(t *Track, w Working, loc *time.Location) Outlook {
	if t.MeanWB == nil || t.Clear == nil {
		panic("drydown: outlook of a track without means or clear hours")
	}
	return Outlook{Hours: t.hours(w), Days: t.days(w, loc)}
}

func (t *Track) hours(w Working) []OutlookHour {
	out := make([]OutlookHour, t.Hours)
	means := make([]float64, t.Members)
	n := float64(t.Members)
	over := make([]float64, t.Hours*len(t.Limits))
	for h := range out {
		o := &out[h]
		o.Hour = t.Start + calendar.Hour(h)
		o.Over = over[h*len(t.Limits) : (h+1)*len(t.Limits) : (h+1)*len(t.Limits)]
		for m := range t.Members {
			i := m*t.Hours + h
			means[m] = float64(t.MeanWB[i])
			o.MeanWB += means[m] / n
			if t.SDWB != nil {
				o.SDWB += float64(t.SDWB[i]) / n
			}
			for k := range t.Limits {
				o.Over[k] += float64(t.Over[k][i]) / n
			}
			if t.Clear[i] {
				o.Clear += 1 / n
			}
			if t.Closed != nil && t.Closed[i] {
				o.Closed += 1 / n
			}
			if t.Workable(m, o.Hour, w.LimitWB) {
				o.Workable += 1 / n
			}
		}
		slices.Sort(means)
		loads := mixture{means, math.Sqrt(w.LoadSDWB*w.LoadSDWB + ticketSD*ticketSD)}
		o.LoadP10, o.LoadP90 = loads.quantile(0.1), loads.quantile(0.9)
		for _, limit := range t.Limits {
			o.LoadsOver = append(o.LoadsOver, loads.above(limit))
		}
		o.P10, o.P25, o.P50 = quantile(means, 0.10), quantile(means, 0.25), quantile(means, 0.50)
		o.P75, o.P90 = quantile(means, 0.75), quantile(means, 0.90)
	}
	return out
}

// quantile returns the value below which part p of sorted lies, by the straight line between neighbours.
func quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + float64((at-float64(i))*(sorted[i+1]-sorted[i]))
}

// A mixture is loads that differ by sd around each member's mean; means are sorted.
type mixture struct {
	means []float64
	sd    float64
}

// above returns the share of loads above x.
func (m mixture) above(x float64) float64 {
	var sum float64
	for _, mean := range m.means {
		sum += normalAbove(x, mean, m.sd)
	}
	return sum / float64(len(m.means))
}

// quantile returns the moisture that part p of the loads lie under, to a hundredth of a point.
func (m mixture) quantile(p float64) float64 {
	const reach = 4 // standard deviations off the outermost member: one load in thirty thousand
	lo, hi := m.means[0]-reach*m.sd, m.means[len(m.means)-1]+reach*m.sd
	for hi-lo > 0.01 {
		middle := (lo + hi) / 2
		if 1-m.above(middle) < p {
			lo = middle
		} else {
			hi = middle
		}
	}
	return (lo + hi) / 2
}

// days finds the workable hours of each local day between From and Until.
func (t *Track) days(w Working, loc *time.Location) []OutlookDay {
	end := t.Start + calendar.Hour(t.Hours)
	var out []OutlookDay
	for day := calendar.DayOf(t.Start.Start(), loc); ; day = day.AddDays(1) {
		first, last := day.Hours(loc)
		if first >= end {
			return out
		}
		first, last = w.within(day, loc, max(first, t.Start), min(last, end))
		out = append(out, t.day(day, first, last, w))
	}
}

// within narrows [first, end) to the whole cells between From and Until of the local day. Where the clocks change
// the hours of the day follow the clock on the wall.
func (w Working) within(day calendar.Day, loc *time.Location, first, end calendar.Hour) (calendar.Hour, calendar.Hour) {
	at := func(c calendar.Clock) time.Time {
		return time.Date(day.Year, day.Month, day.Date, 0, int(c), 0, 0, loc)
	}
	from, until := at(w.From), at(w.Until)
	start := calendar.HourOf(from)
	if start.Start().Before(from) {
		start++
	}
	first, end = max(first, start), min(end, calendar.HourOf(until))
	return first, max(first, end)
}

func (t *Track) day(day calendar.Day, first, end calendar.Hour, w Working) OutlookDay {
	o := OutlookDay{Day: day, OddsUnder: make([]float64, len(t.Limits))}
	var opens, closes []float64
	part := 1 / float64(t.Members)
	for m := range t.Members {
		c := t.count(m, first, end, w.LimitWB)
		o.Hours += float64(c.both) * part
		if c.crop > 0 && c.crop >= w.MinHours {
			o.OddsCrop += part
		}
		if c.ground > 0 && c.ground >= w.MinHours {
			o.OddsGround += part
		}
		if c.both > 0 && c.both >= w.MinHours {
			opens, closes = append(opens, float64(c.opens)), append(closes, float64(c.closes))
		}
		for k, limit := range t.Limits {
			if c.driest <= limit {
				o.OddsUnder[k] += part
			}
		}
	}
	o.OddsFit = float64(len(opens)) * part
	if len(opens) == 0 {
		return o
	}
	o.Fit = true
	slices.Sort(opens)
	slices.Sort(closes)
	o.Opens, o.OpensP10, o.OpensP90 = nearHour(opens, 0.5), nearHour(opens, 0.1), nearHour(opens, 0.9)
	o.Closes, o.CloseP10, o.CloseP90 = nearHour(closes, 0.5), nearHour(closes, 0.1), nearHour(closes, 0.9)
	return o
}

// A tally counts the hours of one member's working day.
type tally struct {
	crop, ground, both int // in which the crop is fit, nothing closes the field from outside, and both
	opens, closes      calendar.Hour
	driest             float64 // mean of the hours that are clear and not closed, % wet basis; infinite without one
}

func (t *Track) count(m int, first, end calendar.Hour, limitWB float64) tally {
	c := tally{driest: math.Inf(1)}
	for h := first; h < end; h++ {
		i := t.At(m, h)
		open := t.Closed == nil || !t.Closed[i]
		if open {
			c.ground++
		}
		if !t.Clear[i] {
			continue
		}
		wb := float64(t.MeanWB[i])
		if open {
			c.driest = min(c.driest, wb)
		}
		if wb > limitWB {
			continue
		}
		c.crop++
		if open {
			if c.both == 0 {
				c.opens = h
			}
			c.both++
			c.closes = h + 1
		}
	}
	return c
}

func nearHour(sorted []float64, p float64) calendar.Hour {
	return calendar.Hour(math.Round(quantile(sorted, p)))
}
