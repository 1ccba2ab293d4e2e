package drydown_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/weather"
)

var modelled = []crop.Kind{crop.Soybean, crop.Corn, crop.Wheat, crop.Sorghum, crop.Canola, crop.Sunflower}

// anyWeather draws hours of plausible, sometimes nasty, autumn weather.
func anyWeather(t *rapid.T, hours int) *weather.Ensemble {
	day := func(name string, lo, hi float64) []float64 {
		return rapid.SliceOfN(rapid.Float64Range(lo, hi), hours/24+1, hours/24+1).Draw(t, name)
	}
	mean, gap, wind, sky, rain := day("mean", -5, 30), day("gap", -0.5, 15), day("wind", 0, 8), day("sky", 0, 1), day("rain", -15, 6)
	return one(hours, func(h int) drydown.Air {
		d, clock := h/24, float64(h%24)
		a := drydown.Air{TempC: mean[d] + 6*math.Cos(math.Pi*(clock-15)/12), WindMS: wind[d], Sky: sky[d]}
		a.DewC = math.Min(mean[d]-gap[d], a.TempC+0.5)
		if clock > 6 && clock < 18 {
			a.SolarWM2 = 800 * math.Sin(math.Pi*(clock-6)/12) * (1 - 0.75*sky[d])
			a.RainMM = math.Max(0, rain[d]) * sky[d]
		}
		return a
	})
}

const fourWeeks = 28 * 24

// anyCrop draws a crop. Under the default of sorghum rain may lift grain above its moisture at maturity, for
// which the order of strata is not defined: here it may not.
func anyCrop(t *rapid.T) drydown.Params {
	p, _ := drydown.DefaultParams(rapid.SampledFrom(modelled).Draw(t, "crop"), crop.AnyWheat)
	p.UptakeMax = min(p.UptakeMax, drydown.DryBasis(p.MatureWB))
	return p
}

// run returns the state and the track of a field over four weeks from hour 0.
func run(f *drydown.Field, d *drydown.Drivers, ripe calendar.Hour, c drydown.Chances) (drydown.State, *drydown.Track) {
	out := drydown.NewTrack(0, fourWeeks, 1)
	n := fourWeeks
	out.DriestWB, out.WettestWB = make([]float32, n), make([]float32, n)
	out.Green, out.Strata = make([]float32, n), make([]float32, n*f.Strata())
	s := f.Start(0, ripe, c)
	f.Run(d, 0, &s, fourWeeks, out)
	return s, out
}

func TestWetterGrainNeverReachesALimitSooner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyCrop(t)
		wetter := p
		wetter.MatureWB += rapid.Float64Range(0, 15).Draw(t, "wetter")
		d := drydown.NewDrivers(p, anyWeather(t, fourWeeks))
		_, a := run(drydown.NewField(p, drydown.Even), d, 48, drydown.Chances{})
		_, b := run(drydown.NewField(wetter, drydown.Even), d, 48, drydown.Chances{})
		for h := range a.MeanWB {
			if b.MeanWB[h] < a.MeanWB[h]-1e-4 {
				t.Fatalf("hour %d: %v from the wetter start, %v from the drier", h, b.MeanWB[h], a.MeanWB[h])
			}
		}
	})
}

func TestLaterMaturityNeverMeansDrierGrain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyCrop(t)
		d := drydown.NewDrivers(p, anyWeather(t, fourWeeks))
		f := drydown.NewStrata(p, 1, 0)
		by := rapid.Float64Range(0, 8).Draw(t, "later")
		_, a := run(f, d, 48, drydown.Chances{})
		_, b := run(f, d, 48, drydown.Chances{ShiftDays: by})
		for h := range a.MeanWB {
			if b.MeanWB[h] < a.MeanWB[h]-1e-4 {
				t.Fatalf("hour %d: %v later, %v earlier", h, b.MeanWB[h], a.MeanWB[h])
			}
		}
	})
}

func TestOneStratumIsThePlainModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyCrop(t)
		e := anyWeather(t, fourWeeks)
		_, track := run(drydown.NewStrata(p, 1, 0), drydown.NewDrivers(p, e), 0, drydown.Chances{})
		for h, plain := range drydown.Plain(p, e, 0, 0, fourWeeks, p.MatureWB) {
			// Drivers are kept in single precision: seven digits of equilibrium and rate.
			if got := float64(track.MeanWB[h]); math.Abs(got-plain.WB) > 1e-4 {
				t.Fatalf("hour %d: stratum %v, plain %v", h, got, plain.WB)
			}
			if track.Clear[h] != plain.Clear {
				t.Fatalf("hour %d: clear %v, plain %v", h, track.Clear[h], plain.Clear)
			}
		}
	})
}

func TestAFieldAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyCrop(t)
		f := drydown.NewField(p, rapid.SampledFrom([]drydown.Evenness{drydown.Even, drydown.SomeUnevenness, drydown.Uneven}).Draw(t, "even"))
		f.SetImmature(0)
		s, track := run(f, drydown.NewDrivers(p, anyWeather(t, fourWeeks)), 72, drydown.Chances{})
		// Water over weight of strata of one tonne dry matter each.
		var water, weight float64
		for i := range f.Strata() {
			wb := s.Stratum(i)
			weight += 1 / (1 - wb/100)
			water += wb / 100 / (1 - wb/100)
		}
		if got, want := f.MeanWB(&s), 100*water/weight; math.Abs(got-want) > 1e-9 {
			t.Fatalf("mean %v, water over weight %v", got, want)
		}
		mean, sd := s.Moments()
		if at := f.MeanWB(&s); at < mean-1e-9 {
			t.Fatalf("mean at the scale %v under the plain mean %v, spread %v", at, mean, sd)
		}
		previous := 1.0
		for limit := 0.0; limit <= 100; limit += 2.5 {
			share := f.ShareOver(&s, limit)
			if share > previous+1e-12 || share < 0 {
				t.Fatalf("share over %v is %v, over less it was %v", limit, share, previous)
			}
			previous = share
		}
		if f.ShareOver(&s, -10) < 1-1e-9 || f.ShareOver(&s, 110) > 1e-9 {
			t.Fatal("shares of all and nothing are not 1 and 0")
		}
		for h := range fourWeeks {
			row := track.Strata[h*f.Strata() : (h+1)*f.Strata()]
			if !slices.IsSorted(row) {
				t.Fatalf("hour %d: a stratum that ripened earlier is wetter: %v", h, row)
			}
			if track.DriestWB[h] != row[0] || track.WettestWB[h] != row[len(row)-1] {
				t.Fatalf("hour %d: extremes %v and %v of %v", h, track.DriestWB[h], track.WettestWB[h], row)
			}
			if h > 0 && track.Green[h] > track.Green[h-1] {
				t.Fatalf("hour %d: green again", h)
			}
		}
	})
}

func TestARunMayBeInterrupted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyCrop(t)
		e := anyWeather(t, fourWeeks)
		f := drydown.NewField(p, drydown.SomeUnevenness)
		d := drydown.NewDrivers(p, e)
		whole, _ := run(f, d, 100, drydown.Chances{Kappa: 0.1})
		s := f.Start(0, 100, drydown.Chances{Kappa: 0.1})
		cut := calendar.Hour(rapid.IntRange(1, fourWeeks-1).Draw(t, "cut"))
		f.Run(d, 0, &s, cut, nil)
		kept := s
		f.Run(d, 0, &s, fourWeeks, nil)
		f.Run(d, 0, &kept, fourWeeks, nil)
		if s != whole || kept != whole {
			t.Fatalf("cut at %d: %v, whole %v", cut, f.MeanWB(&s), f.MeanWB(&whole))
		}
	})
}

// Drivers that follow others go on with their free water.
func TestDriversMayBeInterrupted(t *testing.T) {
	p := params(t, crop.Soybean)
	rainy := func(h int) drydown.Air {
		a := september(h)
		if h%31 < 4 {
			a.RainMM, a.DewC = 1, a.TempC-0.2
		}
		return a
	}
	whole := drydown.NewDrivers(p, one(96, rainy))
	first := drydown.NewDrivers(p, one(33, rainy))
	second := drydown.NewDrivers(p, one(63, func(h int) drydown.Air { return rainy(h + 33) }), first.EndFilm(0))
	for h := range calendar.Hour(96) {
		d, at := first, h
		if h >= 33 {
			d, at = second, h-33
		}
		if whole.Free(0, h) != d.Free(0, at) || whole.EMCDB(0, h) != d.EMCDB(0, at) || whole.Clear(0, h) != d.Clear(0, at) {
			t.Fatalf("hour %d differs", h)
		}
	}
}

