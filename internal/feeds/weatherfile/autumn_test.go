package weatherfile

import (
	"math"
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

func central(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

func autumn2007(t testing.TB, zone *time.Location) (*weather.Series, weather.ResampleOptions) {
	record, _ := open(t, champaign, Options{Station: weather.Station{At: &bondville}})
	return record, weather.ResampleOptions{
		Start: calendar.HourOf(calendar.MustDay("2007-09-14").Start(zone)), Hours: 60 * 24, Members: 100, Zone: zone,
	}
}

// A hundred weathers of an autumn must be like the other recorded autumns: as warm, as wet, and not like the
// one left out. [champaign-hourly]
func TestMembersAreLikeTheOtherAutumns(t *testing.T) {
	zone := central(t)
	record, o := autumn2007(t, zone)
	e, err := weather.Resample(record, o)
	if err != nil {
		t.Fatal(err)
	}
	day := func(s *weather.Series, first calendar.Hour) weather.DayAir { return s.Summary(first, first+24) }
	var temp, dew, rain, wet [2]float64 // members, other autumns
	for m := range e.Members {
		for d := range 60 {
			x := e.Summary(m, 24*d, 24*d+24)
			temp[0] += (x.High + x.Low) / 2 / 6000
			dew[0] += x.Dew / 6000
			rain[0] += x.Rain / 6000
			if x.Wet() {
				wet[0] += 1. / 6000
			}
		}
	}
	for year := 2003; year <= 2006; year++ {
		start := calendar.HourOf(calendar.MustDay("2007-09-14").InYear(year).Start(zone))
		for d := range 60 {
			x := day(record, start+calendar.Hour(24*d))
			temp[1] += (x.High + x.Low) / 2 / 240
			dew[1] += x.Dew / 240
			rain[1] += x.Rain / 240
			if x.Wet() {
				wet[1] += 1. / 240
			}
		}
	}
	t.Logf("members and autumns: temperature %.2f, dew point %.2f, rain %.2f mm a day, wet %.3f", temp, dew, rain, wet)
	for _, c := range []struct {
		name string
		x    [2]float64
		tol  float64
	}{{"temperature", temp, 0.5}, {"dew point", dew, 0.5}, {"rain", rain, 0.4}, {"wet days", wet, 0.03}} {
		if math.Abs(c.x[0]-c.x[1]) > c.tol {
			t.Errorf("%s: members %.3f, other autumns %.3f [champaign-hourly]", c.name, c.x[0], c.x[1])
		}
	}
}

// An airport sees the damp air of a field half as often: relative humidity of 0.90 in 11 of 100 autumn hours
// against 21. The correction for airports must close part of that gap, not more. [isd-lite-725300]
// [champaign-hourly]
func TestAirportNightsAreBroughtTowardsTheField(t *testing.T) {
	damp := func(s *weather.Series) float64 {
		n, humid := 0.0, 0.0
		for h := s.Start; h < s.End(); h++ {
			temp, ok1 := s.At(weather.TempC, h)
			dew, ok2 := s.At(weather.DewC, h)
			if m := h.Start().In(standard).Month(); m < time.September || m > time.November || !ok1 || !ok2 {
				continue
			}
			n++
			if weather.RelativeHumidity(temp, dew) >= 0.90 {
				humid++
			}
		}
		return humid / n
	}
	plain, _ := open(t, ohare, Options{Station: weather.Station{At: &ohareAt}})
	moved, _ := open(t, ohare, Options{Station: weather.Station{At: &ohareAt, Airport: true}})
	field, _ := open(t, champaign, Options{})
	airport, corrected, rural := damp(plain), damp(moved), damp(field)
	t.Logf("hours of 0.90 and more: airport %.3f, corrected %.3f, field %.3f", airport, corrected, rural)
	if math.Abs(airport-0.11) > 0.01 {
		t.Errorf("airport %.3f, want 0.11 [isd-lite-725300]", airport)
	}
	if corrected < airport+0.03 || corrected > rural+0.02 {
		t.Errorf("corrected %.3f, want between the airport's %.3f and the field's %.3f", corrected, airport, rural)
	}
}

// A season replayed as its own forecast, with the error of each lead day put on: the members' high of the day
// before and their spread are those of the error table, in a real autumn as in an invented one.
func TestForecastOfARealAutumn(t *testing.T) {
	zone := central(t)
	record, o := autumn2007(t, zone)
	e, err := weather.Resample(record, o)
	if err != nil {
		t.Fatal(err)
	}
	now := calendar.HourOf(calendar.MustDay("2007-10-01").Start(zone)) + 6
	forecast := weather.NewSeries(now-6, 7*24)
	for v := range forecast.V {
		at := int(forecast.Start - record.Start)
		copy(forecast.V[v], record.V[v][at:])
		copy(forecast.From[v], record.From[v][at:])
	}
	out, err := e.Lead(weather.LeadIn{Now: now, Zone: zone, Observed: record, Days: weather.AheadOf(forecast, zone)})
	if err != nil {
		t.Fatal(err)
	}
	for lead, share := range []float64{.34, .38, .43, .49, .56, .65, .75} {
		if lead == 0 {
			continue // today has begun
		}
		first, end := calendar.MustDay("2007-10-01").AddDays(lead).Hours(zone)
		a, b := int(first-e.Start), int(end-e.Start)
		truth := record.Summary(first, end).High
		mean, before, after := 0.0, 0.0, 0.0
		for m := range e.Members {
			mean += out.Summary(m, a, b).High / 100
		}
		was := 0.0
		for m := range e.Members {
			was += e.Summary(m, a, b).High / 100
		}
		for m := range e.Members {
			after += math.Pow(out.Summary(m, a, b).High-mean, 2) / 100
			before += math.Pow(e.Summary(m, a, b).High-was, 2) / 100
		}
		// Members turned wet or dry by the forecast carry the temperatures of such days into the spread.
		if math.Abs(mean-truth) > 0.05 || math.Sqrt(after/before) > share*1.25 || math.Sqrt(after/before) < share*0.8 {
			t.Errorf("lead day %d: mean high %.2f of a forecast %.2f, spread %.2f of the season's, want %.2f", lead+1, mean, truth, math.Sqrt(after/before), share)
		}
	}
}

func BenchmarkResampleARecord(b *testing.B) {
	record, o := autumn2007(b, central(b))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := weather.Resample(record, o); err != nil {
			b.Fatal(err)
		}
	}
}
