package loss_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/crop"
	"threshday/internal/core/loss"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/test/published"
)

func checkParts(r published.Row, p loss.Parts) {
	r.Check("pre", p.PrePct)
	r.Check("total", p.TotalPct())
}

func TestSoybeanLosesWhatTheTablesSay(t *testing.T) {
	published.Each(t, "soybean", func(t *testing.T, r published.Row) {
		m := loss.DefaultSoybean()
		if r.Has("poor") {
			m = m.PoorHeader()
		}
		p := m.At(loss.Stand{
			DaysRipe: r.Float("d"), Cycles: r.Float("c"), MoisturePct: r.Float("moisture"),
			LodgedPct: r.Float("lodged"), GreenPct: r.Float("green"),
		}, r.Float("k"))
		checkParts(r, p)
		r.Check("gather", p.GatherPct)
		r.Check("thresh", p.ThreshPct)
	})
}

func TestCornLosesWhatTheTablesSay(t *testing.T) {
	published.Each(t, "corn", func(t *testing.T, r published.Row) {
		m := loss.DefaultCorn()
		m.Stalk, m.Head = r.Float("stalk"), r.Float("head")
		p := m.At(loss.Stand{DaysRipe: r.Float("d20"), MoisturePct: r.Float("moisture"), LodgedPct: r.Float("lodged")}, 1)
		checkParts(r, p)
		r.Check("gather", p.GatherPct)
		r.Check("thresh", p.ThreshPct)
	})
}

func TestWheatLosesWhatTheTablesSay(t *testing.T) {
	published.Each(t, "wheat", func(t *testing.T, r published.Row) {
		m := loss.DefaultWheat()
		s := loss.Stand{DaysRipe: r.Float("d"), Wettings: r.Float("e"), MoisturePct: r.Float("moisture")}
		p := m.At(s, 1)
		checkParts(r, p)
		r.Check("gather", p.GatherPct)
		r.Check("thresh", p.ThreshPct)
		r.Check("tw_from_60", 60-m.TestWeightDropLbPerBu(s.Wettings))
	})
}

func TestTwoSlopeCropsLoseWhatTheTablesSay(t *testing.T) {
	published.Each(t, "twoslope", func(t *testing.T, r published.Row) {
		checkParts(r, model(t, r.Text("crop")).At(loss.Stand{DaysRipe: r.Float("d"), MoisturePct: 12}, r.Float("k")))
	})
}

func TestSeedsOnASquareFootMakeABushel(t *testing.T) {
	published.Each(t, "counts", func(t *testing.T, r published.Row) {
		perPound := r.Float("per_lb")
		if r.Has("tsw_g") {
			perPound = loss.SeedsPerPound(r.Float("tsw_g"))
		}
		r.Check("want", loss.SeedsPerSqFt(r.Float("lb"), perPound))
	})
}

func TestPanCountsSplitTheLoss(t *testing.T) {
	published.Each(t, "pan", func(t *testing.T, r published.Row) {
		got, doubts, err := loss.Counts{
			Ahead: r.Float("ahead"), Header: r.Float("header"), Behind: r.Float("behind"),
			Cut:     units.Length(r.Float("cut_ft")) * units.Foot,
			Spread:  units.Length(r.Float("spread_ft")) * units.Foot,
			PerSqFt: r.Float("per_sqft"),
		}.Loss()
		if err != nil || len(doubts) > 0 {
			t.Fatal(err, doubts)
		}
		r.Check("pre", got.Pre)
		r.Check("at_header", got.Header)
		r.Check("machine", got.Machine)
	})
}

func TestEarsOnTheGroundMakeABushel(t *testing.T) {
	published.Each(t, "ears", func(t *testing.T, r published.Row) {
		along, spacing := units.Length(r.Float("along_ft"))*units.Foot, units.Length(r.Float("spacing_in"))*units.Inch
		r.Check("want", loss.EarsBuPerAcre(r.Float("ears"), along, spacing))
	})
}

