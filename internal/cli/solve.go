package cli

import (
	"fmt"
	"math"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/scenario"
)

type solveCmd struct {
	Tree   filename      `arg:"" optional:"" need:"" help:"The season as raw tables."`
	Seed   uint64        `help:"Seed of the draws made where the tree is too large to plan on every leaf." default:"1"`
	Care   float64       `help:"What the mean of the worst tenth of the weathers counts beside the mean of all, 0 to 1: 0 plans for the mean alone." placeholder:"SHARE"`
	Within time.Duration `help:"Stop looking after this time and answer with what was found; left out: no limit." placeholder:"30s"`
}

// Explain says what is answered.
func (solveCmd) Explain() string {
	return "Plans a season given as raw tables on a tree of weathers, so that the planner can be checked against other solvers: what its rule earns, " +
		"the most any plan can earn without foresight where that is proven, what foresight would earn, a bound that no plan beats, what to cut today, " +
		"what leaving a field for a day is worth, what one more combine hour, truck hour or bushel of room is, and why acres are left standing. docs/reference/solve.md describes the file and the answer.\n\n" +
		"With --json a key that the size of the tree or the time did not allow is left out, and named in left_out."
}

type solveJSON struct {
	PolicyUSD      *figure          `json:"policy_usd,omitempty"`
	BoundUSD       *figure          `json:"bound_usd,omitempty"`
	ClairvoyantUSD *figure          `json:"clairvoyant_usd,omitempty"`
	P10USD         *figure          `json:"policy_p10_usd,omitempty"`
	TailUSD        *figure          `json:"policy_tail_usd,omitempty"`
	ExactUSD       *figure          `json:"exact_usd,omitempty"`
	TwoStageUSD    *figure          `json:"two_stage_usd,omitempty"`
	Care           *solveCareJSON   `json:"care,omitempty"`
	Shadow         *solveShadowJSON `json:"shadow,omitempty"`
	Today          []solveTaskJSON  `json:"today"`
	Wait           []solveWaitJSON  `json:"wait"`
	WaitLeaves     int              `json:"wait_leaves,omitempty"`
	Cannot         []solveFieldJSON `json:"cannot"`
	Short          []solveShortJSON `json:"left_standing"`
	Findings       []complaint      `json:"findings"`
	LeftOut        []solveLeftJSON  `json:"left_out"`
	Seconds        figure           `json:"seconds"`
	Seed           uint64           `json:"seed"`
}

type solveTaskJSON struct {
	Field       int    `json:"field"`
	Destination int    `json:"destination"`
	Acres       figure `json:"acres"`
}

type solveWaitJSON struct {
	Field      int    `json:"field"`
	USDPerAcre figure `json:"usd_per_acre"`
	Low        figure `json:"low"`
	High       figure `json:"high"`
}

type solveFieldJSON struct {
	Field   int    `json:"field"`
	Because string `json:"because"`
}

type solveLeftJSON struct {
	What    string `json:"what"`
	Because string `json:"because"`
}

// Answer returns the JSON form.
func (solveCmd) Answer() any { return solveJSON{} }

// Run solves.
func (c *solveCmd) Run(s *session) error {
	if c.Within < 0 {
		return &commandError{say: "--within is " + c.Within.String() + "; accepted: a time above zero, as 30s or 2m", next: "Left out, there is no limit."}
	}
	if math.IsNaN(c.Care) || c.Care < 0 || c.Care > 1 {
		return &commandError{say: fmt.Sprintf("--care is %g; accepted: a share, 0 to 1", c.Care), next: "0 plans for the mean alone, 1 for the worst tenth of the weathers alone."}
	}
	data, err := s.read(c.Tree)
	if err != nil {
		return err
	}
	tree, err := s.Files.Tree(string(c.Tree), data)
	if err != nil {
		return err
	}
	soFar := ""
	found := func(policy, bound *float64) {
		soFar = "; nobody can earn more than $" + digits(*bound, 0)
		if policy != nil {
			soFar = "; the plan earns $" + digits(*policy, 0) + ", " + shortBy(*policy, *bound) + " short of what nobody can beat"
		}
	}
	r := app.SolveRequest{Tree: tree, Seed: c.Seed, Care: c.Care, Within: c.Within, Found: found}
	solved, err := s.App.Solve(s.ctx, r, func(doing string, done, of int) {
		s.busy.say(fmt.Sprintf("%s: %d of %d%s", doing, done, of, soFar))
	})
	if err != nil {
		return err
	}
	if s.json {
		return s.print(solvedAsJSON(solved))
	}
	return s.printSolved(tree, solved)
}

