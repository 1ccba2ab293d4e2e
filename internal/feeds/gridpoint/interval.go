package gridpoint

import (
	"strings"
	"time"
)

// parseInterval reads a valid time: start/end, start/duration or duration/end of ISO 8601. NOW stands for now, which
// is the moment the forecast was made. [nws-api]
func parseInterval(s string, now time.Time) (from, to time.Time, ok bool) {
	a, b, two := strings.Cut(s, "/")
	if !two {
		return from, to, false
	}
	instant := func(s string) (time.Time, bool) {
		if s == "NOW" {
			return now, !now.IsZero()
		}
		return parseInstant(s)
	}
	if strings.HasPrefix(a, "P") {
		d, okD := parseDuration(a)
		to, ok = instant(b)
		return d.before(to), to, ok && okD && d.before(to).Before(to)
	}
	if from, ok = instant(a); !ok {
		return from, to, false
	}
	if strings.HasPrefix(b, "P") {
		d, okD := parseDuration(b)
		return from, d.after(from), okD && d.after(from).After(from)
	}
	to, ok = instant(b)
	return from, to, ok && to.After(from)
}

// parseInstant reads a time with Z, +00:00 or +0000 behind it, with or without seconds.
func parseInstant(s string) (time.Time, bool) {
	for _, form := range []string{time.RFC3339, "2006-01-02T15:04:05Z0700", "2006-01-02T15:04Z07:00", "2006-01-02T15:04Z0700"} {
		if t, err := time.Parse(form, s); err == nil && t.Year() >= 1970 && t.Year() < 2200 {
			return t.UTC(), true
		}
	}
	return time.Time{}, false
}

// A duration is a length of time as ISO 8601 writes it; years and months have no length of their own.
type duration struct {
	years, months, days int
	clock               time.Duration
}

func (d duration) after(t time.Time) time.Time {
	return t.AddDate(d.years, d.months, d.days).Add(d.clock)
}

func (d duration) before(t time.Time) time.Time {
	return t.AddDate(-d.years, -d.months, -d.days).Add(-d.clock)
}

// parseDuration reads P(nY)(nM)(nD)(T(nH)(nM)(nS)), at least one of them.
func parseDuration(s string) (d duration, ok bool) {
	rest, timed, some := s[1:], false, false
	for rest != "" {
		if rest[0] == 'T' && !timed && len(rest) > 1 {
			timed, rest = true, rest[1:]
			continue
		}
		n, digits := 0, 0
		for digits < len(rest) && rest[digits] >= '0' && rest[digits] <= '9' {
			n = n*10 + int(rest[digits]-'0')
			digits++
		}
		if digits == 0 || digits > 4 || digits == len(rest) || !d.add(n, rest[digits], timed) {
			return d, false
		}
		some, rest = true, rest[digits+1:]
	}
	return d, some
}

// add puts n of a unit in; M is months before the T and minutes after it.
func (d *duration) add(n int, unit byte, timed bool) bool {
	switch {
	case unit == 'Y' && !timed:
		d.years += n
	case unit == 'M' && !timed:
		d.months += n
	case unit == 'D' && !timed:
		d.days += n
	case unit == 'H' && timed:
		d.clock += time.Duration(n) * time.Hour
	case unit == 'M' && timed:
		d.clock += time.Duration(n) * time.Minute
	case unit == 'S' && timed:
		d.clock += time.Duration(n) * time.Second
	default:
		return false
	}
	return true
}
