package cli

import (
	"slices"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// chequeFlags are what a cheque says.
type chequeFlags struct {
	Number  string        `placeholder:"1207" help:"Number of the cheque."`
	Outlet  string        `placeholder:"ossing" help:"The outlet that paid, by its id."`
	Party   string        `placeholder:"orla" help:"Who was paid, by the id in the season; left out: the owner."`
	On      *calendar.Day `placeholder:"2031-10-20" help:"The date on the cheque."`
	Total   string        `placeholder:"'$8,512.40'" help:"What it is over."`
	Line    []string      `sep:"none" placeholder:"'4711=$4,256.20'" help:"What it pays for a ticket: the ticket's number and the amount. Give it again for each ticket."`
	Advance []string      `sep:"none" placeholder:"'$2,000.00'" help:"What it pays for no ticket, as an advance."`
	Note    string        `help:"Anything to remember."`
}

// onto puts what was given onto c. Lines that are given take the place of all there were.
func (f *chequeFlags) onto(c *journal.Cheque) error {
	put(&c.Number, f.Number)
	put(&c.Outlet, f.Outlet)
	put(&c.Party, f.Party)
	put(&c.Note, f.Note)
	if f.On != nil {
		c.On = *f.On
	}
	if f.Total != "" {
		var err error
		if c.Total, err = trade.ParseAmount("--total", f.Total); err != nil {
			return err
		}
	}
	if len(f.Line)+len(f.Advance) == 0 {
		return nil
	}
	c.Lines = nil
	for _, text := range f.Line {
		ticket, amount, given := strings.Cut(text, "=")
		ticket = tidy(ticket)
		if !given || ticket == "" {
			return &problem.InputError{Rule: "cheque.line", Label: "--line", Got: text, Want: "a ticket's number and what the cheque pays for it, as '4711=$4,256.20'", Next: "What it pays for no ticket is an --advance."}
		}
		n, err := trade.ParseAmount("--line", amount)
		if err != nil {
			return err
		}
		c.Lines = append(c.Lines, journal.ChequeLine{Ticket: ticket, Amount: n})
	}
	for _, text := range f.Advance {
		n, err := trade.ParseAmount("--advance", text)
		if err != nil {
			return err
		}
		c.Lines = append(c.Lines, journal.ChequeLine{Amount: n})
	}
	return nil
}

type addChequeCmd struct {
	chequeFlags
	whoFlags
	bookFlags
}

// Explain says what a cheque is for.
func (addChequeCmd) Explain() string {
	return "Enters a cheque as the paper says it, also where its lines do not add up: the books say so. The books hold each line against what the ticket pays by the " +
		"posted schedule. A cheque of the same number, outlet and party can be entered once; threshday import --cheques takes many from a file."
}

// Answer returns the JSON form.
func (addChequeCmd) Answer() any { return enteredJSON{} }

// Run enters the cheque.
func (c addChequeCmd) Run(s *session) error {
	sign, err := c.signed(c.On != nil, "--on")
	if err := firstOf(
		need(c.Number != "", "--number", "the number of the cheque"), need(c.Outlet != "", "--outlet", "the id of the outlet that paid"),
		need(c.On != nil, "--on", "the date on the cheque, as 2031-10-20"), need(c.Total != "", "--total", "what the cheque is over, as '$8,512.40'"),
		need(len(c.Line)+len(c.Advance) > 0, "--line", "what it pays for each ticket, as '4711=$4,256.20', or --advance"), err,
	); err != nil {
		return err
	}
	q := journal.Cheque{}
	if q.Party, err = s.App.OwnerOf(s.ctx, c.data()); err != nil {
		return err
	}
	if err := c.onto(&q); err != nil {
		return err
	}
	e, q, err := s.App.AddCheque(s.ctx, c.data(), q, sign)
	if err != nil {
		return err
	}
	return s.tell(e, answer.ChequeSaid(q))
}

// sheetFlags are what a buyer prints of a ticket beside its name.
type sheetFlags struct {
	NetLb    string   `name:"net-lb" placeholder:"51280" help:"Net weight printed, pounds."`
	Settled  string   `name:"settled-lb" placeholder:"50870" help:"Weight paid for, pounds."`
	GrossQty string   `name:"gross-qty" placeholder:"854.67" help:"Gross bushels, or hundredweight where the buyer pays by it."`
	NetQty   string   `name:"net-qty" placeholder:"847.83" help:"Net bushels, or hundredweight."`
	Price    string   `placeholder:"'$9.5423'" help:"Net price a bushel or hundredweight."`
	Value    string   `placeholder:"'$8,090.25'" help:"Value before checkoff and charges."`
	Checkoff string   `placeholder:"'$40.45'" help:"Checkoff taken."`
	NetUSD   string   `name:"net-usd" placeholder:"'$8,049.80'" help:"What is left: the net amount."`
	Line     []string `sep:"none" placeholder:"'moisture=-$313.87'" help:"A discount or deduction by factor, taken off is negative; pounds as foreign_material=-410lb. Give it again for each."`
	Charge   []string `sep:"none" placeholder:"'moisture=-$93.47'" help:"A charge by factor. Give it again for each."`
	Note     string   `help:"Anything to remember."`
}

// onto puts what was given onto p. Lines that are given take the place of all there were.
func (f *sheetFlags) onto(p *journal.Sheet) error {
	put(&p.Note, f.Note)
	err := firstOf(
		given(&p.NetLb, "--net-lb", f.NetLb, trade.ParsePounds), given(&p.SettledLb, "--settled-lb", f.Settled, trade.ParsePounds),
		given(&p.GrossQty, "--gross-qty", f.GrossQty, trade.ParseBushels), given(&p.NetQty, "--net-qty", f.NetQty, trade.ParseBushels),
		given(&p.PerUnit, "--price", f.Price, trade.ParsePrice), given(&p.Value, "--value", f.Value, trade.ParseAmount),
		given(&p.Checkoff, "--checkoff", f.Checkoff, trade.ParseAmount), given(&p.Net, "--net-usd", f.NetUSD, trade.ParseAmount),
	)
	if err == nil {
		err = linesOnto(&p.Lines, "--line", f.Line)
	}
	if err == nil {
		err = linesOnto(&p.Charges, "--charge", f.Charge)
	}
	return err
}

// given puts a figure that was given.
func given[T any](to **T, flag, text string, parse func(label, text string) (T, error)) error {
	if text == "" {
		return nil
	}
	v, err := parse(flag, text)
	*to = &v
	return err
}

// linesOnto reads "moisture=-$313.87" and "foreign_material=-410lb".
func linesOnto(to *[]journal.SheetLine, flag string, texts []string) error {
	if len(texts) == 0 {
		return nil
	}
	*to = nil
	for _, text := range texts {
		name, figure, _ := strings.Cut(text, "=")
		l := journal.SheetLine{Name: tidy(name)}
		if !slices.Contains(sheetLineNames(), l.Name) {
			return &problem.InputError{Rule: "sheet.line", Label: flag, Got: text, Want: "a name and an amount, as 'moisture=-$313.87', the name one of " + strings.Join(sheetLineNames(), ", ")}
		}
		if pounds, ok := strings.CutSuffix(strings.TrimSpace(figure), "lb"); ok {
			off, negative := strings.CutPrefix(strings.TrimSpace(pounds), "-")
			n, err := trade.ParsePounds(flag, off)
			if err != nil {
				return err
			}
			if negative {
				n = -n
			}
			l.Pounds = &n
		} else {
			n, err := trade.ParseAmount(flag, figure)
			if err != nil {
				return err
			}
			l.Dollars = &n
		}
		*to = append(*to, l)
	}
	return nil
}

// sheetLineNames are the names that a line of a sheet may bear.
func sheetLineNames() []string {
	names := []string{"base", "premium", "rounding"}
	for _, f := range settlement.Factors() {
		names = append(names, f.String())
	}
	return names
}

type addSheetCmd struct {
	File   filename `placeholder:"sheet.json" help:"The figures from a JSON file in the form that audit takes; flags beside it go before."`
	Outlet string   `placeholder:"ossing" help:"The outlet, by its id."`
	Ticket string   `placeholder:"4711" help:"Number of the ticket that the sheet is of."`
	sheetFlags
	whoFlags
	bookFlags
}

// Explain says what a sheet is for.
func (addSheetCmd) Explain() string {
	return "Enters what a buyer's settlement sheet prints of one ticket: as many figures as there are. The books hold it against what the ticket pays by the posted " +
		"schedule, and threshday audit --stored names what explains a difference. A ticket has one sheet; threshday import --sheets takes many from a file."
}

// Answer returns the JSON form.
func (addSheetCmd) Answer() any { return enteredJSON{} }

// Run enters the sheet.
func (c addSheetCmd) Run(s *session) error {
	if err := firstOf(need(c.Outlet != "", "--outlet", "the outlet's id"), need(c.Ticket != "", "--ticket", "the ticket's number")); err != nil {
		return err
	}
	sign, err := c.signed(true, "")
	if err != nil {
		return err
	}
	var printed settlement.Sheet
	if c.File != "" {
		data, err := s.read(c.File)
		if err != nil {
			return err
		}
		if printed, err = s.Files.Sheet(string(c.File), data); err != nil {
			return err
		}
	}
	p := app.EnteredSheet(tidy(c.Outlet), tidy(c.Ticket), 0, printed)
	if err := c.onto(&p); err != nil {
		return err
	}
	e, p, err := s.App.AddSheet(s.ctx, c.data(), p, sign)
	if err != nil {
		return err
	}
	return s.tell(e, answer.SheetSaid(p))
}
