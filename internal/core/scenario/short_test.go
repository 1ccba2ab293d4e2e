package scenario_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"threshday/internal/core/scenario"
)

// oneField is 10 acres at an acre an hour, 10 bushels and $100 an acre, one day of 8 hours, one weather.
func oneField() *scenario.Tree {
	return &scenario.Tree{
		Days: 1, Blocks: 1, Fields: []scenario.Field{{Acres: 10, BushelsPerAcre: 10, AcresPerHour: 1}}, Speeds: []float64{1},
		Destinations:        []scenario.Destination{{DayBushels: []float64{500}, TotalBushels: 1000}},
		TruckHoursPerBushel: []float64{0.1}, TruckHours: 20, BlockHours: 8,
		Nodes: []scenario.Node{{Day: 0, Parent: -1, Probability: 1, Blocks: []scenario.Block{{Share: 1, Net: []float64{100}}}}},
	}
}

// Of what limits a field of 10 acres there is 8 in ten that are needed, so that 2 acres are left, and a tenth more leaves 1.2 and a quarter
// more none, which brings $200: the limit is named, with its amount and price.
func TestWhatAFieldLacksByHand(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*scenario.Tree)
		limit  scenario.Limit
		amount float64
	}{
		"hours":  {func(*scenario.Tree) {}, scenario.HourLimit, 2},
		"trucks": {func(t *scenario.Tree) { t.BlockHours, t.TruckHours = 20, 8 }, scenario.TruckLimit, 2},
		"day":    {func(t *scenario.Tree) { t.BlockHours, t.Destinations[0].DayBushels[0] = 20, 80 }, scenario.DayLimit, 20},
		"total":  {func(t *scenario.Tree) { t.BlockHours, t.Destinations[0].TotalBushels = 20, 80 }, scenario.TotalLimit, 20},
	} {
		tree := oneField()
		c.change(tree)
		short := exact(t, tree).Short
		if len(short) != 1 || math.Abs(short[0].Acres-2) > 1e-9 || len(short[0].Lacks) != 1 || short[0].Relief == nil {
			t.Errorf("%s: %+v", name, short)
			continue
		}
		lack, relief := short[0].Lacks[0], short[0].Relief
		if lack.Limit != c.limit || math.Abs(lack.Amount-c.amount) > 1e-9 || math.Abs(lack.USD-200) > 1e-6 {
			t.Errorf("%s: %+v", name, lack)
		}
		if relief.Limit != c.limit || relief.Share != 0.25 || relief.Acres > 1e-9 || math.Abs(relief.GainUSD-200) > 1e-6 {
			t.Errorf("%s: %+v", name, relief)
		}
	}
}

// The prices of what an acre lacks add up to no less than the acre would net, or the program would cut it; a relief brings what the
// exact value of the tree with that much more brings.
func TestWhatFieldsLack(t *testing.T) {
	lacks, reliefs := 0, 0
	for seed := range trees() {
		tree := pick(seed)
		a := exact(t, tree)
		for _, s := range a.Short {
			least, sum, noDay := math.Inf(1), 0.0, 0.0
			for n := range tree.Nodes {
				for _, b := range tree.Nodes[n].Blocks {
					for k, net := range b.Net {
						if k/len(tree.Destinations) == s.Field && net > 0 {
							least = min(least, net)
						}
					}
				}
			}
			for k, l := range s.Lacks {
				sum += l.USD
				if l.Limit == scenario.NoDayLimit {
					noDay += l.Amount
				}
				if k > 0 && l.USD > s.Lacks[k-1].USD {
					t.Errorf("tree %d, field %d: not the dearest first: %+v", seed, s.Field, s.Lacks)
				}
				lacks++
			}
			if priced := s.Acres - noDay; priced > 1e-6 && sum < priced*least*(1-1e-6) {
				t.Errorf("tree %d, field %d: %.2f acres lack $%.2f, and would net $%.2f an acre at least", seed, s.Field, priced, sum, least)
			}
			if s.Relief == nil {
				continue
			}
			reliefs++
			more := changed(tree)
			switch by := 1 + s.Relief.Share; s.Relief.Limit {
			case scenario.HourLimit:
				more.BlockHours *= by
			case scenario.TruckLimit:
				more.TruckHours *= by
			case scenario.DayLimit:
				for h := range more.Destinations[s.Relief.Destination].DayBushels {
					more.Destinations[s.Relief.Destination].DayBushels[h] *= by
				}
			case scenario.TotalLimit:
				more.Destinations[s.Relief.Destination].TotalBushels *= by
			default:
				t.Errorf("tree %d: %+v", seed, s.Relief)
			}
			if gain := *exact(t, more).ExactUSD - *a.ExactUSD; math.Abs(gain-s.Relief.GainUSD) > 1e-6*(*a.ExactUSD) {
				t.Errorf("tree %d, field %d: relief brings %.4f, anew %.4f", seed, s.Field, s.Relief.GainUSD, gain)
			}
		}
	}
	t.Logf("%d lacks, %d reliefs", lacks, reliefs)
	if lacks == 0 || reliefs == 0 {
		t.Error("nothing was tested")
	}
}

// Tables that make part of the season idle are planned all the same, and what is idle is named.
func TestDoubtsOfATree(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*scenario.Tree)
		rules  []string
		say    string
	}{
		"none":               {func(*scenario.Tree) {}, nil, ""},
		"rain":               {func(t *scenario.Tree) { t.Nodes[0].Blocks[0] = scenario.Block{} }, []string{"tree.idle"}, "No block of any node is workable, so nothing can be cut."},
		"slow starts":        {func(t *scenario.Tree) { t.MoveHours = 8 }, []string{"tree.start"}, "A start takes 8 hours and no block has more than 8, so nothing can be cut."},
		"shut":               {func(t *scenario.Tree) { t.Destinations[0].DayBushels[0] = 0 }, []string{"tree.shut", "tree.doors"}, "Destination 0 takes no bushel on any day."},
		"full":               {func(t *scenario.Tree) { t.Destinations[0].TotalBushels = 0 }, []string{"tree.shut", "tree.doors"}, "Destination 0 takes no bushel in all."},
		"accepted by nobody": {func(t *scenario.Tree) { t.Nodes[0].Blocks[0].Net[0] = scenario.NotAccepted() }, []string{"tree.unused", "tree.nowhere"}, "Destination 0 takes no field in any node."},
		"at a loss":          {func(t *scenario.Tree) { t.Nodes[0].Blocks[0].Net[0] = -5 }, []string{"tree.loss"}, "Field 0 nets nothing above zero at any destination in any node, so it is left standing."},
		"no trucks":          {func(t *scenario.Tree) { t.TruckHours = 0 }, []string{"tree.trucks"}, "Field 0 has to be hauled and there are no truck hours, so it is left standing."},
		"nothing to cut":     {func(t *scenario.Tree) { t.Fields[0].Acres = 0; t.TruckHours = 0 }, nil, ""},
	} {
		tree := oneField()
		c.change(tree)
		a, err := scenario.Solve(context.Background(), tree, scenario.DefaultOptions())
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var rules []string
		for _, d := range a.Doubts {
			rules = append(rules, d.Rule)
		}
		if !slices.Equal(rules, c.rules) || len(rules) > 0 && a.Doubts[0].Say != c.say {
			t.Errorf("%s: %+v", name, a.Doubts)
		}
		if idle := len(c.rules) > 0; idle != (*a.PolicyUSD == 0) && name != "nothing to cut" {
			t.Errorf("%s: the plan earns %.2f", name, *a.PolicyUSD)
		}
	}
}
