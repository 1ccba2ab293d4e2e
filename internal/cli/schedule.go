package cli

import (
	"fmt"
	"math"
	"strings"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/document"
)

type scheduleCmd struct {
	Show    scheduleShowCmd    `cmd:"" help:"Read a schedule back in plain words, and draw what it pays."`
	Paste   schedulePasteCmd   `cmd:"" help:"Make a schedule of a table pasted from a buyer's sheet."`
	Toml    scheduleTomlCmd    `cmd:"" help:"Write a schedule in the readable form."`
	Example scheduleExampleCmd `cmd:"" help:"Print a starting point to replace with your buyer's posted figures."`
}

// Explain says what the forms of schedules are.
func (scheduleCmd) Explain() string {
	return "A posted schedule is a file in one of two forms that hold the same: TOML, for people, and JSON, for scripts; docs/reference/schedule.md describes both. " +
		"The season file names one for each outlet and crop. Read yours back with schedule show before money hangs on it."
}

type scheduleShowCmd struct {
	File    filename  `arg:"" help:"The schedule, in TOML or JSON."`
	Price   *dollars  `above:"0" placeholder:"9.8725" help:"Cash price; needed to draw."`
	Futures *dollars  `above:"0" placeholder:"10.4225" help:"Futures price, for schedules that take percents of it."`
	Factor  string    `default:"moisture" placeholder:"test_weight" help:"What to draw the price against, as schedules name it."`
	From    *wetBasis `placeholder:"12" help:"Where the drawing of moisture begins; left out, two points under the crop's usual base."`
	To      *wetBasis `placeholder:"20" help:"Where it ends; left out, eight points over it."`
	SVG     string    `name:"svg" placeholder:"schedule.svg" help:"Also draw it into this file, which must not exist yet."`
}

// Explain says what is shown.
func (scheduleShowCmd) Explain() string {
	return "Says how the buyer counts and rounds and what each row does, a sentence each, with doubts about rows that leave gaps, take twice or jump. " +
		"With --price it draws what a gross bushel nets by moisture, every other reading where nothing is taken. Hold it against the posted sheet."
}

// Answer returns the JSON form.
func (scheduleShowCmd) Answer() any { return document.Schedule{} }

// Run reads the schedule back.
func (c scheduleShowCmd) Run(s *session) error {
	factor, ok := settlement.ParseFactor(c.Factor)
	if !ok || factor.IsFlag() {
		return &problem.InputError{Rule: "S08", Label: "--factor", Got: c.Factor, Want: "what is measured, as moisture or test_weight"}
	}
	data, err := s.read(c.File)
	if err != nil {
		return err
	}
	schedule, err := s.Files.Schedule(string(c.File), data)
	if err != nil {
		return err
	}
	terms, doubts, err := settlement.Prepare(schedule)
	if err != nil {
		return inFile(err, string(c.File))
	}
	r := scheduleReading{terms: terms, schedule: terms.Schedule(), factor: factor}
	if c.Price != nil {
		prices := settlement.Prices{Cash: trade.Price(*c.Price)}
		if c.Futures != nil {
			futures := trade.Price(*c.Futures)
			prices.Futures = &futures
		}
		doubts = append(doubts, terms.Doubts(&prices.Cash)...)
		low, high := terms.Span(factor)
		if c.From != nil {
			low = trade.Percent(*c.From)
		}
		if c.To != nil {
			high = trade.Percent(*c.To)
		}
		if low >= high {
			return &problem.InputError{Rule: "price.range", Label: "--from", Got: low.String(), Want: "less than --to"}
		}
		r.curve = terms.Curve(factor, prices, low, high)
	} else if c.SVG != "" {
		return &problem.InputError{Rule: "flag.missing", Label: "--price", Want: "a price to draw with", Next: "What a row takes of a price depends on it."}
	}
	r.doubts = doubts
	if c.SVG != "" {
		if err := s.Create(c.SVG, r.chart(1).svg()); err != nil {
			return err
		}
	}
	if s.json {
		return s.print(document.OfSchedule(&r.schedule, r.factor, r.curve, r.doubts))
	}
	p := s.printer()
	p.line(p.bold(r.title()))
	r.print(p)
	return p.Flush()
}

// A scheduleReading is a schedule read back to a person.
type scheduleReading struct {
	terms    *settlement.Terms
	schedule settlement.Schedule
	factor   settlement.Factor
	curve    []settlement.CurvePoint
	doubts   []problem.Finding
}

func (r *scheduleReading) title() string {
	text := strings.TrimSpace(r.schedule.Buyer + " " + r.schedule.Location)
	if text == "" {
		text = "A schedule"
	}
	text += " for " + r.schedule.Crop.String()
	switch from, to := r.schedule.ValidFrom, r.schedule.ValidTo; {
	case from != nil && to != nil:
		text += fmt.Sprintf(", %s to %s", from, to)
	case from != nil:
		text += ", from " + from.String()
	case to != nil:
		text += ", until " + to.String()
	}
	return text
}

func (r *scheduleReading) print(p *printer) {
	for _, line := range r.schedule.Profile() {
		p.wrapped("  ", line)
	}
	p.line("")
	p.line(p.bold("Rows"))
	for i, line := range r.schedule.Sentences() {
		p.hung(fmt.Sprintf("%5d  ", r.schedule.Rows[i].Seq), line)
	}
	p.line("")
	if len(r.curve) > 0 {
		p.line(p.bold("What a gross " + r.unit() + " nets"))
		for _, line := range r.chart(2).letters(12) {
			p.line("  " + line)
		}
		p.line("")
	} else {
		p.section("Next", []string{"--price draws what it pays."})
	}
	var minds []string
	if r.schedule.Note != "" {
		minds = append(minds, sentence(r.schedule.Note))
	}
	for _, f := range r.doubts {
		minds = append(minds, f.Say+" "+f.Next)
	}
	minds = append(minds, "The buyer's own posted schedule decides: hold this against it.")
	p.section("Mind", minds)
}

