package quantity

import (
	"fmt"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
)

// Instants returns the instants, in UTC and in order, at which a clock in loc shows the civil time of t (its date and
// time of day as printed, its zone ignored): one as a rule, none in the hour that is skipped when clocks go forward,
// two in the hour that comes twice when they go back.
func Instants(t time.Time, loc *time.Location) []time.Time {
	// Every offset that loc uses near t is tried; no zone is further than a day from UTC.
	shown := time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), time.UTC)
	var out []time.Time
	for at, last := shown.Add(-26*time.Hour), shown.Add(26*time.Hour); ; {
		_, offset := at.In(loc).Zone()
		candidate := shown.Add(-time.Duration(offset) * time.Second)
		_, there := candidate.In(loc).Zone()
		if there == offset && (len(out) == 0 || out[len(out)-1].Before(candidate)) {
			out = append(out, candidate)
		}
		_, change := at.In(loc).ZoneBounds()
		if change.IsZero() || change.After(last) {
			return out
		}
		at = change
	}
}

// Forms of an instant: with an offset, and as a clock on the wall shows it.
var (
	withOffset = []string{time.RFC3339Nano, "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05.999999999Z07:00", "2006-01-02 15:04Z07:00"}
	onTheWall  = []string{"2006-01-02T15:04:05.999999999", "2006-01-02T15:04", "2006-01-02 15:04:05.999999999", "2006-01-02 15:04"}
)

// ParseInstant reads "2031-09-14T07:10:00-05:00", or "2031-09-14 07:10" on the clock of loc, and returns it in UTC.
// A local time that the clock never showed or showed twice is refused.
func ParseInstant(label, s string, loc *time.Location) (time.Time, error) {
	text := strings.ToUpper(strings.TrimSpace(s))
	e := &problem.InputError{
		Rule: "time.form", Label: label, Got: shorten(s),
		Want: "a date and time as 2031-09-14 07:10, or with an offset as 2031-09-14T07:10:00-05:00",
	}
	for _, form := range withOffset {
		if t, err := time.Parse(form, text); err == nil {
			return t.UTC(), nil
		}
	}
	for _, form := range onTheWall {
		wall, err := time.Parse(form, text)
		if err != nil {
			continue
		}
		switch at := Instants(wall, loc); len(at) {
		case 1:
			return at[0], nil
		case 0:
			e.Rule = "time.gap"
			e.Want = "a time that the clock showed"
			e.Next = fmt.Sprintf("Clocks in %s went forward and skipped it; write the time they showed.", loc)
		default:
			const form = "2006-01-02T15:04:05-07:00"
			e.Rule = "time.twice"
			e.Want = "a time that the clock showed once"
			e.Next = fmt.Sprintf("Clocks in %s went back and showed it twice; write %s or %s.", loc,
				at[0].In(loc).Format(form), at[1].In(loc).Format(form))
		}
		return time.Time{}, e
	}
	return time.Time{}, e
}

// FormatInstant returns t as [ParseInstant] reads it, with the offset of loc.
func FormatInstant(t time.Time, loc *time.Location) string {
	local := t.In(loc)
	if _, offset := local.Zone(); offset%60 != 0 {
		local = t.UTC() // an offset with seconds, from before standard time, has no written form
	}
	return local.Format(time.RFC3339Nano)
}

// ParseDay reads a civil date, "2031-09-14".
func ParseDay(label, s string) (calendar.Day, error) {
	d, err := calendar.ParseDay(strings.TrimSpace(s))
	if err != nil {
		return calendar.Day{}, &problem.InputError{
			Rule: "date.form", Label: label, Got: shorten(s),
			Want: "a date of the calendar, as 2031-09-14",
		}
	}
	return d, nil
}