func solvedAsJSON(a *app.Solved) solveJSON {
	optional := func(v *float64) *figure {
		if v == nil {
			return nil
		}
		f := figure(*v)
		return &f
	}
	out := solveJSON{
		PolicyUSD: optional(a.PolicyUSD), BoundUSD: optional(a.BoundUSD), ClairvoyantUSD: optional(a.ClairvoyantUSD), ExactUSD: optional(a.ExactUSD),
		TwoStageUSD: optional(a.TwoStageUSD), Care: careAsJSON(a.Care), Shadow: shadowAsJSON(a.Shadow),
		Short: shortAsJSON(a.Short), Findings: []complaint{},
		Today: []solveTaskJSON{}, Wait: []solveWaitJSON{}, Cannot: []solveFieldJSON{}, LeftOut: []solveLeftJSON{},
		WaitLeaves: a.WaitDrawn, Seconds: figure(a.Seconds), Seed: a.Seed,
	}
	if a.Risk != nil {
		out.P10USD, out.TailUSD = optional(&a.Risk.P10USD), optional(&a.Risk.TailUSD)
	}
	for _, t := range a.Today {
		out.Today = append(out.Today, solveTaskJSON{t.Field, t.Destination, figure(t.Acres)})
	}
	for _, w := range a.Wait {
		out.Wait = append(out.Wait, solveWaitJSON{w.Field, figure(w.USDPerAcre), figure(w.Low), figure(w.High)})
	}
	for _, n := range a.Cannot {
		out.Cannot = append(out.Cannot, solveFieldJSON(n))
	}
	for _, f := range a.Doubts {
		out.Findings = append(out.Findings, ofFinding(f))
	}
	for _, l := range a.LeftOut {
		out.LeftOut = append(out.LeftOut, solveLeftJSON(l))
	}
	return out
}

// printSolved prints the answer for a person: the values from below to above, today, and what waiting is worth.
func (s *session) printSolved(t *scenario.Tree, a *app.Solved) error {
	p := s.printer()
	if a.PolicyUSD != nil {
		p.line(p.bold("$" + digits(*a.PolicyUSD, 0)))
		p.wrapped("", "what the plan earns in the mean, knowing each day only what is known by then")
		if a.Risk != nil {
			p.wrapped("", fmt.Sprintf("one weather in ten earns $%s or less; the worst tenth $%s in the mean", digits(a.Risk.P10USD, 0), digits(a.Risk.TailUSD, 0)))
		}
		p.careWords(a.Care)
		p.line("")
	}
	var rows []row
	add := func(name string, v *float64, note string) {
		if v != nil {
			rows = append(rows, row{name, "$" + digits(*v, 0) + note})
		}
	}
	if a.ExactUSD != nil && a.PolicyUSD != nil {
		add("best possible", a.ExactUSD, fmt.Sprintf(", proven; the plan is %s short of it", shortBy(*a.PolicyUSD, *a.ExactUSD)))
	}
	if a.ExactUSD == nil {
		add("each later day known at once", a.TwoStageUSD, "")
	}
	add("with foresight", a.ClairvoyantUSD, "")
	note := ""
	if a.PolicyUSD != nil && a.BoundUSD != nil {
		note = fmt.Sprintf("; the plan is %s short of it", shortBy(*a.PolicyUSD, *a.BoundUSD))
	}
	add("nobody can earn more", a.BoundUSD, note)
	p.table(rows)
	p.line("")
	var today []string
	for _, c := range a.Today {
		today = append(today, fmt.Sprintf("field %d to destination %d: %s acres", c.Field, c.Destination, digits(c.Acres, 1)))
	}
	if len(today) == 0 && a.PolicyUSD != nil {
		today = []string{"cut nothing"}
	}
	p.section("Today", today)
	var wait []string
	for _, w := range a.Wait {
		wait = append(wait, fmt.Sprintf("field %d: %s $/ac (%s to %s), %s", w.Field, digits(w.USDPerAcre, 2), digits(w.Low, 2), digits(w.High, 2), verdict(w)))
	}
	if a.WaitDrawn > 0 {
		wait = append(wait, fmt.Sprintf("from %d of the weathers, each known after some days: estimates that lean to waiting", a.WaitDrawn))
	}
	p.section("Waiting", wait)
	p.section("One more", shadowLines(a.Shadow))
	var cannot []string
	for _, c := range a.Cannot {
		cannot = append(cannot, fmt.Sprintf("field %d: %s", c.Field, c.Because))
	}
	p.section("Cannot", cannot)
	p.section("Standing", shortLines(t, a))
	p.section("Look at", lookAt(a.Doubts))
	var left []string
	for _, l := range a.LeftOut {
		left = append(left, l.What+": "+l.Because)
	}
	p.section("Left out", left)
	p.line("")
	p.wrapped("", fmt.Sprintf("%s, %s, %s; %s s, seed %d. Waiting: what it is worth to leave a field's first acres until tomorrow, everything else planned anew.",
		plural(int64(len(t.Fields)), "field"), plural(int64(a.Nodes), "node"), plural(int64(a.Leaves), "weather"), digits(a.Seconds, 1), a.Seed))
	return p.Flush()
}

// shortBy says how far v lies under most.
func shortBy(v, most float64) string {
	if most == 0 {
		return "nothing"
	}
	return digits(100*max(0, 1-v/most), 2) + " %"
}

// tossUp is the worth of waiting, in dollars an acre, below which neither choice is called better. [judgement]
const tossUp = 1

func verdict(w scenario.Wait) string {
	switch {
	case w.Low <= 0 && w.High >= 0 || math.Abs(w.USDPerAcre) < tossUp:
		return "a toss-up"
	case w.USDPerAcre > 0:
		return "wait"
	}
	return "cut"
}
