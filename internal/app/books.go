package app

import (
	"context"
	"fmt"
	"io/fs"
	"slices"
	"time"

	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/worth"
)

// A BooksRequest asks for a season's books.
type BooksRequest struct {
	Files   fs.FS  // the season file and what it names
	Season  string // name of the season file in Files
	Book    string // path of a data file to take the season and its loads from instead
	Beside  fs.FS  // where the names below are looked for; nil: they are paths on the person's disk
	Loads   string // path of a CSV file of loads; empty: none beside those of the data file
	Cheques string // path of a CSV file of cheques; empty: none beside those of the data file
	Sheets  string // path of a JSON file of settlement sheets; empty: none beside those of the data file
	Now     *time.Time
}

// Books are a season added up, with what the sums stand on.
type Books struct {
	*ledger.Book
	Farm     string
	Owner    string // party
	Names    map[string]string
	AsOf     time.Time
	Zone     *time.Location
	Cheques  []ledger.Cheque
	Promises []ledger.Promise
	Lives    []ledger.BinLife    // of the bins that hold grain
	Audit    *ledger.SeasonAudit // nil: neither a sheet nor a cheque to hold against the book
	Findings []problem.Finding   // errors first
	Assumed  []Assumption
	Waiting  int    // loads of the data file that count only once a person has looked
	Data     string // the data file; empty: none
}

// Books adds a season up from its tickets. Nothing of it is kept: the same entries give the same books.
func (a *App) Books(ctx context.Context, r BooksRequest) (*Books, error) {
	l, err := a.tickets(ctx, r, true)
	if err != nil {
		return nil, err
	}
	out := &Books{
		Farm: l.season.Farm.Name, Names: map[string]string{}, AsOf: l.now, Zone: l.zone, Waiting: l.waiting, Data: r.Book, Owner: ownerOf(l.season),
	}
	for _, p := range l.season.Parties {
		out.Names[p.ID] = p.Name
	}
	if !slices.ContainsFunc(l.season.Parties, func(p farm.Party) bool { return p.ID == out.Owner }) {
		out.Assumed = append(out.Assumed, Assumption{"Grain without shares", "belongs to " + out.Owner, "no [[party]] has the role owner"})
	}
	setup := &ledger.Setup{Season: l.season, Owner: out.Owner, Bids: l.bids, Zone: l.zone, Now: l.now, Terms: map[ledger.TermsKey][]*settlement.Terms{}}
	terms, err := l.terms(a)
	if err != nil {
		return nil, err
	}
	for key, t := range terms {
		setup.Terms[ledger.TermsKey(key)] = []*settlement.Terms{t}
	}
	for _, c := range l.season.Contracts {
		setup.Contracts = append(setup.Contracts, ledger.ContractOf(c, out.Owner))
	}
	if err := a.papersBeside(r, l); err != nil {
		return nil, err
	}
	out.Cheques, setup.Cheques = l.cheques, l.cheques
	if len(l.sheets)+len(l.cheques) > 0 {
		setup.Besides = a.besides(l.files, l.season)
	}
	out.Book = ledger.Build(setup, l.entries)
	out.Promises = out.Book.Promises(yieldSD)
	out.Lives = out.BinLives()
	if len(l.sheets)+len(l.cheques) > 0 {
		audit := out.Book.Audit(l.sheets)
		out.Audit = &audit
	}
	out.findings(l)
	return out, nil
}

// yieldSD is one standard deviation of a field's expected yield, percent.
func yieldSD(f *farm.Field) float64 {
	if f.Yield.SDPct != nil {
		return *f.Yield.SDPct
	}
	return worth.AssumedYieldSDPct(f.Crop)
}

// findings gathers what does not add up, errors first.
func (b *Books) findings(l *seasonLoads) {
	all := slices.Concat(l.found, b.Book.Findings)
	for _, p := range b.Promises {
		if f, short := p.Doubt(); short {
			all = append(all, f)
		}
	}
	for _, life := range b.Lives {
		if f, short := life.Doubt(); short {
			all = append(all, f)
		}
	}
	if l.waiting > 0 {
		all = append(all, problem.Finding{
			Rule: "loads.waiting", Severity: problem.Warning, Label: "Loads", Got: fmt.Sprint(l.waiting), Want: "loads that a person has looked at",
			Say: fmt.Sprintf("%d loads of the data file look like others or contradict themselves, and do not count yet.", l.waiting), Next: "threshday waiting lists them.",
		})
	}
	for _, severity := range []problem.Severity{problem.Error, problem.Warning, problem.Note} {
		for _, f := range all {
			if f.Severity == severity {
				b.Findings = append(b.Findings, f)
			}
		}
	}
}

// ownerOf returns the party that grain without shares belongs to: the first owner that the season names.
func ownerOf(s *farm.Season) string {
	for _, p := range s.Parties {
		if p.Role == "owner" {
			return p.ID
		}
	}
	return journal.Nobody
}

// papersBeside reads the files of cheques and sheets and puts them beside the papers of the data file.
func (a *App) papersBeside(r BooksRequest, l *seasonLoads) (err error) {
	var cheques []ledger.Cheque
	var sheets []ledger.Printed
	if r.Cheques != "" {
		if cheques, err = readWith(a, r.Beside, r.Cheques, a.ReadCheques); err != nil {
			return err
		}
	}
	if r.Sheets != "" {
		if sheets, err = readWith(a, r.Beside, r.Sheets, a.ReadSheets); err != nil {
			return err
		}
	}
	l.beside(cheques, sheets)
	return nil
}

// readWith reads a file that a person named on the command line.
func readWith[T any](a *App, beside fs.FS, path string, read func(name string, data []byte) (T, error)) (T, error) {
	var none T
	files, name := beside, path
	if files == nil {
		var err error
		if files, name, err = a.Files(path); err != nil {
			return none, err
		}
	}
	data, err := readAll(files, name)
	if err != nil {
		return none, err
	}
	return read(path, data)
}
