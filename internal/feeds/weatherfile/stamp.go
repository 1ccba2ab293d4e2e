package weatherfile

import (
	"math"
	"time"

	"threshday/internal/core/calendar"
)

// A civil is a time of day on a date as written, with no zone.
type civil struct {
	year, month, day, hour, minute int
	hasOffset                      bool
	offset                         int // minutes ahead of UTC, where the text says
}

// parseStamp reads 2030-09-14T05:00, with a space for the T, with seconds, with Z or an offset behind it.
func parseStamp(b []byte) (civil, bool) {
	var c civil
	if len(b) < 16 || b[4] != '-' || b[7] != '-' || (b[10] != 'T' && b[10] != 't' && b[10] != ' ') || b[13] != ':' {
		return c, false
	}
	var ok [5]bool
	c.year, ok[0] = digits(b[0:4])
	c.month, ok[1] = digits(b[5:7])
	c.day, ok[2] = digits(b[8:10])
	c.hour, ok[3] = digits(b[11:13])
	c.minute, ok[4] = digits(b[14:16])
	if ok != [5]bool{true, true, true, true, true} || c.hour > 23 || c.minute > 59 || !realDate(c.year, c.month, c.day) {
		return c, false
	}
	rest := b[16:]
	if len(rest) >= 3 && rest[0] == ':' {
		if seconds, ok := digits(rest[1:3]); !ok || seconds != 0 {
			return c, false
		}
		rest = rest[3:]
	}
	return c, c.readOffset(rest)
}

// readOffset reads "", "Z", "-05:00", "-0500" or "-05".
func (c *civil) readOffset(b []byte) bool {
	if len(b) == 0 {
		return true
	}
	c.hasOffset = true
	if len(b) == 1 {
		return b[0] == 'Z' || b[0] == 'z'
	}
	if b[0] != '+' && b[0] != '-' {
		return false
	}
	hour, minute := b[1:], []byte("00")
	switch {
	case len(b) == 6 && b[3] == ':':
		hour, minute = b[1:3], b[4:6]
	case len(b) == 5:
		hour, minute = b[1:3], b[3:5]
	case len(b) != 3:
		return false
	}
	h, ok1 := digits(hour)
	m, ok2 := digits(minute)
	c.offset = h*60 + m
	if b[0] == '-' {
		c.offset = -c.offset
	}
	return ok1 && ok2 && h <= 15 && m < 60
}

func digits(b []byte) (int, bool) {
	n := 0
	for _, d := range b {
		if d < '0' || d > '9' {
			return 0, false
		}
		n = n*10 + int(d-'0')
	}
	return n, len(b) > 0
}

func realDate(year, month, day int) bool {
	if month < 1 || month > 12 || day < 1 {
		return false
	}
	long := [12]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[month-1]
	if month == 2 && (year%4 == 0 && year%100 != 0 || year%400 == 0) {
		long = 29
	}
	return day <= long
}

// minutesUTC returns minutes since 1970 as if the civil time were UTC. Days by the count of the proleptic
// Gregorian calendar in eras of 400 years that begin on 1 March: quicker than time.Date for a long file.
func (c civil) minutesUTC() int64 {
	y, m := int64(c.year), int64(c.month)
	if m <= 2 {
		y--
		m += 12
	}
	era := floorDiv(y, 400)
	yearOfEra := y - era*400
	dayOfYear := (153*(m-3)+2)/5 + int64(c.day) - 1
	days := era*146097 + yearOfEra*365 + yearOfEra/4 - yearOfEra/100 + dayOfYear - 719468
	return (days*24+int64(c.hour))*60 + int64(c.minute)
}

func floorDiv(a, b int64) int64 {
	if a < 0 {
		return -((-a + b - 1) / b)
	}
	return a / b
}

// at returns the cell that begins offset minutes ahead of UTC; ok is false where that is no whole hour.
func (c civil) at(offset int) (calendar.Hour, bool) {
	minutes := c.minutesUTC() - int64(offset)
	return calendar.Hour(floorDiv(minutes, 60)), minutes%60 == 0
}

// inZone returns the cells that a clock in zone shows as c: none in the hour that is skipped in spring, two
// in the one that comes twice in autumn.
func (c civil) inZone(zone *time.Location) (hours []calendar.Hour) {
	shown := time.Date(c.year, time.Month(c.month), c.day, c.hour, c.minute, 0, 0, zone)
	for _, t := range []time.Time{shown.Add(-time.Hour), shown, shown.Add(time.Hour)} {
		if t.Day() == c.day && t.Hour() == c.hour && t.Minute() == c.minute && t.Unix()%3600 == 0 {
			hours = append(hours, calendar.HourOf(t))
		}
	}
	return hours
}

// wholeMinutes returns an offset in hours as minutes; ok is false for one no clock has.
func wholeMinutes(offsetH float64) (int, bool) {
	m := offsetH * 60
	return int(math.Round(m)), m == math.Round(m) && m >= -14*60 && m <= 14*60
}
