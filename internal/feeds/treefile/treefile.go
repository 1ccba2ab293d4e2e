// Package treefile reads a season given as raw tables on a scenario tree, in JSON.
//
// The file is one object: `F, C, D, H, B` count fields, combines, destinations, days and blocks in a day; `acres,
// bu_ac, rate` (ac/h) stand per field, `speed` per combine, `cyc` (truck hours per bushel) at f*D+d, `cap_day`
// (bushels) at d*H+h, `cap_tot` (bushels, null: no limit) per destination; `truck_h` and `block_h` are hours in a
// block, `move_h` hours per start, 0 where it is left out. `nodes` holds `[day, parent, probability, blocks]`; a
// block is 0, unworkable, or `[share, nets…]` with the net $/acre at f*D+d, null where it is not accepted.
//
// Reading is strict and all or nothing: unknown and repeated keys, missing ones, text where a number belongs and
// lists of another length are refused with the path of what is wrong, as nodes[5][3][0]. What the numbers must
// satisfy among each other is checked by [scenario.Tree.Check].
package treefile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"threshday/internal/core/problem"
	"threshday/internal/core/scenario"
)

// Read returns the tree that data holds, checked. file is the name to show in complaints.
func Read(file string, data []byte) (*scenario.Tree, error) {
	r := &reader{scanner: scanner{file: file, data: data}}
	if err := r.object(); err != nil {
		return nil, err
	}
	tree, errs := r.tree()
	if len(errs) == 0 {
		err := tree.Check()
		if err == nil {
			return tree, nil
		}
		var ok bool
		if errs, ok = err.(problem.InputErrors); !ok { //nolint:errorlint // Check returns them unwrapped
			return nil, err
		}
	}
	for _, e := range errs {
		e.Where.File = file
	}
	return nil, errs
}

// keys of the object, in the order of messages; the last may be left out.
var keys = []string{
	"F", "C", "D", "H", "B", "acres", "bu_ac", "rate", "speed", "cyc", "cap_day", "cap_tot", "truck_h", "block_h", "nodes", "move_h",
}

// A reader holds what was read so far.
type reader struct {
	scanner
	counts  map[string]int
	lists   map[string][]float64
	numbers map[string]float64
	nodes   []scenario.Node
	seen    map[string]bool

	unlimited bool // cap_tot is null as a whole
	width     int  // nets of the last block: the next has as many
}

// object reads the whole text.
func (r *reader) object() error {
	r.counts, r.lists, r.numbers, r.seen = map[string]int{}, map[string][]float64{}, map[string]float64{}, map[string]bool{}
	r.skipMark()
	if err := r.open('{', "The file", "one object, {…}"); err != nil {
		return err
	}
	for first := true; ; first = false {
		more, err := r.more('}', first)
		if err != nil {
			return err
		}
		if !more {
			break
		}
		if err := r.member(); err != nil {
			return err
		}
	}
	if err := r.end(); err != nil {
		return err
	}
	var missing problem.InputErrors
	for _, key := range keys[:len(keys)-1] {
		if !r.seen[key] {
			missing = append(missing, &problem.InputError{Rule: "json.missing", Label: key, Want: wanted[key], Where: problem.Place{File: r.file}})
		}
	}
	return missing.Or()
}

var wanted = map[string]string{
	"F": "the number of fields", "C": "the number of combines", "D": "the number of destinations", "H": "the number of days",
	"B": "the number of blocks in a day", "acres": "a list of acres by field", "bu_ac": "a list of bushels per acre by field",
	"rate": "a list of acres per hour by field", "speed": "a list of factors on the rate by combine",
	"cyc": "a list of truck hours per bushel by field and destination", "cap_day": "a list of bushels by destination and day",
	"cap_tot": "a list of bushels or null by destination", "truck_h": "truck hours per workable block", "block_h": "hours of a block",
	"nodes": "a list of [day, parent, probability, blocks]", "move_h": "hours per start",
}

// member reads one key and its value.
func (r *reader) member() error {
	at := r.at
	key, err := r.key()
	switch {
	case err != nil:
		return err
	case !slices.Contains(keys, key):
		return r.fail(at, "json.key", shorten(key), "an unknown key", "one of "+strings.Join(keys, ", "))
	case r.seen[key]:
		return r.fail(at, "json.key", key, "given twice", "once")
	}
	r.seen[key] = true
	switch key {
	case "F", "C", "D", "H", "B":
		r.counts[key], err = r.whole(named(key), 1, mostOf)
	case "truck_h", "block_h", "move_h":
		r.numbers[key], err = r.number(named(key), wanted[key])
	case "nodes":
		err = r.list(named(key), wanted[key], r.node)
	case "cap_tot":
		r.unlimited = r.null()
		if !r.unlimited {
			err = r.listed(key, r.room)
		}
	default:
		err = r.listed(key, func(at path) (float64, error) { return r.number(at, "a number") })
	}
	return err
}

