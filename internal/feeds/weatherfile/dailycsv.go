package weatherfile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

type day = calendar.Day

// A dailyColumn is a column of a daily file: what it is and how its figures become SI.
type dailyColumn struct {
	name string
	element
	zero, scale float64
	archive     bool // of the national archive, whose columns do not name their unit
}

const fahrenheit = 5.0 / 9

// dailyColumns are the columns of daily files, by their names in lower case.
var dailyColumns = []dailyColumn{
	{"tmax_c", dayHigh, 0, 1, false},
	{"tmax_f", dayHigh, 32, fahrenheit, false},
	{"tmin_c", dayLow, 0, 1, false},
	{"tmin_f", dayLow, 32, fahrenheit, false},
	{"rain_mm", dayFall, 0, 1, false},
	{"rain_in", dayFall, 0, 25.4, false},
	{"tmax", dayHigh, 0, 1, true},
	{"tmin", dayLow, 0, 1, true},
	{"prcp", dayFall, 0, 1, true},
	{"awnd", dayWind, 0, 1, true},
}

// looksLikeDailyHeader reports whether a header, in lower case, is that of a daily file.
func looksLikeDailyHeader(header string) bool {
	names := headerNames(header)
	return slices.Contains(names, "date") && slices.ContainsFunc(names, func(n string) bool { return strings.HasPrefix(n, "tmax") })
}

func headerNames(header string) []string {
	names := strings.FieldsFunc(header, func(r rune) bool { return r == ',' || r == ';' || r == '\t' })
	for i := range names {
		names[i] = strings.Trim(strings.TrimSpace(names[i]), `"`)
	}
	return names
}

// A dailyCSV is a daily file with a header on its way in.
type dailyCSV struct {
	*dailyFile
	names   []string
	columns []*dailyColumn // per column; nil: not used
	date    int
	id      int // column of the station, or −1
	tenths  bool
	plain   bool // archive's columns in °C and mm
}

// readDailyCSV reads daily values with a header: the archive's, or plain columns that name their unit.
func readDailyCSV(text []byte, name string, o Options) (*weather.Series, Report, error) {
	f := &dailyCSV{dailyFile: newDailyFile(name, "daily CSV", o), date: -1, id: -1}
	rows, err := csvRows(text)
	if err != nil {
		f.add(lineOf(err), "", problem.InputError{Rule: "weather.csv", Label: "row of cells", Got: err.Error(), Want: "as many cells as the header has, whole quotes"})
		return nil, Report{}, f.list
	}
	if f.header(rows[0]); len(f.list) > 0 {
		return nil, Report{}, f.list
	}
	if f.unit(rows[1:]); len(f.list) > 0 {
		return nil, Report{}, f.list
	}
	for i, row := range rows[1:] {
		if f.full() {
			break
		}
		f.row(i+2, row)
	}
	return f.series()
}

// csvRows parts text into rows of as many cells as the first has.
func csvRows(text []byte) ([][]string, error) {
	r := csv.NewReader(bytes.NewReader(text))
	r.TrimLeadingSpace = true
	header, _, _ := bytes.Cut(text, []byte("\n"))
	switch {
	case bytes.IndexByte(header, '\t') >= 0:
		r.Comma = '\t'
	case bytes.IndexByte(header, ';') >= 0:
		r.Comma = ';'
	}
	rows, err := r.ReadAll()
	if err == nil && len(rows) == 0 {
		return nil, io.ErrUnexpectedEOF
	}
	return rows, err
}

func lineOf(err error) int {
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		return parse.Line
	}
	return 0
}

