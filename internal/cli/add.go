package cli

import (
	"threshday/internal/answer"
	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
)

type addCmd struct {
	Reading  addReadingCmd  `cmd:"" help:"Enter a moisture reading."`
	Stage    addStageCmd    `cmd:"" help:"Enter a stage of the crop that was seen."`
	Bid      addBidCmd      `cmd:"" help:"Enter a bid."`
	Forecast addForecastCmd `cmd:"" help:"Enter a day of your own forecast."`
	Load     addLoadCmd     `cmd:"" help:"Enter a truckload from its ticket."`
	Cheque   addChequeCmd   `cmd:"" help:"Enter what a buyer paid."`
	Sheet    addSheetCmd    `cmd:"" help:"Enter what a buyer's settlement sheet prints of a ticket."`
}

// Explain says what holds for every entry.
func (addCmd) Explain() string {
	return "Enters one thing into the data file. It is acknowledged once it is on the disk; from then on it survives a power cut and counts once. " +
		"Nothing is overwritten: correct and void are entries of their own."
}

// readingFlags are what a reading says.
type readingFlags struct {
	Field    string    `placeholder:"creek-80" help:"The field's id."`
	Moisture *wetBasis `placeholder:"14.6" help:"Moisture, wet basis."`
	Device   string    `placeholder:"meter" help:"What read it: meter, bite, combine or ticket."`
	Name     string    `placeholder:"'shop meter'" help:"Which meter, whose bite: each has a bias of its own that is learned."`
	Spots    *count    `placeholder:"4" help:"Spots sampled into the figure." low:"1" high:"200"`
	Zone     string    `placeholder:"low" help:"Where: whole, low, knob, or load for a sample of what was cut; left out, the whole field."`
	Note     string    `placeholder:"'low end still green'" help:"Anything to remember."`
}

// onto puts what was given onto r.
func (f *readingFlags) onto(r *farm.Reading) error {
	put(&r.Field, f.Field)
	put(&r.Device, f.Device)
	put(&r.Name, f.Name)
	put(&r.Zone, f.Zone)
	put(&r.Note, f.Note)
	if f.Moisture != nil {
		r.Moisture = trade.Percent(*f.Moisture)
	}
	if f.Spots != nil {
		r.Spots = int(*f.Spots)
	}
	return firstOf(
		oneOfWords("--device", r.Device, "meter", "bite", "combine", "ticket"),
		oneOfWords("--zone", r.Zone, "", "whole", "low", "knob", "load"),
	)
}

// typedReading keeps the number of a reading as it was typed.
func (s *session) typedReading() journal.Typed { return s.typed("moist_hundredth_pct", "--moisture") }

type addReadingCmd struct {
	readingFlags
	atFlags
	whoFlags
	bookFlags
}

// Answer returns the JSON form.
func (addReadingCmd) Answer() any { return enteredJSON{} }

// Run enters the reading.
func (c addReadingCmd) Run(s *session) error {
	sign, err := c.signed(c.At != "", "--at")
	if err := firstOf(need(c.Field != "", "--field", "the field's id"), need(c.Moisture != nil, "--moisture", "the moisture read, as 14.6"),
		need(c.Device != "", "--device", "meter, bite, combine or ticket"), err); err != nil {
		return err
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	r := farm.Reading{By: sign.By}
	if err := c.onto(&r); err != nil {
		return err
	}
	if r.At, err = c.when(clock); err != nil {
		return err
	}
	e, err := s.App.AddReading(s.ctx, c.data(), r, s.typedReading(), sign.ID)
	if err != nil {
		return err
	}
	return s.tell(e, answer.ReadingSaid(r, clock.Zone))
}

type stageFlags struct {
	Field  string        `placeholder:"creek-80" help:"The field's id."`
	Stage  string        `placeholder:"R7" help:"What was seen: R5, R6, R7, R8, dent, black-layer, ripe, brown (pods) or green (still)."`
	On     *calendar.Day `placeholder:"2031-09-09" help:"The day it was seen; left out: today."`
	Plants *percent      `placeholder:"60" help:"Percent of plants at the stage, or of pods that are brown; left out: about half." low:"0" high:"100"`
	Zone   string        `placeholder:"low" help:"Where: whole, low or knob; left out, the whole field."`
	Note   string        `placeholder:"'north end behind'" help:"Anything to remember."`
}

// stageWords are the stages that can be seen.
var stageWords = [...]string{"R5", "R6", "R7", "R8", "dent", "black-layer", "ripe", "brown", "green"}

func (f *stageFlags) onto(r *farm.Sighting) error {
	put(&r.Field, f.Field)
	put(&r.Stage, f.Stage)
	put(&r.Zone, f.Zone)
	put(&r.Note, f.Note)
	if f.On != nil {
		r.On = *f.On
	}
	if f.Plants != nil {
		x := float64(*f.Plants)
		r.Pct = &x
	}
	return firstOf(oneOfWords("--stage", r.Stage, stageWords[:]...), oneOfWords("--zone", r.Zone, "", "whole", "low", "knob"))
}

// typedStage keeps the number of a stage as it was typed.
func (s *session) typedStage() journal.Typed { return s.typed("plants_hundredth_pct", "--plants") }

type addStageCmd struct {
	stageFlags
	whoFlags
	bookFlags
}

// Answer returns the JSON form.
func (addStageCmd) Answer() any { return enteredJSON{} }

// Run enters the stage.
func (c addStageCmd) Run(s *session) error {
	sign, err := c.signed(c.On != nil, "--on")
	if err := firstOf(need(c.Field != "", "--field", "the field's id"), need(c.Stage != "", "--stage", oneOf(stageWords[:])), err); err != nil {
		return err
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	r := farm.Sighting{By: sign.By, On: calendar.DayOf(clock.Now, clock.Zone)}
	if err := c.onto(&r); err != nil {
		return err
	}
	e, err := s.App.AddStage(s.ctx, c.data(), r, s.typedStage(), sign.ID)
	if err != nil {
		return err
	}
	return s.tell(e, answer.StageSaid(r))
}
