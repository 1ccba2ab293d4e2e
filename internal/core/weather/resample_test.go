package weather_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// central is the clock of the US Central zone, from the zone database built into the test.
func central(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// aRecord is an invented record of whole years: a temperature that says which hour of which year it is by the
// season, and rain every fourth day.
func aRecord(from, to int) *weather.Series {
	start := calendar.HourOf(time.Date(from, 1, 1, 6, 0, 0, 0, time.UTC))
	end := calendar.HourOf(time.Date(to+1, 1, 1, 6, 0, 0, 0, time.UTC))
	s := weather.NewSeries(start, int(end-start))
	for h := start; h < end; h++ {
		at := h.Start()
		season := -12 * math.Cos(2*math.Pi*float64(at.YearDay()-20)/365.25)
		diurnal := 5 * math.Cos(2*math.Pi*float64(at.Hour()-21)/24)
		temp := 10 + season + diurnal + 3*math.Sin(float64(h)/97)
		s.Set(weather.TempC, h, temp, weather.Observed)
		s.Set(weather.DewC, h, math.Min(temp, 4+season+2*math.Sin(float64(h)/61)), weather.Observed)
		s.Set(weather.WindMS, h, 3+math.Sin(float64(h)/13), weather.Observed)
		s.Set(weather.SkyFrac, h, 0.5+0.4*math.Sin(float64(h)/71), weather.Observed)
		s.Set(weather.SolarWM2, h, math.Max(0, 500*math.Cos(2*math.Pi*float64(at.Hour()-18)/24)), weather.Observed)
		rain := 0.0
		if day := int(h-start) / 24; (day*7919)%4 == 0 && at.Hour() >= 7 && at.Hour() < 13 {
			rain = 0.5 + float64(day%5)
		}
		s.Set(weather.RainMM, h, rain, weather.Observed)
	}
	return s
}

func options(t testing.TB, day string, hours, members int) weather.ResampleOptions {
	zone := central(t)
	return weather.ResampleOptions{
		Start: calendar.HourOf(calendar.MustDay(day).Start(zone)), Hours: hours, Members: members, Zone: zone,
	}
}

func mustResample(t testing.TB, record *weather.Series, o weather.ResampleOptions) *weather.Ensemble {
	t.Helper()
	e, err := weather.Resample(record, o)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func TestResampleGivesAHundredWeathersFromFourYears(t *testing.T) {
	record := aRecord(2020, 2024)
	e := mustResample(t, record, options(t, "2024-09-01", 60*24, 100))
	byYear := map[string]int{}
	for _, year := range e.Source {
		byYear[year]++
	}
	if len(byYear) != 4 || byYear["2024"] != 0 {
		t.Errorf("members by year %v, want 2020 to 2023 and not the current year", byYear)
	}
	for year, n := range byYear {
		if n != 25 {
			t.Errorf("%d members of %s, want 25", n, year)
		}
	}
	for a := range e.Members {
		for b := range a {
			if slices.Equal(e.Row(weather.RainMM, a), e.Row(weather.RainMM, b)) && slices.Equal(e.Row(weather.WindMS, a), e.Row(weather.WindMS, b)) {
				t.Fatalf("members %d and %d are the same weather", a, b)
			}
		}
	}
	for _, part := range []string{"2020 to 2023", "up to 12 days", "2024 left out"} {
		if !strings.Contains(e.Note, part) {
			t.Errorf("note %q does not say %q", e.Note, part)
		}
	}
}

func TestMemberIsTheSameForAnyNumberOfMembers(t *testing.T) {
	record := aRecord(2020, 2024)
	few := mustResample(t, record, options(t, "2024-09-01", 30*24, 7))
	many := mustResample(t, record, options(t, "2024-09-01", 30*24, 100))
	for m := range few.Members {
		for v := range weather.Var(weather.NVar) {
			if few.Source[m] != many.Source[m] || !slices.Equal(few.Row(v, m), many.Row(v, m)) {
				t.Fatalf("member %d differs in %s between 7 and 100 members", m, v)
			}
		}
	}
}

func TestFirstMembersAreTheSameHoursOfOtherYears(t *testing.T) {
	record := aRecord(2020, 2024)
	o := options(t, "2024-09-01", 48, 4)
	e := mustResample(t, record, o)
	for m, year := range []int{2020, 2021, 2022, 2023} {
		at := calendar.HourOf(time.Date(year, 9, 1, 5, 0, 0, 0, time.UTC)) // midnight of daylight time
		for i, got := range e.Row(weather.WindMS, m) {
			if want, _ := record.At(weather.WindMS, at+calendar.Hour(i)); got != float32(want) {
				t.Fatalf("member %d hour %d: wind %v, want %v", m, i, got, want)
			}
		}
	}
}

func TestMovedYearsStayInTheSeason(t *testing.T) {
	record := aRecord(2020, 2024)
	e := mustResample(t, record, options(t, "2024-10-01", 24*24, 100))
	var early, late float64 // mean temperatures of the members moved from 12 days later and earlier
	for m := 12; m < 16; m++ {
		late += rowMean(e.Row(weather.TempC, m)) / 4 // the order is 0, +12, −12, +6, −6, ...
		early += rowMean(e.Row(weather.TempC, m-4)) / 4
	}
	// Untouched they would differ by 24 days of autumn, some 5 °C in this record.
	if math.Abs(late-early) > 1 {
		t.Errorf("members moved either way differ by %.1f °C", late-early)
	}
}

func rowMean(row []float32) float64 {
	sum := 0.0
	for _, x := range row {
		sum += float64(x)
	}
	return sum / float64(len(row))
}

func TestResampleSaysWhyItCannot(t *testing.T) {
	dry := aRecord(2020, 2024)
	for i := range dry.V[weather.RainMM] {
		dry.V[weather.RainMM][i] = 0
	}
	holed := aRecord(2020, 2024)
	holed.From[weather.DewC][int(calendar.HourOf(time.Date(2022, 9, 20, 0, 0, 0, 0, time.UTC))-holed.Start)] = weather.Missing
	for name, c := range map[string]struct {
		record *weather.Series
		want   error
		say    string
	}{
		"no rain":       {dry, weather.ErrNoRain, "rain"},
		"one year":      {aRecord(2023, 2024), weather.ErrShortRecord, "2023"},
		"only now":      {aRecord(2024, 2024), weather.ErrShortRecord, "no year"},
		"a missing dew": {holed, weather.ErrShortRecord, "2020, 2021, 2023"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := weather.Resample(c.record, options(t, "2024-09-01", 60*24, 100))
			if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.say) {
				t.Errorf("got %v, want %v saying %q", err, c.want, c.say)
			}
		})
	}
}

