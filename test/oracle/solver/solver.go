// Package solver writes planner trees as linear and integer programs in the LP format that general-purpose solvers
// read, and runs two of them, cbc and glpsol, on the files. It states the season on its own, from the tree's tables
// alone, and shares no code with the planner.
package solver

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"

	"threshday/internal/core/scenario"
)

// A Today demands between so many acres of a field at the root.
type Today struct {
	Field       int
	Least, Most float64
}

// A Model says which program of a tree is wanted.
type Model struct {
	// Foresight gives every leaf a season of its own; else seasons share what they share in the tree.
	Foresight bool
	Today     *Today
	Moves     bool // with starts that take time: a program with integers
	// Care is what the mean of the worst tenth of the seasons counts; the mean of all counts the rest. Zero: the mean alone.
	Care float64
}

// A stage is a node as one of the seasons of a model sees it, and the stage before.
type stage struct {
	node, before int
	weight       float64
}

// stages returns the stages of a model, earlier ones first.
func stages(t *scenario.Tree, m Model) []stage {
	children := make([][]int, len(t.Nodes))
	root := 0
	for n, node := range t.Nodes {
		if node.Parent < 0 {
			root = n
		} else {
			children[node.Parent] = append(children[node.Parent], n)
		}
	}
	var out []stage
	if !m.Foresight {
		at := map[int]int{}
		for queue := []int{root}; len(queue) > 0; queue = queue[1:] {
			n := queue[0]
			before := -1
			if t.Nodes[n].Parent >= 0 {
				before = at[t.Nodes[n].Parent]
			}
			at[n] = len(out)
			out = append(out, stage{n, before, t.Nodes[n].Probability})
			queue = append(queue, children[n]...)
		}
		return out
	}
	for leaf := range t.Nodes {
		if len(children[leaf]) > 0 {
			continue
		}
		var path []int
		for n := leaf; n >= 0; n = t.Nodes[n].Parent {
			path = append([]int{n}, path...)
		}
		for k, n := range path {
			before := len(out) - 1
			if k == 0 {
				before = -1
			}
			out = append(out, stage{n, before, t.Nodes[leaf].Probability})
		}
	}
	return out
}

// Program returns the program of a tree in LP format. It minimises what is lost, so that no solver's reading of the
// sense of an objective matters: its optimum is minus the worth of the season.
func Program(t *scenario.Tree, m Model) []byte {
	w := &writer{tree: t, model: m, stages: stages(t, m)}
	w.objective()
	w.out.WriteString("Subject To\n")
	for k := range w.stages {
		w.day(k)
	}
	w.seasons()
	if m.Care > 0 {
		w.worstTenth()
	}
	if m.Today != nil {
		w.today()
	}
	w.bounds()
	w.out.WriteString("End\n")
	return w.out.Bytes()
}

type writer struct {
	tree   *scenario.Tree
	model  Model
	stages []stage
	out    bytes.Buffer
	row    int
}

// A term is one coefficient of a row.
type term struct {
	coef float64
	name string
}

// constrain writes one row. A row without terms says nothing.
func (w *writer) constrain(terms []term, sense string, side float64) {
	if len(terms) == 0 {
		return
	}
	w.row++
	fmt.Fprintf(&w.out, "r%d:", w.row)
	w.sum(terms)
	fmt.Fprintf(&w.out, " %s %s\n", sense, exactly(side))
}

func (w *writer) sum(terms []term) {
	for k, x := range terms {
		if k%6 == 5 {
			w.out.WriteString("\n ")
		}
		sign := "+"
		if math.Signbit(x.coef) {
			sign = "-"
		}
		fmt.Fprintf(&w.out, " %s %s %s", sign, exactly(math.Abs(x.coef)), x.name)
	}
}

