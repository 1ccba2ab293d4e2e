package moisture_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/crop"
	"threshday/internal/core/moisture"
	"threshday/internal/core/units"
	"threshday/test/published"
)

// temperature reads "50 F" or "21.1 C".
func temperature(t *testing.T, s string) units.Temperature {
	t.Helper()
	number, unit, _ := strings.Cut(s, " ")
	x, err := strconv.ParseFloat(number, 64)
	if err != nil {
		t.Fatal(err)
	}
	if unit == "F" {
		return units.Fahrenheit(x)
	}
	return units.Celsius(x)
}

func TestEquilibriumMatchesPublishedTables(t *testing.T) {
	published.Each(t, "equilibrium", func(t *testing.T, r published.Row) {
		k, ok := crop.Parse(r.Text("crop"))
		class, known := crop.ParseWheatClass(r.Text("class"))
		if !ok || !known {
			t.Fatal("no such crop")
		}
		for _, curve := range moisture.Isotherms(k, class) {
			if curve.Form.String()+" "+curve.Key == r.Text("curve") {
				got := curve.Equilibrium(temperature(t, r.Text("air")), r.Float("rh_pct")/100)
				r.Check("want", got.WetBasisPct())
				return
			}
		}
		t.Fatal("no such curve")
	})
}

// allIsotherms lists every curve of every crop and class.
func allIsotherms() []moisture.Isotherm {
	var out []moisture.Isotherm
	for _, k := range crop.Kinds() {
		out = append(out, moisture.Isotherms(k, crop.AnyWheat)...)
	}
	for _, class := range crop.WheatClasses() {
		out = append(out, moisture.Isotherms(crop.Wheat, class)...)
	}
	return out
}

func TestEveryCropHasACurveWithASource(t *testing.T) {
	for _, k := range crop.Kinds() {
		all := moisture.Isotherms(k, crop.AnyWheat)
		if len(all) == 0 {
			t.Errorf("%s has no isotherm", k)
		}
		best, ok := moisture.Recommended(k, crop.AnyWheat)
		if ok == (k == crop.Barley) {
			t.Errorf("%s: recommended %v", k, ok)
		}
		if ok && best != all[0] {
			t.Errorf("%s: the recommended curve does not stand first", k)
		}
	}
	for _, one := range allIsotherms() {
		if one.Key == "" || one.Note == "" {
			t.Errorf("isotherm without source or note: %+v", one)
		}
	}
	if _, ok := moisture.Recommended(crop.Unknown, crop.AnyWheat); ok {
		t.Error("no crop has a recommended isotherm")
	}
}

func TestWheatClassChoosesTheKernel(t *testing.T) {
	want := map[crop.WheatClass]moisture.Form{
		crop.AnyWheat: moisture.ChungPfost, crop.HRW: moisture.ChungPfost, crop.HRS: moisture.ChungPfost,
		crop.HDWH: moisture.ChungPfost, crop.SRW: moisture.Henderson, crop.SWH: moisture.Henderson,
		crop.DU: moisture.Oswin,
	}
	for class, form := range want {
		got, ok := moisture.Recommended(crop.Wheat, class)
		if !ok || got.Form != form {
			t.Errorf("wheat %q: got %v, want %v", class, got.Form, form)
		}
	}
	assumed, _ := moisture.Recommended(crop.Wheat, crop.AnyWheat)
	if !strings.Contains(assumed.Note, "assumed") {
		t.Errorf("wheat of no class is taken for hard without saying so: %q", assumed.Note)
	}
}

// The older constants of corn are a rewriting of M = E − F·ln[−(T+C)·ln h], M in decimals. [emc-sensor-decimal]
func TestOlderCornIsTheDecimalFormRewritten(t *testing.T) {
	const e, f, c = 0.33872, 0.05897, 30.205
	old := moisture.Isotherms(crop.Corn, crop.AnyWheat)[2]
	for _, air := range []struct{ t, rh float64 }{{5, 0.3}, {15, 0.6}, {25, 0.8}, {35, 0.5}} {
		want := 100 * (e - f*math.Log(-(air.t+c)*math.Log(air.rh)))
		if got := old.DryBasisPct(air.t, air.rh); math.Abs(got-want) > 0.01 {
			t.Errorf("%v: got %.4f, want %.4f %% dry", air, got, want)
		}
	}
}

func TestHardWheatCurvesAgreeInTheStorageRange(t *testing.T) {
	all := moisture.Isotherms(crop.Wheat, crop.HRW)
	for rh := 0.50; rh <= 0.801; rh += 0.05 {
		first := all[0].Equilibrium(units.Celsius(20), rh).WetBasisPct()
		older := all[2].Equilibrium(units.Celsius(20), rh).WetBasisPct()
		if math.Abs(first-older) > 0.5 {
			t.Errorf("at %.2f the hard wheats lie %.2f and %.2f", rh, first, older)
		}
	}
}

