package scenario_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"threshday/internal/core/scenario"
	"threshday/test/oracle/season"
)

// oneBlock draws a tree with one block a day, so that the block where an hour brings most is the day; shares are at most a half, so that
// a day can be made longer.
func oneBlock(seed uint64) *scenario.Tree {
	rng := rand.New(rand.NewPCG(seed, 9))
	t := season.Draw(season.Size{Fields: 2 + rng.IntN(5), Days: 3 + rng.IntN(5), Blocks: 1, Destinations: 1 + rng.IntN(3), Leaves: 1 + rng.IntN(12)}, seed)
	if seed%3 == 2 {
		season.Scramble(t, seed)
	}
	t.BlockHours *= 2
	for n := range t.Nodes {
		for b := range t.Nodes[n].Blocks {
			t.Nodes[n].Blocks[b].Share /= 2
		}
	}
	return t
}

// A limit is something that there can be more of: by names the price that is told of it, change adds so much, and says whether it
// could.
type limit struct {
	name   string
	price  float64
	change func(t *scenario.Tree, by float64) bool
}

func limits(t *scenario.Tree, s *scenario.Shadow) []limit {
	hours := func(t *scenario.Tree, n int, by float64) bool {
		block := &t.Nodes[n].Blocks[0]
		if block.Net == nil || block.Share == 0 {
			return true
		}
		speed := 0.0
		for _, v := range t.Speeds {
			speed += v
		}
		block.Share += by / (t.BlockHours * speed)
		return block.Share > 0
	}
	out := []limit{
		{"an hour today", s.HourToday, func(t *scenario.Tree, by float64) bool { return hours(t, 0, by) }},
		{"an hour each day", s.HourEachDay.Mean, func(t *scenario.Tree, by float64) bool {
			for n := range t.Nodes {
				if !hours(t, n, by) {
					return false
				}
			}
			return true
		}},
		{"a truck hour each day", s.TruckEachDay.Mean, func(t *scenario.Tree, by float64) bool {
			t.TruckHours += by
			return t.TruckHours >= 0
		}},
	}
	for d, room := range s.ByDestinations {
		out = append(out, limit{"room today", room.Today, func(t *scenario.Tree, by float64) bool {
			t.Destinations[d].DayBushels[0] += by
			return t.Destinations[d].DayBushels[0] >= 0
		}}, limit{"room each day", room.EachDay.Mean, func(t *scenario.Tree, by float64) bool {
			for h := range t.Destinations[d].DayBushels {
				t.Destinations[d].DayBushels[h] += by
			}
			return slices.Min(t.Destinations[d].DayBushels) >= 0
		}}, limit{"room in all", room.Total.Mean, func(t *scenario.Tree, by float64) bool {
			t.Destinations[d].TotalBushels += by
			return t.Destinations[d].TotalBushels >= 0
		}})
	}
	return out
}

// changed returns a copy of a tree, of what a limit can change.
func changed(t *scenario.Tree) *scenario.Tree {
	out := *t
	out.Destinations = slices.Clone(t.Destinations)
	for d := range out.Destinations {
		out.Destinations[d].DayBushels = slices.Clone(t.Destinations[d].DayBushels)
	}
	out.Nodes = slices.Clone(t.Nodes)
	for n := range out.Nodes {
		out.Nodes[n].Blocks = slices.Clone(t.Nodes[n].Blocks)
	}
	return &out
}

// The price of a limit lies between what the last of it brought and what one more brings, both by the exact value anew: the exact value
// is concave in each limit. Where both agree the price is the one number.
func TestAPriceIsWhatOneMoreBrings(t *testing.T) {
	paid, sharp := 0, 0
	for seed := range trees() {
		tree := oneBlock(seed)
		base := exact(t, tree)
		if base.Shadow == nil || !base.Shadow.Whole {
			t.Fatalf("tree %d: %+v", seed, base.Shadow)
		}
		for _, l := range limits(tree, base.Shadow) {
			for _, by := range []float64{1, 0.01} {
				more, less := changed(tree), changed(tree)
				l.change(more, by)
				gained := (*exact(t, more).ExactUSD - *base.ExactUSD) / by
				lost, tol := math.Inf(1), 1e-9*(*base.ExactUSD)/by+1e-6 // two values, each to some ten digits
				if l.change(less, -by) {
					lost = (*base.ExactUSD - *exact(t, less).ExactUSD) / by
				}
				if l.price < gained-tol || l.price > lost+tol {
					t.Errorf("tree %d, %s: the price is %.6f, %g more bring %.6f each, so many less cost %.6f", seed, l.name, l.price, by, gained, lost)
				}
				if by < 1 && l.price > 0 {
					paid++
					if lost-gained < 1e-3*l.price {
						sharp++
					}
				}
			}
		}
	}
	t.Logf("%d limits with a price, %d of them with one number", paid, sharp)
	if sharp < paid/2 || paid == 0 {
		t.Errorf("of %d prices %d are one number: nothing was tested", paid, sharp)
	}
}

// Two weathers, equally likely; 10 acres at an acre an hour and $100, one day to cut them: today is shut, tomorrow has 8 hours in one
// weather, 20 in the other. An hour more tomorrow brings $100 in the first, nothing in the second.
func TestPricesByHand(t *testing.T) {
	tree := &scenario.Tree{
		Days: 2, Blocks: 1, Fields: []scenario.Field{{Acres: 10, BushelsPerAcre: 1, AcresPerHour: 1}}, Speeds: []float64{1},
		Destinations:        []scenario.Destination{{DayBushels: []float64{50, 50}, TotalBushels: math.Inf(1)}},
		TruckHoursPerBushel: []float64{0.1}, TruckHours: 10, BlockHours: 20,
		Nodes: []scenario.Node{
			{Day: 0, Parent: -1, Probability: 1, Blocks: []scenario.Block{{}}},
			{Day: 1, Parent: 0, Probability: 0.5, Blocks: []scenario.Block{{Share: 0.4, Net: []float64{100}}}},
			{Day: 1, Parent: 0, Probability: 0.5, Blocks: []scenario.Block{{Share: 1, Net: []float64{100}}}},
		},
	}
	got := exact(t, tree).Shadow.HourEachDay
	if math.Abs(got.Mean-50) > 1e-9 || got.P10 != 0 || math.Abs(got.P90-100) > 1e-9 {
		t.Errorf("%+v", got)
	}
}
