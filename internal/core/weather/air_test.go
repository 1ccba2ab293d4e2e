package weather_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/units"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

// dewAt returns the dew point of air of tC °C and relative humidity rh.
func dewAt(tC, rh float64) float64 { return weather.DewPointC(weather.VaporKPa(tC, rh)) }

func TestAirMatchesPublishedValues(t *testing.T) {
	published.Each(t, "air", func(t *testing.T, r published.Row) {
		a, b, c := r.Float("a"), r.Float("b"), r.Float("c")
		switch r.Text("quantity") {
		case "saturation":
			r.Check("want", weather.SaturationKPa(a))
		case "vapor":
			r.Check("want", weather.VaporKPa(a, b))
		case "dew":
			r.Check("want", dewAt(a, b))
		case "deficit":
			r.Check("want", weather.VaporDeficitKPa(a, dewAt(a, b)))
		case "humidity":
			r.Check("want", weather.RelativeHumidity(a, b))
		case "wet-bulb":
			r.Check("want", weather.WetBulbC(a, dewAt(a, b), c))
		case "pressure":
			r.Check("want", weather.PressureKPa(units.Length(a)*units.Meter))
		case "wind":
			got := weather.WindAt2m(units.Speed(a)*units.MeterPerSecond, units.Length(b)*units.Meter)
			r.Check("want", got.MetersPerSecond())
		case "solar":
			r.Check("want", weather.SolarFromPPFD(a))
		default:
			t.Fatal("no such quantity")
		}
	})
}

// hylandWexlerKPa is the reference formula over water, 0 to 200 °C. [ashrae-2017] eq. 6
func hylandWexlerKPa(tC float64) float64 {
	k := tC + 273.15
	return math.Exp(-5800.2206/k+1.3914993-0.048640239*k+4.1764768e-5*k*k-1.4452093e-8*k*k*k+6.5459673*math.Log(k)) / 1000
}

func TestSaturationStaysWithTheReferenceFormula(t *testing.T) {
	if got := hylandWexlerKPa(25); math.Abs(got-3.1697) > 0.001 {
		t.Fatalf("the reference itself gives %.5f kPa at 25 °C, printed 3.1697", got)
	}
	for tC := 0.0; tC <= 40; tC++ {
		want := hylandWexlerKPa(tC)
		if got := weather.SaturationKPa(tC); math.Abs(got/want-1) > 0.0012 {
			t.Errorf("%g °C: got %.5f kPa, reference %.5f", tC, got, want)
		}
	}
}

func TestDewPointUndoesHumidity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tC := rapid.Float64Range(-40, 55).Draw(t, "celsius")
		rh := rapid.Float64Range(0.02, 1).Draw(t, "rh")
		dew := dewAt(tC, rh)
		if dew > tC+1e-9 {
			t.Fatalf("dew point %.6f above the air's %.6f", dew, tC)
		}
		if back := weather.RelativeHumidity(tC, dew); math.Abs(back-rh) > 1e-9 {
			t.Fatalf("%.9f comes back as %.9f", rh, back)
		}
		deficit, e := weather.VaporDeficitKPa(tC, dew), weather.VaporKPa(tC, rh)
		if math.Abs(deficit+e-weather.SaturationKPa(tC)) > 1e-9 {
			t.Fatalf("deficit %.9f and vapor %.9f do not fill saturation", deficit, e)
		}
	})
}

func TestWetBulbLiesBetweenDewPointAndAir(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tC := rapid.Float64Range(-20, 50).Draw(t, "celsius")
		rh := rapid.Float64Range(0.05, 1).Draw(t, "rh")
		p := rapid.Float64Range(70, 105).Draw(t, "kPa")
		dew := dewAt(tC, rh)
		tw := weather.WetBulbC(tC, dew, p)
		if tw < dew-1e-6 || tw > tC+1e-6 {
			t.Fatalf("wet bulb %.4f outside %.4f to %.4f", tw, dew, tC)
		}
		gamma := 6.53e-4 * (1 + 0.000944*tw) * p
		if left := weather.SaturationKPa(tw) - gamma*(tC-tw) - weather.VaporKPa(tC, rh); math.Abs(left) > 1e-8 {
			t.Fatalf("psychrometer equation misses by %g kPa", left)
		}
		if thinner := weather.WetBulbC(tC, dew, p-5); thinner > tw+1e-9 {
			t.Fatalf("thinner air has a warmer wet bulb: %.6f after %.6f", thinner, tw)
		}
	})
}

func TestDewAboveTheAirCountsAsSaturated(t *testing.T) {
	if got := weather.RelativeHumidity(10, 11); got != 1 {
		t.Errorf("relative humidity %g", got)
	}
	if got := weather.VaporDeficitKPa(10, 11); got != 0 {
		t.Errorf("deficit %g", got)
	}
	if got := weather.WetBulbC(10, 11, 100); math.Abs(got-10) > 1e-9 {
		t.Errorf("wet bulb %g", got)
	}
}

func TestAirWithoutAnAnswerPanics(t *testing.T) {
	mustPanic(t, "dew point of no vapor", func() { weather.DewPointC(0) })
	mustPanic(t, "wind at the ground", func() { weather.WindAt2m(3, 0.1*units.Meter) })
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

// Worked example 5: the day's vapor pressure from its extremes of temperature and humidity. [fao-56] eq. 17
func ExampleVaporKPa() {
	morning := weather.VaporKPa(18, 0.82)
	afternoon := weather.VaporKPa(25, 0.54)
	fmt.Printf("%.2f kPa\n", (morning+afternoon)/2)
	// Output: 1.70 kPa
}

// Wind of 3.2 m/s at 10 m is 2.4 m/s at 2 m. [fao-56] eq. 47
func ExampleWindAt2m() {
	u := weather.WindAt2m(3.2*units.MeterPerSecond, 10*units.Meter)
	fmt.Printf("%.1f m/s\n", u.MetersPerSecond())
	// Output: 2.4 m/s
}

func BenchmarkSaturationKPa(b *testing.B) {
	b.ReportAllocs()
	var sum float64
	tC := 10.0
	for b.Loop() {
		sum += weather.SaturationKPa(tC)
		tC = 30 - tC
	}
	if math.IsNaN(sum) {
		b.Fatal("no number")
	}
}

func BenchmarkWetBulbC(b *testing.B) {
	b.ReportAllocs()
	var sum float64
	for b.Loop() {
		sum += weather.WetBulbC(20, 9.3, 98)
	}
	if math.IsNaN(sum) {
		b.Fatal("no number")
	}
}
