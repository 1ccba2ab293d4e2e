package scenario_test

import (
	"context"
	"math/rand/v2"
	"os"
	"testing"

	"threshday/internal/core/scenario"
	"threshday/test/oracle/season"
)

// The tree classes on which the rule was first compared with the exact value: fields, days, blocks, leaves.
var classes = []struct {
	name string
	size season.Size
}{
	{"tiny", season.Size{Fields: 4, Days: 6, Blocks: 1, Destinations: 3, Leaves: 4}},
	{"small", season.Size{Fields: 6, Days: 10, Blocks: 2, Destinations: 3, Leaves: 8}},
	{"one block", season.Size{Fields: 6, Days: 10, Blocks: 1, Destinations: 3, Leaves: 8}},
	{"eight fields", season.Size{Fields: 8, Days: 12, Blocks: 1, Destinations: 3, Leaves: 16}},
	{"sixteen leaves", season.Size{Fields: 6, Days: 10, Blocks: 1, Destinations: 3, Leaves: 16}},
	{"bushy", season.Size{Fields: 6, Days: 10, Blocks: 1, Destinations: 3, Leaves: 128}},
	{"bushy, two blocks", season.Size{Fields: 6, Days: 10, Blocks: 2, Destinations: 3, Leaves: 128}},
	{"wide", season.Size{Fields: 8, Days: 11, Blocks: 1, Destinations: 3, Leaves: 256}},
	{"long", season.Size{Fields: 10, Days: 14, Blocks: 1, Destinations: 3, Leaves: 256}},
}

// full says that every check is wanted, not only the quick ones.
func full() bool { return os.Getenv("THRESHDAY_FULL") != "" }

// pick draws a tree of 2 to 8 fields, 3 to 10 days, 1 to 3 destinations and 1 to 32 leaves; every third one
// has tables without any order in them.
func pick(seed uint64) *scenario.Tree {
	rng := rand.New(rand.NewPCG(seed, 5))
	t := season.Draw(season.Size{
		Fields: 2 + rng.IntN(7), Days: 3 + rng.IntN(8), Blocks: 1 + rng.IntN(2),
		Destinations: 1 + rng.IntN(3), Leaves: 1 + rng.IntN(32),
	}, seed)
	if seed%3 == 2 {
		season.Scramble(t, seed)
	}
	return t
}

func solve(t testing.TB, tree *scenario.Tree, o scenario.Options) scenario.Answer {
	t.Helper()
	a, err := scenario.Solve(context.Background(), tree, o)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func drawClass(k int, seed uint64) *scenario.Tree {
	return season.Draw(classes[k].size, seed+uint64(100*k))
}
