package weather_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// A dayOf is what one day comes to in the quantities harvest turns on.
var dayOf = []struct {
	name string
	of   func(weather.DayAir, weather.HarvestDay) float64
}{
	{"high", func(a weather.DayAir, _ weather.HarvestDay) float64 { return a.High }},
	{"low", func(a weather.DayAir, _ weather.HarvestDay) float64 { return a.Low }},
	{"dew point", func(a weather.DayAir, _ weather.HarvestDay) float64 { return a.Dew }},
	{"wind", func(a weather.DayAir, _ weather.HarvestDay) float64 { return a.Wind }},
	{"sun", func(a weather.DayAir, _ weather.HarvestDay) float64 { return a.SolarMJ }},
	{"wet", func(a weather.DayAir, _ weather.HarvestDay) float64 { return float64(btoi(a.Wet())) }},
	{"hours to cut in", func(_ weather.DayAir, h weather.HarvestDay) float64 { return float64(h.Hours) }},
	{"a window", func(_ weather.DayAir, h weather.HarvestDay) float64 { return float64(btoi(h.Window)) }},
	{"hour of dew off", func(_ weather.DayAir, h weather.HarvestDay) float64 { return h.DryFrom() }},
}

// daysOf returns the quantities of each day of a member.
func daysOf(e *weather.Ensemble, m int) [][]float64 {
	harvest := e.HarvestDays(m, weather.Days(e.Start, e.End(), cst))
	out := make([][]float64, len(harvest))
	for d := range out {
		air := e.Summary(m, 24*d, 24*d+24)
		for _, q := range dayOf {
			out[d] = append(out[d], q.of(air, harvest[d]))
		}
	}
	return out
}

// A verdict gathers the score of one way on one quantity.
type verdict struct{ n, crps, covered float64 }

// Recorded autumns that the climate was not fitted to, scored with and without forecasts; docs/model/weather.md has the table.
// It reports. Only members that do clearly worse than the season's own days, or lie off the truth far more often than one in
// five, fail. [champaign-hourly]
func TestHeldOutAutumnsAreScored(t *testing.T) {
	step, horizon := 38, 14
	if full() {
		step, horizon = 3, 42
	}
	record := champaign(t)
	climates := map[int]*weather.Climate{}
	for year := 2003; year <= 2007; year++ {
		climates[year] = mustFit(t, record, weather.FitOptions{Exclude: []int{year}})
	}
	for _, forecast := range []bool{false, true} {
		scores := [2]map[string]*verdict{{}, {}} // the climate alone, and around what is known
		for year := 2003; year <= 2007; year++ {
			for day := calendar.MustDay("2003-08-25").InYear(year); day.Before(calendar.MustDay("2003-11-10").InYear(year)); day = day.AddDays(step) {
				truth, ok := recorded(record, day, horizon)
				if !ok {
					continue
				}
				now := calendar.HourOf(day.Start(cst))
				in := weather.LeadIn{Now: now, Zone: cst, Root: [32]byte{byte(year), byte(day.YearDay())}}
				o := weather.GenerateOptions{Start: now, Hours: 24 * horizon, Members: 79, At: bondville}
				score(scores[0], daysOf(truth, 0), mustGenerate(t, climates[year], o, in), horizon)
				in.Observed = record
				if forecast {
					in.Days = heldForecast(record, day)
				}
				score(scores[1], daysOf(truth, 0), mustGenerate(t, climates[year], o, in), horizon)
			}
		}
		t.Logf("%d starts, with a forecast: %v. Score of the climate, of the members, skill, share of truths within 80 %%", int(scores[0]["high, day 1"].n), forecast)
		ratio, n := 0.0, 0.0
		for _, key := range slices.Sorted(keysOf(scores[0])) {
			a, b := scores[0][key], scores[1][key]
			t.Logf("%-32s %8.3f %8.3f   %5.2f   %.2f", key, a.crps/a.n, b.crps/b.n, 1-b.crps/a.crps, b.covered/b.n)
			ratio, n = ratio+math.Log(b.crps/a.crps), n+1
		}
		if all := math.Exp(ratio / n); all > 1.02 {
			t.Errorf("what is known makes the score %.3f of the climate's, over all quantities", all)
		}
		for _, q := range []string{"high", "low", "dew point"} {
			if v := scores[1][q+", day 14"]; v.covered < 0.6*v.n {
				t.Errorf("%s: only %.2f of the truths of the fourteenth day lie within 80 %%", q, v.covered/v.n)
			}
		}
	}
}