func (r *scheduleReading) unit() string { return cwtOrBu(r.schedule.PriceUnit == settlement.PerCwt) }

// chart returns the drawing of every n-th point.
func (r *scheduleReading) chart(n int) *chart {
	unit := r.factor.Unit()
	if unit != "" {
		unit = ", " + unit
	}
	c := &chart{title: r.title(), x: r.factor.Words() + unit, y: "net dollars a gross " + r.unit(), lines: []chartLine{{name: "net"}}}
	for i := 0; i < len(r.curve); i += n {
		y := math.NaN()
		if r.curve[i].Why == nil {
			y = r.curve[i].Net.Float()
		}
		c.xs = append(c.xs, r.curve[i].Reading.Float())
		c.lines[0].ys = append(c.lines[0].ys, y)
	}
	return c
}

type schedulePasteCmd struct {
	File filename  `arg:"" help:"The table as text, or - for the standard input."`
	Crop crop.Kind `need:"" placeholder:"soybean" help:"The crop it is for."`
	Out  string    `placeholder:"elevator.toml" help:"Write it into this file, which must not exist yet."`
}

// Explain says what is read and what is asked.
func (schedulePasteCmd) Explain() string {
	return "Reads a table as it is copied out of a page or message: a heading that names what is measured and what is taken, below it a line for each band, as " +
		"\"13.1 - 13.5  1.25%\" or \"over 18.0  rejected\". What a line says is the whole of what a reading in that band costs; bands that go up by equal amounts " +
		"become one row with steps. What the table does not say is never filled in: it stands as remarks, and the file settles nothing until you have."
}

// Run makes the file.
func (c schedulePasteCmd) Run(s *session) error {
	data, err := s.read(c.File)
	if err != nil {
		return err
	}
	text, err := s.Files.Paste(string(c.File), string(data), c.Crop)
	if err != nil {
		return err
	}
	return s.writeSchedule(text, c.Out)
}

// fileJSON is a file made for the person, as JSON.
type fileJSON struct {
	Out  *string `json:"out"` // the file it was written into
	Text string  `json:"text"`
}

// Answer returns the JSON form.
func (schedulePasteCmd) Answer() any { return fileJSON{} }

// writeSchedule prints a file, or writes it where that was asked for.
func (s *session) writeSchedule(text []byte, out string) error {
	if out != "" {
		if err := s.Create(out, text); err != nil {
			return err
		}
	}
	switch {
	case s.json && out != "":
		return s.print(fileJSON{&out, string(text)})
	case s.json:
		return s.print(fileJSON{nil, string(text)})
	case out == "":
		_, err := s.Stdout.Write(text)
		return err
	}
	p := s.printer()
	p.line(p.bold("Written: ") + out)
	p.section("Next", []string{"Fill in what stands behind #, then read it back: threshday schedule show " + out})
	return p.Flush()
}

type scheduleTomlCmd struct {
	File filename `arg:"" help:"The schedule, in JSON or TOML."`
	Out  string   `placeholder:"elevator.toml" help:"Write it into this file, which must not exist yet."`
}

// Explain says what is kept.
func (scheduleTomlCmd) Explain() string {
	return "The readable form holds what the JSON form holds, no more and no less; remarks of a TOML file are not kept."
}

// Answer returns the JSON form.
func (scheduleTomlCmd) Answer() any { return fileJSON{} }

// Run converts.
func (c scheduleTomlCmd) Run(s *session) error {
	data, err := s.read(c.File)
	if err != nil {
		return err
	}
	schedule, err := s.Files.Schedule(string(c.File), data)
	if err != nil {
		return err
	}
	return s.writeSchedule(s.Files.WriteSchedule(schedule), c.Out)
}

type scheduleExampleCmd struct {
	Name string `arg:"" optional:"" help:"Which; left out, their names are listed."`
	Out  string `placeholder:"elevator.toml" help:"Write it into this file, which must not exist yet."`
}

// Explain says what the examples are.
func (scheduleExampleCmd) Explain() string {
	return "Common forms of posted schedules with invented figures: a place to start typing. Replace every figure with your buyer's posted ones before money hangs on it."
}

// examplesJSON are the names of the examples, and the text of the one that was asked for.
type examplesJSON struct {
	Names []string `json:"names"`
	Text  string   `json:"text,omitempty"`
}

// Answer returns the JSON form.
func (scheduleExampleCmd) Answer() any { return examplesJSON{} }

// Run prints an example, or the names of all.
func (c scheduleExampleCmd) Run(s *session) error {
	names := s.Files.Examples()
	if c.Name == "" {
		if s.json {
			return s.print(examplesJSON{Names: names})
		}
		p := s.printer()
		for _, name := range names {
			p.line(name)
		}
		p.section("Next", []string{"threshday schedule example NAME --out elevator.toml, then replace its figures with your buyer's."})
		return p.Flush()
	}
	text, ok := s.Files.Example(c.Name)
	if !ok {
		return &problem.InputError{Rule: "example.unknown", Label: "example", Got: c.Name, Want: oneOf(names)}
	}
	if s.json && c.Out == "" {
		return s.print(examplesJSON{names, string(text)})
	}
	return s.writeSchedule(text, c.Out)
}
