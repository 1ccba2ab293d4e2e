package scenario

import (
	"fmt"
	"math"
	"strconv"

	"threshday/internal/core/problem"
)

// shareTol is how far the probabilities of a node's children may sum from the node's own, as a share of it;
// probabilities are often written with six decimals. [judgement]
const shareTol = 1e-4

// Check returns what makes a tree unusable, everything at once, as [problem.InputErrors]; nil when it can be
// used. Places are named as in the tree's file: acres[2], nodes[5][3][0].
func (t *Tree) Check() error {
	c := &checker{tree: t}
	c.farm()
	if len(c.errs) == 0 {
		c.limits()
		c.structure()
		c.tables()
	}
	return c.errs.Or()
}

type checker struct {
	tree *Tree
	errs problem.InputErrors
}

// maxErrors is where checking stops: a file with one column shifted has thousands of errors and one cause.
const maxErrors = 20

func (c *checker) refuse(rule, path string, got any, want, next string) {
	if len(c.errs) >= maxErrors {
		return
	}
	text := fmt.Sprint(got)
	if v, ok := got.(float64); ok {
		text = strconv.FormatFloat(v, 'g', -1, 64)
	}
	c.errs = append(c.errs, &problem.InputError{
		Rule: "tree." + rule, Label: path, Got: text, Want: want, Next: next,
	})
}

// number refuses v unless it lies between lo and hi; with open, also where it equals lo.
func (c *checker) number(rule, path string, v, lo, hi float64, open bool, want string) {
	if math.IsNaN(v) || v < lo || v > hi || open && v == lo {
		c.refuse(rule, path, v, want, "")
	}
}

// largest is the largest amount a table may hold; a larger one is a slip of units. [judgement]
const largest = 1e12

func (c *checker) farm() {
	t := c.tree
	for _, n := range []struct {
		path string
		got  int
	}{{"F", len(t.Fields)}, {"C", len(t.Speeds)}, {"D", len(t.Destinations)}, {"H", t.Days}, {"B", t.Blocks}} {
		if n.got < 1 {
			c.refuse("count", n.path, n.got, "a whole number of at least 1", "")
		}
	}
	if len(t.TruckHoursPerBushel) != len(t.Fields)*len(t.Destinations) {
		c.refuse("length", "cyc", len(t.TruckHoursPerBushel), "one truck time for each field and destination, F*D in all", "")
	}
	for d, dest := range t.Destinations {
		if len(dest.DayBushels) != t.Days {
			c.refuse("length", fmt.Sprintf("cap_day of destination %d", d), len(dest.DayBushels), "one capacity for each day, H in all", "")
		}
	}
	if len(t.Nodes) == 0 {
		c.refuse("nodes", "nodes", 0, "at least one node: today", "")
	}
}

func (c *checker) limits() {
	t := c.tree
	for f, field := range t.Fields {
		c.number("acres", at("acres", f), field.Acres, 0, largest, false, "acres, 0 or more")
		c.number("yield", at("bu_ac", f), field.BushelsPerAcre, 0, largest, false, "bushels per acre, 0 or more")
		c.number("rate", at("rate", f), field.AcresPerHour, 0, largest, true, "acres per hour, more than 0")
	}
	for k, v := range t.Speeds {
		c.number("speed", at("speed", k), v, 0, largest, true, "a factor on the rates, more than 0")
	}
	for k, v := range t.TruckHoursPerBushel {
		c.number("cycle", at("cyc", k), v, 0, largest, false, "truck hours per bushel, 0 or more")
	}
	for d, dest := range t.Destinations {
		for h, v := range dest.DayBushels {
			c.number("capacity", at("cap_day", d*t.Days+h), v, 0, largest, false, "bushels, 0 or more")
		}
		if !math.IsInf(dest.TotalBushels, 1) {
			c.number("capacity", at("cap_tot", d), dest.TotalBushels, 0, largest, false, "bushels, 0 or more, or null for no limit")
		}
	}
	c.number("trucks", "truck_h", t.TruckHours, 0, largest, false, "truck hours per workable block, 0 or more")
	c.number("block", "block_h", t.BlockHours, 0, 24, true, "hours, more than 0 and at most 24")
	c.number("move", "move_h", t.MoveHours, 0, 24, false, "hours per start, 0 to 24")
}

func (c *checker) structure() {
	t := c.tree
	root := -1
	below := make([]float64, len(t.Nodes))
	children := make([]int, len(t.Nodes))
	for n, node := range t.Nodes {
		path := at("nodes", n)
		if node.Day < 0 || node.Day >= t.Days {
			c.refuse("day", path+"[0]", node.Day, fmt.Sprintf("a day from 0 to %d", t.Days-1), "Days are counted from 0.")
		}
		c.number("probability", path+"[2]", node.Probability, 0, 1+shareTol, true, "a probability, more than 0 and at most 1")
		switch {
		case node.Parent == -1 && root >= 0:
			c.refuse("root", path+"[1]", -1, "the node before it", fmt.Sprintf("Node %d is the root already; a tree has one.", root))
		case node.Parent == -1:
			root = n
		case node.Parent < -1 || node.Parent >= len(t.Nodes):
			c.refuse("parent", path+"[1]", node.Parent, fmt.Sprintf("-1 for the root, or a node from 0 to %d", len(t.Nodes)-1), "")
		case t.Nodes[node.Parent].Day >= node.Day:
			c.refuse("order", path+"[1]", node.Parent, fmt.Sprintf("a node of a day before day %d", node.Day),
				fmt.Sprintf("Node %d is of day %d.", node.Parent, t.Nodes[node.Parent].Day))
		default:
			below[node.Parent] += node.Probability
			children[node.Parent]++
		}
		if len(node.Blocks) != t.Blocks {
			c.refuse("blocks", path+"[3]", len(node.Blocks), fmt.Sprintf("%d blocks, as B says", t.Blocks), "Write 0 for a block that is not workable.")
		}
	}
	if root < 0 {
		c.refuse("root", "nodes", "no root", "one node with parent -1", "")
		return
	}
	if p := t.Nodes[root].Probability; math.Abs(p-1) > shareTol {
		c.refuse("probability", at("nodes", root)+"[2]", p, "1 for the root", "Probabilities are unconditional: all seasons pass the root.")
	}
	for n, node := range t.Nodes {
		if children[n] > 0 && math.Abs(below[n]-node.Probability) > shareTol*node.Probability {
			c.refuse("probability", at("nodes", n)+"[2]", node.Probability, "the sum of its children's, "+strconv.FormatFloat(below[n], 'g', 6, 64),
				"Probabilities are unconditional, not given the node before.")
		}
	}
}

func (c *checker) tables() {
	t := c.tree
	cells := len(t.Fields) * len(t.Destinations)
	for n := range t.Nodes {
		for b, block := range t.Nodes[n].Blocks {
			path := fmt.Sprintf("nodes[%d][3][%d]", n, b)
			if block.Net == nil {
				continue
			}
			c.number("share", path+"[0]", block.Share, 0, 1, false, "the workable share of the block, 0 to 1")
			if len(block.Net) != cells {
				c.refuse("length", path, len(block.Net), fmt.Sprintf("the share, then %d nets: one for each field and destination", cells), "")
				continue
			}
			for k, v := range block.Net {
				if !math.IsInf(v, -1) {
					c.number("net", at(path, k+1), v, -largest, largest, false, "dollars per acre, or null where it is not accepted")
				}
			}
		}
	}
}

func at(name string, k int) string { return fmt.Sprintf("%s[%d]", name, k) }
