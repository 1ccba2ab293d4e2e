package drydown

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// recordedAutumn returns the drivers of a crop in a recorded autumn near Champaign, 25 August to 5 December.
func recordedAutumn(tb testing.TB, p Params, year int) *Drivers {
	tb.Helper()
	file, err := os.Open("testdata/champaign_autumn.csv")
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	zone := time.FixedZone("CST", -6*3600)
	var m weather.Measured
	for _, row := range rows[1:] {
		at, err := time.ParseInLocation("2006-01-02T15", row[0], zone)
		if err != nil {
			tb.Fatal(err)
		}
		if at.Year() != year {
			continue
		}
		var x [5]float64
		for i := range x {
			if x[i], err = strconv.ParseFloat(row[i+1], 64); err != nil {
				tb.Fatal(err)
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
	d, _, err := FromRecord(p, s, s.Start, s.End())
	if err != nil {
		tb.Fatal(err)
	}
	return d
}
