package weatherfile

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// A table is the plain CSV on its way in: columns as they stand, rows as they come. Names of columns are
// compared in lower case; the separator is the first of tab, semicolon and comma that the header has; a
// decimal comma is read only between semicolons.
type table struct {
	refusal
	o      Options
	sep    byte
	point  byte
	names  []string
	kinds  []columnKind // per column; name is empty for one that holds no quantity
	clock  int          // column of the time
	utc    bool         // the time column is UTC
	whole  bool         // the time column is standard time all year
	offset int          // column utc_offset_h, or −1

	hours  []calendar.Hour
	values [quantities][]float64 // nil where no column has it
	of     [quantities]int       // which column

	report   Report
	repeated int // rows that gave an hour again
	blank    [quantities]int
}

// readCSV reads the plain CSV.
func readCSV(text []byte, name string, o Options) (*weather.Series, Report, error) {
	t := &table{refusal: refusal{file: name}, o: o, offset: -1, clock: -1}
	t.report = Report{File: name, Format: "plain CSV"}
	line, rest, _ := bytes.Cut(text, []byte("\n"))
	t.header(line)
	if len(t.list) > 0 {
		return nil, Report{}, t.list
	}
	t.rows(rest)
	if len(t.list) == 0 && len(t.hours) == 0 {
		t.add(2, "", problem.InputError{Rule: "weather.empty", Label: "hourly row", Want: "at least one hour under the header"})
	}
	if len(t.list) > 0 {
		return nil, Report{}, t.list
	}
	m, ok := t.measured()
	if !ok {
		return nil, Report{}, t.list
	}
	return build(m, t.o, t.report)
}

func (t *table) header(line []byte) {
	line = bytes.TrimRight(line, "\r")
	t.sep, t.point = ',', '.'
	switch {
	case bytes.IndexByte(line, '\t') >= 0:
		t.sep = '\t'
	case bytes.IndexByte(line, ';') >= 0:
		t.sep, t.point = ';', ','
	}
	for i, cell := range bytes.Split(line, []byte{t.sep}) {
		name := strings.ToLower(string(trimCell(cell)))
		t.names = append(t.names, name)
		t.kinds = append(t.kinds, columnKind{})
		t.column(i, name)
	}
	t.needs()
}

// column files one column of the header.
func (t *table) column(i int, name string) {
	kind, known := kindNamed(name)
	switch {
	case known:
		if t.values[kind.of] != nil {
			t.add(1, name, problem.InputError{
				Rule: "weather.columns.twice", Label: "column", Got: name,
				Want: "one of " + oneOf(kind.of.columns()), Next: "Take the other column of the same quantity out.",
			})
			return
		}
		t.kinds[i], t.of[kind.of] = kind, i
		t.values[kind.of] = []float64{}
	case name == timeUTC, name == timeLocal, name == timeStandard:
		if t.clock >= 0 {
			t.add(1, name, problem.InputError{Rule: "weather.columns.twice", Label: "column", Got: name, Want: "one column of time"})
			return
		}
		t.clock, t.utc, t.whole = i, name == timeUTC, name == timeStandard
	case name == offsetColumn:
		t.offset = i
	case len(sameStem(name)) > 0:
		t.add(1, name, problem.InputError{
			Rule: "weather.columns.unit", Label: "column", Got: name, Want: oneOf(sameStem(name)),
			Next: "Convert the column to one of these units and name it so.",
		})
	case t.o.Strict:
		t.add(1, name, problem.InputError{
			Rule: "weather.columns.unknown", Label: "column", Got: quoteEmpty(name), Want: knownColumns(),
			Next: "Rename the column, or take it out.",
		})
	default:
		t.report.Findings = append(t.report.Findings, problem.Finding{
			Rule: "weather.columns.unknown", Severity: problem.Note, Label: "column", Got: name,
			Where: problem.Place{File: t.file, Line: 1, Path: "column " + name}, Say: "This column is not used.",
		})
	}
}

func quoteEmpty(name string) string {
	if name == "" {
		return "(no name)"
	}
	return name
}

func knownColumns() string {
	names := []string{timeUTC, timeLocal, timeStandard, offsetColumn}
	for _, k := range columnKinds {
		names = append(names, k.name)
	}
	return oneOf(names)
}

