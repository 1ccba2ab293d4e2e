package estimate_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/crop"
	"threshday/internal/core/estimate"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/test/published"
)

func must(t *testing.T, bu float64, err error) float64 {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	return bu
}

func TestCountsMakeAYield(t *testing.T) {
	published.Each(t, "soybean", func(t *testing.T, r published.Row) {
		bu, err := estimate.Soybean{
			Plants: r.Float("plants"), PodsPer: r.Float("pods"), SeedsPerPod: r.Float("per_pod"), SeedsPerLb: r.Float("per_lb"),
		}.BuPerAcre()
		r.Check("want", must(t, bu, err))
	})
	published.Each(t, "pods", func(t *testing.T, r published.Row) {
		bu, err := estimate.SoybeanPods(r.Float("pods"), r.Float("per_pod"), r.Float("per_lb"))
		r.Check("want", must(t, bu, err))
	})
	published.Each(t, "corn", func(t *testing.T, r published.Row) {
		bu, err := estimate.Corn{Ears: r.Float("ears"), Rows: r.Float("rows"), Kernels: r.Float("kernels"), KernelsPerBu: r.Float("per_bu")}.BuPerAcre()
		r.Check("want", must(t, bu, err))
	})
	published.Each(t, "wheat", func(t *testing.T, r published.Row) {
		bu, err := estimate.Wheat{HeadsPerSqFt: r.Float("heads_ft2"), Kernels: r.Float("kernels"), ThousandGrams: r.Float("grams")}.BuPerAcre()
		r.Check("want", must(t, bu, err))
	})
	published.Each(t, "wheatrow", func(t *testing.T, r published.Row) {
		heads := estimate.HeadsPerSqFt(r.Float("heads_ft"), units.Length(r.Float("spacing_in"))*units.Inch)
		if r.Has("grams_head") {
			bu, err := estimate.WheatByHeadWeight(heads, r.Float("grams_head"))
			r.Check("want", must(t, bu, err))
			return
		}
		grams := 1e6 * float64(units.Pound) / r.Float("per_lb")
		bu, err := estimate.Wheat{HeadsPerSqFt: heads, Kernels: r.Float("kernels"), ThousandGrams: grams}.BuPerAcre()
		r.Check("want", must(t, bu, err))
	})
	published.Each(t, "sorghum", func(t *testing.T, r published.Row) {
		bu, err := estimate.Sorghum{Heads: r.Float("heads"), Seeds: r.Float("seeds"), SeedsPerLb: r.Float("per_lb")}.BuPerAcre()
		r.Check("want", must(t, bu, err))
	})
}

func TestRowLengths(t *testing.T) {
	published.Each(t, "row", func(t *testing.T, r published.Row) {
		r.Check("feet", estimate.RowLength(r.Float("part"), units.Length(r.Float("spacing_in"))*units.Inch).Feet())
	})
}

func TestCountsThatCannotBeAreNamed(t *testing.T) {
	for label, count := range map[string]func() (float64, error){
		"ears in 1/1000 acre":      estimate.Corn{Ears: -1, Rows: 16, Kernels: 34, KernelsPerBu: 85000}.BuPerAcre,
		"kernels a bushel":         estimate.Corn{Ears: 30, Rows: 16, Kernels: 34, KernelsPerBu: 85}.BuPerAcre,
		"seeds a pound":            estimate.Soybean{Plants: 120, PodsPer: 38, SeedsPerPod: 2.5}.BuPerAcre,
		"grams a thousand kernels": estimate.Wheat{HeadsPerSqFt: 45, Kernels: 30, ThousandGrams: math.NaN()}.BuPerAcre,
		"seeds a head":             estimate.Sorghum{Heads: 45, Seeds: 1e6, SeedsPerLb: 15000}.BuPerAcre,
	} {
		var bad *problem.InputError
		if _, err := count(); !errors.As(err, &bad) || bad.Label != label || bad.Rule != "yield.range" {
			t.Errorf("%s: %v", label, err)
		}
	}
}

func TestBothWaysToCountSoybeansAgree(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := estimate.Soybean{
			Plants: rapid.Float64Range(1, 300).Draw(rt, "plants"), PodsPer: rapid.Float64Range(1, 200).Draw(rt, "pods"),
			SeedsPerPod: rapid.Float64Range(1, 4).Draw(rt, "seeds"), SeedsPerLb: rapid.Float64Range(2000, 4000).Draw(rt, "size"),
		}
		long, err1 := c.BuPerAcre()
		short, err2 := estimate.SoybeanPods(c.Plants/10*c.PodsPer, c.SeedsPerPod, c.SeedsPerLb)
		if err1 != nil || err2 != nil || math.Abs(long-short) > 1e-9*long {
			rt.Fatalf("%v and %v, %v, %v", long, short, err1, err2)
		}
	})
}

