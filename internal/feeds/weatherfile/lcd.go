package weatherfile

import (
	"bytes"
	"math"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// Local Climatological Data: one row a report, standard time all year. Of the first version of the format figures are °F, inches and
// miles an hour; of the second, told by a station's id of letters and digits, °C, mm and m/s. [noaa-lcd]

// lcdReport is the hourly report; others are specials and summaries.
const lcdReport = "FM-15"

// An lcdColumn is a column that is used.
type lcdColumn struct {
	name string
	of   quantity
	// unit of the first version: zero and scale to SI; the second is in SI but for humidity.
	zero, scale float64
	low, high   float64 // in SI
	accepted    string
}

var lcdColumns = []lcdColumn{
	{"hourlydrybulbtemperature", temperature, 32, fahrenheit, -60, 60, "-60 to 60 °C"},
	{"hourlydewpointtemperature", dewPoint, 32, fahrenheit, -80, 45, "-80 to 45 °C"},
	{"hourlyrelativehumidity", humidity, 0, 0.01, 0, 1.02, "0 to 102 %"},
	{"hourlywindspeed", windSpeed, 0, 0.44704, 0, 75, "0 to 75 m/s"},
	{"hourlyprecipitation", rain, 0, 25.4, 0, 305, "0 to 305 mm"},
}

const lcdSky = "hourlyskyconditions"

func looksLikeLCD(text []byte) bool {
	line, _, _ := bytes.Cut(text, []byte("\n"))
	return bytes.Contains(bytes.ToLower(line), []byte("hourlydrybulbtemperature"))
}

// An lcdFile collects the reports.
type lcdFile struct {
	refusal
	o       Options
	names   []string
	second  bool // version
	hours   map[calendar.Hour][quantities]float64
	suspect int
	traces  int
	reports int
}

// readLCD reads a station's reports.
func readLCD(text []byte, name string, o Options) (*weather.Series, Report, error) {
	f := &lcdFile{refusal: refusal{file: name}, o: o, hours: map[calendar.Hour][quantities]float64{}}
	rows, err := csvRows(text)
	if err != nil {
		f.add(lineOf(err), "", problem.InputError{Rule: "weather.csv", Label: "row of cells", Got: err.Error(), Want: "as many cells as the header has, whole quotes"})
		return nil, Report{}, f.list
	}
	for _, cell := range rows[0] {
		f.names = append(f.names, strings.ToLower(strings.TrimSpace(cell)))
	}
	for _, need := range []string{"date", "report_type"} {
		if f.column(need) < 0 {
			f.add(1, "", problem.InputError{Rule: "weather.columns.lcd", Label: "column", Want: strings.ToUpper(need)})
		}
	}
	if len(f.list) > 0 {
		return nil, Report{}, f.list
	}
	f.second = f.secondVersion(rows[1:])
	for i, row := range rows[1:] {
		if f.full() {
			break
		}
		if strings.TrimSpace(row[f.column("report_type")]) == lcdReport {
			f.report(i+2, row)
		}
	}
	if len(f.list) == 0 && len(f.hours) == 0 {
		f.add(0, "report_type", problem.InputError{Rule: "weather.empty", Label: "hourly report", Want: "rows of type " + lcdReport})
	}
	if len(f.list) > 0 {
		return nil, Report{}, f.list
	}
	return f.series()
}

func (f *lcdFile) column(name string) int {
	for i, n := range f.names {
		if n == name {
			return i
		}
	}
	return -1
}

// secondVersion reports whether the station is named as the second version names it.
func (f *lcdFile) secondVersion(rows [][]string) bool {
	i := f.column("station")
	return i >= 0 && len(rows) > 0 && isID([]byte(strings.TrimSpace(rows[0][i])))
}

// report files one report at the full hour nearest to it; a later one of the same hour takes its place.
func (f *lcdFile) report(line int, row []string) {
	text := strings.TrimSpace(row[f.column("date")])
	c, ok := parseStamp([]byte(text))
	if !ok || c.hasOffset {
		f.add(line, "date", problem.InputError{Rule: "weather.time.form", Label: "DATE", Got: text, Want: "the station's standard time as 2030-09-14T05:53:00"})
		return
	}
	minute := c.minute
	c.minute = 0
	h, _ := c.at(int(f.o.standard().Minutes()))
	if minute >= 30 { // an observation just before the hour is of it
		h++
	}
	var x [quantities]float64
	for q := range x {
		x[q] = math.NaN()
	}
	for _, col := range lcdColumns {
		if i := f.column(col.name); i >= 0 {
			x[col.of] = f.value(line, col, strings.TrimSpace(row[i]))
		}
	}
	if i := f.column(lcdSky); i >= 0 {
		x[sky] = lcdCover(row[i])
	}
	if x[dewPoint] > x[temperature]+dewTooHigh {
		x[dewPoint] = math.NaN()
		f.suspect++
	}
	f.hours[h] = x
	f.reports++
}

// value reads a figure; those that the archive calls suspect are missing.
func (f *lcdFile) value(line int, col lcdColumn, text string) float64 {
	switch {
	case text == "" || text == "*":
		return math.NaN()
	case text == "T" && col.of == rain:
		f.traces++
		return 0
	case strings.HasSuffix(text, "s"):
		f.suspect++
		return math.NaN()
	}
	x, ok := parseNumber([]byte(text), '.')
	if !ok {
		f.add(line, col.name, problem.InputError{Rule: "weather.cell.number", Label: col.name, Got: text, Want: "a number, T for a trace of rain, * or nothing where it is missing"})
		return math.NaN()
	}
	if !f.second || col.of == humidity {
		x = (x - col.zero) * col.scale
	}
	if x < col.low || x > col.high {
		f.add(line, col.name, problem.InputError{Rule: "weather.cell.range", Label: col.name, Got: text, Want: col.accepted, Next: "Check the version of the file."})
		return math.NaN()
	}
	return x
}

// lcdCover reads the cover of the densest layer, in eighths after a colon, as "BKN:07 30 OVC:08 60"; NaN where none is said.
func lcdCover(text string) float64 {
	most := math.NaN()
	for _, part := range strings.Fields(text) {
		_, code, ok := strings.Cut(part, ":")
		eighths, isNumber := digits([]byte(code))
		if !ok || !isNumber || eighths > 9 {
			continue
		}
		if cover := min(1, float64(eighths)/8); !(cover <= most) {
			most = cover
		}
	}
	return most
}

// series puts the reports into their hours.
func (f *lcdFile) series() (*weather.Series, Report, error) {
	rep := Report{File: f.file, Format: "Local Climatological Data", Rows: f.reports}
	first := true
	var start, end calendar.Hour
	for h := range f.hours {
		if first || h < start {
			start = h
		}
		if first || h >= end {
			end = h + 1
		}
		first = false
	}
	if f.span("date", start, end, len(f.hours)); len(f.list) > 0 {
		return nil, Report{}, f.list
	}
	n := int(end - start)
	var columns [quantities][]float64
	for q := range columns {
		columns[q] = missing(n)
		for h, x := range f.hours {
			columns[q][h-start] = x[q]
		}
	}
	m := &weather.Measured{
		Start: start, Hours: n, Temp: columns[temperature], Dew: columns[dewPoint], RH: columns[humidity], Wind: columns[windSpeed],
		Sky: columns[sky], Rain: hourEarlier(columns[rain]), // of the hour that ends at the report
	}
	note := func(rule string, count int, severity problem.Severity, one, rest string) {
		if count > 0 {
			rep.Findings = append(rep.Findings, problem.Finding{
				Rule: rule, Severity: severity, Where: problem.Place{File: f.file}, Got: counted(count, one), Say: counted(count, one) + " " + rest,
			})
		}
	}
	note("weather.time.gap", n-len(f.hours), problem.Warning, "hour", "between the first report and the last without one.")
	note("weather.rejected", f.suspect, problem.Warning, "value", "not used: the archive calls it suspect, or a dew point stood above its temperature.")
	note("weather.temp.jump", rejectJumps(m.Temp), problem.Warning, "temperature", "rejected: more than 15 °C off the hours beside it.")
	note("weather.rain.trace", f.traces, problem.Note, "hour", "with a trace of rain taken as dry.")
	if f.second {
		rep.Findings = append(rep.Findings, problem.Finding{
			Rule: "weather.lcd.version", Severity: problem.Warning, Where: problem.Place{File: f.file}, Label: "units",
			Say: "The station is named as in the format's second version: figures are taken for °C, mm and m/s.", Next: "Compare a few with another source.",
		})
	}
	f.o.Station.Standard = f.o.standard()
	return build(m, f.o, rep)
}