// Two parts in a hundred at 40 % in beans at 13 % add 0.54 point: weight for weight.
func TestImmatureShareIsByWeight(t *testing.T) {
	p := params(t, crop.Soybean)
	p.ImmatureDays = 40
	p.FloorSDWB = 0.01
	f := drydown.NewStrata(p, 1, 0)
	f.SetImmature(0.02)
	d := drydown.NewDrivers(p, one(39*24, september))
	s := f.Start(0, 0, drydown.Chances{})
	for s.Stratum(0) > 13 {
		f.Run(d, 0, &s, s.At+1, nil)
	}
	ripe := s.Stratum(0)
	want := 0.02 * (40 - ripe)
	if got := f.MeanWB(&s) - ripe; math.Abs(got-want) > 0.01 {
		t.Errorf("2 %% at 40 %% add %.3f points to %.2f %%, want %.3f", got, ripe, want)
	}
	if got := f.GreenShare(&s); math.Abs(got-f.ImmatureShare) > 1e-12 {
		t.Errorf("green share %v, want %v", got, f.ImmatureShare)
	}
}

// Corn follows a line in heat units from dent at 60 % to black layer, soybean holds at R7's moisture until R7.
func TestBeforeMaturity(t *testing.T) {
	corn := params(t, crop.Corn)
	steady := func(int) drydown.Air { return drydown.Air{TempC: 20, DewC: 12, SolarWM2: 300, WindMS: 2} } // 18 heat units a day
	d := drydown.NewDrivers(corn, one(24*60, steady))
	f := drydown.NewStrata(corn, 1, 0)
	ripe := calendar.Hour(24 * 50)
	s := f.Start(0, ripe, drydown.Chances{})
	want := func(h calendar.Hour) float64 {
		short := float64(ripe-h) / 24 * 18
		return math.Min(60, corn.MatureWB+(60-corn.MatureWB)*short/corn.DentHeat)
	}
	for _, day := range []int{5, 15, 20, 30, 45, 50} {
		h := calendar.Hour(24 * day)
		f.Run(d, 0, &s, h, nil)
		if got := f.MeanWB(&s); math.Abs(got-want(h)) > 0.02 {
			t.Errorf("corn on day %d at %.3f %%, want %.3f", day, got, want(h))
		}
	}
	beyond := f.Start(0, 24*70, drydown.Chances{})
	f.Run(d, 0, &beyond, 24*60, nil)
	if got, want := f.MeanWB(&beyond), corn.MatureWB+(60-corn.MatureWB)*180/corn.DentHeat; math.Abs(got-want) > 0.02 {
		t.Errorf("black layer beyond the weather: %.3f %%, want %.3f", got, want)
	}

	beans := params(t, crop.Soybean)
	f = drydown.NewField(beans, drydown.Even)
	s = f.Start(0, 24*30, drydown.Chances{})
	f.Run(drydown.NewDrivers(beans, one(24*20, september)), 0, &s, 24*20, nil)
	if got := f.MeanWB(&s); math.Abs(got-60) > 1e-9 {
		t.Errorf("soybean ten days before R7 at %v %%, want 60", got)
	}
	if got := f.GreenShare(&s); math.Abs(got-1) > 1e-12 {
		t.Errorf("green share before R7 is %v, want 1", got)
	}
}

func TestStartAtMeetsTheMean(t *testing.T) {
	for _, k := range modelled {
		p := params(t, k)
		f := drydown.NewField(p, drydown.SomeUnevenness)
		for _, wb := range []float64{6, 13, 16, 25, 38, 58} {
			s := f.StartAt(500, wb, drydown.Chances{})
			if got := f.MeanWB(&s); s.At != 500 || math.Abs(got-wb) > 1e-9 {
				t.Errorf("%s at %v %%: got %v at hour %d", k, wb, got, s.At)
			}
		}
	}
}
