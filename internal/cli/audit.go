package cli

import (
	"cmp"
	"errors"
	"fmt"
	"path"
	"slices"

	"threshday/internal/app"
	"threshday/internal/core/ledger"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

type auditCmd struct {
	termsFlags
	Sheet  filename   `need:"stored" placeholder:"sheet.json" help:"The buyer's settlement sheet of this load: the keys that settle prints, as many as the buyer printed."`
	Others []filename `name:"other-schedule" placeholder:"lastyear.json" help:"Schedules that may have been used by mistake, beside those of the crop in the folder of the schedule: last year's, the other location's."`
	Stored string     `placeholder:"4711" help:"Audit the sheet that the data file holds of this ticket; no file is named then."`
	Outlet string     `placeholder:"ossing" help:"With --stored: whose ticket, where several outlets have the number."`
	bookFlags
}

// Explain says what is compared and printed.
func (auditCmd) Explain() string {
	return "The load is settled by the schedule, and every figure of the sheet is held against ours. Where they differ, readings of the schedule " +
		"that a buyer may have followed are tried, one departure at a time, then two, then three, and those are named that give every figure of the sheet to the cent. " +
		"Other schedules of the crop that lie in the same folder are tried too: last year's, another date's, another location's.\n\n" +
		"With --json: agrees, difference_usd (the sheet's net less ours: negative, the buyer paid less), explained_by (rule, detail), unexplained_usd, " +
		"equally (other explanations that the sheet cannot tell apart), figures (name, ours, theirs). A difference is a question for the buyer, not yet an error."
}

// Run audits.
func (c *auditCmd) Run(s *session) error {
	if c.Stored != "" {
		return c.stored(s)
	}
	schedule, load, prices, err := c.load(s)
	if err != nil {
		return err
	}
	in := settlement.AuditInput{Schedule: schedule, Load: load, Prices: prices}
	data, err := s.read(c.Sheet)
	if err != nil {
		return err
	}
	if in.Sheet, err = s.Files.Sheet(string(c.Sheet), data); err != nil {
		return err
	}
	for _, name := range c.Others {
		if data, err = s.read(name); err != nil {
			return err
		}
		other, err := s.Files.Schedule(string(name), data)
		if err != nil {
			return err
		}
		other.ID = cmp.Or(other.ID, path.Base(string(name)))
		in.Others = append(in.Others, other)
	}
	if c.Schedule != "-" {
		named := map[string]bool{}
		for _, o := range in.Others {
			named[o.ID] = true
		}
		for _, beside := range s.App.Neighbours(string(c.Schedule), schedule.Crop) {
			if !named[beside.ID] {
				in.Others = append(in.Others, beside)
			}
		}
	}
	// The schedule is prepared here for its own complaints to name its file.
	if _, _, err := settlement.Prepare(schedule); err != nil {
		return inFile(err, string(c.Schedule))
	}
	result, _, err := settlement.Audit(in)
	var rejection *settlement.Rejection
	switch {
	case errors.As(err, &rejection):
		return &app.NoAnswer{Rule: "audit.rejected", Say: rejection.Say(), Next: "By this schedule the load has no price to compare with: ask the buyer under which terms it was taken."}
	case err != nil:
		return inFile(err, string(c.Ticket))
	case s.json:
		return s.print(s.Files.Audit(result))
	}
	return s.printAudit(result)
}

// stored audits a sheet of the data file.
func (c *auditCmd) stored(s *session) error {
	for _, f := range []string{"--schedule", "--ticket", "--price", "--premium", "--futures", "--sheet", "--other-schedule"} {
		if slices.Contains(s.given, f) {
			return refuse("flag.together", f, f+" is given beside --stored.", "The data file has the ticket, its price and its sheet, and names the schedules.")
		}
	}
	b, err := s.App.Books(s.ctx, app.BooksRequest{Book: c.data()})
	if err != nil {
		return err
	}
	line, err := b.SheetOf(tidy(c.Outlet), tidy(c.Stored))
	switch {
	case err != nil:
		return err
	case line.Verdict == ledger.NotCompared:
		return &app.NoAnswer{Rule: "audit.not-compared", Say: fmt.Sprintf("The sheet of ticket %s at %s is not compared: %s.", line.Ticket, line.Outlet, line.Why), Next: "threshday books --view checks says what is missing."}
	case s.json:
		return s.print(s.Files.Audit(line.Result))
	case line.Why != "":
		p := s.printer()
		p.line(p.bold(differenceWords(&line.Difference)))
		p.wrapped("", fmt.Sprintf("by the schedule the load nets $%s; %s", money(line.Ours), line.Why))
		return p.Flush()
	}
	return s.printAudit(line.Result)
}

// printAudit prints an audit for a person: whether it agrees, what differs, what explains it.
func (s *session) printAudit(r settlement.AuditResult) error {
	p := s.printer()
	if r.Agrees {
		p.line(p.bold("The sheet agrees"))
		p.wrapped("", fmt.Sprintf("every figure it prints is ours, to the cent: $%s net", money(r.Statement.Net)))
		return p.Flush()
	}
	p.line(p.bold(differenceWords(r.Difference)))
	p.wrapped("", fmt.Sprintf("by the schedule the load nets $%s", money(r.Statement.Net)))
	p.line("")
	width := len("figure")
	for _, f := range r.Differ {
		width = max(width, len(f.Name))
	}
	p.line(p.bold(fmt.Sprintf("  %s  %12s  %12s", pad("figure", width), "ours", "sheet")))
	for _, f := range r.Differ {
		p.line(fmt.Sprintf("  %s  %12s  %12s", pad(f.Name, width), f.Ours, f.Theirs))
	}
	p.line("")
	var why []string
	for _, c := range r.Explained {
		why = append(why, sentence(c.Detail))
	}
	if len(why) == 0 {
		why = []string{"No reading of the schedule that was tried gives the sheet's figures."}
	}
	p.section("Because", why)
	for _, other := range r.Equally {
		var words []string
		for _, c := range other {
			words = append(words, sentence(c.Detail))
		}
		p.section("Or", words)
	}
	if r.Unexplained != 0 {
		p.section("Left", []string{fmt.Sprintf("$%s is not explained.", money(r.Unexplained))})
	}
	p.section("Next", []string{"Take the two figures and this reason to the buyer; the posted schedule decides."})
	return p.Flush()
}

func differenceWords(d *trade.Amount) string {
	switch {
	case d == nil:
		return "The sheet differs"
	case *d < 0:
		return "The sheet pays $" + money(-*d) + " less"
	case *d > 0:
		return "The sheet pays $" + money(*d) + " more"
	}
	return "The sheet pays the same by other figures"
}
