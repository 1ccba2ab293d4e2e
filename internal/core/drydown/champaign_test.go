package drydown_test

import (
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/weather"

	record "threshday/test/champaign"
)

// central is the standard time of the record.
var central = time.FixedZone("CST", -6*3600)

// hourOn returns the cell that begins at midnight of a day in the record's standard time.
func hourOn(day string) calendar.Hour { return calendar.HourOf(calendar.MustDay(day).Start(central)) }

// champaign returns the recorded autumn of a year, 25 August to 5 December, completed as a station's record is.
func champaign(t testing.TB, year int) *weather.Series {
	t.Helper()
	return record.Autumn(t, year)
}

// recorded returns the drivers of a crop in the recorded autumn of a year.
func recorded(t testing.TB, p drydown.Params, year int) *drydown.Drivers {
	t.Helper()
	s := champaign(t, year)
	d, _, err := drydown.FromRecord(p, s, s.Start, s.End())
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// drop returns the mean points a day that grain of startWB loses between two days of a recorded autumn.
func drop(t testing.TB, k crop.Kind, year int, from, to string, startWB float64) float64 {
	p := params(t, k)
	p.MatureWB = startWB
	d := recorded(t, p, year)
	f := drydown.NewStrata(p, 1, 0)
	begin, end := hourOn(from), hourOn(to)
	s := f.Start(begin, begin, drydown.Chances{})
	f.Run(d, 0, &s, end, nil)
	return (startWB - f.MeanWB(&s)) / (float64(end-begin) / 24)
}