func TestExcludedYearsAreNotSeen(t *testing.T) {
	record := aRecord(2018, 2024)
	o := options(t, "2024-09-01", 60*24, 100)
	o.Exclude = []int{2019, 2021}
	for m, year := range mustResample(t, record, o).Source {
		if year == "2019" || year == "2021" || year == "2024" {
			t.Fatalf("member %d is made from %s", m, year)
		}
	}
}

func TestDaysOfTheChangeOfClocks(t *testing.T) {
	zone := central(t)
	for _, c := range []struct {
		day   string
		hours int
	}{{"2026-03-07", 24}, {"2026-03-08", 23}, {"2026-10-31", 24}, {"2026-11-01", 25}, {"2026-11-02", 24}} {
		day := calendar.MustDay(c.day)
		first, end := day.Hours(zone)
		views := weather.Days(first-30, end+30, zone)
		i := slices.IndexFunc(views, func(v weather.DayView) bool { return v.Date == day })
		if i < 0 || views[i].Hours() != c.hours || !views[i].Whole {
			t.Errorf("%s: got %+v, want %d hours", c.day, views, c.hours)
		}
		if views[0].Whole || views[len(views)-1].Whole {
			t.Errorf("%s: days cut by the ends count as whole", c.day)
		}
		for k := 1; k < len(views); k++ {
			if views[k].First != views[k-1].End {
				t.Errorf("%s: hours between %s and %s belong to no day", c.day, views[k-1].Date, views[k].Date)
			}
		}
	}
}

func ExampleResample() {
	record := aRecord(2020, 2024)
	zone := time.FixedZone("farm", -5*3600)
	e, err := weather.Resample(record, weather.ResampleOptions{
		Start: calendar.HourOf(calendar.MustDay("2024-09-14").Start(zone)), Hours: 24 * 60, Members: 100, Zone: zone,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(e.Note)
	// Output: 100 weathers from the recorded years 2020 to 2023, moved by up to 12 days either way with the season's change of temperature; 2024 left out
}

func BenchmarkResample(b *testing.B) {
	record := aRecord(2020, 2024)
	o := options(b, "2024-09-01", 60*24, 100)
	b.ReportAllocs()
	for b.Loop() {
		mustResample(b, record, o)
	}
}
