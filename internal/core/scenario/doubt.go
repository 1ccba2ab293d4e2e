package scenario

import (
	"fmt"
	"math"

	"threshday/internal/core/problem"
)

// Doubts returns what a tree says that makes part of it idle: fields that nothing can be earned with and why, destinations that
// never take a bushel, blocks that no start fits. The tree can be planned all the same. It expects a tree that [Tree.Check] lets pass.
func (t *Tree) Doubts() []problem.Finding {
	var out []problem.Finding
	doubt := func(rule, path, say, next string) {
		out = append(out, problem.Finding{
			Rule: "tree." + rule, Severity: problem.Warning, Where: problem.Place{Path: path}, Label: path, Say: say, Next: next,
		})
	}
	longest, work := 0.0, false
	for n := range t.Nodes {
		for b := range t.Nodes[n].Blocks {
			if block := &t.Nodes[n].Blocks[b]; workable(block) {
				longest, work = max(longest, block.Share*t.BlockHours), true
			}
		}
	}
	switch {
	case !work:
		doubt("idle", "nodes", "No block of any node is workable, so nothing can be cut.", "Check the shares of the blocks.")
		return out
	case t.MoveHours > 0 && t.MoveHours >= longest:
		doubt("start", "move_h", fmt.Sprintf("A start takes %g hours and no block has more than %g, so nothing can be cut.", t.MoveHours, longest),
			"Check move_h and block_h.")
	}
	for d, dest := range t.Destinations {
		days := 0.0
		for _, v := range dest.DayBushels {
			days = max(days, v)
		}
		switch {
		case days == 0:
			doubt("shut", fmt.Sprintf("cap_day[%d]", d*t.Days), fmt.Sprintf("Destination %d takes no bushel on any day.", d), "Check cap_day, or leave it out.")
		case dest.TotalBushels == 0:
			doubt("shut", at("cap_tot", d), fmt.Sprintf("Destination %d takes no bushel in all.", d), "Check cap_tot, or leave it out.")
		case t.reach(-1, d) == nowhere:
			doubt("unused", "nodes", fmt.Sprintf("Destination %d takes no field in any node.", d), "Check the nets, or leave it out.")
		}
	}
	for f, field := range t.Fields {
		path, name := at("acres", f), fmt.Sprintf("Field %d", f)
		if field.Acres == 0 {
			continue
		}
		switch t.reach(f, -1) {
		case nowhere:
			doubt("nowhere", path, name+" is taken by no destination in any node, so it is left standing.", "Check its nets.")
		case atALoss:
			doubt("loss", path, name+" nets nothing above zero at any destination in any node, so it is left standing.", "Check its nets.")
		case behindShutDoors:
			doubt("doors", path, name+" is taken only where the destination has no room on that day or in all, so it is left standing.", "Check cap_day and cap_tot.")
		case withoutTrucks:
			doubt("trucks", path, name+" has to be hauled and there are no truck hours, so it is left standing.", "Check truck_h and cyc.")
		case sold:
		}
	}
	return out
}

// A reach is how far the tables let a field come, from not at all to cut at a profit.
type reach uint8

const (
	nowhere reach = iota
	atALoss
	behindShutDoors
	withoutTrucks
	sold
)

// reach returns how far a field comes at any destination, and a destination is come to by any field; -1 is any.
func (t *Tree) reach(f, d int) reach {
	best := nowhere
	dests := len(t.Destinations)
	for n := range t.Nodes {
		node := &t.Nodes[n]
		for b := range node.Blocks {
			if !workable(&node.Blocks[b]) {
				continue
			}
			for k, net := range node.Blocks[b].Net {
				if f >= 0 && k/dests != f || d >= 0 && k%dests != d || math.IsInf(net, -1) {
					continue
				}
				dest := &t.Destinations[k%dests]
				switch {
				case net <= 0:
					best = max(best, atALoss)
				case t.Fields[k/dests].BushelsPerAcre > 0 && (dest.DayBushels[node.Day] == 0 || dest.TotalBushels == 0):
					best = max(best, behindShutDoors)
				case t.Fields[k/dests].BushelsPerAcre*t.TruckHoursPerBushel[k] > 0 && t.TruckHours == 0:
					best = max(best, withoutTrucks)
				default:
					return sold
				}
			}
		}
	}
	return best
}
