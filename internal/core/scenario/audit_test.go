package scenario_test

import (
	"fmt"
	"math"

	"threshday/internal/core/scenario"
)

// audit replays a plan against every limit of the tree, from the tree's own tables, and returns what it earns.
// It shares no code with the planner.
func audit(t *scenario.Tree, p scenario.Plan) (float64, error) {
	if len(p) != len(t.Nodes) {
		return 0, fmt.Errorf("the plan has %d nodes, the tree %d", len(p), len(t.Nodes))
	}
	dests := len(t.Destinations)
	earned := 0.0
	acres, bushels := make([][]float64, len(t.Nodes)), make([][]float64, len(t.Nodes)) // cut and hauled on the way here
	var visit func(n int) error
	visit = func(n int) error {
		node := t.Nodes[n]
		acres[n], bushels[n] = make([]float64, len(t.Fields)), make([]float64, dests)
		if node.Parent >= 0 {
			copy(acres[n], acres[node.Parent])
			copy(bushels[n], bushels[node.Parent])
		}
		day, err := auditDay(t, n, p[n], acres[n], bushels[n])
		if err != nil {
			return err
		}
		earned += node.Probability * day
		for c := range t.Nodes {
			if t.Nodes[c].Parent == n {
				if err := visit(c); err != nil {
					return err
				}
			}
		}
		return nil
	}
	for n := range t.Nodes {
		if t.Nodes[n].Parent == -1 {
			return earned, visit(n)
		}
	}
	return 0, fmt.Errorf("no root")
}

// auditDay checks one day and adds its cuts to what was cut and hauled before.
func auditDay(t *scenario.Tree, n int, cuts []scenario.Cut, acres, bushels []float64) (float64, error) {
	node := t.Nodes[n]
	earned := 0.0
	hours, trucks := make([]float64, t.Blocks), make([]float64, t.Blocks)
	dump := make([]float64, len(t.Destinations))
	for _, c := range cuts {
		cell := c.Field*len(t.Destinations) + c.Destination
		block := node.Blocks[c.Block]
		if block.Net == nil || math.IsInf(block.Net[cell], -1) || c.Acres <= 0 {
			return 0, fmt.Errorf("node %d: %+v cannot be", n, c)
		}
		hauled := c.Acres * t.Fields[c.Field].BushelsPerAcre
		hours[c.Block] += c.Acres / t.Fields[c.Field].AcresPerHour
		trucks[c.Block] += hauled * t.TruckHoursPerBushel[cell]
		dump[c.Destination] += hauled
		acres[c.Field] += c.Acres
		bushels[c.Destination] += hauled
		earned += c.Acres * block.Net[cell]
	}
	speed := 0.0
	for _, v := range t.Speeds {
		speed += v
	}
	over := func(what string, k int, used, most float64) error {
		if used > most+1e-6*(1+most) {
			return fmt.Errorf("node %d: %s %d uses %g of %g", n, what, k, used, most)
		}
		return nil
	}
	for b := range hours {
		if err := over("hours of block", b, hours[b], node.Blocks[b].Share*t.BlockHours*speed); err != nil {
			return 0, err
		}
		if err := over("trucks of block", b, trucks[b], t.TruckHours); err != nil {
			return 0, err
		}
	}
	for d, dest := range t.Destinations {
		if err := over("day at destination", d, dump[d], dest.DayBushels[node.Day]); err != nil {
			return 0, err
		}
		if err := over("total at destination", d, bushels[d], dest.TotalBushels); err != nil {
			return 0, err
		}
	}
	for f, field := range t.Fields {
		if err := over("field", f, acres[f], field.Acres); err != nil {
			return 0, err
		}
	}
	return earned, nil
}
