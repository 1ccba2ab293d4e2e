package scenario_test

import (
	"context"
	"testing"

	"threshday/internal/core/scenario"
	"threshday/test/oracle/season"
)

// The bound of prices is never under what foresight earns, and with many fields close above it; worker by worker the same.
func TestPricesAloneBoundForesight(t *testing.T) {
	for _, c := range []struct {
		name  string
		size  season.Size
		close float64 // share above foresight at most
	}{
		{"few lumpy fields", season.Size{Fields: 4, Days: 8, Blocks: 2, Destinations: 3, Leaves: 30, Fan: true}, 0.10},
		{"a dozen fields", season.Size{Fields: 12, Days: 14, Blocks: 1, Destinations: 3, Leaves: 30, Fan: true}, 0.03},
		{"thirty fields", season.Size{Fields: 30, Days: 15, Blocks: 1, Destinations: 4, Leaves: 27, Fan: true}, 0.015},
		{"a tree that forks", season.Size{Fields: 6, Days: 8, Blocks: 1, Destinations: 2, Leaves: 16}, 0.10},
	} {
		t.Run(c.name, func(t *testing.T) {
			for seed := range uint64(2) {
				tree := season.Draw(c.size, seed)
				one, err := scenario.Priced(tree, 1)
				if err != nil {
					t.Fatal(err)
				}
				two, err := scenario.Priced(tree, 2)
				if err != nil || one != two {
					t.Errorf("seed %d: %v with one worker, %v with two, %v", seed, one, two, err)
				}
				sight, err := scenario.Foresee(context.Background(), tree)
				if err != nil {
					t.Fatal(err)
				}
				t.Logf("seed %d: %.3f %% above foresight", seed, 100*(one/sight-1))
				if one < sight*(1-1e-6) || one > sight*(1+c.close) {
					t.Errorf("seed %d: bound %.0f, foresight %.0f", seed, one, sight)
				}
			}
		})
	}
}

// A tree too large for the programs of its leaves is answered with a plan and a bound above it.
func TestATreeTooLargeForForesightHasAPlanAndABound(t *testing.T) {
	tree := season.Draw(season.Size{Fields: 8, Days: 8, Blocks: 1, Destinations: 3, Leaves: 20, Fan: true}, 3)
	o := scenario.DefaultOptions()
	all, err := scenario.Solve(context.Background(), tree, o)
	if err != nil {
		t.Fatal(err)
	}
	o.Limits.ForesightColumns = 100
	a, err := scenario.Solve(context.Background(), tree, o)
	if err != nil {
		t.Fatal(err)
	}
	if a.ClairvoyantUSD != nil || !a.Lacks(scenario.ForesightPart) || a.PolicyUSD == nil {
		t.Fatalf("%+v", a)
	}
	if *a.BoundUSD < *all.ClairvoyantUSD*(1-1e-6) || *a.PolicyUSD > *a.BoundUSD {
		t.Errorf("plan %.0f, foresight %.0f, bound %.0f", *a.PolicyUSD, *all.ClairvoyantUSD, *a.BoundUSD)
	}
}

func TestPricingALeafAllocatesNothing(t *testing.T) {
	tree := season.Draw(season.Size{Fields: 12, Days: 14, Blocks: 2, Destinations: 3, Leaves: 4, Fan: true}, 1)
	if n := scenario.PricingAllocates(tree); n != 0 {
		t.Errorf("%v allocations a leaf", n)
	}
}

// BenchmarkPriced bounds fans by prices alone.
func BenchmarkPriced(b *testing.B) {
	for _, c := range []struct {
		name string
		size season.Size
	}{{"S", smallFan}, {"M", middleFan}, {"L", largeFan}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			tree := season.Draw(c.size, 1)
			for b.Loop() {
				if _, err := scenario.Priced(tree, 2); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
