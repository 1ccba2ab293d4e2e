package drydown

import (
	"math"
	"testing"
)

func TestDecayIsTheExponential(t *testing.T) {
	worst := 0.0
	for i := range 200_000 {
		x := math.Exp(float64(i)/200_000*27 - 20.5) // 1e-9 to 665
		got, want := decay(x), math.Exp(-x)
		worst = max(worst, math.Abs(got-want)/want)
	}
	if worst > 1e-13 {
		t.Errorf("worst relative error %.2g", worst)
	}
	for _, x := range []float64{0, math.Ln2 / 32, math.Ln2, 3.2, 699, 700, 746, math.Inf(1)} {
		if got, want := decay(x), math.Exp(-x); math.Abs(got-want) > 1e-13*want {
			t.Errorf("decay(%v) = %v, want %v", x, got, want)
		}
	}
	if !math.IsNaN(decay(math.NaN())) {
		t.Error("decay of NaN is a number")
	}
	t.Logf("worst relative error %.2g", worst)
}

var sink float64

func BenchmarkDecay(b *testing.B) {
	x := 0.001
	for b.Loop() {
		x = 0.01 + 0.5*decay(x)
	}
	sink = x
}

func BenchmarkExp(b *testing.B) {
	x := 0.001
	for b.Loop() {
		x = 0.01 + 0.5*math.Exp(-x)
	}
	sink = x
}
