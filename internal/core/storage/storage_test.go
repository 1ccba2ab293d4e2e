package storage_test

import (
	"errors"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/storage"
	"threshday/internal/core/units"
	"threshday/test/published"
)

func length(r published.Row, column string) *units.Length {
	if !r.Has(column) {
		return nil
	}
	l := units.Length(r.Float(column)) * units.Foot
	return &l
}

func TestBinsHoldTheirVolume(t *testing.T) {
	published.Each(t, "bin", func(t *testing.T, r published.Row) {
		v, err := storage.Bin{
			Diameter: *length(r, "diameter"), Eave: *length(r, "eave"), Peak: length(r, "peak"), Hollow: length(r, "hollow"),
		}.Volume()
		if err != nil {
			t.Fatal(err)
		}
		r.Check("cubic_feet", v.CubicFeet())
		r.Check("exact", storage.Exact().VolumeBushels(v))
		r.Check("warehouse", storage.Warehouse().VolumeBushels(v))
		r.Check("farm", storage.FarmRule().VolumeBushels(v))
	})
	published.Each(t, "testweight", func(t *testing.T, r published.Row) {
		r.Check("want", storage.TradeBushels(r.Float("volume_bu"), r.Float("test_weight"), r.Float("lb_bu"), r.Float("pack")))
	})
	if got := storage.Exact().PerCubicFoot; math.Abs(got-0.803564) > 5e-7 {
		t.Errorf("exact conversion %v", got)
	}
}

func TestMeasuresThatCannotBeAreNamed(t *testing.T) {
	deep := 30 * units.Foot
	for label, b := range map[string]storage.Bin{
		"diameter":          {Eave: units.Foot},
		"depth at the wall": {Diameter: 30 * units.Foot, Eave: -units.Foot},
		"hollow":            {Diameter: 30 * units.Foot, Eave: 20 * units.Foot, Hollow: &deep},
	} {
		var bad *problem.InputError
		if _, err := b.Volume(); !errors.As(err, &bad) || bad.Label != label {
			t.Errorf("%s: %v", label, err)
		}
	}
}

func TestAHeapIsWhatAHollowTakes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := storage.Bin{
			Diameter: units.Length(rapid.Float64Range(1, 50).Draw(rt, "diameter")),
			Eave:     units.Length(rapid.Float64Range(1, 40).Draw(rt, "eave")),
		}
		cone := units.Length(rapid.Float64Range(0, float64(b.Eave)).Draw(rt, "cone"))
		level, err := b.Volume()
		if err != nil {
			rt.Fatal(err)
		}
		heaped, hollow := b, b
		heaped.Peak, hollow.Hollow = &cone, &cone
		up, err1 := heaped.Volume()
		down, err2 := hollow.Volume()
		if err1 != nil || err2 != nil || math.Abs(float64(up-level)-float64(level-down)) > 1e-9*float64(level) || up < level {
			rt.Fatalf("%v, %v, %v", down, level, up)
		}
	})
}

func TestDefaultPeaks(t *testing.T) {
	if h, ok := storage.DefaultPeak(crop.Corn, 36*units.Foot); !ok || math.Abs(h.Feet()-7.2) > 1e-9 {
		t.Errorf("corn heaps %v ft", h.Feet())
	}
	if h, ok := storage.DefaultPeak(crop.Soybean, 36*units.Foot); !ok || math.Abs(h.Feet()-9) > 1e-9 {
		t.Errorf("soybeans heap %v ft", h.Feet())
	}
	if _, ok := storage.DefaultPeak(crop.Canola, units.Foot); ok {
		t.Error("canola has a default peak")
	}
}