// needs says what the header lacks.
func (t *table) needs() {
	if t.clock < 0 {
		next := ""
		if slices.Contains(t.names, "date") {
			next = "A file of daily values cannot stand for hours."
		}
		t.add(1, "", problem.InputError{
			Rule: "weather.columns.time", Label: "column of time", Want: oneOf([]string{timeUTC, timeLocal, timeStandard}), Next: next,
		})
	} else if !t.utc && t.offset < 0 && t.o.Offset == nil && t.o.Zone == nil {
		t.add(1, t.names[t.clock], problem.InputError{
			Rule: "weather.columns.zone", Label: "clock of " + t.names[t.clock], Want: "a column utc_offset_h, or the time zone in the settings",
		})
	}
	misnamed := func(e *problem.InputError) bool {
		return e.Rule == "weather.columns.unit" && strings.HasPrefix(e.Got, "temp")
	}
	if t.values[temperature] == nil && !slices.ContainsFunc(t.list, misnamed) {
		t.add(1, "", problem.InputError{Rule: "weather.columns.temp", Label: "column of temperature", Want: oneOf(temperature.columns())})
	}
	if t.values[rain] != nil && t.values[dayRain] != nil {
		t.add(1, t.names[t.of[dayRain]], problem.InputError{
			Rule: "weather.columns.twice", Label: "column", Got: t.names[t.of[dayRain]], Want: "rain by the hour or by the day, not both",
		})
	}
}

func (t *table) rows(text []byte) {
	room := bytes.Count(text, []byte("\n")) + 1
	t.hours = make([]calendar.Hour, 0, room)
	for q := range t.values {
		if t.values[q] != nil {
			t.values[q] = make([]float64, 0, room)
		}
	}
	cells := make([][]byte, 0, len(t.names)+1)
	for line := 2; len(text) > 0 && !t.full(); line++ {
		row, rest, ended := bytes.Cut(text, []byte("\n"))
		text = rest
		row = bytes.TrimRight(row, "\r")
		if len(bytes.TrimSpace(row)) == 0 {
			t.blankRow(line, len(bytes.TrimSpace(rest)) == 0)
			continue
		}
		cells = split(cells[:0], row, t.sep)
		if len(cells) != len(t.names) {
			t.wrongCells(line, len(cells), ended)
			continue
		}
		if h, ok := t.hour(line, cells); ok && t.inOrder(line, h, cells[t.clock]) {
			t.row(line, h, cells)
		}
	}
}

// blankRow passes over empty lines at the end; elsewhere a strict file may have none.
func (t *table) blankRow(line int, atEnd bool) {
	if t.o.Strict && !atEnd {
		t.add(line, "", problem.InputError{Rule: "weather.row.empty", Label: "row", Want: "one hour in every row", Next: "Take the empty row out."})
	}
}

func (t *table) wrongCells(line, got int, ended bool) {
	e := problem.InputError{
		Rule: "weather.row.cells", Label: "row of cells", Got: strconv.Itoa(got), Want: fmt.Sprintf("%d, as many as the header has", len(t.names)),
	}
	if !ended && got < len(t.names) {
		e.Rule, e.Next = "weather.file.cut", "The file seems to be cut short: fetch or copy it again."
	}
	t.add(line, "", e)
}

// hour reads the time of a row.
func (t *table) hour(line int, cells [][]byte) (calendar.Hour, bool) {
	cell, name := cells[t.clock], t.names[t.clock]
	c, ok := parseStamp(cell)
	if !ok {
		t.add(line, name, problem.InputError{Rule: "weather.time.form", Label: name, Got: string(cell), Want: "a time on the hour like 2030-09-14T05:00"})
		return 0, false
	}
	var hours []calendar.Hour
	fixed, isFixed := t.fixedOffset(line, c, cells)
	if isFixed {
		if h, ok := c.at(fixed); ok {
			hours = append(hours, h)
		}
	} else if len(t.list) > 0 && t.list[len(t.list)-1].Where.Line == line {
		return 0, false
	} else {
		hours = c.inZone(t.o.Zone)
	}
	switch {
	case len(hours) == 0 && !isFixed && c.minute == 0:
		t.add(line, name, problem.InputError{
			Rule: "weather.time.skipped", Label: name, Got: string(cell), Want: "an hour the clock shows; this one is skipped when summer time begins",
			Next: "Use time_utc, or time_lst if the station keeps standard time.",
		})
		return 0, false
	case len(hours) == 0:
		t.add(line, name, problem.InputError{Rule: "weather.time.hour", Label: name, Got: string(cell), Want: "one row an hour, on the full hour in UTC"})
		return 0, false
	case len(hours) == 2 && len(t.hours) > 0 && t.hours[len(t.hours)-1] >= hours[0]:
		return hours[1], true // the clock shows this hour again: the first has been
	}
	return hours[0], true
}