func TestSpotsNeeded(t *testing.T) {
	published.Each(t, "spots", func(t *testing.T, r published.Row) {
		exact, whole := estimate.SpotsNeeded(r.Float("cv"), r.Float("half"), estimate.Z90)
		r.Check("exact", exact)
		r.CheckExact("spots", float64(whole))
	})
}

func TestSpotsTellTheirSpread(t *testing.T) {
	six := estimate.FromSpots([]float64{40, 50, 60, 45, 55, 50}, 0.25)
	sd := math.Sqrt(250.0/5) / 50 * 100
	if six.BuPerAcre != 50 || math.Abs(six.SDPct-math.Hypot(sd/math.Sqrt(6), 9)) > 1e-9 {
		t.Errorf("six spots: %+v", six)
	}
	if one := estimate.FromSpots([]float64{50}, 0.25); math.Abs(one.SDPct-math.Hypot(25, 9)) > 1e-9 {
		t.Errorf("one spot: %+v", one)
	}
	if alike := estimate.FromSpots([]float64{50, 50}, 0.25); math.Abs(alike.SDPct-math.Hypot(25/math.Sqrt2, 9)) > 1e-9 {
		t.Errorf("two spots alike: %+v", alike)
	}
	if none := estimate.FromSpots([]float64{0, 0}, 0.25); none.BuPerAcre != 0 || math.IsNaN(none.SDPct) {
		t.Errorf("no crop: %+v", none)
	}
}

func TestLoadsMoveTheEstimate(t *testing.T) {
	published.Each(t, "update", func(t *testing.T, r published.Row) {
		u := estimate.Field{
			Acres: r.Float("acres"), CutAcres: r.Float("cut"), CutBu: r.Float("bu"),
			Before: estimate.Yield{BuPerAcre: r.Float("before"), SDPct: r.Float("sd")},
		}.Update()
		r.Check("so_far", u.Cut)
		r.Check("rest", u.Rest.BuPerAcre)
		r.Check("whole", u.Whole.BuPerAcre)
		r.Check("rest_sd", u.Rest.SDPct)
		r.Check("whole_sd", u.Whole.SDPct)
	})
}

func TestTheWholeIsItsParts(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := estimate.Field{
			Acres: rapid.Float64Range(1, 2000).Draw(rt, "acres"),
			Before: estimate.Yield{
				BuPerAcre: rapid.Float64Range(1, 300).Draw(rt, "before"), SDPct: rapid.Float64Range(0, 30).Draw(rt, "sd"),
			},
		}
		f.CutAcres = f.Acres * rapid.Float64Range(0, 1).Draw(rt, "part")
		f.CutBu = f.CutAcres * rapid.Float64Range(0, 400).Draw(rt, "cut")
		u := f.Update()
		sum := f.CutBu + (f.Acres-f.CutAcres)*u.Rest.BuPerAcre
		if math.Abs(sum-f.Acres*u.Whole.BuPerAcre) > 1e-9*(1+sum) || math.IsNaN(u.Whole.SDPct) || u.Rest.SDPct > f.Before.SDPct {
			rt.Fatalf("%+v", u)
		}
		lo, hi := min(u.Cut, f.Before.BuPerAcre), max(u.Cut, f.Before.BuPerAcre)
		if f.CutAcres > 0 && (u.Rest.BuPerAcre < lo-1e-9 || u.Rest.BuPerAcre > hi+1e-9) {
			rt.Fatalf("rest %v outside %v to %v", u.Rest.BuPerAcre, lo, hi)
		}
	})
}

func TestDefaultsAreForTheCropsWithAFormula(t *testing.T) {
	for _, k := range crop.Kinds() {
		formula := k == crop.Soybean || k == crop.Corn || k == crop.Wheat || k == crop.Sorghum
		s, size := estimate.DefaultSize(k)
		_, cv := estimate.SpotCV(k)
		_, sd := estimate.CountedSDPct(k)
		if size != formula || cv != formula || sd != formula {
			t.Errorf("%s: size %v, cv %v, sd %v", k, size, cv, sd)
		}
		if size && !(s.Low < s.PerPound && s.PerPound < s.High) {
			t.Errorf("%s: %+v", k, s)
		}
		if _, ok := estimate.Earliest(k); ok != (formula && k != crop.Wheat) {
			t.Errorf("%s: earliest stage %v", k, ok)
		}
	}
}