func TestGrainKeepsAsTheTableSays(t *testing.T) {
	published.Each(t, "life", func(t *testing.T, r published.Row) {
		k, _ := crop.Parse(r.Text("crop"))
		l, ok := storage.Allowable(k, r.Float("moisture"), units.Fahrenheit(r.Float("f")))
		if !ok {
			t.Fatal("no table")
		}
		r.Check("days", l.Days)
		r.CheckText("over300", strconv.FormatBool(l.Over300))
		r.CheckText("outside", strconv.FormatBool(l.Outside))
	})
	for _, k := range []crop.Kind{crop.Canola, crop.Sunflower, crop.Unknown} {
		if _, ok := storage.Allowable(k, 12, units.Fahrenheit(60)); ok {
			t.Errorf("%s has a life", k)
		}
	}
}

func TestWetterOrWarmerGrainNeverKeepsLonger(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		k := rapid.SampledFrom([]crop.Kind{crop.Corn, crop.Soybean, crop.Wheat}).Draw(rt, "crop")
		m, f := rapid.Float64Range(8, 35).Draw(rt, "moisture"), rapid.Float64Range(20, 100).Draw(rt, "f")
		a, _ := storage.Allowable(k, m, units.Fahrenheit(f))
		b, _ := storage.Allowable(k, m+rapid.Float64Range(0, 5).Draw(rt, "wetter"), units.Fahrenheit(f+rapid.Float64Range(0, 20).Draw(rt, "warmer")))
		if b.Days > a.Days*(1+1e-9) || (b.Over300 && !a.Over300) || !(a.Days >= 1 && a.Days <= 300) {
			rt.Fatalf("%+v, then %+v", a, b)
		}
	})
}

func TestLifeSpentAddsUp(t *testing.T) {
	at := func(m, f float64) storage.Life {
		l, _ := storage.Allowable(crop.Corn, m, units.Fahrenheit(f))
		return l
	}
	var s storage.Spent
	s = s.After(7, at(20, 70)).After(25.5, at(20, 50)) // half of 14 days, a little more than half of 50
	if !s.Spoiled() || s.DaysLeft(at(20, 50)) != 0 {
		t.Errorf("spent %v", s)
	}
	half := storage.Spent(0).After(7, at(20, 70))
	if got := half.DaysLeft(at(15, 60)); math.Abs(got-120) > 1e-6 {
		t.Errorf("half used up leaves %v of 240 days", got)
	}
	if got := at(18, 70).Poor().Days; math.Abs(got-15) > 1e-9 {
		t.Errorf("poor grain keeps %v of 30 days", got)
	}
	if got := at(14, 30).Poor(); got.Over300 || got.Days != 150 {
		t.Errorf("poor dry grain: %+v", got)
	}
}

func TestSafeMoistureFallsWithTime(t *testing.T) {
	for _, c := range []struct {
		k      crop.Kind
		months float64
		want   float64
	}{
		{crop.Corn, 6, 15.5},
		{crop.Corn, 12, 14},
		{crop.Corn, 13, 13},
		{crop.Soybean, 5, 13},
		{crop.Soybean, 24, 11},
		{crop.Wheat, 3, 13.5},
		{crop.Canola, 3, 8},
		{crop.Sunflower, 3, 7},
	} {
		if got, ok := storage.SafePct(c.k, c.months); !ok || got != c.want {
			t.Errorf("%s for %v months: %v, want %v", c.k, c.months, got, c.want)
		}
	}
	if _, ok := storage.SafePct(crop.Oats, 6); ok {
		t.Error("oats have a figure")
	}
}

func TestDryersSlowDownLessThanInProportion(t *testing.T) {
	published.Each(t, "throughput", func(t *testing.T, r published.Row) {
		r.Check("want", storage.Dryer{BuPerHourAt5: r.Float("at5"), UnloadBuPerHour: r.Float("unload")}.BuPerHour(r.Float("points")))
	})
}

func job(r published.Row) storage.Job {
	return storage.Job{
		Bushels: r.Float("bushels"), FromPct: r.Float("from"), ToPct: r.Float("to"),
		Energy: storage.Energy{GalPerBuPoint: r.Float("gal"), KWhPerBuPoint: r.Float("kwh")},
		LPUSD:  r.Float("lp"), PowerUSD: r.Float("power"), HandlingUSD: r.Float("handling"), HandlingLossPct: r.Float("loss"),
	}
}

