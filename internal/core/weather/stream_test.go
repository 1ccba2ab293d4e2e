package weather

import (
	"math"
	"testing"

	"threshday/internal/core/calendar"
)

// Known answers of Philox4x64-10 as published with the reference implementation. [salmon-2011]
func TestPhiloxGivesThePublishedAnswers(t *testing.T) {
	const all = math.MaxUint64
	for _, row := range []struct {
		counter [4]uint64
		key     [2]uint64
		want    [4]uint64
	}{
		{want: [4]uint64{0x16554d9eca36314c, 0xdb20fe9d672d0fdc, 0xd7e772cee186176b, 0x7e68b68aec7ba23b}},
		{
			[4]uint64{all, all, all, all},
			[2]uint64{all, all},
			[4]uint64{0x87b092c3013fe90b, 0x438c3c67be8d0224, 0x9cc7d7c69cd777b6, 0xa09caebf594f0ba0},
		},
		{
			[4]uint64{0x243f6a8885a308d3, 0x13198a2e03707344, 0xa4093822299f31d0, 0x082efa98ec4e6c89},
			[2]uint64{0x452821e638d01377, 0xbe5466cf34e90c6c},
			[4]uint64{0xa528f45403e61d95, 0x38c72dbd566e9788, 0xa5a1610e72fd18b5, 0x57bd43b5e52b7fe6},
		},
	} {
		if got := philox(row.counter, row.key); got != row.want {
			t.Errorf("counter %x key %x: got %x, want %x [salmon-2011]", row.counter, row.key, got, row.want)
		}
	}
}

var anyDay = calendar.MustDay("2026-10-03")

func TestStreamDependsOnNothingButItsFour(t *testing.T) {
	root := [32]byte{1, 2, 3}
	first := func(root [32]byte, member int, day calendar.Day, p Purpose) uint64 {
		s := NewStream(root, member, day, p)
		return s.Uint64()
	}
	want := first(root, 7, anyDay, rainHours)
	if got := first(root, 7, anyDay, rainHours); got != want {
		t.Fatalf("same four: got %x, then %x", want, got)
	}
	late := root
	late[31] = 9
	for name, got := range map[string]uint64{
		"member":        first(root, 8, anyDay, rainHours),
		"day":           first(root, 7, anyDay.AddDays(1), rainHours),
		"purpose":       first(root, 7, anyDay, rainAmount),
		"last of root":  first(late, 7, anyDay, rainHours),
		"member as day": first(root, 7+1<<20, anyDay, rainHours),
	} {
		if got == want {
			t.Errorf("another %s gives the same number", name)
		}
	}
}

// The first number of each of many streams, not many numbers of one: that is how they are used.
func firsts(n int, draw func(*Stream) float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		s := NewStream([32]byte{42}, i%500, anyDay.AddDays(i/500), rainHours)
		out[i] = draw(&s)
	}
	return out
}

func TestStreamsAreUniformAndUnrelated(t *testing.T) {
	const n, cells = 100_000, 100
	u := firsts(n, (*Stream).Uniform)
	var count [cells]float64
	var lag, sum float64
	for i, x := range u {
		if x <= 0 || x >= 1 {
			t.Fatalf("uniform %v outside (0, 1)", x)
		}
		count[int(x*cells)]++
		sum += x - 0.5
		if i > 0 {
			lag += (x - 0.5) * (u[i-1] - 0.5)
		}
	}
	var chi2 float64
	for _, c := range count {
		chi2 += (c - n/cells) * (c - n/cells) / (n / cells)
	}
	// Chi-square, 99 degrees of freedom: 99.9 % lies below 148.2, from memory.
	if chi2 > 148.2 {
		t.Errorf("chi-square of %d cells %.1f", cells, chi2)
	}
	if mean := sum / n * math.Sqrt(12*n); math.Abs(mean) > 3.5 {
		t.Errorf("mean is %.2f standard errors off a half", mean)
	}
	if r := lag / n * 12 * math.Sqrt(n); math.Abs(r) > 3.5 {
		t.Errorf("correlation of neighbouring members is %.2f standard errors", r)
	}
}

func TestNormalQuantilesArePublishedOnes(t *testing.T) {
	z := firsts(200_000, (*Stream).Normal)
	var m, v float64
	below := 0
	for _, x := range z {
		m += x
		v += x * x
		if x < -1.644853627 { // the 5 % point, tables of the normal distribution
			below++
		}
	}
	n := float64(len(z))
	if m/n > 0.008 || m/n < -0.008 || math.Abs(v/n-1) > 0.011 {
		t.Errorf("mean %.4f variance %.4f", m/n, v/n)
	}
	if share := float64(below) / n; math.Abs(share-0.05) > 0.0018 {
		t.Errorf("share below the 5 %% point %.4f", share)
	}
}

func TestGammaQuantilesArePublishedOnes(t *testing.T) {
	const n = 200_000
	for _, row := range []struct {
		shape, point, below float64
		source              string
	}{
		{0.5, 3.841459 / 2, 0.95, "chi-square, 1 degree of freedom, printed tables"},
		{1, 5.991465 / 2, 0.95, "chi-square, 2 degrees of freedom, printed tables"},
		{2, 9.487729 / 2, 0.95, "chi-square, 4 degrees of freedom, printed tables"},
		{2, 0.710723 / 2, 0.05, "chi-square, 4 degrees of freedom, printed tables"},
		{0.5, 0.454936 / 2, 0.50, "chi-square, 1 degree of freedom, printed tables"},
	} {
		count, sum := 0.0, 0.0
		for _, x := range firsts(n, func(s *Stream) float64 { return s.Gamma(row.shape) }) {
			sum += x
			if x < row.point {
				count++
			}
		}
		if se := math.Sqrt(row.below * (1 - row.below) / n); math.Abs(count/n-row.below) > 4*se {
			t.Errorf("shape %v: share below %.4f is %.4f, want %.2f (%s)", row.shape, row.point, count/n, row.below, row.source)
		}
		if se := math.Sqrt(row.shape / n); math.Abs(sum/n-row.shape) > 4*se {
			t.Errorf("shape %v: mean %.4f", row.shape, sum/n)
		}
	}
}

func TestBelowCoversItsRange(t *testing.T) {
	var seen [6]int
	for _, x := range firsts(6000, func(s *Stream) float64 { return float64(s.Below(6)) }) {
		seen[int(x)]++
	}
	for face, n := range seen {
		if n < 850 || n > 1150 { // five standard deviations
			t.Errorf("face %d came %d times in 6000", face, n)
		}
	}
}

func BenchmarkStream(b *testing.B) {
	b.ReportAllocs()
	var sum float64
	for i := range b.N {
		s := NewStream([32]byte{1}, i, anyDay, rainHours)
		sum += s.Uniform()
	}
	_ = sum
}