func TestCountsThatContradictEachOtherAreDoubted(t *testing.T) {
	c := loss.Counts{Ahead: 5, Header: 4, Behind: 3, Cut: 30 * units.Foot, Spread: 30 * units.Foot, PerSqFt: 4}
	got, doubts, err := c.Loss()
	if err != nil || len(doubts) != 2 || got.Header != 0 || got.Machine != 0 || got.Pre != 1.25 {
		t.Errorf("got %+v, %d doubts, %v", got, len(doubts), err)
	}
	c.Spread = 31 * units.Foot
	var bad *problem.InputError
	if _, _, err = c.Loss(); !errors.As(err, &bad) || bad.Label != "discharge width" {
		t.Errorf("a discharge wider than the header: %v", err)
	}
}

func TestOnlyCropsWithFiguresHaveAModel(t *testing.T) {
	for _, k := range crop.Kinds() {
		m, ok := loss.Default(k)
		limits, known := loss.DefaultThresholds(k)
		if want := k != crop.Barley && k != crop.Oats; ok != want || known != want {
			t.Errorf("%s: model %v, thresholds %v", k, ok, known)
		}
		if ok && m.RipeAtPct() != limits.RipePct {
			t.Errorf("%s ripens at %v in the model and %v in the thresholds", k, m.RipeAtPct(), limits.RipePct)
		}
	}
	if _, ok := loss.DefaultSeed(crop.Sunflower); ok {
		t.Error("sunflower has a default seed size")
	}
}

func TestParametersAreChangedByName(t *testing.T) {
	for _, k := range crop.Kinds() {
		m, ok := loss.Default(k)
		if !ok {
			continue
		}
		for i, p := range m.Params() {
			if p.Value < p.Low || p.Value > p.High || p.Key == "" || p.Unit == "" {
				t.Errorf("%s: %+v", k, p)
			}
			changed, err := m.With(p.Name, p.High)
			if err != nil || changed.Params()[i].Value != p.High || m.Params()[i].Value != p.Value {
				t.Errorf("%s: setting %s: %v", k, p.Name, err)
			}
			var bad *problem.InputError
			if _, err := m.With(p.Name, p.High+1); !errors.As(err, &bad) || bad.Rule != "loss.param.range" {
				t.Errorf("%s: %s took a value out of range: %v", k, p.Name, err)
			}
		}
		if _, err := m.With("colour", 1); err == nil {
			t.Errorf("%s has a parameter colour", k)
		}
	}
}

func TestFastDrivingCostsAtTheHeader(t *testing.T) {
	m, s := loss.DefaultSoybean(), loss.Stand{MoisturePct: 13}
	slow := m.At(s, 1).GatherPct
	s.SpeedMPH = 5.5
	if got, want := m.At(s, 1).GatherPct, slow*1.15; math.Abs(got-want) > 1e-12 {
		t.Errorf("one mph over: %v, want %v", got, want)
	}
	if got := m.At(loss.Stand{MoisturePct: 13}, 1).Overloaded(0.10).ThreshPct; math.Abs(got-1.5) > 1e-12 {
		t.Errorf("10 %% overload: thresh %v, want 1.5", got)
	}
	if got := loss.DefaultCanola().At(loss.Stand{MoisturePct: 9}, 1).Overloaded(0.05).BasePct; math.Abs(got-3.5) > 1e-12 {
		t.Errorf("5 %% overload of canola: %v, want 3.5", got)
	}
}

func TestDoubtsNameTheLimit(t *testing.T) {
	limits, _ := loss.DefaultThresholds(crop.Soybean)
	for _, c := range []struct {
		moisture, green float64
		want            int
	}{{13, 0, 0}, {19, 0, 1}, {16, 0, 0}, {16, 5, 1}, {10.5, 0, 1}, {9.5, 0, 2}} {
		if got := limits.Doubts(c.moisture, c.green); len(got) != c.want {
			t.Errorf("at %v %% with %v %% green: %q", c.moisture, c.green, got)
		}
	}
}

