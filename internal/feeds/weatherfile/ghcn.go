package weatherfile

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// GHCN-Daily keeps a station's own days, from midnight to midnight unless an hour of reading is given, in tenths of °C, mm and
// m/s. [ghcn-daily]
const (
	dlyHead    = 21 // columns before the first day: station, year, month, element
	dlyDay     = 8  // columns a day: value and three flags
	dlyMissing = -9999
	lastNoon   = 1200 // hour of reading up to which rain and high are the day before's [judgement]
)

var utc = time.UTC

// looksLikeDly reports whether a line is a month of one element.
func looksLikeDly(line []byte) bool {
	if len(line) < dlyHead+dlyDay {
		return false
	}
	_, year := digits(line[11:15])
	_, month := digits(line[15:17])
	return year && month && isID(line[:11]) && isUpper(line[17:21])
}

func isID(b []byte) bool {
	return len(b) == 11 && isUpper(b[:2]) && bytes.IndexFunc(b, func(r rune) bool { return (r < '0' || r > '9') && (r < 'A' || r > 'Z') }) < 0
}

// isUpper reports capital letters and digits, the first a letter.
func isUpper(b []byte) bool {
	for i, c := range b {
		if (c < 'A' || c > 'Z') && (i == 0 || c < '0' || c > '9') {
			return false
		}
	}
	return len(b) > 0
}

// readDly reads the form of fixed width, a line a month and element.
func readDly(text []byte, name string, o Options) (*weather.Series, Report, error) {
	f := newDailyFile(name, "GHCN-Daily", o)
	for line := 1; len(text) > 0 && !f.full(); line++ {
		row, rest, _ := bytes.Cut(text, []byte("\n"))
		text = rest
		row = bytes.TrimRight(row, "\r")
		if len(bytes.TrimSpace(row)) > 0 {
			f.dlyLine(line, row)
		}
	}
	return f.series()
}

func (f *dailyFile) dlyLine(line int, row []byte) {
	if !looksLikeDly(row) {
		f.add(line, "", problem.InputError{Rule: "weather.dly.form", Label: "line", Got: shownLine(row), Want: "station, year, month, element and 31 days of eight characters"})
		return
	}
	e, used := elementNamed(string(row[17:21]))
	if !f.of(line, string(row[:11])) || !used {
		return
	}
	if len(row) < dlyHead+31*dlyDay-3 { // the flags of the last day may be cut off as spaces
		f.add(line, "", problem.InputError{
			Rule: "weather.file.cut", Label: "line", Got: fmt.Sprintf("%d characters", len(row)), Want: fmt.Sprintf("%d characters", dlyHead+31*dlyDay),
			Next: "The file seems to be cut short: fetch or copy it again.",
		})
		return
	}
	padded := append(bytes.Clone(row), "   "...)
	for date := 1; date <= 31; date++ {
		cell := padded[dlyHead+(date-1)*dlyDay:]
		text := strings.TrimSpace(string(cell[:5]))
		x, ok := parseNumber([]byte(text), '.')
		switch {
		case !ok:
			f.add(line, e.name, problem.InputError{Rule: "weather.cell.number", Label: fmt.Sprintf("%s of day %d", e.name, date), Got: text, Want: "a whole number, or -9999"})
			return
		case x == dlyMissing:
			continue
		}
		on, real := dayOfDigits(string(row[11:17]) + fmt.Sprintf("%02d", date))
		if !real {
			f.add(line, e.name, problem.InputError{Rule: "weather.time.form", Label: "day", Got: fmt.Sprintf("%s %d", row[11:17], date), Want: "a value only for days the month has"})
			return
		}
		f.flagged(line, flaggedValue{element: e, text: text, x: x / 10, measure: cell[5], quality: cell[6]}, on, "")
	}
}

// A flaggedValue is a value of the archive with its flags.
type flaggedValue struct {
	element
	text             string
	x                float64 // SI
	measure, quality byte
}

// flagged files a value of the archive unless its checks failed it; at is the hour of reading, "0700", where it is given.
func (f *dailyFile) flagged(line int, v flaggedValue, on day, at string) {
	if v.quality != ' ' && v.quality != 0 {
		f.rejected++
		return
	}
	if v.measure == 'T' {
		f.traces++
		v.x = 0
	}
	if hour, ok := digits([]byte(at)); ok && hour > 0 && hour <= lastNoon && (v.name == dayFall.name || v.name == dayHigh.name) {
		on = on.AddDays(-1)
		f.morning++
	}
	f.put(line, v.element, on, v.x, v.text)
}

// looksLikeByYear reports whether a line is one value: station, date, element, value and flags.
func looksLikeByYear(line []byte) bool {
	cells := split(nil, line, ',')
	if len(cells) < 4 || !isID(cells[0]) || !isUpper(cells[2]) {
		return false
	}
	_, ok := dayOfDigits(string(cells[1]))
	return ok
}

// readByYear reads the form of one value a line, of one station.
func readByYear(text []byte, name string, o Options) (*weather.Series, Report, error) {
	f := newDailyFile(name, "GHCN-Daily by year", o)
	for line := 1; len(text) > 0 && !f.full(); line++ {
		row, rest, _ := bytes.Cut(text, []byte("\n"))
		text = rest
		row = bytes.TrimRight(row, "\r")
		if len(bytes.TrimSpace(row)) == 0 {
			continue
		}
		if !looksLikeByYear(row) {
			f.add(line, "", problem.InputError{Rule: "weather.ghcn.form", Label: "line", Got: shownLine(row), Want: "station, date as 20241003, element, value and flags"})
			continue
		}
		f.byYearLine(line, split(nil, row, ','))
	}
	return f.series()
}

func (f *dailyFile) byYearLine(line int, cells [][]byte) {
	e, used := elementNamed(string(cells[2]))
	if !f.of(line, string(cells[0])) || !used {
		return
	}
	on, _ := dayOfDigits(string(cells[1]))
	x, ok := parseNumber(cells[3], '.')
	if !ok {
		f.add(line, e.name, problem.InputError{Rule: "weather.cell.number", Label: e.name + " of " + on.String(), Got: string(cells[3]), Want: "a whole number in tenths"})
		return
	}
	if x == dlyMissing {
		return
	}
	flag := func(i int) byte {
		if i < len(cells) && len(cells[i]) > 0 {
			return cells[i][0]
		}
		return ' '
	}
	at := ""
	if len(cells) > 7 {
		at = string(cells[7])
	}
	f.flagged(line, flaggedValue{e, string(cells[3]), x / 10, flag(4), flag(5)}, on, at)
}

func shownLine(row []byte) string {
	const most = 40
	text := strings.ToValidUTF8(string(row[:min(most, len(row))]), "?")
	if len(row) > most {
		text += "…"
	}
	return text
}
