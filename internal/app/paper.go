package app

import (
	"bytes"
	"context"
	"fmt"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
)

// Cheques and settlement sheets are papers of the buyer: entries of the data file like loads.

// AddCheque enters a cheque and returns it as it was understood: of the season's crop year.
func (a *App) AddCheque(ctx context.Context, data string, c journal.Cheque, sign Signed) (*Entered, journal.Cheque, error) {
	e, err := a.add(ctx, data, journal.ChequeSubject, sign, calendar.Day{}, func(s *farm.Season) ([]byte, error) {
		if c.CropYear == 0 {
			c.CropYear = s.Farm.Year
		}
		return journal.ChequeBody(c), paidTo(s, c.Party)
	})
	return e, c, err
}

// AddSheet enters the sheet of one ticket and returns it as it was understood: of the season's crop year.
func (a *App) AddSheet(ctx context.Context, data string, p journal.Sheet, sign Signed) (*Entered, journal.Sheet, error) {
	e, err := a.add(ctx, data, journal.SheetSubject, sign, calendar.Day{}, func(s *farm.Season) ([]byte, error) {
		if p.CropYear == 0 {
			p.CropYear = s.Farm.Year
		}
		return journal.SheetBody(p), nil
	})
	return e, p, err
}

// paidTo refuses the nameless owner as payee where the season names one.
func paidTo(s *farm.Season, party string) error {
	if owner := ownerOf(s); party == journal.Nobody && owner != party {
		return &problem.InputError{Rule: "cheque.party", Label: "party", Got: party, Want: owner + ", whom the season names as owner, or another of its parties"}
	}
	return nil
}

// OwnerOf returns the party of a data file's season that grain without shares belongs to.
func (a *App) OwnerOf(ctx context.Context, data string) (string, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return "", err
	}
	defer func() { _ = b.Close() }() // nothing was written
	st, err := a.season(ctx, b)
	if err != nil {
		return "", err
	}
	return ownerOf(st.file.Season), nil
}

// PapersRequest names files of tickets and papers to put into a data file.
type PapersRequest struct {
	Data    string
	Loads   string // path of a CSV file of tickets; empty: none
	Cheques string // path of a CSV file; empty: none
	Sheets  string // path of a JSON file; empty: none
	By      string
}

// ImportedPapers says what became of them.
type ImportedPapers struct {
	Data                   string
	Loads, Cheques, Sheets int // that are in the book now and were not before
	Again                  int // that were in the book already
	Waiting                int // of the new ones, that wait for a person: they look like others
	Findings               []problem.Finding
}

// A paper to put in, and where it stands in its file.
type paper struct {
	subject journal.Subject
	body    []byte
	where   problem.Place
}

// ImportPapers puts tickets, cheques and sheets into the book, all or none. What is there already, and says the same, counts once.
func (a *App) ImportPapers(ctx context.Context, r PapersRequest) (*ImportedPapers, error) {
	b, err := a.book(ctx, r.Data, write)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	st, err := a.season(ctx, b)
	if err != nil {
		return nil, err
	}
	all, err := a.papersOf(r, st.file.Season)
	if err != nil {
		return nil, err
	}
	if r.Loads != "" {
		loads, err := a.ticketsOf(r.Loads, st)
		if err != nil {
			return nil, err
		}
		all = append(loads, all...)
	}
	out := &ImportedPapers{Data: b.Path}
	events, from, err := a.eventsOf(ctx, b, st, r.By, all, out)
	if err != nil {
		return nil, err
	}
	answers, err := b.store.AppendAll(ctx, events)
	if err != nil {
		return nil, troubled(err)
	}
	var bad problem.InputErrors
	for i, answer := range answers {
		if answer.Status == journal.Review {
			out.Waiting++
		}
		for _, f := range answer.Problems {
			f.Where = from[i].where
			if answer.Status == journal.Refused && f.Severity == problem.Error {
				bad = append(bad, &problem.InputError{Rule: f.Rule, Label: f.Label, Got: f.Got, Want: f.Want, Where: f.Where, Next: f.Next})
			}
			out.Findings = append(out.Findings, f)
		}
	}
	return out, bad.Or()
}