func model(t *testing.T, name string) loss.Model {
	t.Helper()
	k, ok := crop.Parse(name)
	if !ok {
		t.Fatalf("no crop %q", name)
	}
	m, ok := loss.Default(k)
	if !ok {
		t.Fatalf("no model of %s", name)
	}
	return m
}

var modelled = []string{"soybean", "corn", "wheat", "sorghum", "canola", "sunflower"}

func drawStand(t *rapid.T) loss.Stand {
	pct := rapid.Float64Range(0, 100)
	return loss.Stand{
		DaysRipe: rapid.Float64Range(0, 120).Draw(t, "d"), Cycles: rapid.Float64Range(0, 60).Draw(t, "c"),
		Wettings: rapid.Float64Range(0, 60).Draw(t, "e"), MoisturePct: rapid.Float64Range(5, 45).Draw(t, "m"),
		LodgedPct: pct.Draw(t, "lodged"), GreenPct: pct.Draw(t, "green"), EventsPct: pct.Draw(t, "events"),
		Gusts: float64(rapid.IntRange(0, 20).Draw(t, "gusts")), SpeedMPH: rapid.Float64Range(0, 12).Draw(t, "mph"),
	}
}

func TestLossIsAPartOfTheWhole(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := model(t, rapid.SampledFrom(modelled).Draw(rt, "crop"))
		p := m.At(drawStand(rt), rapid.Float64Range(0, 10).Draw(rt, "k")).Overloaded(rapid.Float64Range(-1, 3).Draw(rt, "over"))
		if total := p.TotalPct(); !(total >= 0 && total < 100) {
			rt.Fatalf("loss %v of %+v", total, p)
		}
		mature := rapid.Float64Range(0.1, 1e7).Draw(rt, "bushels")
		s := p.Shares()
		sum := mature*s.Tank + mature*s.Pre + mature*s.Gather + mature*s.Thresh + mature*s.Base
		if math.Abs(sum-mature) > 1e-9*mature {
			rt.Fatalf("%v bushels became %v", mature, sum)
		}
		if math.Abs(s.Tank-p.Kept()) > 1e-12 {
			rt.Fatalf("tank %v, kept %v", s.Tank, p.Kept())
		}
	})
}

func TestWithoutDelayOnlyTheMachineLoses(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := model(t, rapid.SampledFrom(modelled).Draw(rt, "crop"))
		s := drawStand(rt)
		fresh := s
		fresh.DaysRipe, fresh.Cycles, fresh.Gusts = 0, 0, 0
		if got, want := m.At(s, 0), m.At(fresh, 1); got != want {
			rt.Fatalf("k = 0: %+v, want %+v", got, want)
		}
	})
}

func TestWetterBeansShatterLessAndThreshWorse(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := loss.DefaultSoybean()
		s := drawStand(rt)
		k := rapid.Float64Range(0, 5).Draw(rt, "k")
		wetter := s
		wetter.MoisturePct += rapid.Float64Range(0, 10).Draw(rt, "more")
		a, b := m.At(s, k), m.At(wetter, k)
		if b.GatherPct > a.GatherPct || b.ThreshPct < a.ThreshPct || b.PrePct != a.PrePct {
			rt.Fatalf("wetter: %+v after %+v", b, a)
		}
		greener := s
		greener.GreenPct += rapid.Float64Range(0, 50).Draw(rt, "greener")
		if g := m.At(greener, k); g.ThreshPct < a.ThreshPct {
			rt.Fatalf("greener: %+v after %+v", g, a)
		}
	})
}

func TestMoreDelayNeverLosesLess(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := model(t, rapid.SampledFrom(modelled).Draw(rt, "crop"))
		s, k := drawStand(rt), rapid.Float64Range(0, 5).Draw(rt, "k")
		later := s
		later.DaysRipe += rapid.Float64Range(0, 30).Draw(rt, "days")
		later.Cycles += rapid.Float64Range(0, 5).Draw(rt, "cycles")
		if a, b := m.At(s, k), m.At(later, k); b.PrePct < a.PrePct || b.TotalPct() < a.TotalPct()-1e-9 {
			rt.Fatalf("later %+v, before %+v", b, a)
		}
	})
}