func TestHumidityUndoesEquilibrium(t *testing.T) {
	all := allIsotherms()
	rapid.Check(t, func(t *rapid.T) {
		curve := rapid.SampledFrom(all).Draw(t, "curve")
		tc := rapid.Float64Range(-25, 60).Draw(t, "celsius")
		rh := rapid.Float64Range(0.2, 0.95).Draw(t, "rh")
		air := units.Celsius(tc)
		if back := curve.Humidity(air, curve.Equilibrium(air, rh)); math.Abs(back-rh) > 1e-9 {
			t.Fatalf("%v: %.6f comes back as %.6f", curve.Form, rh, back)
		}
	})
}

func TestGrainIsWetterInDamperAndColderAir(t *testing.T) {
	all := allIsotherms()
	rapid.Check(t, func(t *rapid.T) {
		curve := rapid.SampledFrom(all).Draw(t, "curve")
		tc := rapid.Float64Range(-20, 50).Draw(t, "celsius")
		rh := rapid.Float64Range(0.2, 0.9).Draw(t, "rh")
		here := curve.DryBasisPct(tc, rh)
		if damper := curve.DryBasisPct(tc, rh+0.01); damper <= here {
			t.Fatalf("%v: damper air gives %.4f after %.4f", curve.Form, damper, here)
		}
		if warmer := curve.DryBasisPct(tc+1, rh); warmer >= here {
			t.Fatalf("%v: warmer air gives %.4f after %.4f", curve.Form, warmer, here)
		}
	})
}

func TestTypedExtremesAreHeldAndNeverRunAway(t *testing.T) {
	for _, curve := range allIsotherms() {
		for _, tc := range []float64{-273, -60, -40.1, -31.7, -25, 0, 60, 200} {
			for _, rh := range []float64{0, 0.01, 0.5, 0.99, 1} {
				got := curve.DryBasisPct(tc, rh)
				if !(got >= 0.5) || math.IsInf(got, 0) {
					t.Errorf("%v at %g °C, %g: %g %% dry", curve.Form, tc, rh, got)
				}
			}
		}
		same(t, curve, -25, 0.5, -60, 0.5)
		same(t, curve, 20, 0.01, 20, 0)
		same(t, curve, 20, 0.99, 20, 1)
		dry := curve.Humidity(units.Celsius(20), moisture.WetBasis(0))
		if !(dry >= 0 && dry < 0.2) {
			t.Errorf("%v: air over bone-dry grain is at %g", curve.Form, dry)
		}
	}
}

// same checks that two airs give one answer because the second is held at the first.
func same(t *testing.T, curve moisture.Isotherm, t1, rh1, t2, rh2 float64) {
	t.Helper()
	if a, b := curve.DryBasisPct(t1, rh1), curve.DryBasisPct(t2, rh2); a != b {
		t.Errorf("%v: %g °C, %g is not held at %g °C, %g: %g, %g", curve.Form, t2, rh2, t1, rh1, b, a)
	}
}

func TestMisuseOfAnIsothermPanics(t *testing.T) {
	corn, _ := moisture.Recommended(crop.Corn, crop.AnyWheat)
	mustPanic(t, "a percent for a fraction", func() { corn.Equilibrium(units.Celsius(20), 60) })
	mustPanic(t, "no number", func() { corn.Equilibrium(units.Celsius(20), math.NaN()) })
	mustPanic(t, "more water than grain", func() { corn.Humidity(units.Celsius(20), moisture.WetBasis(100)) })
	mustPanic(t, "no form", func() { moisture.Isotherm{}.DryBasisPct(20, 0.5) })
	mustPanic(t, "no form", func() { moisture.Isotherm{}.Humidity(units.Celsius(20), moisture.WetBasis(14)) })
}

func mustPanic(t *testing.T, why string, f func()) {
	t.Helper()
	defer func() {
		if recover() == nil {
			t.Errorf("%s does not panic", why)
		}
	}()
	f()
}

func ExampleIsotherm_Equilibrium() {
	soybean, _ := moisture.Recommended(crop.Soybean, crop.AnyWheat)
	for _, rh := range []float64{0.80, 0.90} {
		m := soybean.Equilibrium(units.Fahrenheit(60), rh)
		fmt.Printf("%.0f %% air holds soybeans at %.1f %%\n", 100*rh, m.WetBasisPct())
	}
	// Output:
	// 80 % air holds soybeans at 18.3 %
	// 90 % air holds soybeans at 27.8 %
}

func ExampleIsotherm_Humidity() {
	corn, _ := moisture.Recommended(crop.Corn, crop.AnyWheat)
	rh := corn.Humidity(units.Fahrenheit(60), moisture.WetBasis(16.1))
	fmt.Printf("air between kernels at 16.1 %% stands at %.0f %%\n", 100*rh)
	// Output: air between kernels at 16.1 % stands at 80 %
}

func BenchmarkDryBasisPct(b *testing.B) {
	for _, curve := range []struct {
		k     crop.Kind
		class crop.WheatClass
	}{{crop.Soybean, 0}, {crop.Canola, 0}, {crop.Corn, 0}, {crop.Wheat, crop.DU}} {
		one, _ := moisture.Recommended(curve.k, curve.class)
		b.Run(one.Form.String(), func(b *testing.B) {
			b.ReportAllocs()
			var sum float64
			rh := 0.3
			for b.Loop() {
				sum += one.DryBasisPct(15, rh)
				rh = 1 - rh
			}
			if math.IsNaN(sum) {
				b.Fatal("no number")
			}
		})
	}
}
