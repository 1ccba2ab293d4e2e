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

// An OutlookHour is what the members say of the end of one hour. Percentiles are of the field's mean at the
// scale, % wet basis.
type OutlookHour struct {
	Hour                    calendar.Hour
	MeanWB                  float64
	P10, P25, P50, P75, P90 float64
	SDWB                    float64   // mean spread between the strata of the field, points
	Over                    []float64 // per limit of the track: mean share of the mass above it
	Clear                   float64   // share of members with no rain in the hour and nothing free on the plant
	Workable                float64   // share of members that can cut in it
}

// An OutlookDay is what the members say of one local day. Opens and Closes hold for the members in which the day
// is fit: the middle one, and the early and late one of ten.
type OutlookDay struct {
	Day      calendar.Day
	OddsFit  float64 // share of members with at least MinHours workable hours
	Hours    float64 // mean workable hours, over all members
	Fit      bool    // at least one member is fit, so that the rest means something
	Opens    calendar.Hour
	OpensP10 calendar.Hour
	OpensP90 calendar.Hour
	Closes   calendar.Hour // the cell after the last workable one
	CloseP10 calendar.Hour
	CloseP90 calendar.Hour
}

// Working says when the owner cuts and what he calls a fit day.
type Working struct {
	LimitWB  float64 // wettest field mean he cuts at, % wet basis
	From     calendar.Clock
	Until    calendar.Clock // of the local day, 24:00 at most
	MinHours int            // workable hours that make a day fit
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
			if t.Workable(m, o.Hour, w.LimitWB) {
				o.Workable += 1 / n
			}
		}
		slices.Sort(means)
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
	o := OutlookDay{Day: day}
	var opens, closes []float64
	for m := range t.Members {
		var n int
		var open, last calendar.Hour
		for h := first; h < end; h++ {
			if t.Workable(m, h, w.LimitWB) {
				if n == 0 {
					open = h
				}
				last = h
				n++
			}
		}
		o.Hours += float64(n) / float64(t.Members)
		if n > 0 && n >= w.MinHours {
			opens, closes = append(opens, float64(open)), append(closes, float64(last+1))
		}
	}
	o.OddsFit = float64(len(opens)) / float64(t.Members)
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

func nearHour(sorted []float64, p float64) calendar.Hour {
	return calendar.Hour(math.Round(quantile(sorted, p)))
}
