// Package calendar holds the two clocks of the farm: a civil day, and an hour cell in UTC, with the views
// that turn one into the other in a zone handed in.
//
// It reads no clock and loads no zone. Sunrise is weather's, not the calendar's.
package calendar

import (
	"fmt"
	"time"
)

// An Hour is the cell [h, h+1) counted in hours since 1970-01-01T00:00Z.
type Hour int64

// HourOf returns the cell that holds t.
func HourOf(t time.Time) Hour {
	s := t.Unix()
	h := s / 3600
	if s%3600 < 0 {
		h--
	}
	return Hour(h)
}

// Start returns the instant the cell begins, in UTC.
func (h Hour) Start() time.Time { return time.Unix(int64(h)*3600, 0).UTC() }

// End returns the instant the cell ends, in UTC.
func (h Hour) End() time.Time { return (h + 1).Start() }

// A Day is a civil date with no zone. The zero Day is no day.
type Day struct {
	Year  int
	Month time.Month
	Date  int
}

// DayOf returns the date of t in loc.
func DayOf(t time.Time, loc *time.Location) Day {
	y, m, d := t.In(loc).Date()
	return Day{y, m, d}
}

// ParseDay reads "2031-09-14". Any other form, or a date that does not exist, is an error.
func ParseDay(s string) (Day, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Day{}, fmt.Errorf("%q is not a date like 2031-09-14", s)
	}
	return Day{t.Year(), t.Month(), t.Day()}, nil
}

// MustDay is ParseDay for constants in code and tests.
func MustDay(s string) Day {
	d, err := ParseDay(s)
	if err != nil {
		panic("calendar: " + err.Error())
	}
	return d
}

// IsZero reports whether d is no day.
func (d Day) IsZero() bool { return d == Day{} }

// String returns the ISO form, 2031-09-14.
func (d Day) String() string { return fmt.Sprintf("%04d-%02d-%02d", d.Year, int(d.Month), d.Date) }

func (d Day) utc() time.Time { return time.Date(d.Year, d.Month, d.Date, 0, 0, 0, 0, time.UTC) }

// AddDays returns the date n days later; n may be negative.
func (d Day) AddDays(n int) Day {
	t := d.utc().AddDate(0, 0, n)
	return Day{t.Year(), t.Month(), t.Day()}
}

// DaysSince returns how many days d lies after e; negative when before.
func (d Day) DaysSince(e Day) int { return int(d.utc().Sub(e.utc()).Hours()) / 24 }

// Before reports whether d lies before e.
func (d Day) Before(e Day) bool { return d.DaysSince(e) < 0 }

// After reports whether d lies after e.
func (d Day) After(e Day) bool { return d.DaysSince(e) > 0 }

// YearDay returns 1 for 1 January.
func (d Day) YearDay() int { return d.utc().YearDay() }

// Weekday returns the day of the week.
func (d Day) Weekday() time.Weekday { return d.utc().Weekday() }

// InYear returns the same month and date in another year; 29 February becomes 28 February there.
func (d Day) InYear(y int) Day {
	if d.Month == time.February && d.Date == 29 && (y%4 != 0 || (y%100 == 0 && y%400 != 0)) {
		return Day{y, time.February, 28}
	}
	return Day{y, d.Month, d.Date}
}

// Start returns the first instant of the day in loc. Where midnight does not exist it is the first instant after.
func (d Day) Start(loc *time.Location) time.Time {
	t := time.Date(d.Year, d.Month, d.Date, 0, 0, 0, 0, loc)
	for DayOf(t, loc) != d && t.Before(d.utc().AddDate(0, 0, 2)) {
		t = t.Add(30 * time.Minute)
	}
	return t
}

// Hours returns the cells of the day in loc as [first, end): 23, 24 or 25 of them. Zones that lie a
// fraction of an hour off UTC start in the cell that holds their midnight.
func (d Day) Hours(loc *time.Location) (first, end Hour) {
	return HourOf(d.Start(loc)), HourOf(d.AddDays(1).Start(loc))
}

// A Clock is a time of day on the farm's own clock in minutes after midnight, 0 to 1440.
type Clock int

// ParseClock reads "07:30" or "24:00".
func ParseClock(s string) (Clock, error) {
	var h, m int
	if len(s) != 5 || s[2] != ':' {
		return 0, fmt.Errorf("%q is not a time of day like 07:30", s)
	}
	if _, err := fmt.Sscanf(s, "%02d:%02d", &h, &m); err != nil || h < 0 || m < 0 || m > 59 || h*60+m > 1440 {
		return 0, fmt.Errorf("%q is not a time of day like 07:30", s)
	}
	return Clock(h*60 + m), nil
}

// String returns the form 07:30.
func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", int(c)/60, int(c)%60) }