// papersOf reads the files of papers.
func (a *App) papersOf(r PapersRequest, s *farm.Season) ([]paper, error) {
	var out []paper
	var bad problem.InputErrors
	if r.Cheques != "" {
		cheques, err := readWith(a, nil, r.Cheques, a.ReadCheques)
		if err != nil {
			return nil, err
		}
		for _, c := range cheques {
			if err := paidTo(s, c.Party); err != nil {
				bad = append(bad, &problem.InputError{Rule: "cheque.party", Label: "party", Got: c.Party, Want: ownerOf(s) + ", whom the season names as owner", Where: c.Where})
			}
			out = append(out, paper{journal.ChequeSubject, journal.ChequeBody(enteredCheque(c, s.Farm.Year)), c.Where})
		}
	}
	if r.Sheets != "" {
		sheets, err := readWith(a, nil, r.Sheets, a.ReadSheets)
		if err != nil {
			return nil, err
		}
		for _, p := range sheets {
			out = append(out, paper{journal.SheetSubject, journal.SheetBody(EnteredSheet(p.Outlet, p.Ticket, s.Farm.Year, p.Sheet)), p.Where})
		}
	}
	return out, bad.Or()
}

// papers returns the bodies of the papers that stand in the book, by their key and without what a person remarked.
func (b *Book) papers(ctx context.Context) (map[string][]byte, error) {
	out := map[string][]byte{}
	cheques, err := b.store.Cheques(ctx, b.Farm)
	if err != nil {
		return nil, troubled(err)
	}
	for _, c := range cheques {
		c.Value.Note, c.Value.Typed = "", nil
		body := journal.ChequeBody(c.Value)
		out[journal.PaperKey(journal.ChequeSubject, body)] = body
	}
	sheets, err := b.store.Sheets(ctx, b.Farm)
	if err != nil {
		return nil, troubled(err)
	}
	for _, p := range sheets {
		p.Value.Note, p.Value.Typed = "", nil
		body := journal.SheetBody(p.Value)
		out[journal.PaperKey(journal.SheetSubject, body)] = body
	}
	return out, nil
}

// papers takes over the cheques and sheets of the season's crop that the data file holds.
func (l *seasonLoads) papers(ctx context.Context, b *Book) error {
	waiting := 0
	cheques, err := b.store.Cheques(ctx, b.Farm)
	if err != nil {
		return troubled(err)
	}
	for _, c := range cheques {
		switch {
		case c.Value.CropYear != l.season.Farm.Year:
		case len(c.Waits) > 0:
			waiting++
		default:
			l.cheques = append(l.cheques, countedCheque(string(c.ID), c.Value))
		}
	}
	sheets, err := b.store.Sheets(ctx, b.Farm)
	if err != nil {
		return troubled(err)
	}
	for _, p := range sheets {
		switch {
		case p.Value.CropYear != l.season.Farm.Year:
		case len(p.Waits) > 0:
			waiting++
		default:
			l.sheets = append(l.sheets, ledger.Printed{
				ID: string(p.ID), Outlet: p.Value.Outlet, Ticket: p.Value.Ticket, Sheet: PrintedSheet(p.Value), Where: problem.Place{Path: "sheet " + string(p.ID)},
			})
		}
	}
	if waiting > 0 {
		l.found = append(l.found, problem.Finding{
			Rule: "papers.waiting", Severity: problem.Warning, Label: "Cheques and sheets", Got: fmt.Sprint(waiting), Want: "papers that a person has looked at",
			Say: fmt.Sprintf("%d cheques or sheets of the data file contradict another entry, and do not count yet.", waiting), Next: "threshday waiting lists them.",
		})
	}
	return nil
}

// beside adds the papers of files to those of the data file. One that is there already counts once, and where the two say
// different things the data file's word stands.
func (l *seasonLoads) beside(cheques []ledger.Cheque, sheets []ledger.Printed) {
	there := map[string][]byte{}
	year := l.season.Farm.Year
	chequeBody := func(c ledger.Cheque) []byte { return journal.ChequeBody(enteredCheque(c, year)) }
	sheetBody := func(p ledger.Printed) []byte {
		return journal.SheetBody(EnteredSheet(p.Outlet, p.Ticket, year, p.Sheet))
	}
	for _, c := range l.cheques {
		there[journal.PaperKey(journal.ChequeSubject, chequeBody(c))] = chequeBody(c)
	}
	for _, p := range l.sheets {
		there[journal.PaperKey(journal.SheetSubject, sheetBody(p))] = sheetBody(p)
	}
	known := func(s journal.Subject, body []byte, name string, where problem.Place) bool {
		old, ok := there[journal.PaperKey(s, body)]
		if ok && !bytes.Equal(old, body) {
			l.found = append(l.found, problem.Finding{
				Rule: string(s) + ".differs", Severity: problem.Warning, Where: where, Label: name, Want: "what the data file says",
				Say: name + " says something else in the file than in the data file, whose word stands.", Next: "Correct the one that is wrong.",
			})
		}
		return ok
	}
	for _, c := range cheques {
		if !known(journal.ChequeSubject, chequeBody(c), "Cheque "+c.Number, c.Where) {
			l.cheques = append(l.cheques, c)
		}
	}
	for _, p := range sheets {
		if !known(journal.SheetSubject, sheetBody(p), "The sheet of ticket "+p.Ticket, p.Where) {
			l.sheets = append(l.sheets, p)
		}
	}
}