func TestDryingTakesWaterGasAndPower(t *testing.T) {
	published.Each(t, "dry", func(t *testing.T, r published.Row) {
		d, err := job(r).Dry()
		if err != nil {
			t.Fatal(err)
		}
		r.Check("gallons", d.Gallons)
		r.Check("kwh_used", d.KWh)
		r.Check("lp_usd", d.LPUSD)
		r.Check("power_usd", d.PowerUSD)
		r.Check("handling_usd", d.HandlingUSD)
		r.Check("water", d.WaterBu)
		r.Check("spill", d.HandlingBu)
		r.Check("left", d.BushelsLeft)
		if math.Abs(d.USDPerBu*r.Float("bushels")-d.LPUSD-d.PowerUSD-d.HandlingUSD) > 1e-6 {
			t.Errorf("$%v a bushel does not add up", d.USDPerBu)
		}
	})
}

func TestDryMatterSurvivesDrying(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		j := storage.Job{Bushels: rapid.Float64Range(1, 1e6).Draw(rt, "bushels"), ToPct: rapid.Float64Range(1, 30).Draw(rt, "to")}
		j.FromPct = j.ToPct + rapid.Float64Range(0, 25).Draw(rt, "points")
		d, err := j.Dry()
		if err != nil {
			rt.Fatal(err)
		}
		if before, after := j.Bushels*(100-j.FromPct), d.BushelsLeft*(100-j.ToPct); math.Abs(before-after) > 1e-9*before {
			rt.Fatalf("dry matter %v became %v", before, after)
		}
	})
}

func TestJobsThatCannotBeDoneAreRefused(t *testing.T) {
	good := storage.Job{Bushels: 100, FromPct: 20, ToPct: 15}
	for label, spoil := range map[string]func(*storage.Job){
		"bushels":              func(j *storage.Job) { j.Bushels = 0 },
		"moisture to dry from": func(j *storage.Job) { j.FromPct = 14 },
		"moisture to dry to":   func(j *storage.Job) { j.ToPct = math.NaN() },
		"price of LP gas":      func(j *storage.Job) { j.LPUSD = -1 },
	} {
		j := good
		spoil(&j)
		var all problem.InputErrors
		if _, err := j.Dry(); !errors.As(err, &all) || !contains(all, label) {
			t.Errorf("%s: %v", label, err)
		}
	}
}

func contains(all problem.InputErrors, label string) bool {
	for _, e := range all {
		if e.Label == label {
			return true
		}
	}
	return false
}

func TestWhatHoldingCosts(t *testing.T) {
	published.Each(t, "carry", func(t *testing.T, r published.Row) {
		h := storage.Hold{
			PriceUSD: r.Float("price"), Days: r.Float("months") / 12 * 365, YearDays: 365, InterestPct: r.Float("interest_pct"),
			StorageUSD: r.Float("storage"), ShrinkPct: r.Float("shrink_pct"),
		}
		c := h.Carry()
		r.Check("interest", c.Interest)
		r.Check("storage_usd", c.Storage)
		r.Check("shrink", c.Shrink)
		r.Check("total", c.Total())
		r.Check("breakeven", h.PriceUSD+c.Total())
	})
	published.Each(t, "commercial", func(t *testing.T, r published.Row) {
		c := storage.Commercial{FlatUSD: r.Float("flat"), FreeMonths: r.Float("free"), PerMonthUSD: r.Float("per_month"), Whole: r.Text("whole") == "true"}
		r.Check("want", c.PerBu(r.Float("months")))
	})
}

func TestCautionsAreTextWithASource(t *testing.T) {
	for _, at := range []string{storage.AtBin, storage.AtDryer, storage.AtHazard} {
		for _, c := range storage.Cautions(at) {
			if c.Rule == "" || c.Say == "" || c.Key == "" {
				t.Errorf("%s: %+v", at, c)
			}
		}
		if len(storage.Cautions(at)) == 0 {
			t.Errorf("%s has no caution", at)
		}
	}
}
