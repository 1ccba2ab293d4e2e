package drydown_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/weather"
)

// central is the standard time of the record.
var central = time.FixedZone("CST", -6*3600)

// hourOn returns the cell that begins at midnight of a day in the record's standard time.
func hourOn(day string) calendar.Hour { return calendar.HourOf(calendar.MustDay(day).Start(central)) }

// champaign returns the recorded autumn of a year, 25 August to 5 December, completed as a station's record is.
func champaign(t testing.TB, year int) *weather.Series {
	t.Helper()
	file, err := os.Open("testdata/champaign_autumn.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var m weather.Measured
	for _, row := range rows[1:] {
		at, err := time.ParseInLocation("2006-01-02T15", row[0], central)
		if err != nil {
			t.Fatal(err)
		}
		if at.Year() != year {
			continue
		}
		var x [5]float64
		for i := range x {
			if x[i], err = strconv.ParseFloat(row[i+1], 64); err != nil {
				t.Fatal(err)
			}
		}
		if m.Hours == 0 {
			m.Start = calendar.HourOf(at)
		}
		m.Hours++
		m.Temp, m.RH, m.Wind = append(m.Temp, x[0]/10), append(m.RH, x[1]/1000), append(m.Wind, x[2]/100)
		m.PPFD, m.DayRain = append(m.PPFD, x[3]), append(m.DayRain, x[4]/100)
	}
	s, _ := m.Series(weather.Station{At: &weather.Spot{Lat: 40.05, Lon: -88.37}, Standard: -6 * time.Hour})
	return s
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