// fixedOffset returns the minutes ahead of UTC of a row's clock; ok is false where a zone must tell.
func (t *table) fixedOffset(line int, c civil, cells [][]byte) (minutes int, ok bool) {
	switch {
	case c.hasOffset:
		return c.offset, true
	case t.utc:
		return 0, true
	case t.offset >= 0:
		x, isNumber := parseNumber(cells[t.offset], t.point)
		m, isOffset := wholeMinutes(x)
		if !isNumber || !isOffset {
			t.add(line, offsetColumn, problem.InputError{
				Rule: "weather.time.offset", Label: offsetColumn, Got: string(cells[t.offset]), Want: "-14 to 14 hours ahead of UTC, like -6",
			})
			return 0, false
		}
		if t.whole && len(t.hours) == 0 {
			standard := time.Duration(m) * time.Minute
			t.o.Offset = &standard
		}
		return m, true
	case t.o.Offset != nil:
		return int(t.o.Offset.Minutes()), true
	case t.whole:
		return int(t.o.standard().Minutes()), true
	}
	return 0, false
}

// inOrder checks the row's hour against the one before.
func (t *table) inOrder(line int, h calendar.Hour, cell []byte) bool {
	if len(t.hours) == 0 || !t.o.Strict {
		return true
	}
	last := t.hours[len(t.hours)-1]
	if h == last+1 {
		return true
	}
	rule, want := "weather.time.gap", fmt.Sprintf("%s, the hour after the row before", (last+1).Start().Format(time.RFC3339))
	switch {
	case h == last:
		rule, want = "weather.time.twice", "every hour once"
	case h < last:
		rule, want = "weather.time.order", "rows in order of time"
	}
	name := t.names[t.clock]
	t.add(line, name, problem.InputError{Rule: rule, Label: name, Got: string(cell), Want: want})
	return false
}

func (t *table) row(line int, h calendar.Hour, cells [][]byte) {
	for i, kind := range t.kinds {
		if kind.name == "" {
			continue
		}
		x, ok := t.value(line, kind, cells[i])
		if !ok {
			continue
		}
		t.values[kind.of] = append(t.values[kind.of], x)
	}
	if n := len(t.hours); t.values[dewPoint] != nil && len(t.values[dewPoint]) == n+1 && len(t.values[temperature]) == n+1 {
		t.dewBelow(line, cells[t.of[dewPoint]], t.values[temperature][n], t.values[dewPoint][n])
	}
	t.hours = append(t.hours, h)
	t.report.Rows++
}

// dewSlack is how far a dew point may lie above the temperature by rounding and drift of two sensors.
const dewSlack = 0.5 // °C [judgement]

func (t *table) dewBelow(line int, cell []byte, temp, dew float64) {
	if dew > temp+dewSlack {
		name := t.names[t.of[dewPoint]]
		t.add(line, name, problem.InputError{
			Rule: "weather.dew.above", Label: name, Got: string(cell), Want: "not above the temperature of the hour",
			Next: "Check that the two columns are not swapped.",
		})
	}
}

// value reads one figure into SI; NaN for an empty cell where that is allowed.
func (t *table) value(line int, kind columnKind, cell []byte) (float64, bool) {
	if isBlank(cell) {
		if t.o.Strict {
			t.add(line, kind.name, problem.InputError{Rule: "weather.cell.empty", Label: kind.name, Got: string(cell), Want: kind.accepted})
			return 0, false
		}
		t.blank[kind.of]++
		return math.NaN(), true
	}
	x, ok := parseNumber(cell, t.point)
	if !ok {
		t.add(line, kind.name, problem.InputError{Rule: "weather.cell.number", Label: kind.name, Got: string(cell), Want: kind.accepted})
		return 0, false
	}
	if x < kind.low || x > kind.high {
		e := problem.InputError{Rule: "weather.cell.range", Label: kind.name, Got: string(cell), Want: kind.accepted}
		if others := kind.of.columns(); len(others) > 1 {
			e.Next = "Check the unit: " + oneOf(others) + "."
		}
		t.add(line, kind.name, e)
		return 0, false
	}
	return (x - kind.zero) * kind.scale, true
}

func isBlank(cell []byte) bool {
	return len(cell) == 0 || string(cell) == "NA" || string(cell) == "NaN"
}

// split cuts a row into trimmed cells.
func split(cells [][]byte, row []byte, sep byte) [][]byte {
	for {
		i := bytes.IndexByte(row, sep)
		if i < 0 {
			return append(cells, trimCell(row))
		}
		cells = append(cells, trimCell(row[:i]))
		row = row[i+1:]
	}
}

// trimCell takes off spaces and the quotes that spreadsheets put around text.
func trimCell(cell []byte) []byte {
	if n := len(cell); n == 0 || cell[0] > ' ' && cell[n-1] > ' ' && cell[0] != '"' {
		return cell
	}
	cell = bytes.TrimSpace(cell)
	if n := len(cell); n >= 2 && cell[0] == '"' && cell[n-1] == '"' {
		cell = bytes.TrimSpace(cell[1 : n-1])
	}
	return cell
}
