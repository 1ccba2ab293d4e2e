package weather_test

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
	"threshday/test/published"
)

func TestCRPSOfWorkedCases(t *testing.T) {
	published.Each(t, "score", func(t *testing.T, r published.Row) {
		var members []float64
		for _, word := range strings.Fields(r.Text("members")) {
			x, err := strconv.ParseFloat(word, 64)
			if err != nil {
				t.Fatal(err)
			}
			members = append(members, x)
		}
		r.Check("want", weather.CRPS(members, r.Float("truth"), r.Text("fair") == "true"))
	})
	published.Each(t, "gaussian", func(_ *testing.T, r published.Row) {
		r.Check("want", weather.GaussianCRPS(r.Float("mean"), r.Float("sd"), r.Float("truth")))
	})
}

// The score is the area between the members' distribution and the step at the truth, squared.
func TestCRPSIsTheIntegralOfItsDefinition(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		members := rapid.SliceOfN(rapid.Float64Range(-5, 5), 1, 12).Draw(r, "members")
		truth := rapid.Float64Range(-6, 6).Draw(r, "truth")
		edges := append(slices.Clone(members), truth)
		slices.Sort(edges)
		area := 0.0
		for i := 1; i < len(edges); i++ {
			mid, below := (edges[i-1]+edges[i])/2, 0.0
			for _, x := range members {
				if x <= mid {
					below += 1 / float64(len(members))
				}
			}
			if mid >= truth {
				below--
			}
			area += below * below * (edges[i] - edges[i-1])
		}
		if got := weather.CRPS(members, truth, false); math.Abs(got-area) > 1e-9 {
			r.Fatalf("%v of %v: %v, want %v [hersbach-2000]", truth, members, got, area)
		}
	})
}

// Of a large sample the score is that of its distribution.
func TestCRPSOfManyNormalNumbers(t *testing.T) {
	s := weather.NewStream([32]byte{1}, 0, calendar.MustDay("2026-01-01"), 999)
	members := make([]float64, 20_000)
	for i := range members {
		members[i] = 20 + 2*s.Normal()
	}
	if got, want := weather.CRPS(members, 23, true), weather.GaussianCRPS(20, 2, 23); math.Abs(got-want) > 0.02 {
		t.Errorf("%.4f, want %.4f", got, want)
	}
}

func TestRankHistogramTellsNarrowFromRight(t *testing.T) {
	s := weather.NewStream([32]byte{2}, 0, calendar.MustDay("2026-01-01"), 999)
	probability := func(spread, bias float64) float64 {
		var ranks []int
		for range 500 {
			members := make([]float64, 99)
			for i := range members {
				members[i] = spread*s.Normal() + bias
			}
			ranks = append(ranks, weather.Rank(members, s.Normal(), s.Uniform()))
		}
		return weather.RankTest(ranks, 99, 10)
	}
	if p := probability(1, 0); p < 0.01 {
		t.Errorf("members of the truth's own distribution: p %.4f", p)
	}
	for name, p := range map[string]float64{"narrow": probability(0.7, 0), "wide": probability(1.4, 0), "beside": probability(1, 0.3)} {
		if p > 1e-4 {
			t.Errorf("members too %s: p %.4f", name, p)
		}
	}
}

// Truth that equals some members has its rank drawn evenly among them: no rain among members without rain.
func TestTiesAreBrokenEvenly(t *testing.T) {
	members := []float64{0, 0, 0, 5}
	for u, want := range map[float64]int{0.1: 0, 0.3: 1, 0.6: 2, 0.9: 3} {
		if got := weather.Rank(members, 0, u); got != want {
			t.Errorf("u %.1f: rank %d, want %d", u, got, want)
		}
	}
	if got := weather.Rank(members, 7, 0.5); got != 4 {
		t.Errorf("above all: rank %d", got)
	}
}

func TestCoverage(t *testing.T) {
	members := make([]float64, 99)
	for i := range members {
		members[i] = float64(i + 1) // quantile p lies at 100 p
	}
	for truth, want := range map[float64]bool{9.9: false, 10: true, 50: true, 90: true, 90.1: false} {
		if got := weather.Covers(members, truth, 0.8); got != want {
			t.Errorf("%.1f within 80 %%: %v [hyndman-fan-1996]", truth, got)
		}
	}
}

func TestBrierAndReliability(t *testing.T) {
	var chances []weather.Chance
	for i := range 100 {
		chances = append(chances, weather.Chance{P: 0.3, Came: i < 30}, weather.Chance{P: 1, Came: true})
	}
	// 0.3·0.7² + 0.7·0.3² = 0.21, and the sure ones add nothing. [brier-1950]
	if got := weather.Brier(chances); math.Abs(got-0.105) > 1e-12 {
		t.Errorf("Brier %.4f, want 0.105", got)
	}
	rows := weather.Reliability(chances)
	if len(rows) != 2 || rows[0].N != 100 || math.Abs(rows[0].Frequency-0.3) > 1e-12 || rows[1].Frequency != 1 {
		t.Fatalf("%+v", rows)
	}
	// Of 100 cases at 0.3, 22 or fewer come in 4.8 and 38 or more in 5.3 of 100 samples: from a binomial table.
	if rows[0].Low != 0.23 || rows[0].High != 0.38 {
		t.Errorf("9 in 10 between %.2f and %.2f, want 0.23 and 0.38", rows[0].Low, rows[0].High)
	}
}
