// Package scenario plans a harvest season given as raw tables on a scenario tree.
//
// A [Tree] says what an acre of each field nets at each destination in each block of each day, for every way
// the weather may go, and what combines, trucks and destinations can take. [Solve] answers what the season can
// be worth (to a rule that knows at every node only what is known there, to the best such plan, to perfect
// foresight, and a bound that no plan beats), what to cut today, and what waiting a day is worth by field.
//
// It leaves out where the tables come from: it knows no crop, no moisture and no price rule. Acres, bushels,
// hours and dollars are plain float64 with the unit in the name. Crop left standing counts as worth nothing.
// Cutting is divisible: acres of one field in one block may go to several destinations.
//
// What is solved, what is proven about it and what is estimated is in docs/model/planner.md. The rule is sample
// average approximation [kleywegt-2002] on a rolling horizon, the bound the Lagrangian relaxation of shared
// resources under perfect foresight, the order of the values that of information relaxations
// [brown-smith-sun-2010] without penalty.
package scenario

import "math"

// A Tree is a season as the planner sees it.
type Tree struct {
	Days   int // days of the season, 0 to Days-1
	Blocks int // blocks in a day

	Fields       []Field
	Speeds       []float64 // by combine: factor on every field's rate
	Destinations []Destination

	TruckHoursPerBushel []float64 // by field, then destination: f*len(Destinations)+d; load, drive, queue, dump, return
	TruckHours          float64   // truck hours in each workable block
	BlockHours          float64   // length of a block
	MoveHours           float64   // combine hours that each start on a field takes

	Nodes []Node
}

// A Field is a piece of standing crop.
type Field struct {
	Acres          float64
	BushelsPerAcre float64
	AcresPerHour   float64 // of a combine of speed 1
}

// A Destination is an outlet under one price.
type Destination struct {
	DayBushels   []float64 // what it can receive, by day
	TotalBushels float64   // what it can receive in all; +Inf: no limit
}

// A Node is one day under the weather known by then.
type Node struct {
	Day         int
	Parent      int     // index of the node before; -1 for the root
	Probability float64 // that the season passes through here
	Blocks      []Block // by block of the day
}

// A Block is one workable or unworkable part of a day.
type Block struct {
	Share float64   // part of the block fit for combining, 0 to 1
	Net   []float64 // $/ac by field, then destination; [NotAccepted] where it cannot go; nil: unworkable
}

// NotAccepted returns the Net of crop that a destination does not take.
func NotAccepted() float64 { return math.Inf(-1) }

// Leaves returns how many nodes have no child: the ways the season may go.
func (t *Tree) Leaves() int {
	inner := map[int]bool{}
	for _, n := range t.Nodes {
		inner[n.Parent] = true
	}
	delete(inner, -1)
	return len(t.Nodes) - len(inner)
}

// A Cut is acres of a field cut in a block and hauled to a destination.
type Cut struct {
	Block, Field, Destination int
	Combine                   int // 0 where moves take no time: combines are not told apart then
	Acres                     float64
}

// A Plan holds, by node, what is cut there, in the order of blocks and, where moves take time, in the order in which
// each combine goes from field to field.
type Plan [][]Cut
