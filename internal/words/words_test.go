package words

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestDigitsPartThousandsAndKeepTheNumber(t *testing.T) {
	for _, c := range []struct {
		x        float64
		decimals int
		want     string
	}{
		{0, 0, "0"}, {999, 0, "999"}, {1000, 0, "1,000"}, {1934.55, 2, "1,934.55"}, {-1234567.891, 1, "-1,234,567.9"}, {-0.001, 2, "0.00"}, {-100, 0, "-100"},
	} {
		if got := Digits(c.x, c.decimals); got != c.want {
			t.Errorf("Digits(%v, %d) = %q, want %q", c.x, c.decimals, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e9, 1e9).Draw(t, "x")
		decimals := rapid.IntRange(0, 4).Draw(t, "decimals")
		back, err := strconv.ParseFloat(strings.ReplaceAll(Digits(x, decimals), ",", ""), 64)
		if err != nil || math.Abs(back-x) > 0.5001*math.Pow10(-decimals) {
			t.Fatalf("Digits(%v, %d) = %q", x, decimals, Digits(x, decimals))
		}
	})
}

func TestShortLeavesNoZerosBehindThePoint(t *testing.T) {
	for x, want := range map[float64]string{12: "12", 4.5: "4.5", 100: "100", 0.019: "0.019", 1934.5: "1,934.5", 0: "0"} {
		if got := Short(x, 4); got != want {
			t.Errorf("Short(%v) = %q, want %q", x, got, want)
		}
	}
}

func TestTwoDigitsAreTwo(t *testing.T) {
	for x, want := range map[float64]string{7.04: "7.0", 0.64: "0.64", 15.16: "15", 9.96: "10", 0.996: "1.0", 0: "0.00"} {
		if got := Two(x); got != want {
			t.Errorf("Two(%v) = %q, want %q", x, got, want)
		}
	}
}
