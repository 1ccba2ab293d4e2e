package weatherfile

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// A dailyFile collects the days of a file of daily values. Hours are made of them by [weather.FromDays].
type dailyFile struct {
	refusal
	o        Options
	format   string
	station  string // of the archives' files; empty: not said yet
	days     map[calendar.Day]*weather.DayRecord
	rejected int // values that the archive's own checks failed
	traces   int
	morning  int // values of a day that was read in the morning, moved to the day before
}

func newDailyFile(name, format string, o Options) *dailyFile {
	return &dailyFile{refusal: refusal{file: name}, o: o, format: format, days: map[calendar.Day]*weather.DayRecord{}}
}

// An element is one quantity of a daily file and what it can be, in SI.
type element struct {
	name      string
	low, high float64
	accepted  string
	into      func(d *weather.DayRecord, x float64)
}

var (
	dayHigh = element{"TMAX", -60, 60, "-60 to 60 °C", func(d *weather.DayRecord, x float64) { d.High = &x }}
	dayLow  = element{"TMIN", -60, 60, "-60 to 60 °C", func(d *weather.DayRecord, x float64) { d.Low = &x }}
	dayFall = element{"PRCP", 0, 1000, "0 to 1000 mm", func(d *weather.DayRecord, x float64) { d.Rain = &x }}
	dayWind = element{"AWND", 0, 75, "0 to 75 m/s", func(d *weather.DayRecord, x float64) { d.Wind = &x }}

	elements = []element{dayHigh, dayLow, dayFall, dayWind}
)

func elementNamed(name string) (element, bool) {
	i := slices.IndexFunc(elements, func(e element) bool { return e.name == name })
	if i < 0 {
		return element{}, false
	}
	return elements[i], true
}

// put files one value. Nothing is kept of one out of range: the file is refused.
func (f *dailyFile) put(line int, e element, on calendar.Day, x float64, written string) {
	if x < e.low || x > e.high {
		f.add(line, e.name, problem.InputError{Rule: "weather.cell.range", Label: e.name + " of " + on.String(), Got: written, Want: e.accepted})
		return
	}
	if f.days[on] == nil {
		f.days[on] = &weather.DayRecord{On: on}
	}
	e.into(f.days[on], x)
}

// of holds the file to one station.
func (f *dailyFile) of(line int, station string) bool {
	if f.station == "" {
		f.station = station
	}
	if f.station != station {
		f.add(line, "station", problem.InputError{
			Rule: "weather.stations", Label: "station", Got: station, Want: "one station, as " + f.station + " before", Next: "Keep the rows of one station.",
		})
	}
	return f.station == station
}

// series makes hours of the days.
func (f *dailyFile) series() (*weather.Series, Report, error) {
	if len(f.list) == 0 && len(f.days) == 0 {
		f.add(0, "", problem.InputError{Rule: "weather.empty", Label: "daily value", Want: "a high, a low or rain of one day at least"})
	}
	if len(f.list) == 0 && f.o.Strict {
		f.add(0, "", problem.InputError{
			Rule: "weather.daily.strict", Label: "weather file", Got: "daily values", Want: "hourly rows", Next: "A single run needs the hours as they were.",
		})
	}
	if len(f.list) > 0 {
		return nil, Report{}, f.list
	}
	days := make([]weather.DayRecord, 0, len(f.days))
	for _, d := range f.days {
		if d.High != nil && d.Low != nil && *d.High < *d.Low {
			d.High, d.Low = nil, nil
			f.rejected += 2
		}
		days = append(days, *d)
	}
	slices.SortFunc(days, func(a, b weather.DayRecord) int { return a.On.DaysSince(b.On) })
	first, last := days[0].On, days[len(days)-1].On
	f.span("date", calendar.HourOf(first.Start(utc)), calendar.HourOf(last.Start(utc))+24, 24*len(days))
	if !slices.ContainsFunc(days, func(d weather.DayRecord) bool { return d.High != nil && d.Low != nil }) {
		f.add(0, "", problem.InputError{Rule: "weather.daily.temp", Label: "high and low", Want: "TMAX and TMIN of one day at least"})
	}
	if len(f.list) > 0 {
		return nil, Report{}, f.list
	}
	f.o.Station.Standard = f.o.standard()
	s, filled := weather.FromDays(days, f.o.Station)
	rep := Report{File: f.file, Format: f.format, Rows: len(days), Start: s.Start, End: s.End(), Filled: filled}
	for v := range s.From {
		for _, from := range s.From[v] {
			if from == weather.Missing {
				rep.Missing[v]++
			}
		}
	}
	for _, n := range []struct {
		rule  string
		count int
		level problem.Severity
		one   string
		rest  string
	}{
		{"weather.rejected", f.rejected, problem.Warning, "value", "not used: the archive's own checks failed it, or a high stood below its low."},
		{"weather.rain.trace", f.traces, problem.Note, "day", "with a trace of rain taken as dry."},
		{"weather.morning", f.morning, problem.Note, "value", "read in the morning and taken for the day before."},
	} {
		if n.count > 0 {
			rep.Findings = append(rep.Findings, problem.Finding{
				Rule: n.rule, Severity: n.level, Where: problem.Place{File: f.file}, Got: counted(n.count, n.one), Say: counted(n.count, n.one) + " " + n.rest,
			})
		}
	}
	return s, rep, nil
}

// readDays reads daily values in either of the archive's headless forms or with a header; ok is false where the text is
// none of them.
func readDays(text []byte, name string, o Options) (s *weather.Series, rep Report, err error, ok bool) { //nolint:revive // ok says whether the rest counts
	line, _, _ := bytes.Cut(text, []byte("\n"))
	line = bytes.TrimRight(line, "\r")
	switch {
	case looksLikeDly(line):
		s, rep, err = readDly(text, name, o)
	case looksLikeByYear(line):
		s, rep, err = readByYear(text, name, o)
	case looksLikeDailyHeader(strings.ToLower(string(line))):
		s, rep, err = readDailyCSV(text, name, o)
	default:
		return nil, Report{}, nil, false
	}
	return s, rep, err, true
}

// dayOfDigits reads 20241003 or the year and month of it with a day.
func dayOfDigits(text string) (calendar.Day, bool) {
	if len(text) != 8 {
		return calendar.Day{}, false
	}
	year, ok1 := digits([]byte(text[:4]))
	month, ok2 := digits([]byte(text[4:6]))
	date, ok3 := digits([]byte(text[6:]))
	if !ok1 || !ok2 || !ok3 || !realDate(year, month, date) {
		return calendar.Day{}, false
	}
	d, err := calendar.ParseDay(fmt.Sprintf("%04d-%02d-%02d", year, month, date))
	return d, err == nil
}
