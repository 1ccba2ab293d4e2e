package weatherfile

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// ISD-Lite: one line an hour in UTC, fixed columns, figures in tenths, −9999 for missing. [isd-lite]
const isdWidth = 61

// An isdField is where a figure stands in the line and what it can be, in the file's own units.
type isdField struct {
	name      string
	from, to  int
	low, high int // as written
	accepted  string
}

var (
	isdTemp = isdField{"air temperature", 13, 19, -600, 600, "-600 to 600 tenths of a degree, or -9999"}
	isdDew  = isdField{"dew point", 19, 25, -800, 450, "-800 to 450 tenths of a degree, or -9999"}
	isdWind = isdField{"wind speed", 37, 43, 0, 750, "0 to 750 tenths of a m/s, or -9999"}
	isdSky  = isdField{"sky condition", 43, 49, 0, 19, "0 to 19, or -9999"}
	isdRain = isdField{"one-hour precipitation", 49, 55, -1, 3050, "0 to 3050 tenths of a mm, -1 for a trace, or -9999"}
)

const (
	isdMissing    = -9999
	isdTrace      = -1
	dewTooHigh    = 1.0  // °C above the temperature from which a dew point is rejected [judgement]
	fastestChange = 15.0 // °C from hour to hour from which a temperature is rejected [judgement]
)

// looksLikeISDLite reports whether the text begins with four numbers where the format has its date.
func looksLikeISDLite(text []byte) bool {
	if len(text) < 13 {
		return false
	}
	_, ok := isdDate(text[:13])
	return ok && text[4] == ' ' && text[7] == ' ' && text[10] == ' '
}

func isdDate(line []byte) (civil, bool) {
	var c civil
	var ok [4]bool
	c.year, ok[0] = digits(bytes.TrimLeft(line[0:4], " "))
	c.month, ok[1] = digits(bytes.TrimLeft(line[5:7], " "))
	c.day, ok[2] = digits(bytes.TrimLeft(line[8:10], " "))
	c.hour, ok[3] = digits(bytes.TrimLeft(line[11:13], " "))
	return c, ok == [4]bool{true, true, true, true} && c.hour < 24 && realDate(c.year, c.month, c.day)
}

// isdFile collects the lines.
type isdFile struct {
	refusal
	o                            Options
	hours                        []calendar.Hour
	temp, dew, wind, sky, rainMM []float64
	trace                        int
}

// readISDLite reads any number of station years, one line after the other.
func readISDLite(text []byte, name string, o Options) (*weather.Series, Report, error) {
	f := &isdFile{refusal: refusal{file: name}, o: o}
	for line := 1; len(text) > 0 && !f.full(); line++ {
		row, rest, _ := bytes.Cut(text, []byte("\n"))
		text = rest
		row = bytes.TrimRight(row, "\r")
		if len(bytes.TrimSpace(row)) == 0 && len(bytes.TrimSpace(rest)) == 0 {
			break
		}
		f.line(line, row)
	}
	if len(f.list) > 0 {
		return nil, Report{}, f.list
	}
	return f.series()
}

func (f *isdFile) line(line int, row []byte) {
	if len(row) < isdWidth {
		f.add(line, "", problem.InputError{
			Rule: "weather.file.cut", Label: "line", Got: fmt.Sprintf("%d characters", len(row)),
			Want: fmt.Sprintf("%d characters", isdWidth), Next: "The file seems to be cut short: fetch or copy it again.",
		})
		return
	}
	c, ok := isdDate(row)
	if !ok {
		f.add(line, "date", problem.InputError{Rule: "weather.time.form", Label: "date and hour", Got: string(row[:13]), Want: "year, month, day and hour like 2030 09 14 05"})
		return
	}
	h, _ := c.at(0)
	if n := len(f.hours); n > 0 && h != f.hours[n-1]+1 && (f.o.Strict || h <= f.hours[n-1]) {
		f.add(line, "date", problem.InputError{Rule: "weather.time.order", Label: "date and hour", Got: string(row[:13]), Want: "every hour once, in order of time"})
		return
	}
	f.hours = append(f.hours, h)
	f.temp = append(f.temp, f.figure(line, row, isdTemp)/10)
	f.dew = append(f.dew, f.figure(line, row, isdDew)/10)
	f.wind = append(f.wind, f.figure(line, row, isdWind)/10)
	f.sky = append(f.sky, f.cover(f.figure(line, row, isdSky)))
	f.rainMM = append(f.rainMM, f.depth(f.figure(line, row, isdRain)))
}