func keysOf(m map[string]*verdict) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// recorded returns the days of a record as an ensemble of one; ok is false where an hour is missing.
func recorded(record *weather.Series, day calendar.Day, days int) (*weather.Ensemble, bool) {
	start := calendar.HourOf(day.Start(cst))
	e := weather.NewEnsemble(start, 24*days, 1)
	for v := range weather.Var(weather.NVar) {
		for h := range e.Hours {
			x, ok := record.At(v, start+calendar.Hour(h))
			if !ok {
				return nil, false
			}
			e.Row(v, 0)[h] = float32(x)
		}
	}
	return e, true
}

func score(into map[string]*verdict, truth [][]float64, e *weather.Ensemble, horizon int) {
	members := make([][][]float64, e.Members)
	for m := range members {
		members[m] = daysOf(e, m)
	}
	take := func(key string, of func(days [][]float64) float64) {
		own := make([]float64, e.Members)
		for m := range own {
			own[m] = of(members[m])
		}
		if into[key] == nil {
			into[key] = &verdict{}
		}
		v := into[key]
		v.n++
		v.crps += weather.CRPS(own, of(truth), true)
		v.covered += float64(btoi(weather.Covers(own, of(truth), 0.8)))
	}
	for i, q := range dayOf {
		for _, lead := range []int{1, 2, 3, 5, 7, 10, 14} {
			take(fmt.Sprintf("%s, day %d", q.name, lead), func(days [][]float64) float64 { return days[lead-1][i] })
		}
		if q.name == "wet" || q.name == "hours to cut in" || q.name == "high" || q.name == "a window" {
			for long := 7; long <= horizon; long *= 2 {
				take(fmt.Sprintf("%s, sum of %d days", q.name, long), func(days [][]float64) float64 {
					sum := 0.0
					for _, d := range days[:long] {
						sum += d[i]
					}
					return sum
				})
			}
		}
	}
}

// heldForecast returns a forecast of seven days with the errors of the table, made of the truth and of the same days in another
// recorded year, so that its errors go together as recorded departures do.
func heldForecast(record *weather.Series, day calendar.Day) []weather.Ahead {
	other := 2003 + (day.Year-2003+2)%5
	table := weather.DefaultErrors()
	var out []weather.Ahead
	for l := range 7 {
		on := day.AddDays(l)
		truth, another := onDay(record, on), onDay(record, on.InYear(other))
		usual := usualOn(record, on)
		if !truth.Known || !another.Known {
			continue
		}
		said := func(of func(weather.DayAir) float64, s float64) *float64 {
			return ptr(of(usual) + (1-s*s)*(of(truth)-of(usual)) + s*math.Sqrt(1-s*s)*(of(another)-of(usual)))
		}
		chance := 0.3 + table.Rain[l]*0.7*(float64(btoi(truth.Wet()))-0.3) + 0.2*(float64(btoi(another.Wet()))-0.3)
		out = append(out, weather.Ahead{
			On: on, High: said(high, table.Temp[l]), Low: said(low, table.Temp[l]), Dew: said(dew, table.Dew[l]), Rain: ptr(max(0, min(1, chance))),
		})
	}
	return out
}

func onDay(record *weather.Series, on calendar.Day) weather.DayAir {
	first, end := on.Hours(cst)
	return record.Summary(first, end)
}

// usualOn returns the mean of the days around a date in all years.
func usualOn(record *weather.Series, on calendar.Day) (mean weather.DayAir) {
	n := 0.0
	for year := 2003; year <= 2007; year++ {
		for by := -10; by <= 10; by++ {
			if a := onDay(record, on.InYear(year).AddDays(by)); a.Known {
				n++
				mean.High += a.High
				mean.Low += a.Low
				mean.Dew += a.Dew
			}
		}
	}
	mean.High, mean.Low, mean.Dew = mean.High/n, mean.Low/n, mean.Dew/n
	return mean
}