func TestStrataMixByWeight(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := model(t, rapid.SampledFrom(modelled).Draw(rt, "crop"))
		s := drawStand(rt)
		p := m.At(s, 1)
		w := rapid.Float64Range(0.01, 10).Draw(rt, "weight")
		one, m1 := loss.Mix([]loss.Stratum{{w, s.MoisturePct, p}})
		two, m2 := loss.Mix([]loss.Stratum{{w, s.MoisturePct, p}, {w, s.MoisturePct, p}})
		plain := p.Shares()
		for _, got := range []loss.Shares{one, two} {
			if math.Abs(got.Tank-plain.Tank) > 1e-12 || math.Abs(got.Pre-plain.Pre) > 1e-12 || math.Abs(got.Gather-plain.Gather) > 1e-12 {
				rt.Fatalf("mixed %+v, plain %+v", got, plain)
			}
		}
		if math.Abs(m1-s.MoisturePct) > 1e-9 || math.Abs(m2-s.MoisturePct) > 1e-9 {
			rt.Fatalf("moisture %v and %v, want %v", m1, m2, s.MoisturePct)
		}
	})
}

func TestAMixIsNotTheLossOfItsMean(t *testing.T) {
	m := loss.DefaultSoybean()
	at := func(pct float64) loss.Parts { return m.At(loss.Stand{MoisturePct: pct}, 1) }
	mixed, moisture := loss.Mix([]loss.Stratum{{1, 9, at(9)}, {1, 21, at(21)}})
	if moisture <= 9 || moisture >= 21 {
		t.Errorf("mixed moisture %v", moisture)
	}
	if mean := at(15).Kept(); mixed.Tank >= mean-0.01 {
		t.Errorf("mixed keeps %v, the mean moisture %v", mixed.Tank, mean)
	}
}

func TestTheBandHoldsTheMedian(t *testing.T) {
	spread := loss.DefaultSpread()
	for _, name := range modelled {
		lo, mid, hi := spread.Band(model(t, name), loss.Stand{DaysRipe: 20, Cycles: 5, MoisturePct: 12})
		if !(lo.TotalPct() < mid.TotalPct() && mid.TotalPct() < hi.TotalPct()) {
			t.Errorf("%s: %v, %v, %v", name, lo, mid, hi)
		}
	}
	if got := spread.Factor(0, 0); got != 1 {
		t.Errorf("median factor %v", got)
	}
	if got, want := spread.Factor(math.Sqrt(0.3), math.Sqrt(0.7)), 1.8; math.Abs(got-want) > 1e-12 {
		t.Errorf("one SD up: %v, want %v", got, want)
	}
}

func TestACountReplacesThePrior(t *testing.T) {
	m, s := loss.DefaultSoybean(), loss.Stand{DaysRipe: 14, Cycles: 3, MoisturePct: 12}
	k, ok := loss.FactorFromCount(m, s, m.At(s, 1.7).PrePct)
	if !ok || math.Abs(k-1.7) > 1e-12 {
		t.Errorf("k from a count %v, %v", k, ok)
	}
	if _, ok := loss.FactorFromCount(m, loss.Stand{MoisturePct: 13}, 1); ok {
		t.Error("a count on the ripe day gave a factor")
	}
	prior := loss.DefaultSpread()
	if got := prior.Given(1.7, 1); math.Abs(got.Median-1.7) > 1e-12 || got.GSD != 1 {
		t.Errorf("certain count: %+v", got)
	}
	half := prior.Given(4, 1.8) // as wide as the prior: half way in logs
	if math.Abs(half.Median-2) > 1e-12 || half.GSD >= prior.GSD {
		t.Errorf("count as wide as the prior: %+v", half)
	}
}
