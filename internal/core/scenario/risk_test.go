package scenario_test

import (
	"context"
	"math"
	"testing"

	"threshday/internal/core/scenario"
	"threshday/test/oracle/season"
)

// One field of one acre, one block tomorrow: four weathers in which it nets 100, 40, 400 and 1000 dollars. The worst tenth is all of
// the second (0.04) and 0.06 of the first: (0.04·40 + 0.06·100) / 0.1 = 76.
func TestTheWorstTenthIsThatOfASumByHand(t *testing.T) {
	tree := &scenario.Tree{
		Days: 2, Blocks: 1, Fields: []scenario.Field{{Acres: 1, BushelsPerAcre: 1, AcresPerHour: 1}}, Speeds: []float64{1},
		Destinations:        []scenario.Destination{{DayBushels: []float64{10, 10}, TotalBushels: math.Inf(1)}},
		TruckHoursPerBushel: []float64{0.1}, TruckHours: 10, BlockHours: 10,
		Nodes: []scenario.Node{{Day: 0, Parent: -1, Probability: 1, Blocks: []scenario.Block{{}}}},
	}
	for _, leaf := range []struct{ net, probability float64 }{{100, 0.26}, {40, 0.04}, {400, 0.3}, {1000, 0.4}} {
		tree.Nodes = append(tree.Nodes, scenario.Node{Day: 1, Probability: leaf.probability, Blocks: []scenario.Block{{Share: 1, Net: []float64{leaf.net}}}})
	}
	a, err := scenario.Solve(context.Background(), tree, scenario.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	if a.Risk == nil || math.Abs(a.Risk.P10USD-100) > 1e-6 || math.Abs(a.Risk.TailUSD-76) > 1e-6 {
		t.Errorf("%+v", a.Risk)
	}
}

// The mean of the worst tenth is at most its best, and at most the mean over all.
func TestTheWorstTenthEarnsLessThanTheMean(t *testing.T) {
	for seed := range uint64(6) {
		tree := season.Draw(season.Size{Fields: 4, Days: 6, Blocks: 1, Destinations: 2, Leaves: 16}, seed)
		a, err := scenario.Solve(context.Background(), tree, scenario.DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		if a.Risk.TailUSD > a.Risk.P10USD+1e-6 || a.Risk.TailUSD > *a.PolicyUSD+1e-6 {
			t.Errorf("seed %d: worst tenth %+v, mean %.2f", seed, a.Risk, *a.PolicyUSD)
		}
	}
}
