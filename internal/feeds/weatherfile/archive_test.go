package weatherfile

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

var lst = -6 * time.Hour

// dly returns a line of the fixed form: the first days as given, value and flags, the others missing.
func dly(element string, days ...string) string {
	var b strings.Builder
	b.WriteString("USC00999999202410" + element)
	for i := range 31 {
		if i < len(days) {
			b.WriteString(days[i])
		} else {
			b.WriteString("-9999   ")
		}
	}
	return b.String() + "\n"
}

// dayOf returns what the hours of a day in October 2024 come to on the station's own clock.
func dayOf(s *weather.Series, date int) weather.DayAir {
	first := calendar.HourOf(time.Date(2024, 10, date, 6, 0, 0, 0, time.UTC))
	return s.Summary(first, first+24)
}

// Every form of the same three days: highs of 21.7, −2.8 and 12 °C, lows 8 °C below; no rain, a trace, 12.7 mm. [ghcn-daily]
func TestEveryFormOfTheSameThreeDays(t *testing.T) {
	var byYear strings.Builder
	for i, v := range [][3]string{{"217", "137", "0"}, {"-28", "-108", "0"}, {"120", "40", "127"}} {
		for k, e := range []string{"TMAX", "TMIN", "PRCP"} {
			flag := ""
			if e == "PRCP" && i == 1 {
				flag = "T"
			}
			fmt.Fprintf(&byYear, "USC00999999,2024100%d,%s,%s,%s,,7,2400\n", i+1, e, v[k], flag)
		}
	}
	for name, text := range map[string]string{
		"fixed width": dly("TMAX", "  217  7", "  -28  7", "  120  7") + dly("TMIN", "  137  7", " -108  7", "   40  7") +
			dly("PRCP", "    0P 7", "    0T 7", "  127  7") + dly("SNOW", "    0  7"),
		"a line a value": byYear.String(),
		"archive's table": "\"STATION\",\"DATE\",\"LATITUDE\",\"PRCP\",\"PRCP_ATTRIBUTES\",\"TMAX\",\"TMAX_ATTRIBUTES\",\"TMIN\",\"TMIN_ATTRIBUTES\"\n" +
			"\"USC00999999\",\"2024-10-01\",\"41.9\",\"0\",\",,7,2400\",\"217\",\",,7\",\"137\",\",,7\"\n" +
			"\"USC00999999\",\"2024-10-02\",\"41.9\",\"0\",\"T,,7\",\"-28\",\",,7\",\"-108\",\",,7\"\n" +
			"\"USC00999999\",\"2024-10-03\",\"41.9\",\"127\",\",,7\",\"120\",\",,7\",\"40\",\",,7\"\n",
		"metric table":  "STATION,DATE,PRCP,TMAX,TMIN\nX,2024-10-01,0.0,21.7,13.7\nX,2024-10-02,0.0,-2.8,-10.8\nX,2024-10-03,12.7,12.0,4.0\n",
		"plain columns": "date,tmax_c,tmin_c,rain_mm\n2024-10-01,21.7,13.7,0\n2024-10-02,-2.8,-10.8,0\n2024-10-03,12,4,12.7\n",
		"°F and inches": "date,tmax_f,tmin_f,rain_in\n2024-10-01,71.06,56.66,0\n2024-10-02,26.96,12.56,0\n2024-10-03,53.6,39.2,0.5\n",
	} {
		s, rep := read(t, text, Options{Offset: &lst})
		if rep.Rows != 3 || s.Len() != 72 {
			t.Errorf("%s: %d days, %d hours: %+v", name, rep.Rows, s.Len(), rep)
			continue
		}
		for i, high := range []float64{21.7, -2.8, 12} {
			air := dayOf(s, i+1)
			noon := calendar.HourOf(time.Date(2024, 10, i+1, 18, 0, 0, 0, time.UTC))
			air.High = s.Summary(noon, noon+6).High // the evening before was warmer
			if !air.Known || math.Abs(air.High-high) > 0.3 || math.Abs(air.Rain-[]float64{0, 0, 12.7}[i]) > 1e-3 {
				t.Errorf("%s, day %d: high %.2f, rain %.2f; want %.1f", name, i+1, air.High, air.Rain, high)
			}
		}
		if s.From[weather.TempC][5] != weather.Filled {
			t.Errorf("%s: an hour made of a day counts as measured", name)
		}
	}
}