// exactly writes a number so that it reads back to the same bits.
func exactly(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// each calls visit for every cell of a stage in which something can be cut: block, field, destination, net. With
// moves, once for each combine.
func (w *writer) each(k int, visit func(b, f, d, c int, net float64, name string)) {
	dests := len(w.tree.Destinations)
	combines := 1
	if w.model.Moves {
		combines = len(w.tree.Speeds)
	}
	for b, block := range w.tree.Nodes[w.stages[k].node].Blocks {
		for cell, net := range block.Net {
			if net <= scenario.NotAccepted() {
				continue
			}
			for c := range combines {
				visit(b, cell/dests, cell%dests, c, net, fmt.Sprintf("x_%d_%d_%d_%d_%d", k, b, cell/dests, cell%dests, c))
			}
		}
	}
}

func (w *writer) objective() {
	w.out.WriteString("Minimize\nobj:")
	terms := []term{{0, "none"}}
	for k, s := range w.stages {
		w.each(k, func(_, _, _, _ int, net float64, name string) {
			terms = append(terms, term{-(1 - w.model.Care) * s.weight * net, name})
		})
	}
	if w.model.Care > 0 {
		terms = append(terms, term{-w.model.Care, "threshold"})
		for _, end := range w.last() {
			terms = append(terms, term{w.model.Care / 0.1 * w.stages[end].weight, fmt.Sprintf("under_%d", end)})
		}
	}
	w.sum(terms)
	w.out.WriteString("\n")
}

// day writes the rows of one stage.
func (w *writer) day(k int) {
	t := w.tree
	speed := 0.0
	for _, v := range t.Speeds {
		speed += v
	}
	node := t.Nodes[w.stages[k].node]
	hours, trucks := make([][]term, t.Blocks), make([][]term, t.Blocks)
	dump := make([][]term, len(t.Destinations))
	w.each(k, func(b, f, d, _ int, _ float64, name string) {
		field := t.Fields[f]
		hours[b] = append(hours[b], term{1 / field.AcresPerHour, name})
		trucks[b] = append(trucks[b], term{field.BushelsPerAcre * t.TruckHoursPerBushel[f*len(t.Destinations)+d], name})
		dump[d] = append(dump[d], term{field.BushelsPerAcre, name})
	})
	for b, block := range node.Blocks {
		if !w.model.Moves {
			w.constrain(hours[b], "<=", block.Share*t.BlockHours*speed)
		}
		w.constrain(trucks[b], "<=", t.TruckHours)
	}
	for d := range dump {
		w.constrain(dump[d], "<=", t.Destinations[d].DayBushels[node.Day])
	}
	if w.model.Moves {
		w.moves(k)
	}
}

// last returns the stages that seasons end at.
func (w *writer) last() []int {
	inner := make([]bool, len(w.stages))
	for _, s := range w.stages {
		if s.before >= 0 {
			inner[s.before] = true
		}
	}
	var out []int
	for k := range w.stages {
		if !inner[k] {
			out = append(out, k)
		}
	}
	return out
}

// worstTenth writes, for every season, that what it falls short of the threshold is at least threshold less earnings: the mean
// of the worst tenth is the largest of threshold less mean shortfall over a tenth [rockafellar-uryasev-2000].
func (w *writer) worstTenth() {
	for _, end := range w.last() {
		terms := []term{{-1, "threshold"}, {1, fmt.Sprintf("under_%d", end)}}
		for k := end; k >= 0; k = w.stages[k].before {
			w.each(k, func(_, _, _, _ int, net float64, name string) { terms = append(terms, term{net, name}) })
		}
		w.constrain(terms, ">=", 0)
	}
}

// seasons writes, for every season that ends at a last stage, what its fields and destinations hold.
func (w *writer) seasons() {
	for _, end := range w.last() {
		fields, totals := make([][]term, len(w.tree.Fields)), make([][]term, len(w.tree.Destinations))
		for k := end; k >= 0; k = w.stages[k].before {
			w.each(k, func(_, f, d, _ int, _ float64, name string) {
				fields[f] = append(fields[f], term{1, name})
				totals[d] = append(totals[d], term{w.tree.Fields[f].BushelsPerAcre, name})
			})
		}
		for f := range fields {
			w.constrain(fields[f], "<=", w.tree.Fields[f].Acres)
		}
		for d := range totals {
			if most := w.tree.Destinations[d].TotalBushels; most < 1e300 {
				w.constrain(totals[d], "<=", most)
			}
		}
	}
}

func (w *writer) today() {
	var cut []term
	for k, s := range w.stages {
		if s.before < 0 {
			w.each(k, func(_, f, _, _ int, _ float64, name string) {
				if f == w.model.Today.Field {
					cut = append(cut, term{1, name})
				}
			})
		}
	}
	w.constrain(cut, ">=", w.model.Today.Least)
	w.constrain(cut, "<=", w.model.Today.Most)
}

// bounds closes the file: "none" carries the constant of an objective that may otherwise be empty.
func (w *writer) bounds() {
	w.out.WriteString("Bounds\n none = 0\n")
	if w.model.Care > 0 {
		w.out.WriteString(" threshold free\n")
	}
	if !w.model.Moves {
		return
	}
	w.out.WriteString("Binary\n")
	for k := range w.stages {
		w.visits(k, func(names ...string) { fmt.Fprintf(&w.out, " %s\n", strings.Join(names, "\n ")) })
	}
}

// Missing returns which of the two solvers is not installed.
func Missing() []string {
	var out []string
	for _, name := range []string{"cbc", "glpsol"} {
		if _, err := exec.LookPath(name); err != nil {
			out = append(out, name)
		}
	}
	return out
}

// CBC returns the optimum of a program by cbc, to its printed eight places; folder takes the files.
func CBC(ctx context.Context, folder string, program []byte) (float64, error) {
	file, answer := filepath.Join(folder, "cbc.lp"), filepath.Join(folder, "cbc.txt")
	if err := os.WriteFile(file, program, 0o600); err != nil {
		return 0, err
	}
	said, err := exec.CommandContext(ctx, "cbc", file, "-primalTolerance", "1e-9", "-dualTolerance", "1e-9", "-ratioGap", "0", "-solve", "-solution", answer, "-quit").CombinedOutput() //nolint:gosec // a solver on a file of ours
	if err != nil {
		return 0, fmt.Errorf("cbc: %w: %s", err, said)
	}
	text, err := os.ReadFile(answer) //nolint:gosec // written by cbc where it was told
	if err != nil {
		return 0, fmt.Errorf("cbc: %w: %s", err, said)
	}
	first, _, _ := strings.Cut(string(text), "\n")
	_, value, ok := strings.Cut(first, "objective value")
	if !ok || !strings.HasPrefix(first, "Optimal") {
		return 0, fmt.Errorf("cbc: %q: %s", first, said)
	}
	return strconv.ParseFloat(strings.TrimSpace(value), 64)
}

// GLPK returns the optimum of a program by glpsol.
func GLPK(ctx context.Context, folder string, program []byte) (float64, error) {
	file, answer := filepath.Join(folder, "glpk.lp"), filepath.Join(folder, "glpk.txt")
	if err := os.WriteFile(file, program, 0o600); err != nil {
		return 0, err
	}
	said, err := exec.CommandContext(ctx, "glpsol", "--lp", file, "-w", answer).CombinedOutput() //nolint:gosec // a solver on a file of ours
	if err != nil {
		return 0, fmt.Errorf("glpsol: %w: %s", err, said)
	}
	text, err := os.ReadFile(answer) //nolint:gosec // written by glpsol where it was told
	if err != nil {
		return 0, fmt.Errorf("glpsol: %w: %s", err, said)
	}
	// s bas ROWS COLUMNS f f VALUE: basic solution, primal and dual feasible.
	for lines := bufio.NewScanner(bytes.NewReader(text)); lines.Scan(); {
		if words := strings.Fields(lines.Text()); len(words) == 7 && words[0] == "s" && words[4] == "f" && words[5] == "f" {
			return strconv.ParseFloat(words[6], 64)
		}
	}
	return 0, fmt.Errorf("glpsol: no optimum: %s", said)
}
