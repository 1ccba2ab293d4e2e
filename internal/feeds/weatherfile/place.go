package weatherfile

import (
	"fmt"
	"math"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// measured puts the rows into their hours; ok is false when they lie too far apart.
func (t *table) measured() (*weather.Measured, bool) {
	start, end := t.hours[0], t.hours[0]+1
	steady := true
	for i, h := range t.hours {
		start, end = min(start, h), max(end, h+1)
		steady = steady && h == t.hours[0]+calendar.Hour(i)
	}
	if t.span(t.names[t.clock], start, end, len(t.hours)); len(t.list) > 0 {
		return nil, false
	}
	n := int(end - start)
	if !steady {
		t.place(start, n)
	}
	if t.report.Rows > n-t.absent(n) && t.repeated > 0 {
		t.report.Findings = append(t.report.Findings, problem.Finding{
			Rule: "weather.time.twice", Severity: problem.Warning, Label: t.names[t.clock],
			Where: problem.Place{File: t.file}, Got: counted(t.repeated, "row"),
			Say: counted(t.repeated, "row") + " for an hour that an earlier row gave; the last one counts.",
		})
	}
	if missing := t.absent(n); missing > 0 {
		t.report.Findings = append(t.report.Findings, problem.Finding{
			Rule: "weather.time.gap", Severity: problem.Warning, Label: t.names[t.clock],
			Where: problem.Place{File: t.file}, Got: counted(missing, "hour"),
			Say: counted(missing, "hour") + " between the first row and the last without a row.",
		})
	}
	for q, count := range t.blank {
		if count > 0 {
			name := t.names[t.of[q]]
			t.report.Findings = append(t.report.Findings, problem.Finding{
				Rule: "weather.cell.empty", Severity: problem.Warning, Label: name, Got: counted(count, "cell"),
				Where: problem.Place{File: t.file, Path: "column " + name},
				Say:   fmt.Sprintf("%s of %s without a figure.", counted(count, "cell"), name),
			})
		}
	}
	t.o.Station.Standard = t.o.standard()
	v := t.values
	for _, q := range []quantity{rain, solar, photons} {
		switch t.o.Stamp {
		case Ends:
			v[q] = hourEarlier(v[q])
		case Middle:
			v[q] = halfHourEarlier(v[q])
		default: // nothing for the others
		}
	}
	return &weather.Measured{
		Start: start, Hours: n,
		Temp: v[temperature], Dew: v[dewPoint], RH: v[humidity], Wind: v[windSpeed], Rain: v[rain],
		DayRain: v[dayRain], Sky: v[sky], Solar: v[solar], PPFD: v[photons],
	}, true
}

// absent returns how many of n hours have no row.
func (t *table) absent(n int) int { return n - (t.report.Rows - t.repeated) }

// place moves the values of rows that do not follow each other hour by hour to where they belong.
func (t *table) place(start calendar.Hour, n int) {
	seen := make([]bool, n)
	for _, h := range t.hours {
		if seen[h-start] {
			t.repeated++
		}
		seen[h-start] = true
	}
	for q, column := range t.values {
		if column == nil {
			continue
		}
		placed := missing(n)
		for i, h := range t.hours {
			placed[h-start] = column[i]
		}
		t.values[q] = placed
	}
}

// hourEarlier moves each value to the cell before, which its time ends; the last cell has none then.
func hourEarlier(column []float64) []float64 {
	if column == nil {
		return nil
	}
	return append(column[1:], math.NaN())
}

// halfHourEarlier gives each cell half of its own value and half of the next; the last keeps its own.
func halfHourEarlier(column []float64) []float64 {
	for i := 0; i+1 < len(column); i++ {
		if next := column[i+1]; !math.IsNaN(next) {
			column[i] = (column[i] + next) / 2
		}
	}
	return column
}

func missing(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	return out
}
