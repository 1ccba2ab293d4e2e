package weather_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

func streamAt(i int) weather.Stream {
	return weather.NewStream([32]byte{3}, i, calendar.MustDay("2026-10-03"), 99)
}

func TestSpreadRainKeepsTheTotal(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(1, 25).Draw(r, "hours")
		from := rapid.IntRange(0, n-1).Draw(r, "from")
		to := rapid.IntRange(from+1, n).Draw(r, "to")
		total := rapid.Float64Range(0, 200).Draw(r, "mm")
		s := streamAt(rapid.IntRange(0, 1000).Draw(r, "member"))
		sum := 0.0
		small := 0
		for h, mm := range weather.SpreadRain(total, n, from, to, &s) {
			if mm < 0 {
				r.Fatalf("hour %d: %v mm", h, mm)
			}
			if mm > 0 && mm < 0.0999 {
				small++
			}
			sum += mm
		}
		if math.Abs(sum-total) > 1e-9 && total >= 1e-6 {
			r.Fatalf("%v mm became %v", total, sum)
		}
		if small > 1 || small == 1 && total >= 0.1 {
			r.Fatalf("%d hours below 0.1 mm of %v", small, total)
		}
	})
}

// Wet hours by the day's total at O'Hare in three autumns: 1.9, 4.9, 9.2 and 13.5 in bins of mean 1.0, 5.6,
// 15.9 and 45 mm. [isd-lite-725300] for one of them; the others are not kept.
func TestWetHoursGrowWithTheTotalAsAtOHare(t *testing.T) {
	const n = 4000
	for _, c := range []struct{ mm, want, tol float64 }{{1.0, 1.9, 0.35}, {5.6, 4.9, 0.5}, {15.9, 9.2, 0.8}, {45, 13.5, 2}} {
		hours := 0.0
		for i := range n {
			s := streamAt(i)
			for _, mm := range weather.SpreadRain(c.mm, 24, 0, 24, &s) {
				if mm > 0 {
					hours++
				}
			}
		}
		if got := hours / n; math.Abs(got-c.want) > c.tol {
			t.Errorf("%.1f mm: %.2f wet hours, want %.1f [isd-lite-725300]", c.mm, got, c.want)
		}
	}
}

func TestNamedPartHoldsTheBeginning(t *testing.T) {
	for i := range 500 {
		s := streamAt(i)
		rain := weather.SpreadRain(2, 24, 12, 18, &s)
		first := -1
		for h, mm := range rain {
			if mm > 0 && first < 0 {
				first = h
			}
		}
		if first < 6 || first > 18 {
			t.Fatalf("draw %d: rain begins in hour %d, named from 12 to 18", i, first)
		}
		for h := 0; h < 6; h++ {
			if rain[h] > 0 {
				t.Fatalf("draw %d: rain in hour %d", i, h)
			}
		}
	}
}

func TestNoHoursToRainInPanics(t *testing.T) {
	s := streamAt(0)
	mustPanic(t, "empty part", func() { weather.SpreadRain(1, 24, 12, 12, &s) })
	mustPanic(t, "part past the end", func() { weather.SpreadRain(1, 24, 12, 25, &s) })
}
