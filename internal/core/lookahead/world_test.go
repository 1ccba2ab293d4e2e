package lookahead

import (
	"context"
	"math"
	"testing"

	"threshday/internal/core/scenario"
	"threshday/internal/core/worth"
	"threshday/test/oracle/season"
)

// hoursOfDay is how many hours a day of the tables made of trees has.
const hoursOfDay = 10

// fan draws a season whose weathers part on the second day, in figures that a table can hold too: equally likely, days whole or
// wet, values in float32.
func fan(fields, days, destinations, leaves int, seed uint64) *scenario.Tree {
	t := season.Draw(season.Size{Fields: fields, Days: days, Blocks: 1, Destinations: destinations, Leaves: leaves, Fan: true}, seed)
	if seed%3 == 2 {
		season.Scramble(t, seed)
	}
	for n := range t.Nodes {
		node := &t.Nodes[n]
		if node.Day > 0 {
			node.Probability = 1 / float64(leaves)
		}
		for b := range node.Blocks {
			block := &node.Blocks[b]
			if block.Share > 0 {
				block.Share = 1
			}
			for i, v := range block.Net {
				block.Net[i] = float64(float32(v))
			}
		}
	}
	for f := range t.Fields {
		t.Fields[f].BushelsPerAcre = float64(float32(t.Fields[f].BushelsPerAcre))
	}
	return t
}

// tableOf writes a fan as a table: a leaf is a member, and the moisture of a field a number for the day of the member, on which
// its curves have what an acre nets there.
func tableOf(tree *scenario.Tree) *worth.Table {
	paths := pathsOf(tree)
	nf, nd := len(tree.Fields), len(tree.Destinations)
	t := &worth.Table{Hours: tree.Days * hoursOfDay, Members: len(paths), TruckHours: tree.TruckHours / hoursOfDay}
	always := make([]bool, t.Hours)
	for h := range t.Hours {
		t.Day, always[h] = append(t.Day, h/hoursOfDay), true
	}
	for d, dest := range tree.Destinations {
		t.Sites = append(t.Sites, worth.SiteRow{PerHour: math.Inf(1), PerDay: dest.DayBushels[0]})
		t.Destinations = append(t.Destinations, worth.DestinationRow{Site: d, Open: always, Room: dest.TotalBushels})
	}
	for f, field := range tree.Fields {
		row := worth.FieldRow{Acres: field.Acres, TruckBu: tree.TruckHoursPerBushel[f*nd : (f+1)*nd], Deadline: tree.Days - 1}
		bushels := make([]float32, worth.GridLen)
		for i := range bushels {
			bushels[i] = float32(field.BushelsPerAcre)
		}
		t.Fields, t.Bushels = append(t.Fields, row), append(t.Bushels, bushels)
	}
	for _, speed := range tree.Speeds {
		c := worth.CombineRow{Runs: always, StartIn: -1}
		for _, field := range tree.Fields {
			c.Rate = append(c.Rate, speed*field.AcresPerHour)
		}
		moves := make([][]float64, nf+1)
		for i := range moves {
			moves[i] = make([]float64, nf)
		}
		t.Combines, t.MoveHours = append(t.Combines, c), append(t.MoveHours, moves)
	}
	for range nf * nd {
		t.Value = append(t.Value, make([]float32, worth.GridLen))
	}
	n := t.Members * t.Hours * nf
	t.Workable, t.Wet, t.Moisture, t.Keep = make([]bool, n), make([]bool, n), make([]uint16, n), make([]float32, n)
	t.Crop = make([]float32, t.Members*nf)
	for i := range t.Crop {
		t.Crop[i] = 1
	}
	for m, path := range paths {
		t.Source = append(t.Source, string(rune('a'+m%4)))
		for h := range t.Hours {
			setHour(t, tree, m, h, path)
		}
	}
	return t
}

func setHour(t *worth.Table, tree *scenario.Tree, m, h int, path []int) {
	day, nd := t.Day[h], len(tree.Destinations)
	block := &tree.Nodes[path[day]].Blocks[0]
	cell := m*tree.Days + day
	for f := range tree.Fields {
		i := t.At(m, h, f)
		t.Workable[i], t.Keep[i], t.Moisture[i] = block.Net != nil && block.Share > 0, 1, uint16(cell) //nolint:gosec // a point of the grid
		for d := range nd {
			v := math.Inf(-1)
			if block.Net != nil {
				v = block.Net[f*nd+d]
			}
			if math.IsInf(v, -1) {
				v = math.NaN()
			}
			t.Value[f*nd+d][cell] = float32(v)
		}
	}
}

// pathsOf returns the nodes of every leaf by day.
func pathsOf(tree *scenario.Tree) [][]int {
	inner := map[int]bool{}
	for _, n := range tree.Nodes {
		inner[n.Parent] = true
	}
	var out [][]int
	for n := range tree.Nodes {
		if inner[n] {
			continue
		}
		path := make([]int, tree.Days)
		for at := n; at >= 0; at = tree.Nodes[at].Parent {
			path[tree.Nodes[at].Day] = at
		}
		out = append(out, path)
	}
	return out
}

// whole are settings that look at all members at once, with values that no plan beats.
func whole() Settings { return Settings{Workers: 1, Batches: 1, Members: 1 << 20, Take: Best} }

func program(t testing.TB, table *worth.Table, set Settings) *Program {
	t.Helper()
	p, err := New(context.Background(), table, set)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// off returns how far a lies from b, relative to one and their size.
func off(a, b float64) float64 {
	return math.Abs(a-b) / math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}