// listed reads the list of numbers that stands at a key.
func (r *reader) listed(key string, read func(path) (float64, error)) error {
	return r.list(named(key), wanted[key], func(at path) error {
		v, err := read(at)
		r.lists[key] = append(r.lists[key], v)
		return err
	})
}

// room reads bushels; null is room without a limit.
func (r *reader) room(at path) (float64, error) {
	if r.null() {
		return math.Inf(1), nil
	}
	return r.number(at, "a number, or null for no limit")
}

// mostOf is the largest count; it keeps products of two counts far from overflow.
const mostOf = 1_000_000

const nodeForm = "[day, parent, probability, blocks]"

// node reads one node.
func (r *reader) node(at path) error {
	var n scenario.Node
	begin, parts := r.at, 0
	err := r.list(at, nodeForm, func(inner path) error {
		parts++
		var err error
		switch parts {
		case 1:
			n.Day, err = r.whole(inner, -mostOf, mostOf)
		case 2:
			n.Parent, err = r.whole(inner, -mostOf, mostOf)
		case 3:
			n.Probability, err = r.number(inner, "a probability")
		case 4:
			err = r.list(inner, "a list of blocks, 0 or [share, nets…]", func(block path) error { return r.block(&n, block) })
		default:
			err = r.fail(begin, "json.length", at(), "a node of more than four parts", nodeForm)
		}
		return err
	})
	if err == nil && parts < 4 {
		err = r.fail(begin, "json.length", at(), fmt.Sprintf("a node with %d of its four parts", parts), nodeForm)
	}
	r.nodes = append(r.nodes, n)
	return err
}

const blockForm = "0 where it is not workable, else [share, nets…]"

// block reads one block of a node.
func (r *reader) block(n *scenario.Node, at path) error {
	var b scenario.Block
	if r.next() != '[' {
		begin := *r
		v, err := r.number(at, blockForm)
		if err == nil && v != 0 {
			err = r.fail(begin.at, "json.type", at(), begin.shown(), blockForm)
		}
		n.Blocks = append(n.Blocks, b)
		return err
	}
	begin, parts := r.at, 0
	b.Net = make([]float64, 0, r.width)
	err := r.list(at, blockForm, func(inner path) error {
		parts++
		var err error
		switch {
		case parts == 1:
			b.Share, err = r.number(inner, "the workable share of the block, 0 to 1")
		case r.null():
			b.Net = append(b.Net, scenario.NotAccepted())
		default:
			var net float64
			net, err = r.number(inner, "dollars per acre, or null where it is not accepted")
			b.Net = append(b.Net, net)
		}
		return err
	})
	if err == nil && parts == 0 {
		err = r.fail(begin, "json.length", at(), "an empty list", blockForm)
	}
	r.width = len(b.Net)
	n.Blocks = append(n.Blocks, b)
	return err
}

// tree joins what was read; lists that are not as long as the counts say are refused together.
func (r *reader) tree() (*scenario.Tree, problem.InputErrors) {
	if r.unlimited {
		r.lists["cap_tot"] = slices.Repeat([]float64{math.Inf(1)}, r.counts["D"])
	}
	var errs problem.InputErrors
	n := func(key string) int { return r.counts[key] }
	for _, l := range []struct {
		key, as string
		want    int
	}{
		{"acres", "F", n("F")},
		{"bu_ac", "F", n("F")},
		{"rate", "F", n("F")},
		{"speed", "C", n("C")},
		{"cyc", "F*D", n("F") * n("D")},
		{"cap_day", "D*H", n("D") * n("H")},
		{"cap_tot", "D", n("D")},
	} {
		if got := len(r.lists[l.key]); got != l.want {
			errs = append(errs, &problem.InputError{Rule: "json.length", Label: l.key, Got: fmt.Sprintf("a list of %d", got), Want: fmt.Sprintf("%d numbers, %s", l.want, l.as)})
		}
	}
	if len(errs) > 0 {
		return nil, errs
	}
	t := &scenario.Tree{
		Days: n("H"), Blocks: n("B"), Speeds: r.lists["speed"], TruckHoursPerBushel: r.lists["cyc"],
		TruckHours: r.numbers["truck_h"], BlockHours: r.numbers["block_h"], MoveHours: r.numbers["move_h"], Nodes: r.nodes,
	}
	for f := range n("F") {
		t.Fields = append(t.Fields, scenario.Field{Acres: r.lists["acres"][f], BushelsPerAcre: r.lists["bu_ac"][f], AcresPerHour: r.lists["rate"][f]})
	}
	for d := range n("D") {
		t.Destinations = append(t.Destinations, scenario.Destination{
			DayBushels: r.lists["cap_day"][d*t.Days : (d+1)*t.Days], TotalBushels: r.lists["cap_tot"][d],
		})
	}
	return t, nil
}
