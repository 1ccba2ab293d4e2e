package cli

import (
	"fmt"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/app"
)

type importCmd struct {
	Season  string   `arg:"" optional:"" help:"Your season file; left out, only the papers named."`
	Loads   filename `placeholder:"loads.csv" help:"Tickets from a CSV file; docs/reference/loads.md describes it."`
	Cheques filename `placeholder:"cheques.csv" help:"Cheques from a CSV file; docs/reference/loads.md describes it."`
	Sheets  filename `placeholder:"sheets.json" help:"Buyers' settlement sheets from a JSON list; docs/reference/loads.md describes it."`
	By      string   `placeholder:"Ada" help:"Who puts it in."`
	bookFlags
}

// Explain says what an import does.
func (importCmd) Explain() string {
	return "Puts a season file into the data file, whole or not at all, and makes the data file where there is none. Import it again after changing it: " +
		"the new text is the season from then on, the old one stays in the history; the same text twice counts once. What was entered one by one with add " +
		"stays and is put into the season; a line with the id of an entry is that entry, and what the book says of it stands.\n\n" +
		"--loads, --cheques and --sheets put tickets and buyers' papers in, all of the files or none. A ticket or paper that is there already and says the same counts once; a paper that says " +
		"something else is refused with the id of the one to correct, and a ticket that looks like another waits for a person."
}

type importJSON struct {
	enteredJSON
	Farm     string      `json:"farm"`
	Fields   int         `json:"fields"`
	Findings []complaint `json:"findings"`
}

// Answer returns the JSON form.
func (importCmd) Answer() any { return importJSON{} }

type papersJSON struct {
	Data     string      `json:"data"`
	Loads    int         `json:"loads"`
	Cheques  int         `json:"cheques"`
	Sheets   int         `json:"sheets"`
	Again    int         `json:"again"`   // were in the book already
	Waiting  int         `json:"waiting"` // of the new ones: they look like others
	Findings []complaint `json:"findings"`
}

// Run puts the files in.
func (c importCmd) Run(s *session) error {
	switch papers := c.Loads != "" || c.Cheques != "" || c.Sheets != ""; {
	case papers && c.Season != "":
		return refuse("flag.together", "SEASON", "A season file is given beside tickets or papers.", "Put the season in first, then what belongs to it.")
	case papers:
		return c.papers(s)
	case c.Season == "":
		return need(false, "SEASON", "your season file, or a file with --loads, --cheques or --sheets")
	}
	im, err := s.App.Import(s.ctx, c.Season, c.data(), tidy(c.By))
	if err != nil {
		return err
	}
	if s.json {
		out := importJSON{answer.OfEntered(&im.Entered), im.Farm, im.Fields, []complaint{}}
		for _, f := range im.Findings {
			out.Findings = append(out.Findings, ofFinding(f))
		}
		return s.print(out)
	}
	p := s.printer()
	lead := "In the book: "
	if im.Again {
		lead = "Was in the book already: "
	}
	p.hung("", p.bold(lead)+fmt.Sprintf("the season of %s, %s, %s, %s, %s, %s", im.Farm, plural(int64(im.Fields), "field"),
		plural(int64(im.Readings), "reading"), plural(int64(im.Outlets), "outlet"), plural(int64(im.Bids), "bid"), plural(int64(im.Contracts), "contract")))
	p.section("Data", []string{im.Data})
	p.section("Look at", lookAt(im.Findings))
	p.section("Next", []string{"threshday plan --data " + c.data(), "threshday add reading --data " + c.data() + " --field … --moisture … --device meter"})
	return p.Flush()
}

