package worth

import (
	"slices"
	"time"

	"threshday/internal/core/calendar"
)

// A Span is the run of hours a table covers, seen on the farm's clock.
type Span struct {
	Start calendar.Hour
	Hours int
	Zone  *time.Location
}

// Days numbers the local day of every hour, the first is 0.
func (s Span) Days() []int {
	first := calendar.DayOf(s.Start.Start(), s.Zone)
	out := make([]int, s.Hours)
	for h := range out {
		out[h] = calendar.DayOf((s.Start + calendar.Hour(h)).Start(), s.Zone).DaysSince(first)
	}
	return out
}

// DayOf returns the local date of hour h.
func (s Span) DayOf(h int) calendar.Day {
	return calendar.DayOf((s.Start + calendar.Hour(h)).Start(), s.Zone)
}

// clock returns the local minutes after midnight at which hour h begins.
func (s Span) clock(h int) calendar.Clock {
	t := (s.Start + calendar.Hour(h)).Start().In(s.Zone)
	return calendar.Clock(t.Hour()*60 + t.Minute())
}

// Within marks the hours that lie wholly between from and until on the farm's clock, on days that keep allows.
func (s Span) Within(from, until calendar.Clock, keep func(calendar.Day) bool) []bool {
	out := make([]bool, s.Hours)
	for h := range out {
		c := s.clock(h)
		out[h] = c >= from && c+60 <= until && keep(s.DayOf(h))
	}
	return out
}

// A Receiving says when a place takes grain.
type Receiving struct {
	Open   map[time.Weekday][2]calendar.Clock // nil: always
	Closed []calendar.Day
	From   *calendar.Day // first day of the price; nil: no start
	Until  *calendar.Day // last day of the price; nil: no end
	// Lag is how long grain is under way from the combine to the scale: what is cut in an hour must arrive in an
	// open one.
	Lag time.Duration
}

// Takes marks the hours whose grain arrives while the place is open and the price holds.
func (s Span) Takes(r Receiving) []bool {
	out := make([]bool, s.Hours)
	for h := range out {
		arrive := (s.Start + calendar.Hour(h)).Start().Add(r.Lag).In(s.Zone)
		day := calendar.DayOf(arrive, s.Zone)
		if (r.From != nil && day.Before(*r.From)) || (r.Until != nil && day.After(*r.Until)) || slices.Contains(r.Closed, day) {
			continue
		}
		if r.Open == nil {
			out[h] = true
			continue
		}
		open, ok := r.Open[day.Weekday()]
		at := calendar.Clock(arrive.Hour()*60 + arrive.Minute())
		out[h] = ok && at >= open[0] && at < open[1]
	}
	return out
}
