package drydown_test

import (
	"math"
	"testing"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

func params(t testing.TB, k crop.Kind) drydown.Params {
	t.Helper()
	p, ok := drydown.DefaultParams(k, crop.AnyWheat)
	if !ok {
		t.Fatalf("no model of %s", k)
	}
	return p
}

func named(t testing.TB, name string) drydown.Params {
	t.Helper()
	k, ok := crop.Parse(name)
	if !ok {
		t.Fatalf("no crop %q", name)
	}
	return params(t, k)
}

// one returns an ensemble of one member with the same air in every hour, or that of air(h).
func one(hours int, air func(h int) drydown.Air) *weather.Ensemble {
	e := weather.NewEnsemble(0, hours, 1)
	for h := range hours {
		a := air(h)
		e.Row(weather.TempC, 0)[h], e.Row(weather.DewC, 0)[h] = float32(a.TempC), float32(a.DewC)
		e.Row(weather.SolarWM2, 0)[h], e.Row(weather.WindMS, 0)[h] = float32(a.SolarWM2), float32(a.WindMS)
		e.Row(weather.SkyFrac, 0)[h], e.Row(weather.RainMM, 0)[h] = float32(a.Sky), float32(a.RainMM)
	}
	return e
}

// september is clear mid-September air of the Midwest, the same every day.
func september(h int) drydown.Air {
	clock := float64(h % 24)
	a := drydown.Air{TempC: 17 + 6.5*math.Cos(math.Pi*(clock-15)/12), WindMS: 1.8, Sky: 0.4}
	a.DewC = math.Min(11, a.TempC)
	if clock > 6 && clock < 18 {
		a.SolarWM2 = 750 * math.Sin(math.Pi*(clock-6)/12) * (1 - 0.75*0.4)
	}
	if clock >= 9 && clock <= 18 {
		a.WindMS = 3.9
	}
	return a
}

func TestOneHourMatchesTheReference(t *testing.T) {
	published.Each(t, "step", func(t *testing.T, r published.Row) {
		p := named(t, r.Text("crop"))
		air := drydown.Air{
			TempC: r.Float("temp_c"), DewC: r.Float("dew_c"), SolarWM2: r.Float("solar_wm2"),
			WindMS: r.Float("wind_ms"), Sky: r.Float("sky"), RainMM: r.Float("rain_mm"),
		}
		hours := drydown.Plain(p, one(1, func(int) drydown.Air { return air }), 0, 0, 1, r.Float("start_wb"))
		got := map[string]float64{
			"moisture_db": hours[0].DB, "surface_c": hours[0].SurfaceC, "humidity": hours[0].Humidity,
			"emc_db": hours[0].EMCDB, "rate_per_h": hours[0].RatePerHour, "free_mm": hours[0].Film.MM,
		}
		r.Check("want", got[r.Text("quantity")])
	})
}

func TestDaysOfDryingMatchTheReference(t *testing.T) {
	published.Each(t, "run", func(t *testing.T, r published.Row) {
		n := 24 * r.Int("day")
		hours := drydown.Plain(named(t, r.Text("crop")), one(n, september), 0, 0, calendar.Hour(n), r.Float("start_wb"))
		r.Check("want_wb", hours[n-1].WB)
	})
}

func TestStrataSpreadMatchesTheReference(t *testing.T) {
	published.Each(t, "spread", func(t *testing.T, r published.Row) {
		p := params(t, crop.Soybean)
		n := 24*r.Int("day") + 15
		d := drydown.NewDrivers(p, one(n, september))
		f := drydown.NewStrata(p, 5, 1.7)
		s := f.Start(0, 144, drydown.Chances{})
		f.Run(d, 0, &s, calendar.Hour(n), nil)
		mean, sd := s.Moments()
		r.Check("want_mean_wb", mean)
		r.Check("want_sd_wb", sd)
		r.Check("want_scale_wb", f.MeanWB(&s))
	})
}
