package weather_test

import (
	"compress/gzip"
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

var (
	bondville = weather.Spot{Lat: 40.05, Lon: -88.37}
	mitchell  = weather.Spot{Lat: 42.95, Lon: -87.90}
	cst       = time.FixedZone("CST", -6*3600)
	station   = weather.Station{At: &bondville, Standard: -6 * time.Hour}
)

// full reports whether the long runs are asked for; without it they are shorter.
func full() bool { return os.Getenv("THRESHDAY_FULL") != "" }

// champaign returns the hourly record near Champaign, 2003 to 2007. [champaign-hourly]
func champaign(t testing.TB) *weather.Series {
	t.Helper()
	rows := gzipped(t, "../../demo/farm/weather/champaign_il_hourly_2003_2007.csv.gz") // the one copy, its sources beside it
	m := weather.Measured{Hours: len(rows)}
	columns := []*[]float64{&m.Temp, &m.RH, &m.Wind, &m.PPFD, &m.DayRain}
	for i, row := range rows {
		at, err := time.ParseInLocation("2006-01-02T15:04", row[0], cst)
		if err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			m.Start = calendar.HourOf(at)
		}
		for k, c := range columns {
			*c = append(*c, number(t, row[k+2]))
		}
	}
	for i := range m.PPFD[1:] { // a row's light is that around its time
		m.PPFD[i] = (m.PPFD[i] + m.PPFD[i+1]) / 2
	}
	s, _ := m.Series(station)
	return s
}

// gzipped returns the rows of a compressed table without its header.
func gzipped(t testing.TB, path string) [][]string {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	plain, err := gzip.NewReader(file)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(plain).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

// number returns a cell's number, NaN for an empty one.
func number(t testing.TB, cell string) float64 {
	t.Helper()
	if cell == "" {
		return math.NaN()
	}
	x, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func mustFit(t testing.TB, record *weather.Series, o weather.FitOptions) *weather.Climate {
	t.Helper()
	c, err := weather.Fit(record, station, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// milwaukee returns the daily record of Milwaukee, 1961 to 1990. [milwaukee-daily]
func milwaukee(t testing.TB) []weather.DayRecord {
	t.Helper()
	var out []weather.DayRecord
	for _, row := range gzipped(t, "testdata/milwaukee_wi_daily_1961_1990.csv.gz") {
		day, err := calendar.ParseDay(row[1])
		if err != nil {
			t.Fatal(err)
		}
		r := weather.DayRecord{On: day}
		for cell, into := range map[int]**float64{2: &r.Rain, 5: &r.High, 6: &r.Low} {
			if row[cell] != "" {
				x := number(t, row[cell])
				*into = &x
			}
		}
		out = append(out, r)
	}
	return out
}

func mustFitDays(t testing.TB, record []weather.DayRecord, o weather.FitOptions) *weather.Climate {
	t.Helper()
	c, err := weather.FitDays(record, weather.Station{At: &mitchell, Standard: -6 * time.Hour}, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func mustGenerate(t testing.TB, c *weather.Climate, o weather.GenerateOptions, in weather.LeadIn) *weather.Ensemble {
	t.Helper()
	e, err := c.Generate(o, in)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func ptr(x float64) *float64 { return &x }

// spread returns mean and standard deviation of a day's quantity over the members.
func spread(e *weather.Ensemble, first, end int, of func(weather.DayAir) float64) (mean, sd float64) {
	n := float64(e.Members)
	for m := range e.Members {
		mean += of(e.Summary(m, first, end)) / n
	}
	for m := range e.Members {
		sd += math.Pow(of(e.Summary(m, first, end))-mean, 2) / n
	}
	return mean, math.Sqrt(sd)
}

func high(d weather.DayAir) float64 { return d.High }

func low(d weather.DayAir) float64 { return d.Low }

func dew(d weather.DayAir) float64 { return d.Dew }

// central is the clock of the US Central zone, from the zone database built into the test.
func central(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}