// enteredCheque returns a cheque of the books as an entry.
func enteredCheque(c ledger.Cheque, year int) journal.Cheque {
	out := journal.Cheque{Number: c.Number, Outlet: c.Outlet, Party: c.Party, CropYear: year, On: c.On, Total: c.Total}
	for _, l := range c.Lines {
		out.Lines = append(out.Lines, journal.ChequeLine{Ticket: l.Ticket, Amount: l.Amount})
	}
	return out
}

// countedCheque returns an entered cheque as the books take it.
func countedCheque(id string, c journal.Cheque) ledger.Cheque {
	where := problem.Place{Path: "cheque " + id}
	out := ledger.Cheque{ID: id, Number: c.Number, Outlet: c.Outlet, Party: c.Party, On: c.On, Total: c.Total, Where: where}
	for _, l := range c.Lines {
		out.Lines = append(out.Lines, ledger.ChequeLine{Ticket: l.Ticket, Amount: l.Amount, Where: where})
	}
	return out
}

// EnteredSheet returns what a sheet prints of a ticket as an entry.
func EnteredSheet(outlet, ticket string, year int, s settlement.Sheet) journal.Sheet {
	return journal.Sheet{
		Outlet: outlet, Ticket: ticket, CropYear: year, NetLb: s.NetLb, SettledLb: s.SettledLb, GrossQty: s.GrossQty, NetQty: s.NetQty, PerUnit: s.PerUnit,
		Value: s.Value, Checkoff: s.Checkoff, Net: s.Net, Lines: linesAs[journal.SheetLine](s.Lines), Charges: linesAs[journal.SheetLine](s.Charges),
	}
}

// PrintedSheet returns an entered sheet as audits take it.
func PrintedSheet(p journal.Sheet) settlement.Sheet {
	return settlement.Sheet{
		NetLb: p.NetLb, SettledLb: p.SettledLb, GrossQty: p.GrossQty, NetQty: p.NetQty, PerUnit: p.PerUnit, Value: p.Value, Checkoff: p.Checkoff, Net: p.Net,
		Lines: linesAs[settlement.SheetLine](p.Lines), Charges: linesAs[settlement.SheetLine](p.Charges),
	}
}

// linesAs turns the lines of a sheet as they are entered into those that are audited, and back. No lines stay none.
func linesAs[To, From journal.SheetLine | settlement.SheetLine](lines []From) []To {
	if lines == nil {
		return nil
	}
	out := make([]To, len(lines))
	for i, l := range lines {
		out[i] = To(l)
	}
	return out
}

// SheetOf returns the audit of the sheet of a ticket that the data file holds; an empty outlet leaves open whose ticket it is.
func (b *Books) SheetOf(outlet, ticket string) (ledger.AuditLine, error) {
	var found []ledger.AuditLine
	if b.Audit != nil {
		for _, l := range b.Audit.Lines {
			if l.Cheque == "" && l.Ticket == ticket && (outlet == "" || l.Outlet == outlet) {
				found = append(found, l)
			}
		}
	}
	switch len(found) {
	case 0:
		return ledger.AuditLine{}, &NoAnswer{
			Rule: "audit.no-sheet", Say: "The data file holds no sheet of ticket " + ticket + ".", Next: "Enter it with threshday add sheet, or audit a file with --schedule, --ticket, --price and --sheet.",
		}
	case 1:
		return found[0], nil
	}
	return ledger.AuditLine{}, &problem.InputError{Rule: "audit.outlet", Label: "--outlet", Want: "said, for several outlets have a sheet of ticket " + ticket}
}
