package cli

import (
	"fmt"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/feeds/quantity"
)

// bookFlags name the data file.
type bookFlags struct {
	Data filename `env:"THRESHDAY_DATA" default:"farm.db" placeholder:"farm.db" help:"The data file of the farm; also read from THRESHDAY_DATA."`
}

func (b *bookFlags) data() string { return string(b.Data) }

// whoFlags say who enters it and when.
type whoFlags struct {
	By string `placeholder:"Ada" help:"Who enters it."`
	At string `placeholder:"'2031-09-13 14:20'" help:"When it was, on the farm's clock or with an offset; left out: now."`
}

// when resolves --at on the farm's clock.
func (w *whoFlags) when(clock app.Clock) (time.Time, error) {
	if w.At == "" {
		return clock.Now, nil
	}
	return quantity.ParseInstant("--at", w.At, clock.Zone)
}

// enteredJSON is the answer to one entry.
type enteredJSON struct {
	ID     string      `json:"id"`
	Status string      `json:"status"` // stored, or review: in the book and waiting for a person
	Doubts []complaint `json:"doubts"`
}

// tell prints that an entry is in the book, what was understood, and what is doubtful.
func (s *session) tell(e *app.Entered, understood string) error {
	out := enteredJSON{ID: e.ID, Status: "stored", Doubts: []complaint{}}
	if e.Review {
		out.Status = "review"
	}
	for _, f := range e.Doubts {
		out.Doubts = append(out.Doubts, ofFinding(f))
	}
	if s.json {
		return s.print(out)
	}
	p := s.printer()
	p.line(p.bold("In the book: ") + understood)
	p.section("Id", []string{e.ID})
	var doubts []string
	for _, f := range e.Doubts {
		doubts = append(doubts, sentence(f.Say)+" "+f.Next)
	}
	p.section("Look at", doubts)
	if e.Review {
		p.wrapped("", "It waits for a person: correct it, void it, or leave it if it is right.")
	}
	return p.Flush()
}

// typed keeps numbers as they were written on the command line.
func typed(pairs ...string) journal.Typed {
	out := journal.Typed{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			out[pairs[i]] = pairs[i+1]
		}
	}
	return out
}

// need returns the complaint of a flag that an entry cannot do without.
func need(given bool, flag, want string) error {
	if given {
		return nil
	}
	return &problem.InputError{Rule: "flag.missing", Label: flag, Want: want}
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

type importCmd struct {
	Season string `arg:"" help:"Your season file."`
	By     string `placeholder:"Ada" help:"Who puts it in."`
	bookFlags
}

// Explain says what an import does.
func (importCmd) Explain() string {
	return "Puts a season file into the data file, whole or not at all, and makes the data file where there is none. Import it again after changing it: " +
		"the new text is the season from then on, the old one stays in the history. What was entered one by one with add stands over the line of the same id."
}

type importJSON struct {
	enteredJSON
	Farm   string `json:"farm"`
	Fields int    `json:"fields"`
}

// Answer returns the JSON form.
func (importCmd) Answer() any { return importJSON{} }

// Run puts the file in.
func (c importCmd) Run(s *session) error {
	im, err := s.App.Import(s.ctx, c.Season, c.data(), c.By)
	if err != nil {
		return err
	}
	if s.json {
		return s.print(importJSON{enteredJSON{string(im.Answer.ID), string(im.Answer.Status), []complaint{}}, im.Farm, im.Fields})
	}
	p := s.printer()
	p.line(p.bold("In the book: ") + fmt.Sprintf("the season of %s, %d fields, %d readings, %d outlets, %d bids, %d contracts", im.Farm, im.Fields, im.Readings, im.Outlets, im.Bids, im.Contracts))
	p.section("Data", []string{c.data()})
	p.section("Next", []string{"threshday plan --data " + c.data(), "threshday add reading --data " + c.data() + " --field … --moisture … --device meter"})
	return p.Flush()
}

type exportCmd struct {
	Out filename `placeholder:"season.toml" help:"Where to write it; left out: the standard output."`
	bookFlags
}

// Explain says what an export holds.
func (exportCmd) Explain() string {
	return "Writes the season of the data file as a season file: byte for byte as it was put in where nothing was entered since, else with the readings, " +
		"stages, bids and forecasts entered since in their places. Loads stay in the data file; a season file has no place for them."
}

// Run writes the file.
func (c exportCmd) Run(s *session) error {
	text, loads, err := s.App.Export(s.ctx, c.data())
	if err != nil {
		return err
	}
	if c.Out == "" || c.Out == "-" {
		_, err := s.Stdout.Write(text)
		return err
	}
	if err := s.Create(string(c.Out), text); err != nil {
		return err
	}
	if s.json {
		return s.print(map[string]any{"file": string(c.Out), "bytes": len(text), "loads_left_in_the_book": loads})
	}
	p := s.printer()
	p.line(p.bold("Written: ") + string(c.Out))
	if loads > 0 {
		p.wrapped("", fmt.Sprintf("%s loads stay in %s.", digits(float64(loads), 0), c.data()))
	}
	return p.Flush()
}