// What the archive's checks failed is not used; what was read in the morning is of the day before. [ghcn-daily]
func TestFlagsOfTheArchive(t *testing.T) {
	s, rep := read(t, dly("TMAX", "  217  7", "  -28  7", "  183 S7", "  150  7")+dly("TMIN", "   80  7", "  -90  7", "   70  7", "   60  7")+
		dly("PRCP", "    0P 7", "    0T 7", "  127  7", " 5842 X7"), Options{Offset: &lst})
	if air := dayOf(s, 4); air.Known || rep.Findings[0].Rule != "weather.rejected" || rep.Findings[0].Got != "2 values" {
		t.Errorf("a rejected amount counts: %+v, %v", air, rep.Findings)
	}
	s, rep = read(t, "USC00999999,20241002,TMAX,200,,,7,0700\nUSC00999999,20241002,TMIN,50,,,7,0700\nUSC00999999,20241001,TMIN,40,,,7,0700\n"+
		"USC00999999,20241002,PRCP,100,,,7,0700\nUSC00999999,20241003,PRCP,0,,,7,0700\nUSC00999999,20241003,TMAX,150,,,7,0700\n", Options{Offset: &lst})
	if air := dayOf(s, 1); math.Abs(air.Rain-10) > 1e-3 || math.Abs(air.High-20) > 0.3 {
		t.Errorf("read at seven: rain %.1f, high %.1f on the day before, want 10 and 20; %v", air.Rain, air.High, rep.Findings)
	}
}

// What could be two things, is of two stations or cut short is refused, with words.
func TestDailyFilesThatAreRefused(t *testing.T) {
	for name, c := range map[string]struct{ text, rule string }{
		"whole numbers":     {"STATION,DATE,TMAX,TMIN\nX,2024-10-01,21,8\n", "weather.ghcn.unit"},
		"°F":                {"STATION,DATE,TMAX,TMIN\nX,2024-10-01,71.2,50.1\n", "weather.ghcn.unit"},
		"two stations":      {"USC00999999,20241001,TMAX,200,,,7\nUSC00999998,20241001,TMIN,100,,,7\n", "weather.stations"},
		"cut short":         {dly("TMAX", "  217  7")[:100], "weather.file.cut"},
		"31 September":      {strings.Replace(dly("TMAX", strings.Split(strings.Repeat("  217  7,", 31), ",")[:31]...), "202410", "202409", 1), "weather.time.form"},
		"hot":               {dly("TMAX", " 9000  7"), "weather.cell.range"},
		"no low":            {"date,tmax_c\n2024-10-01,20\n", "weather.columns.day"},
		"twice":             {"date,tmax_c,tmax_f,tmin_c\n2024-10-01,20,68,5\n", "weather.columns.twice"},
		"a word":            {"date,tmax_c,tmin_c\n2024-10-01,warm,5\n", "weather.cell.number"},
		"no such date":      {"date,tmax_c,tmin_c\n2024-10-32,20,5\n", "weather.time.form"},
		"a broken quote":    {"date,tmax_c,tmin_c\n2024-10-01,\"20,5\n", "weather.csv"},
		"only rain":         {"USC00999999,20241001,PRCP,200,,,7\n", "weather.daily.temp"},
		"nothing of use":    {"USC00999999,20241001,SNWD,200,,,7\n", "weather.empty"},
		"lcd without times": {"STATION,HourlyDryBulbTemperature\n1,2\n", "weather.columns.lcd"},
		"lcd of specials":   {"STATION,DATE,REPORT_TYPE,HourlyDryBulbTemperature\n1,2024-10-01T00:10:00,FM-16,50\n", "weather.empty"},
		"lcd, a word":       {"STATION,DATE,REPORT_TYPE,HourlyDryBulbTemperature\n1,2024-10-01T00:53:00,FM-15,warm\n", "weather.cell.number"},
		"lcd, hot":          {"STATION,DATE,REPORT_TYPE,HourlyDryBulbTemperature\n1,2024-10-01T00:53:00,FM-15,500\n", "weather.cell.range"},
	} {
		s, _, err := Read(strings.NewReader(c.text), "w.csv", Options{Offset: &lst})
		var input *problem.InputError
		if s != nil || !errors.As(err, &input) || input.Rule != c.rule || input.Want == "" {
			t.Errorf("%s: got %v; want %s", name, err, c.rule)
		}
	}
	if _, _, err := Read(strings.NewReader("date,tmax_c,tmin_c\n2024-10-01,20,5\n"), "w.csv", Options{Strict: true}); err == nil {
		t.Error("a single run takes days for hours")
	}
}

