package ground

import (
	"testing"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
	"threshday/test/published"

	record "threshday/test/champaign"
)

// central is the standard time of the record, place where it was kept.
var (
	central = time.FixedZone("CST", -6*3600)
	place   = weather.Spot{Lat: 40.05, Lon: -88.37}
)

// champaign returns the recorded autumn of a year, 25 August to 5 December.
func champaign(t testing.TB, year int) *weather.Series {
	t.Helper()
	return record.Autumn(t, year)
}

// bearing returns the share of days in September and October on which the ground bears at noon, over the recorded autumns.
func bearing(t testing.TB, s Site) float64 {
	t.Helper()
	f := New(s)
	fit, days := 0.0, 0.0
	for _, year := range []int{2003, 2004, 2005} {
		record := champaign(t, year)
		d := FromRecord(record, record.Start, record.End(), central, &place)
		wet := make([]float32, d.Hours)
		f.Run(d, 0, Begin(NormalBelow), wet)
		for day := (calendar.Day{Year: year, Month: time.September, Date: 1}); day.Month < time.November; day = day.AddDays(1) {
			first, _ := day.Hours(central)
			days++
			if float64(wet[first+12-d.Start]) <= f.Limit() {
				fit++
			}
		}
	}
	return fit / days
}

// Days suitable for field work count rain and crop as well, and states are larger than a farm: the middle of the common
// soils must lie near the published share, light soils above heavy ones, and tile must gain days.
func TestBearingDaysLieNearPublishedSuitableDays(t *testing.T) {
	published.Each(t, "suitable", func(t *testing.T, r published.Row) {
		common := []string{"loam", "silt loam", "silty clay loam"}
		var mean float64
		for _, texture := range common {
			tiled := site(t, texture)
			tiled.Tiled = true
			a, b := bearing(t, site(t, texture)), bearing(t, tiled)
			t.Logf("%s: %.2f of days, tiled %.2f", texture, a, b)
			if b < a {
				t.Errorf("%s: tile takes days away, %.2f to %.2f", texture, a, b)
			}
			mean += (a + b) / float64(2*len(common))
		}
		r.Check("want", mean)
		if sand, clay := bearing(t, site(t, "sandy loam")), bearing(t, site(t, "clay")); sand <= clay {
			t.Errorf("sandy loam bears on %.2f of days, clay on %.2f", sand, clay)
		}
	})
}

// Reference evapotranspiration in the recorded autumns falls from some 4 mm a day in September to 1 or 2 in November.
// [judgement]
func TestEvapotranspirationFallsThroughTheAutumn(t *testing.T) {
	var sum [3]float64
	for _, year := range []int{2003, 2004, 2005} {
		record := champaign(t, year)
		d := FromRecord(record, record.Start, record.End(), central, &place)
		for i, month := range []time.Month{time.September, time.October, time.November} {
			for date := 1; date <= 30; date++ {
				first, _ := (calendar.Day{Year: year, Month: month, Date: date}).Hours(central)
				sum[i] += d.ET0(0, first) / 90
			}
		}
	}
	t.Logf("mm a day: September %.1f, October %.1f, November %.1f", sum[0], sum[1], sum[2])
	if !(sum[0] > 2.8 && sum[0] < 4.8 && sum[0] > sum[1] && sum[1] > sum[2] && sum[2] > 0.5 && sum[2] < 2.2) {
		t.Errorf("mm a day: September %.1f, October %.1f, November %.1f", sum[0], sum[1], sum[2])
	}
}

// One field in a hundred members over 45 days.
func BenchmarkFieldOfSeason(b *testing.B) {
	const members, hours = 100, 45 * 24
	record := champaign(b, 2004)
	e := weather.NewEnsemble(record.Start, hours, members)
	for m := range members {
		for v := range weather.Var(weather.NVar) {
			copy(e.Row(v, m), record.V[v][:hours])
		}
	}
	f := New(site(b, "silt loam"))
	d := NewDemand(e, central, &place)
	wet := make([]float32, hours)
	b.ReportAllocs()
	for b.Loop() {
		for m := range members {
			f.Run(d, m, Begin(NormalBelow), wet)
		}
	}
}