// figure returns a field as written, NaN where it is missing.
func (f *isdFile) figure(line int, row []byte, field isdField) float64 {
	text := bytes.TrimSpace(row[field.from:field.to])
	x, ok := parseNumber(text, '.')
	switch {
	case ok && x == isdMissing:
		if f.o.Strict && field != isdSky { // cloud is missing in half of all lines and has its own stand-in
			f.add(line, field.name, problem.InputError{Rule: "weather.cell.empty", Label: field.name, Got: string(text), Want: field.accepted[:strings.LastIndex(field.accepted, ", or")]})
		}
		return math.NaN()
	case !ok, x != math.Trunc(x), x < float64(field.low), x > float64(field.high):
		f.add(line, field.name, problem.InputError{Rule: "weather.cell.range", Label: field.name, Got: string(row[field.from:field.to]), Want: field.accepted})
		return math.NaN()
	}
	return x
}

// cover turns the sky code into a fraction: eighths up to 8, an obscured sky is covered. Codes from 10 on are
// classes of other kinds of report and are taken as missing.
func (f *isdFile) cover(code float64) float64 {
	switch {
	case code <= 8:
		return code / 8
	case code == 9:
		return 1
	}
	return math.NaN()
}

func (f *isdFile) depth(tenths float64) float64 {
	if tenths == isdTrace {
		f.trace++
		return 0
	}
	return tenths / 10
}

// series checks the quality of the figures and puts them into their hours.
func (f *isdFile) series() (*weather.Series, Report, error) {
	rep := Report{File: f.file, Format: "ISD-Lite", Rows: len(f.hours)}
	start, end := f.hours[0], f.hours[len(f.hours)-1]+1
	if f.span("date", start, end, len(f.hours)); len(f.list) > 0 {
		return nil, Report{}, f.list
	}
	n := int(end - start)
	columns := [][]float64{f.temp, f.dew, f.wind, f.sky, f.rainMM}
	for c, column := range columns {
		placed := missing(n)
		for i, h := range f.hours {
			placed[h-start] = column[i]
		}
		columns[c] = placed
	}
	m := &weather.Measured{
		Start: start, Hours: n, Temp: columns[0], Dew: columns[1], Wind: columns[2], Sky: columns[3],
		Rain: hourEarlier(columns[4]), // precipitation is of the hour that ends at the stamp [isd-lite]
	}
	note := func(rule string, count int, severity problem.Severity, one, rest string) {
		if count > 0 {
			rep.Findings = append(rep.Findings, problem.Finding{
				Rule: rule, Severity: severity, Where: problem.Place{File: f.file},
				Got: counted(count, "hour"), Say: counted(count, one) + " " + rest,
			})
		}
	}
	note("weather.time.gap", n-len(f.hours), problem.Warning, "hour", "between the first line and the last without a line.")
	note("weather.temp.jump", rejectJumps(m.Temp), problem.Warning, "temperature", "rejected: more than 15 °C off the hours beside it.")
	note("weather.dew.above", rejectHighDew(m.Temp, m.Dew), problem.Warning, "dew point", "rejected: more than 1 °C above the temperature.")
	note("weather.rain.trace", f.trace, problem.Note, "hour", "with a trace of rain taken as dry.")
	f.o.Station.Standard = f.o.standard()
	return build(m, f.o, rep)
}

// rejectJumps takes out temperatures that differ by more than fastestChange from the hour before and from the
// hour after, in the same direction: a single wrong figure. A front moves the temperature once and it stays.
func rejectJumps(temp []float64) int {
	rejected := 0
	for i := 1; i+1 < len(temp); i++ {
		before, after := temp[i]-temp[i-1], temp[i]-temp[i+1]
		if math.Abs(before) > fastestChange && math.Abs(after) > fastestChange && before*after > 0 {
			temp[i] = math.NaN()
			rejected++
		}
	}
	return rejected
}

func rejectHighDew(temp, dew []float64) int {
	rejected := 0
	for i := range dew {
		if dew[i] > temp[i]+dewTooHigh {
			dew[i] = math.NaN()
			rejected++
		}
	}
	return rejected
}