// Reports of ten to the hour are of the hour, rain of the hour before; suspects are missing. [noaa-lcd]
func TestLocalClimatologicalData(t *testing.T) {
	s, rep := read(t, `"STATION","DATE","REPORT_TYPE","HourlyDryBulbTemperature","HourlyDewPointTemperature","HourlyRelativeHumidity","HourlyPrecipitation","HourlyWindSpeed","HourlySkyConditions"
99999999999,2024-10-03T06:53:00,FM-15,42,40,93,T,0,CLR:00
99999999999,2024-10-03T07:20:00,FM-16,50,40,70,0.30,9,
99999999999,2024-10-03T07:53:00,FM-15,45s,41,86,0.05,10,"FEW:02 12 BKN:07 30"
99999999999,2024-10-03T08:53:00,FM-15,48,41,80,,10,*
99999999999,2024-10-03T23:59:00,SOD,,,,,,
`, Options{Offset: &lst})
	at := func(v weather.Var, hour int) float64 {
		x, ok := s.At(v, calendar.HourOf(time.Date(2024, 10, 3, hour+6, 0, 0, 0, time.UTC)))
		if !ok {
			return math.NaN()
		}
		return x
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"temperature at 7", at(weather.TempC, 7), 5.556},
		{"bridged at 8", at(weather.TempC, 8), 7.222},
		{"temperature at 9", at(weather.TempC, 9), 8.889},
		{"dew point at 7", at(weather.DewC, 7), 4.444},
		{"rain from 7 to 8", at(weather.RainMM, 7), 1.27},
		{"cloud at 8", at(weather.SkyFrac, 8), 0.875},
		{"wind at 9", at(weather.WindMS, 9), 10 * 0.44704 * 0.748},
	} {
		if math.Abs(c.got-c.want) > 0.002 {
			t.Errorf("%s: %.3f, want %.3f", c.name, c.got, c.want)
		}
	}
	if rep.Rows != 3 || rep.Format != "Local Climatological Data" {
		t.Errorf("%+v", rep)
	}
	second, rep := read(t, "STATION,DATE,REPORT_TYPE,HourlyDryBulbTemperature,HourlyPrecipitation\nUSW00099999,2024-10-03T06:53:00,FM-15,27.5,2.0\nUSW00099999,2024-10-03T07:53:00,FM-15,26.0,0\n", Options{Offset: &lst})
	if x, _ := second.At(weather.TempC, second.Start); math.Abs(x-27.5) > 1e-4 || rep.Findings[len(rep.Findings)-1].Rule != "weather.lcd.version" {
		t.Errorf("second version: %.2f, %v", x, rep.Findings)
	}
}
