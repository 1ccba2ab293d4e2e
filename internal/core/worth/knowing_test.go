package worth_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/worth"
)

// evenly returns n members whose moisture is normal around 15 with a spread of 2.
func evenly(n int) (moisture, z []float64) {
	for i := range n {
		x := math.Sqrt2 * math.Erfinv((2*float64(i)+1)/float64(n)-1)
		moisture, z = append(moisture, 15+2*x), append(z, x)
	}
	return moisture, z
}

// Two choices: one is sure, the other loses 100 in its mean and gains or loses 100/u a standard deviation. What is worth knowing
// is 100/u times the unit normal loss integral at u; half of the variance known puts u·√2 in its place. [raiffa-schlaifer-1961]
func TestALookAtTwoChoicesIsTheLossIntegral(t *testing.T) {
	moisture, z := evenly(2000)
	for _, row := range []struct{ u, integral float64 }{{0.5, 0.1978}, {1, 0.08332}, {1.5, 0.02931}, {2, 0.008491}} {
		slope := 100 / row.u
		usd := [][]float64{make([]float64, len(z)), make([]float64, len(z))}
		for m := range z {
			usd[1][m] = slope*z[m] - 100
		}
		k := worth.NewKnowing(moisture, usd)
		if got, _ := k.Worth(1); math.Abs(got-slope*row.integral) > 0.01*slope*row.integral+0.001*slope {
			t.Errorf("u = %g: worth %.3f, want %.3f", row.u, got, slope*row.integral)
		}
		flatter := make([]float64, len(z))
		for m := range z {
			flatter[m] = slope*math.Sqrt(0.5)*z[m] - 100
		}
		a, _ := k.Worth(0.5)
		b, _ := worth.NewKnowing(moisture, [][]float64{usd[0], flatter}).Worth(1)
		if math.Abs(a-b) > 1e-6 {
			t.Errorf("u = %g: half of the variance is worth %.4f, a line of √½ the slope %.4f", row.u, a, b)
		}
	}
}

// A farmer who does what the readings say, played out: truths and readings are drawn, three choices cross twice, the decision
// is the best at the expected truth. What he gains over never looking is what the look was said to be worth.
func TestALookIsWorthWhatPlayingItOutEarns(t *testing.T) {
	moisture, z := evenly(1000)
	earn := func(d int, x float64) float64 { return []float64{0, 60*x - 20, -90*x - 70}[d] }
	usd := make([][]float64, 3)
	for d := range usd {
		for m := range z {
			usd[d] = append(usd[d], earn(d, z[m])+300*math.Sin(float64(7919*m))) // the same weather in all choices
		}
	}
	const tells = 0.6
	noise := math.Sqrt((1 - tells) / tells)
	var sum float64
	const n = 1000
	for i := range n {
		for j := range n / 10 {
			x := math.Sqrt2 * math.Erfinv((2*float64(i)+1)/n-1)
			e := math.Sqrt2 * math.Erfinv((2*float64(j)+1)/(n/10)-1)
			expected := tells * (x + noise*e)
			best := 0
			for d := range 3 {
				if earn(d, expected) > earn(best, expected) {
					best = d
				}
			}
			sum += earn(best, x)
		}
	}
	want := sum / n / (n / 10)
	got, se := worth.NewKnowing(moisture, usd).Worth(tells)
	if math.Abs(got-want) > 0.02*want || se > 0.1*want {
		t.Errorf("worth %.2f give or take %.2f, playing it out earns %.2f", got, se, want)
	}
}

// Nothing hangs on the moisture: whatever a hundred weathers say by chance, nothing is offered for a look.
func TestNoiseIsWorthNothing(t *testing.T) {
	var mean, blunt float64
	for seed := range 50 {
		moisture, _ := evenly(100)
		usd := make([][]float64, 4)
		for d := range usd {
			for m := range moisture {
				usd[d] = append(usd[d], 1000*math.Sin(float64(12345*seed+977*d+31*m*m)))
			}
		}
		k := worth.NewKnowing(moisture, usd)
		got, _ := k.Worth(0.8)
		mean, blunt = mean+got/50, blunt+k.AtMost(0.8)/50
	}
	if mean > 20 || mean > 0.5*blunt { // two in a hundred of what the weather makes of it
		t.Errorf("a look is worth %.1f by chance, %.1f with slopes as they come", mean, blunt)
	}
}

func TestKnowingMoreIsNeverWorthLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(10, 60).Draw(t, "members")
		draw := func(label string) []float64 {
			return rapid.SliceOfN(rapid.Float64Range(-1000, 1000), n, n).Draw(t, label)
		}
		k := worth.NewKnowing(draw("moisture"), [][]float64{draw("a"), draw("b"), draw("c")})
		last := -1e-9
		for i := range 11 {
			usd, _ := k.Worth(float64(i) / 10)
			if usd < last-1e-9 || math.IsNaN(usd) {
				t.Fatalf("worth %v at %d tenths, %v before", usd, i, last)
			}
			last = usd
		}
		if first, _ := k.Worth(0); first > 1e-9 {
			t.Fatalf("a look that tells nothing is worth %v", first)
		}
	})
}