// papers puts cheques and sheets in.
func (c importCmd) papers(s *session) error {
	im, err := s.App.ImportPapers(s.ctx, app.PapersRequest{Data: c.data(), Loads: string(c.Loads), Cheques: string(c.Cheques), Sheets: string(c.Sheets), By: tidy(c.By)})
	if err != nil {
		return err
	}
	if s.json {
		out := papersJSON{im.Data, im.Loads, im.Cheques, im.Sheets, im.Again, im.Waiting, []complaint{}}
		for _, f := range im.Findings {
			out.Findings = append(out.Findings, ofFinding(f))
		}
		return s.print(out)
	}
	p := s.printer()
	text := plural(int64(im.Loads), "load") + ", " + plural(int64(im.Cheques), "cheque") + " and " + plural(int64(im.Sheets), "settlement sheet")
	if im.Again > 0 {
		text += fmt.Sprintf("; there already: %d", im.Again)
	}
	if im.Waiting > 0 {
		text += fmt.Sprintf("; %d of them wait for a person: threshday waiting lists them", im.Waiting)
	}
	p.hung("", p.bold("In the book: ")+text)
	p.section("Data", []string{im.Data})
	p.section("Look at", lookAt(im.Findings))
	p.section("Next", []string{"threshday books --data " + c.data()})
	return p.Flush()
}

type exportCmd struct {
	Out filename `placeholder:"season.toml" help:"Where to write it; left out: the standard output."`
	bookFlags
}

// Explain says what an export holds.
func (exportCmd) Explain() string {
	return "Writes the season of the data file as a season file: byte for byte as it was put in where no entry says anything else, else with the readings, " +
		"stages, bids and forecasts that were entered in their places. Loads stay in the data file; a season file has no place for them. " +
		"A file that is there is not written over."
}

type exportJSON struct {
	File   string `json:"file,omitempty"`
	Season string `json:"season,omitempty"` // the text, where no file is named
	Loads  int64  `json:"loads_left_in_the_book"`
}

// Answer returns the JSON form.
func (exportCmd) Answer() any { return exportJSON{} }

// Run writes the file.
func (c exportCmd) Run(s *session) error {
	text, loads, err := s.App.Export(s.ctx, c.data())
	if err != nil {
		return err
	}
	out := exportJSON{File: string(c.Out), Loads: loads}
	switch {
	case c.Out != "" && c.Out != "-":
		if err := s.Create(out.File, text); err != nil {
			return err
		}
	case s.json:
		out.Season = string(text)
	default:
		_, err := s.Stdout.Write(text)
		return err
	}
	if s.json {
		return s.print(out)
	}
	p := s.printer()
	p.line(p.bold("Written: ") + string(c.Out))
	if loads > 0 {
		p.wrapped("", fmt.Sprintf("What %s says stays in %s: a season file has no place for loads.", plural(loads, "load"), c.data()))
	}
	return p.Flush()
}

type dumpCmd struct {
	bookFlags
}

// Explain says what a dump is.
func (dumpCmd) Explain() string {
	return "Writes every entry, the oldest first, one a line: a hash, a space, and the entry as one line of JSON. The hash is SHA-256 over the hash of the line " +
		"before (64 zeros for the first), a line feed, and that JSON, so any tool that knows SHA-256 can check that nothing was changed. " +
		"It also reads files of a later version, and what still reads of a damaged one."
}

type dumpJSON struct {
	Entries []dumpedJSON `json:"entries"`
}

type dumpedJSON struct {
	Hash  string `json:"hash"`
	Entry string `json:"entry"` // the line that was hashed
}

// Answer returns the JSON form.
func (dumpCmd) Answer() any { return dumpJSON{} }

// Run writes the entries.
func (c dumpCmd) Run(s *session) error {
	if !s.json {
		return s.App.Dump(s.ctx, c.data(), s.Stdout)
	}
	var text strings.Builder
	if err := s.App.Dump(s.ctx, c.data(), &text); err != nil {
		return err
	}
	out := dumpJSON{Entries: []dumpedJSON{}}
	for line := range strings.Lines(text.String()) {
		hash, entry, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		out.Entries = append(out.Entries, dumpedJSON{hash, entry})
	}
	return s.print(out)
}
