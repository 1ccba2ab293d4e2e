package moisture_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/crop"
	"threshday/internal/core/moisture"
	"threshday/internal/core/units"
	"threshday/test/published"
)

func TestBasesMatchTheConversionTable(t *testing.T) {
	published.Each(t, "basis", func(t *testing.T, r published.Row) {
		r.Check("want", moisture.WetBasis(r.Float("wet")).DryBasisPct())
	})
}

func TestWeightsMatchPublishedTables(t *testing.T) {
	published.Each(t, "weight", func(t *testing.T, r published.Row) {
		to := moisture.WetBasis(r.Float("to"))
		from := moisture.WetBasis(r.Float("from"))
		switch r.Text("quantity") {
		case "factor":
			r.Check("want", moisture.FactorPctPerPoint(to))
		case "water":
			r.Check("want", moisture.WaterShrinkPct(from, to))
		case "total":
			r.Check("want", moisture.TotalShrinkPct(from, to, r.Float("extra")))
		case "handling-in-factor":
			r.Check("want", moisture.HandlingInFactorPct(from, to, r.Float("extra")))
		case "overdry":
			r.Check("want", moisture.OverDryLostPct(from, to))
		case "corn-bushel-lb": // what a standard bushel of corn weighs while still wet
			r.Check("want", moisture.AtMoisture(56*units.Pound, from, to).Pounds())
		case "soybean-bushels-60": // wet bushels that 60 dry ones are before they dry
			wet, ok := moisture.BushelsAtBase(crop.Soybean, 60*60*units.Pound, from, to)
			if !ok {
				t.Error("soybeans have a bushel")
			}
			r.Check("want", wet)
		default:
			t.Fatal("no such quantity")
		}
	})
}

func content(t *rapid.T, name string) moisture.Content {
	return moisture.WetBasis(rapid.Float64Range(0, 60).Draw(t, name))
}

func TestDryMatterIsConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from, to := content(t, "from"), content(t, "to")
		wet := units.Mass(rapid.Float64Range(1, 1e6).Draw(t, "kg"))
		after := moisture.AtMoisture(wet, from, to)
		near(t, "dry matter", after.Kilograms()*to.DryMatter(), wet.Kilograms()*from.DryMatter())
		near(t, "there and back", moisture.AtMoisture(after, to, from).Kilograms(), wet.Kilograms())
	})
}

func TestShrinkIsTheWeightThatLeaves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from, to := content(t, "from"), content(t, "to")
		left := moisture.AtMoisture(100*units.Kilogram, from, to).Kilograms()
		near(t, "shrink", 100-moisture.WaterShrinkPct(from, to), left)
		points := from.WetBasisPct() - to.WetBasisPct()
		near(t, "factor times points", moisture.FactorPctPerPoint(to)*points, moisture.WaterShrinkPct(from, to))
		near(t, "handling", moisture.TotalShrinkPct(from, to, 0.5)-moisture.WaterShrinkPct(from, to), 0.5)
		near(t, "no handling in the exact factor",
			moisture.HandlingInFactorPct(from, to, moisture.FactorPctPerPoint(to)), 0)
	})
}

func TestOverDryGrainLosesWhatItWouldWeighAtTheBase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sold, base := content(t, "sold"), content(t, "base")
		lost := moisture.OverDryLostPct(sold, base)
		if sold.WetBasisPct() >= base.WetBasisPct() {
			near(t, "nothing lost above the base", lost, 0)
			return
		}
		atBase := moisture.AtMoisture(100*units.Kilogram, sold, base).Kilograms()
		near(t, "lost", lost, 100*(atBase-100)/atBase)
	})
}

func TestBasesUndoEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := content(t, "m")
		near(t, "dry and back", moisture.DryBasis(m.DryBasisPct()).WetBasisPct(), m.WetBasisPct())
		near(t, "water on dry matter", 100*(1-m.DryMatter())/m.DryMatter(), m.DryBasisPct())
	})
}

// near fails unless got and want agree to nine digits.
func near(t *rapid.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*max(1, math.Abs(want)) {
		t.Fatalf("%s: got %.12g, want %.12g", what, got, want)
	}
}

func TestSunflowerHasNoBushelAtAnyBase(t *testing.T) {
	_, ok := moisture.BushelsAtBase(crop.Sunflower, units.Tonne, moisture.WetBasis(12), moisture.WetBasis(10))
	if ok {
		t.Error("sunflower is sold by the hundredweight")
	}
}

func TestImpossibleMoistureHasNoWeight(t *testing.T) {
	good := moisture.WetBasis(15)
	for _, bad := range []moisture.Content{moisture.WetBasis(100), moisture.WetBasis(-1), moisture.WetBasis(math.NaN())} {
		mustPanic(t, "AtMoisture", func() { moisture.AtMoisture(1, bad, good) })
		mustPanic(t, "AtMoisture", func() { moisture.AtMoisture(1, good, bad) })
		mustPanic(t, "WaterShrinkPct", func() { moisture.WaterShrinkPct(bad, good) })
		mustPanic(t, "FactorPctPerPoint", func() { moisture.FactorPctPerPoint(bad) })
		mustPanic(t, "OverDryLostPct", func() { moisture.OverDryLostPct(bad, good) })
	}
}

func ExampleAtMoisture() {
	wet := 50_000 * units.Pound
	dry := moisture.AtMoisture(wet, moisture.WetBasis(16.5), moisture.WetBasis(13))
	fmt.Printf("%.0f lb\n", dry.Pounds())
	// Output: 47989 lb
}

// A field of 75 bu/ac cut at 9 % and sold at $9 a bushel by a price for 13 %. [unl-cropwatch-overdry]
func ExampleOverDryLostPct() {
	lost := 75 * moisture.OverDryLostPct(moisture.WetBasis(9), moisture.WetBasis(13)) / 100
	fmt.Printf("%.1f bu, $%.2f an acre\n", lost, 9*lost)
	// Output: 3.3 bu, $29.67 an acre
}

// Sixty bushels an acre sold at 11 % by a price of $8.50 for 13 %; the publication rounds on the way and
// prints $11.48. [unl-dorn-2009]
func ExampleOverDryLostPct_elevenPercent() {
	lost := 60 * moisture.OverDryLostPct(moisture.WetBasis(11), moisture.WetBasis(13)) / 100
	fmt.Printf("$%.2f an acre\n", 8.50*lost)
	// Output: $11.46 an acre
}