func (f *dailyCSV) header(cells []string) {
	taken := map[string]string{}
	for i, cell := range cells {
		name := strings.ToLower(strings.TrimSpace(cell))
		f.names = append(f.names, name)
		f.columns = append(f.columns, nil)
		switch name {
		case "date":
			f.date = i
		case "station":
			f.id = i
		}
		f.tenths = f.tenths || strings.HasSuffix(name, "_attributes")
		k := slices.IndexFunc(dailyColumns, func(c dailyColumn) bool { return c.name == name })
		if k < 0 {
			continue
		}
		c := &dailyColumns[k]
		if before, twice := taken[c.element.name]; twice {
			f.add(1, name, problem.InputError{Rule: "weather.columns.twice", Label: "column", Got: name, Want: "one column of it, as " + before, Next: "Take the other out."})
		}
		taken[c.element.name], f.columns[i] = name, c
	}
	for _, e := range []element{dayHigh, dayLow} {
		if taken[e.name] == "" {
			f.add(1, "", problem.InputError{Rule: "weather.columns.day", Label: "column of " + e.name, Want: "tmax_c and tmin_c, tmax_f and tmin_f, or TMAX and TMIN"})
		}
	}
}

// unit finds out in which unit the archive's columns stand: with columns of attributes in tenths; without, decimals in the
// temperatures say °C. Anything else could be °F, and is asked back instead of guessed.
func (f *dailyCSV) unit(rows [][]string) {
	bare := slices.ContainsFunc(f.columns, func(c *dailyColumn) bool { return c != nil && c.archive })
	if !bare || f.tenths {
		return
	}
	for _, row := range rows {
		for i, c := range f.columns {
			if c != nil && c.archive && c.element.name != dayFall.name && strings.Contains(row[i], ".") {
				f.plain = true
			}
			if x, ok := parseNumber([]byte(strings.TrimSpace(row[i])), '.'); ok && c != nil && c.archive && c.element.name == dayHigh.name && x > c.high {
				f.add(0, "TMAX", problem.InputError{
					Rule: "weather.ghcn.unit", Label: "unit of TMAX", Got: row[i], Want: "°C with decimals, or tenths beside columns of attributes",
					Next: "Fetch the file in metric units.",
				})
				return
			}
		}
	}
	if !f.plain {
		f.add(0, "TMAX", problem.InputError{
			Rule: "weather.ghcn.unit", Label: "unit of TMAX", Got: "whole numbers", Want: "°C with decimals, or tenths beside columns of attributes",
			Next: "Fetch the file in metric units, or name the columns tmax_f and tmin_f, rain_in, if that is what they are.",
		})
	}
}

func (f *dailyCSV) row(line int, row []string) {
	on, err := calendar.ParseDay(strings.TrimSpace(row[f.date]))
	if err != nil {
		f.add(line, "date", problem.InputError{Rule: "weather.time.form", Label: "date", Got: row[f.date], Want: "a date as 2030-09-14"})
		return
	}
	if f.id >= 0 && !f.of(line, strings.TrimSpace(row[f.id])) {
		return
	}
	for i, c := range f.columns {
		text := ""
		if c != nil {
			text = strings.TrimSpace(row[i])
		}
		if text == "" || isBlank([]byte(text)) {
			continue
		}
		x, ok := parseNumber([]byte(text), '.')
		if !ok {
			f.add(line, f.names[i], problem.InputError{Rule: "weather.cell.number", Label: f.names[i] + " of " + on.String(), Got: text, Want: c.accepted})
			continue
		}
		v := flaggedValue{element: c.element, text: text, x: (x - c.zero) * c.scale, measure: ' ', quality: ' '}
		at := ""
		if c.archive && f.tenths {
			if x == dlyMissing {
				continue
			}
			v.x /= 10
			at = f.attributes(row, i, &v)
		}
		f.flagged(line, v, on, at)
	}
}

// attributes reads the flags beside a value, "measure,quality,source,hour".
func (f *dailyCSV) attributes(row []string, i int, v *flaggedValue) (at string) {
	k := slices.Index(f.names, f.names[i]+"_attributes")
	if k < 0 {
		return ""
	}
	parts := strings.Split(row[k], ",")
	for n, into := range []*byte{&v.measure, &v.quality} {
		if n < len(parts) && strings.TrimSpace(parts[n]) != "" {
			*into = strings.TrimSpace(parts[n])[0]
		}
	}
	if len(parts) > 3 {
		return strings.TrimSpace(parts[3])
	}
	return ""
}
