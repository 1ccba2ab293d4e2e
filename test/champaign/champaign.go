// Package champaign hands tests the recorded autumns near Champaign, 2003 to 2007, as a station's record. The table and its
// source stand in internal/core/drydown/testdata.
package champaign

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// Central is the standard time of the record, Place where it was kept.
var (
	Central = time.FixedZone("CST", -6*3600)
	Place   = weather.Spot{Lat: 40.05, Lon: -88.37}
)

// Autumn returns the hours of a year from 25 August to 5 December, completed as a station's record is. A test of a package of
// the core calls it: the table is looked for beside that package.
func Autumn(t testing.TB, year int) *weather.Series {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "drydown", "testdata", "champaign_autumn.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = file.Close() }() // only read
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var m weather.Measured
	for _, row := range rows[1:] {
		at, err := time.ParseInLocation("2006-01-02T15", row[0], Central)
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
	s, _ := m.Series(weather.Station{At: &Place, Standard: -6 * time.Hour})
	return s
}
