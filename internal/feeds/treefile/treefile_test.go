package treefile_test

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshday/internal/core/problem"
	"threshday/internal/core/scenario"
	"threshday/internal/feeds/treefile"
	"threshday/test/oracle/season"
)

// example is the file on the reference page.
func example(t testing.TB) string {
	t.Helper()
	page, err := os.ReadFile("../../../docs/reference/solve.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(page), "```json\n")
	text, _, ok := strings.Cut(rest, "```")
	if !ok {
		t.Fatal("no example on the page")
	}
	return text
}

func TestTheReferencePageIsTrue(t *testing.T) {
	got, err := treefile.Read("tree.json", []byte("\xef\xbb\xbf"+example(t)))
	if err != nil {
		t.Fatal(err)
	}
	no := scenario.NotAccepted()
	want := &scenario.Tree{
		Days: 2, Blocks: 1,
		Fields: []scenario.Field{{Acres: 60, BushelsPerAcre: 55, AcresPerHour: 10}, {Acres: 40, BushelsPerAcre: 180, AcresPerHour: 8}},
		Speeds: []float64{1},
		Destinations: []scenario.Destination{
			{DayBushels: []float64{4000, 4000}, TotalBushels: 6000},
			{DayBushels: []float64{9000, 9000}, TotalBushels: math.Inf(1)},
		},
		TruckHoursPerBushel: []float64{0.001, 0.002, 0.001, 0.002}, TruckHours: 12, BlockHours: 8,
		Nodes: []scenario.Node{
			{Day: 0, Parent: -1, Probability: 1, Blocks: []scenario.Block{{Share: 0.9, Net: []float64{520, 500, 610, no}}}},
			{Day: 1, Parent: 0, Probability: 0.7, Blocks: []scenario.Block{{Share: 1, Net: []float64{510, 505, 640, 600}}}},
			{Day: 1, Parent: 0, Probability: 0.3, Blocks: []scenario.Block{{}}},
		},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestWhatIsWrittenIsReadBack(t *testing.T) {
	for seed := range uint64(10) {
		want := season.Draw(season.Size{Fields: 3, Days: 5, Blocks: 2, Destinations: 3, Leaves: 6}, seed)
		want.MoveHours = 0.1 * float64(seed)
		if seed%2 == 1 {
			season.Scramble(want, seed)
		}
		got, err := treefile.Read("tree.json", season.Write(want))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("seed %d: %s", seed, diff)
		}
	}
}

// Every change makes the example unusable, and the complaint names where.
func TestWhatCannotBeUsedIsNamed(t *testing.T) {
	for _, c := range []struct{ name, old, with, want string }{
		{"not an object", `{"F"`, `[{"F"`, `tree.json, line 1, column 1: The file is "a list"; accepted: one object, {…}.`},
		{"empty", "", "", `tree.json, line 1, column 1: The file is "an early end"; accepted: one object, {…}.`},
		{"cut off", `[1, 0, 0.3, [0]]]}`, `[1, 0,`, `nodes[2][2] is "an early end"; accepted: a probability.`},
		{"more behind", `[0]]]}`, `[0]]]} {`, `JSON is "an object"; accepted: nothing behind the end of the object.`},
		{"a comma too many", `"F": 2,`, `"F": 2,,`, `line 1, column 9: JSON is ","; accepted: a key, "…".`},
		{"a comma before the end", `[0]]]}`, `[0]],]}`, `JSON is "]"; accepted: another value behind the comma, or no comma before "]".`},
		{"a comma too few", `"acres": [60, 40]`, `"acres": [60 40]`, `JSON is "40"; accepted: a comma or "]".`},
		{"no colon", `"F": 2`, `"F" 2`, `JSON is "2"; accepted: a colon behind the key.`},
		{"unknown key", `"rate"`, `"rates"`, `rates is "an unknown key"; accepted: one of F, C, D,`},
		{"key twice", `"block_h": 8`, `"block_h": 8, "block_h": 8`, `block_h is "given twice"; accepted: once.`},
		{"key missing", `"truck_h": 12, `, ``, `tree.json: truck_h is missing; accepted: truck hours per workable block.`},
		{"a count in words", `"F": 2`, `"F": "two"`, `F is "\"two\""; accepted: a whole number from 1 to 1000000.`},
		{"half a field", `"F": 2`, `"F": 2.5`, `F is "2.5"; accepted: a whole number`},
		{"no day", `"H": 2`, `"H": 0`, `H is "0"; accepted: a whole number from 1`},
		{"text for a number", `[60, 40]`, `[60, "40"]`, `line 2, column 16: acres[1] is "\"40\""; accepted: a number.`},
		{"null for a number", `[60, 40]`, `[60, null]`, `acres[1] is "null"; accepted: a number.`},
		{"a leading zero", `[60, 40]`, `[60, 040]`, `acres[1] is "040"; accepted: a number.`},
		{"not a number", `[60, 40]`, `[NaN, 40]`, `acres[0] is "NaN"; accepted: a number.`},
		{"too large a number", `[60, 40]`, `[60, 1e999]`, `acres[1] is "1e999"; accepted: a number between -1e308 and 1e308.`},
		{"a number for a list", `[60, 40]`, `60`, `acres is "60"; accepted: a list of acres by field.`},
		{"list too short", `[60, 40]`, `[60]`, `tree.json: acres is "a list of 1"; accepted: 2 numbers, F.`},
		{"cycles too many", `[0.001, 0.002, 0.001, 0.002]`, `[1, 2, 3, 4, 5]`, `cyc is "a list of 5"; accepted: 4 numbers, F*D.`},
		{"capacity by day only", `[4000, 4000, 9000, 9000]`, `[4000, 4000]`, `cap_day is "a list of 2"; accepted: 4 numbers, D*H.`},
		{"negative acres", `[60, 40]`, `[60, -40]`, `tree.json: acres[1] is "-40"; accepted: acres, 0 or more.`},
		{"no rate", `[10, 8]`, `[10, 0]`, `rate[1] is "0"; accepted: acres per hour, more than 0.`},
		{"negative move", `"block_h": 8`, `"block_h": 8, "move_h": -1`, `move_h is "-1"; accepted: hours per start, 0 to 24.`},
		{"a node too short", `[1, 0, 0.3, [0]]`, `[1, 0, 0.3]`, `nodes[2] is "a node with 3 of its four parts"; accepted: [day, parent, probability, blocks].`},
		{"a node too long", `[1, 0, 0.3, [0]]`, `[1, 0, 0.3, [0], 1]`, `nodes[2] is "a node of more than four parts"`},
		{"a node that is none", `[1, 0, 0.3, [0]]`, `7`, `nodes[2] is "7"; accepted: [day, parent, probability, blocks].`},
		{"a block that is neither", `[0]]]}`, `[1]]]}`, `nodes[2][3][0] is "1"; accepted: 0 where it is not workable, else [share, nets…].`},
		{"an empty block", `[0]]]}`, `[[]]]]}`, `nodes[2][3][0] is "an empty list"`},
		{"blocks too few", `[0]]]}`, `[]]]}`, `nodes[2][3] is "0"; accepted: 1 blocks, as B says. Write 0 for a block that is not workable.`},
		{"nets too few", `640, 600]`, `640]`, `nodes[1][3][0] is "3"; accepted: the share, then 4 nets`},
		{"a net in words", `640, 600]`, `640, "no"]`, `nodes[1][3][0][4] is "\"no\""; accepted: dollars per acre, or null where it is not accepted.`},
		{"share in percent", `[0.9, 520`, `[90, 520`, `nodes[0][3][0][0] is "90"; accepted: the workable share of the block, 0 to 1.`},
		{"share null", `[0.9, 520`, `[null, 520`, `nodes[0][3][0][0] is "null"; accepted: the workable share`},
		{"probability negative", `[1, 0, 0.3`, `[1, 0, -0.3`, `nodes[2][2] is "-0.3"; accepted: a probability, more than 0 and at most 1.`},
		{"conditional probabilities", `[0, -1, 1,`, `[0, -1, 0.5,`, `nodes[0][2] is "0.5"; accepted: 1 for the root.`},
		{"children that do not add up", `[1, 0, 0.3`, `[1, 0, 0.2`, `nodes[0][2] is "1"; accepted: the sum of its children's, 0.9.`},
		{"a day too late", `[1, 0, 0.3`, `[2, 0, 0.3`, `nodes[2][0] is "2"; accepted: a day from 0 to 1.`},
		{"two roots", `[1, 0, 0.3`, `[1, -1, 0.3`, `nodes[2][1] is "-1"; accepted: the node before it. Node 0 is the root already; a tree has one.`},
		{"no root", `[0, -1, 1,`, `[0, 1, 1,`, `a node of a day before day 0`},
		{"its own parent", `[1, 0, 0.3`, `[1, 2, 0.3`, `nodes[2][1] is "2"; accepted: a node of a day before day 1.`},
		{"a parent that is not there", `[1, 0, 0.3`, `[1, 9, 0.3`, `nodes[2][1] is "9"; accepted: -1 for the root, or a node from 0 to 2.`},
	} {
		text := strings.Replace(example(t), c.old, c.with, 1)
		if c.old == "" {
			text = ""
		}
		_, err := treefile.Read("tree.json", []byte(text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v\nwant %s", c.name, err, c.want)
		}
	}
}

func TestSeveralMistakesAreNamedTogether(t *testing.T) {
	text := strings.NewReplacer(`[10, 8]`, `[0, 0]`, `"speed": [1]`, `"speed": [-1]`).Replace(example(t))
	_, err := treefile.Read("tree.json", []byte(text))
	var many problem.InputErrors
	if !errors.As(err, &many) || len(many) != 3 {
		t.Errorf("got %v", err)
	}
}

// Whatever is read is a tree that can be solved, and is read again from how it is written.
func FuzzRead(f *testing.F) {
	f.Add([]byte(example(f)))
	f.Add([]byte(`{"F":1,"C":1,"D":1,"H":1,"B":1,"acres":[1],"bu_ac":[1],"rate":[1],"speed":[1],"cyc":[0],"cap_day":[1],"cap_tot":null,"truck_h":1,"block_h":1,"nodes":[[0,-1,1,[[1,null]]]]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		tree, err := treefile.Read("tree.json", data)
		if err != nil {
			var one *problem.InputError
			if !errors.As(err, &one) || tree != nil {
				t.Fatalf("%v with %v", err, tree)
			}
			return
		}
		if err := tree.Check(); err != nil {
			t.Fatal(err)
		}
		again, err := treefile.Read("tree.json", season.Write(tree))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(tree, again); diff != "" {
			t.Fatal(diff)
		}
	})
}
