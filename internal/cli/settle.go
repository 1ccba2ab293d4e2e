package cli

import (
	"errors"
	"fmt"

	"threshday/internal/app"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// termsFlags are shared by the commands that settle one load.
type termsFlags struct {
	Schedule filename `need:"stored" placeholder:"schedule.json" help:"The buyer's posted schedule."`
	Ticket   filename `need:"stored" placeholder:"ticket.json" help:"The scale ticket."`
	Price    dollars  `need:"stored" above:"0" placeholder:"9.8725" help:"Cash or contract price per bushel, or per hundredweight where the schedule says so."`
	Premium  *dollars `placeholder:"0.06" help:"Premium on the price, of a window or a grade."`
	Futures  *dollars `above:"0" placeholder:"10.4225" help:"Futures price, for schedules that take percents of it."`
}

// load reads the files and returns what is to be settled.
func (c *termsFlags) load(s *session) (settlement.Schedule, settlement.Load, settlement.Prices, error) {
	fail := func(err error) (settlement.Schedule, settlement.Load, settlement.Prices, error) {
		return settlement.Schedule{}, settlement.Load{}, settlement.Prices{}, err
	}
	data, err := s.read(c.Schedule)
	if err != nil {
		return fail(err)
	}
	schedule, err := s.Files.Schedule(string(c.Schedule), data)
	if err != nil {
		return fail(err)
	}
	if data, err = s.read(c.Ticket); err != nil {
		return fail(err)
	}
	load, err := s.Files.Ticket(string(c.Ticket), data)
	if err != nil {
		return fail(err)
	}
	p := settlement.Prices{Cash: trade.Price(c.Price)}
	if c.Premium != nil {
		p.Premium = trade.Price(*c.Premium)
	}
	if c.Futures != nil {
		futures := trade.Price(*c.Futures)
		p.Futures = &futures
	}
	return schedule, load, p, nil
}

type settleCmd struct {
	termsFlags
	Words bool `name:"explain" help:"Also say the whole schedule in words, and draw what it pays by moisture."`
}

// Explain says what is printed.
func (settleCmd) Explain() string {
	return "Every row of the schedule is applied in its order and printed with what it took: the reading, the band, the steps, the rate, the " +
		"pounds or dollars. Money is exact to the cent, rounded where the schedule says. A load that a row refuses has no price: ask the buyer.\n\n" +
		"With --json: net_lb, settle_lb, gross_bu, net_bu, price_per_bu (premium in, price rows out), value_usd, checkoff_usd, charges, net_usd, lines " +
		"(row, factor, reading, from, to, step, steps, amount, unit, qty, lb, usd, running_usd, running_lb, say), rejected (row, say) or null; " +
		"by the hundredweight gross_cwt, net_cwt and price_per_cwt stand in place of the bushels. " +
		"docs/reference/schedule.md describes the files. The buyer's own posted schedule decides."
}

// Run settles.
func (c *settleCmd) Run(s *session) error {
	schedule, load, prices, err := c.load(s)
	if err != nil {
		return err
	}
	terms, doubts, err := settlement.Prepare(schedule)
	if err != nil {
		return inFile(err, string(c.Schedule))
	}
	doubts = append(doubts, terms.Doubts(&prices.Cash)...)
	statement, err := terms.Settle(load, prices)
	var rejection *settlement.Rejection
	switch {
	case errors.As(err, &rejection):
		if s.json {
			if err := s.print(s.Files.Statement(terms, statement, rejection, doubts)); err != nil {
				return err
			}
		}
		return &app.NoAnswer{Rule: "settle.rejected", Say: rejection.Say(), Next: "Another outlet, or a drier or cleaner load, has a price."}
	case err != nil:
		return inFile(err, string(c.Ticket))
	case s.json:
		return s.print(s.Files.Statement(terms, statement, nil, doubts))
	}
	if err := s.printStatement(terms, statement, doubts); err != nil || !c.Words {
		return err
	}
	r := scheduleReading{terms: terms, schedule: terms.Schedule(), factor: settlement.Moisture}
	low, high := terms.Span(settlement.Moisture)
	r.curve = terms.Curve(settlement.Moisture, prices, low, high)
	p := s.printer()
	p.line("")
	p.line(p.bold(r.title()))
	r.print(p)
	return p.Flush()
}

// inFile gives complaints that name no file the one they are about.
func inFile(err error, file string) error {
	var many problem.InputErrors
	var one *problem.InputError
	switch {
	case errors.As(err, &many):
	case errors.As(err, &one):
		many = problem.InputErrors{one}
	default:
		return err
	}
	out := make(problem.InputErrors, len(many))
	for i, e := range many {
		with := *e
		if with.Where.File == "" {
			with.Where.File = file
		}
		out[i] = &with
	}
	return out
}

// printStatement prints a statement for a person, in the order of the paper.
func (s *session) printStatement(terms *settlement.Terms, st settlement.Statement, doubts []problem.Finding) error {
	p := s.printer()
	unit, places := "bu", *terms.Schedule().BuDecimals
	if st.Unit == settlement.PerCwt {
		unit = "cwt"
	}
	p.line(p.bold("$" + money(st.Net)))
	p.wrapped("", fmt.Sprintf("net of the load: %s %s at $%s", st.NetQty.Fixed(places), unit, st.PerUnit.Fixed()))
	p.line("")
	rows := []row{
		{"scale weight", digits(st.NetLb.Float(), 0) + " lb, " + st.GrossQty.Fixed(places) + " " + unit},
		{"settled weight", digits(st.SettledLb.Float(), 0) + " lb, " + st.NetQty.Fixed(places) + " " + unit},
		{"value", "$" + money(st.Value)},
		{"checkoff", "$" + money(st.Checkoff)},
	}
	if len(st.ChargeLines) > 0 {
		rows = append(rows, row{"charges", "$" + money(st.Charges)})
	}
	p.table(rows)
	p.line("")
	p.line(p.bold("      takes       leaves   why"))
	for _, l := range st.Lines {
		p.statementLine(terms, l)
	}
	for _, l := range st.ChargeLines {
		p.statementLine(terms, l)
	}
	if len(st.Findings)+len(doubts) > 0 {
		p.line("")
	}
	var minds []string
	for _, f := range append(doubts[:len(doubts):len(doubts)], st.Findings...) {
		minds = append(minds, f.Say+" "+f.Next)
	}
	p.section("Mind", minds)
	return p.Flush()
}

// statementLine prints what one row took and left: pounds for a weight row, dollars for the others.
func (p *printer) statementLine(terms *settlement.Terms, l settlement.Line) {
	takes, leaves := money(l.Dollars), money(l.Running)
	if l.Index >= 0 && terms.Schedule().Rows[l.Index].Kind == settlement.WeightRow {
		takes, leaves = digits(-l.Pounds.Float(), 0)+" lb", digits(l.Left.Float(), 0)+" lb"
	}
	p.hung(fmt.Sprintf("%11s  %11s   ", takes, leaves), terms.Explain(l))
}

// money writes an amount with commas: "8,049.80".
func money(a trade.Amount) string { return digits(a.Float(), 2) }
