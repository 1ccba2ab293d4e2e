package cli

import (
	"io/fs"
	"slices"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/problem"
)

// seasonFlags say which season is meant: a season file's, or a data file's.
type seasonFlags struct {
	Season string `arg:"" optional:"" help:"Your season file; left out, the season of the data file."`
	Demo   bool   `help:"Use the built-in, invented farm."`
	Now    string `placeholder:"2031-12-01T08:00:00-06:00" help:"As of this time, RFC 3339 with offset; left out: the season's as_of, or now."`
	bookFlags
}

// find returns the season file's folder and name, or the path of the data file, and the time that is meant, nil for the season's
// own. A season file that is named goes before the data file that is merely there.
func (f *seasonFlags) find(s *session) (files fs.FS, name, data string, now *time.Time, err error) {
	if f.Now != "" {
		at, err := time.Parse(time.RFC3339, f.Now)
		if err != nil {
			return nil, "", "", nil, &problem.InputError{Rule: "flag.time", Label: "--now", Got: f.Now, Want: "a time with offset, as 2031-12-01T08:00:00-06:00", Next: "The offset says whose clock it is."}
		}
		now = &at
	}
	switch {
	case f.Demo && (f.Season != "" || slices.Contains(s.given, "--data")):
		return nil, "", "", nil, refuse("flag.together", "--demo", "--demo is given beside another season.", "Leave one out.")
	case f.Demo:
		files, name, err = s.App.Demo()
		return files, name, "", now, err
	case f.Season == "":
		return nil, "", f.data(), now, nil
	case slices.Contains(s.given, "--data"):
		return nil, "", "", nil, refuse("flag.together", "--data", "A season file and --data are both given.", "Leave one out.")
	}
	files, name, err = s.App.Files(f.Season)
	return files, name, "", now, err
}

type booksCmd struct {
	Loads   filename `placeholder:"loads.csv" help:"Tickets from a CSV file; docs/reference/loads.md describes it."`
	Cheques filename `placeholder:"cheques.csv" help:"What buyers paid, from a CSV file."`
	Sheets  filename `placeholder:"sheets.json" help:"Buyers' settlement sheets, a JSON list, to hold against the tickets; docs/reference/loads.md describes it."`
	View    string   `default:"all" placeholder:"contracts" help:"What to show: all, contracts, bins, shares, yields, records, cheques, audit, tickets or checks."`
	Party   string   `placeholder:"orla" help:"Only this party's own share, as its statement: nothing of anybody else's."`
	Trace   string   `placeholder:"contract:oss-101" help:"The tickets behind a figure: contract:ID, field:ID, party:ID, bin:ID, outlet:ID, ticket:NUMBER or spot, several joined by +."`
	seasonFlags
}

// Explain says what the books hold.
func (booksCmd) Explain() string {
	return "Adds the season up from its tickets: what came off each field, whose it is, which contract it filled, what it pays by the posted schedule, what is " +
		"owed without a price, what lies in which bin, and everything that does not add up. Nothing is kept of it: the same tickets give the same books. " +
		"Tickets, cheques and settlement sheets are the data file's, and those of files beside it or beside a season file.\n\n" +
		"Money due, claims on a buyer for grain without a price, grain stored at a buyer and grain in own bins are different things and are never added together. " +
		"Settled bushels are the buyer's, insured bushels the policy's, dry bushels the agronomist's; they are never taken for one another. " +
		"Production records are a help to fill in forms: the adjuster decides what counts.\n\n" +
		"Sheets and cheques are held against what the tickets pay: differences that are only roundings are summed apart from real ones, and the rule that explains " +
		"a sheet to the cent is named.\n\n" +
		"--trace leads any figure back to its tickets, each with every line of its settlement."
}

// Examples are command lines that work as they stand.
func (booksCmd) Examples() []string {
	return []string{"books --demo", "books --demo --party orla", "books --demo --trace contract:oss-101"}
}

// Answer returns the JSON form.
func (booksCmd) Answer() any { return answer.Books{} }

// Run adds the season up.
func (c booksCmd) Run(s *session) error {
	if err := oneOfWords("--view", c.View, append([]string{"all"}, app.BookParts()...)...); err != nil {
		return err
	}
	r := app.BooksRequest{Loads: string(c.Loads), Cheques: string(c.Cheques), Sheets: string(c.Sheets)}
	var err error
	if r.Files, r.Season, r.Book, r.Now, err = c.find(s); err != nil {
		return err
	}
	if c.Demo && r.Loads+r.Cheques+r.Sheets == "" {
		r = s.App.DemoBooks(r)
	}
	b, err := s.App.Books(s.ctx, r)
	if err != nil {
		return err
	}
	if c.Party != "" && !slices.Contains(b.Parties, c.Party) {
		return &problem.InputError{Rule: "party.unknown", Label: "--party", Got: c.Party, Want: oneOf(b.Parties)}
	}
	if c.Trace != "" {
		return s.trace(b, c.Trace, c.Party)
	}
	if len(b.Loads)+len(b.TakenBack)+len(b.Cheques) == 0 && b.Audit == nil {
		return noLoads(b)
	}
	v := app.BooksView{Books: b, Show: c.View, Party: c.Party}
	if s.json {
		return s.print(answer.OfBooks(&v))
	}
	return s.printBooks(&v)
}

// noLoads says that there is nothing to add up yet, and how a load gets there.
func noLoads(b *app.Books) error {
	out := &app.NoAnswer{Rule: "books.empty", Say: "No load is in the books of " + b.Farm + " yet.", Next: "Enter one with threshday add load, or put a CSV file of tickets in with threshday import --loads."}
	if b.Data == "" {
		out.Next = "A season file holds no loads: name a CSV file of tickets with --loads, or use the data file they were entered in."
	}
	if b.Waiting > 0 {
		out.Say = "No load counts yet; " + plural(int64(b.Waiting), "load") + " wait for a person to look."
		out.Next = "threshday waiting lists them."
	}
	return out
}
