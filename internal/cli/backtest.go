package cli

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/calendar"
)

type backtestCmd struct {
	Season string `arg:"" optional:"" help:"Your season file."`
	Demo   bool   `help:"Use the built-in, invented farm."`
	Years  string `help:"Years of the record to replay; left out: all that are whole." placeholder:"2003-2007"`
	From   string `help:"Month and date each season starts on; left out: that of the season's own morning." placeholder:"09-20"`
	planFlags
}

// Explain says what a back-test is.
func (backtestCmd) Explain() string {
	return "Replays recorded autumns: per year what the plan, each rule of thumb and perfect foresight would have earned on this farm. " +
		"A year starts without readings and without a forecast; the rule is learned on the other years alone and then meets it hour by hour. " +
		"Dates of the season are moved to the year; its bids and schedules are taken to hold in each. Foresight is a bound: nobody can earn more, not even knowing all."
}

type backtestJSON struct {
	From    string             `json:"from"`
	Members int                `json:"members"`
	Draws   int                `json:"draws"`
	Years   []backtestYearJSON `json:"years"`
	Total   backtestYearJSON   `json:"total"`
	Skipped []string           `json:"skipped"`
}

type backtestYearJSON struct {
	Year         int           `json:"year,omitempty"`
	PlanUSD      figure        `json:"plan_usd"`
	ForesightUSD figure        `json:"foresight_bound_usd"`
	Rules        []answer.Rule `json:"rules"`
	BestRule     string        `json:"best_rule"`
	LeadUSD      figure        `json:"lead_on_best_rule_usd"`
	RainDays     figure        `json:"rain_days,omitempty"`
	RainMM       figure        `json:"rain_mm,omitempty"`
}

// Answer returns the JSON form.
func (backtestCmd) Answer() any { return backtestJSON{} }

// Run replays the years and prints them.
func (c backtestCmd) Run(s *session) error {
	files, name, err := s.season(c.Season, c.Demo, c.Data)
	if err != nil {
		return err
	}
	r := app.BacktestRequest{}
	if r.PlanRequest, err = c.request(files, name); err != nil {
		return err
	}
	if r.Years, err = years(c.Years); err != nil {
		return err
	}
	if c.From != "" {
		day, err := time.Parse("2006-01-02", "2004-"+c.From)
		if err != nil {
			return &commandError{say: "--from is " + strconv.Quote(c.From) + "; accepted: month and date, as 09-20", next: "The year is each year's own."}
		}
		r.From = &calendar.Day{Year: day.Year(), Month: day.Month(), Date: day.Day()}
	}
	b, err := s.App.Backtest(s.ctx, r, func(done, of int) {
		s.busy.say(fmt.Sprintf("%d of %d years done", done, of))
	})
	if err != nil {
		return err
	}
	if s.json {
		return s.print(backtestAsJSON(b))
	}
	return s.printBacktest(b)
}

// years reads "2003-2007" or "2004".
func years(text string) ([]int, error) {
	if text == "" {
		return nil, nil
	}
	first, last, span := strings.Cut(text, "-")
	if !span {
		last = first
	}
	from, err1 := strconv.Atoi(first)
	to, err2 := strconv.Atoi(last)
	if err1 != nil || err2 != nil || from < 1800 || to > 2200 || to < from {
		return nil, &commandError{say: "--years is " + strconv.Quote(text) + "; accepted: one year or a span, as 2003-2007", next: "The record must hold them."}
	}
	var out []int
	for y := from; y <= to; y++ {
		out = append(out, y)
	}
	return out, nil
}

func backtestAsJSON(b *app.Backtest) backtestJSON {
	one := func(y app.BacktestYear) backtestYearJSON {
		out := backtestYearJSON{
			Year: y.Year, PlanUSD: figure(y.Plan), ForesightUSD: figure(y.Bound), Rules: []answer.Rule{}, BestRule: y.BestRule,
			LeadUSD: figure(y.LeadOnBestRule), RainDays: figure(y.RainDays), RainMM: figure(y.RainMM),
		}
		for _, r := range y.Rules {
			out.Rules = append(out.Rules, answer.Rule{Rule: r.Rule, ExpectedUSD: figure(r.Expected), LessUSD: figure(r.Less)})
		}
		return out
	}
	out := backtestJSON{From: b.From, Members: b.Members, Draws: b.Draws, Years: []backtestYearJSON{}, Total: one(b.Total), Skipped: list(b.Skipped)}
	for _, y := range b.Years {
		out.Years = append(out.Years, one(y))
	}
	return out
}

// printBacktest prints a row per year, the sum, and how far each lies under foresight, drawn.
func (s *session) printBacktest(b *app.Backtest) error {
	p := s.printer()
	p.line(p.bold("What recorded autumns would have earned, from " + b.From + " on"))
	p.wrapped("", fmt.Sprintf("Dollars after hauling and machines, mean over %d draws of what is not known of the fields; the weather is each year's own. The rule is learned on %d weathers of the other years.", b.Draws, b.Members))
	p.line("")
	head := fmt.Sprintf("%-6s %5s %9s %10s", "year", "wet", "foresight", "plan")
	for _, r := range b.Total.Rules {
		head += fmt.Sprintf(" %13s", cut(r.Rule, 13))
	}
	p.line(p.bold(head))
	row := func(label string, wet string, y app.BacktestYear) {
		line := fmt.Sprintf("%-6s %5s %9s %10s", label, wet, digits(y.Bound, 0), digits(y.Plan, 0))
		for _, r := range y.Rules {
			line += fmt.Sprintf(" %13s", digits(-r.Less, 0))
		}
		p.line(line)
	}
	for _, y := range b.Years {
		row(strconv.Itoa(y.Year), short(y.RainDays, 0), y)
	}
	row("all", "", b.Total)
	p.line("")
	p.wrapped("", "wet: days of rain in the ninety from the start. foresight: nobody can earn more. Rules of thumb: dollars against the plan.")
	p.line("")
	for _, y := range b.Years {
		p.line(fmt.Sprintf("%d  %s", y.Year, shortfall(y)))
	}
	p.wrapped("", "Drawn: dollars short of foresight, plan (o) and rules (x); the left end is foresight.")
	if len(b.Skipped) > 0 {
		p.line("")
		p.section("Skipped", b.Skipped)
	}
	return p.Flush()
}

// shortfall draws how far plan and rules lie under the bound, the right end a tenth of it.
func shortfall(y app.BacktestYear) string {
	const width = 60
	line := []rune(strings.Repeat(".", width+1))
	at := func(usd float64) int { return int(min(max((y.Bound-usd)/(0.1*y.Bound), 0), 1) * width) }
	for _, r := range y.Rules {
		line[at(r.Expected)] = 'x'
	}
	line[at(y.Plan)] = 'o'
	return string(line)
}
