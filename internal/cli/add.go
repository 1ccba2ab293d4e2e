package cli

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/feeds/quantity"
)

type addCmd struct {
	Reading  addReadingCmd  `cmd:"" help:"Enter a moisture reading."`
	Stage    addStageCmd    `cmd:"" help:"Enter a stage of the crop that was seen."`
	Bid      addBidCmd      `cmd:"" help:"Enter a bid."`
	Forecast addForecastCmd `cmd:"" help:"Enter a day of your own forecast."`
	Load     addLoadCmd     `cmd:"" help:"Enter a truckload from its ticket."`
}

// Explain says what holds for every entry.
func (addCmd) Explain() string {
	return "Enters one thing into the data file. It is acknowledged once it is on the disk; from then on it survives a power cut and counts once. " +
		"Nothing is overwritten: correct and void are entries of their own."
}

// readingFlags are what a reading says.
type readingFlags struct {
	Field    string         `placeholder:"creek-80" help:"The field's id."`
	Moisture *trade.Percent `placeholder:"14.6" help:"Moisture, wet basis."`
	Device   string         `placeholder:"meter" help:"What read it: meter, bite, combine or ticket."`
	Name     string         `placeholder:"'shop meter'" help:"Which meter, whose bite: each has a bias of its own that is learned."`
	Spots    *count         `placeholder:"4" help:"Spots sampled into the figure." low:"1" high:"200"`
	Zone     string         `placeholder:"low" help:"Where: whole, low or knob; left out, the whole field."`
	Note     string         `placeholder:"'low end still green'" help:"Anything to remember."`
}

// onto puts what was given onto r.
func (f *readingFlags) onto(r *farm.Reading) error {
	set := func(to *string, given string) {
		if given != "" {
			*to = given
		}
	}
	set(&r.Field, f.Field)
	set(&r.Device, f.Device)
	set(&r.Name, f.Name)
	set(&r.Zone, f.Zone)
	set(&r.Note, f.Note)
	if f.Moisture != nil {
		r.Moisture = *f.Moisture
	}
	if f.Spots != nil {
		r.Spots = int(*f.Spots)
	}
	return firstOf(
		oneOfWords("--device", r.Device, "meter", "bite", "combine", "ticket"),
		oneOfWords("--zone", r.Zone, "", "whole", "low", "knob"),
	)
}

// oneOfWords refuses a word that is not one of those.
func oneOfWords(flag, got string, words ...string) error {
	if slices.Contains(words, got) {
		return nil
	}
	known := slices.DeleteFunc(slices.Clone(words), func(w string) bool { return w == "" })
	return &problem.InputError{Rule: "flag.word", Label: flag, Got: got, Want: strings.Join(known, ", ")}
}

type addReadingCmd struct {
	readingFlags
	whoFlags
	bookFlags
}

// Answer returns the JSON form.
func (addReadingCmd) Answer() any { return enteredJSON{} }

// Run enters the reading.
func (c addReadingCmd) Run(s *session) error {
	if err := firstOf(need(c.Field != "", "--field", "the field's id"), need(c.Moisture != nil, "--moisture", "the moisture read, as 14.6"),
		need(c.Device != "", "--device", "meter, bite, combine or ticket")); err != nil {
		return err
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	r := farm.Reading{By: c.By}
	if err := c.onto(&r); err != nil {
		return err
	}
	if r.At, err = c.when(clock); err != nil {
		return err
	}
	e, err := s.App.AddReading(s.ctx, c.data(), r, typed("moist_hundredth_pct", r.Moisture.String()))
	if err != nil {
		return err
	}
	return s.tell(e, fmt.Sprintf("%s %% in %s by %s, %s", r.Moisture, r.Field, strings.TrimSpace(r.Device+" "+r.Name), r.At.In(clock.Zone).Format("Mon 2 Jan 2006 15:04")))
}

type stageFlags struct {
	Field  string        `placeholder:"creek-80" help:"The field's id."`
	Stage  string        `placeholder:"R7" help:"What was seen: R5, R6, R7, R8, dent, black-layer or ripe."`
	On     *calendar.Day `placeholder:"2031-09-09" help:"The day it was seen; left out: today."`
	Plants *percent      `placeholder:"60" help:"Percent of plants at the stage; left out: about half." low:"0" high:"100"`
	Note   string        `placeholder:"'north end behind'" help:"Anything to remember."`
}

func (f *stageFlags) onto(r *farm.Sighting) error {
	if f.Field != "" {
		r.Field = f.Field
	}
	if f.Stage != "" {
		r.Stage = f.Stage
	}
	if f.On != nil {
		r.On = *f.On
	}
	if f.Plants != nil {
		x := float64(*f.Plants)
		r.Pct = &x
	}
	if f.Note != "" {
		r.Note = f.Note
	}
	return oneOfWords("--stage", r.Stage, "R5", "R6", "R7", "R8", "dent", "black-layer", "ripe")
}

type addStageCmd struct {
	stageFlags
	By string `placeholder:"Ada" help:"Who saw it."`
	bookFlags
}

// Answer returns the JSON form.
func (addStageCmd) Answer() any { return enteredJSON{} }

// Run enters the stage.
func (c addStageCmd) Run(s *session) error {
	if err := firstOf(need(c.Field != "", "--field", "the field's id"), need(c.Stage != "", "--stage", "R5, R6, R7, R8, dent, black-layer or ripe")); err != nil {
		return err
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	r := farm.Sighting{By: c.By, On: calendar.DayOf(clock.Now, clock.Zone)}
	if err := c.onto(&r); err != nil {
		return err
	}
	e, err := s.App.AddStage(s.ctx, c.data(), r, nil)
	if err != nil {
		return err
	}
	return s.tell(e, fmt.Sprintf("%s in %s on %s", r.Stage, r.Field, r.On))
}

type bidFlags struct {
	Outlet  string        `placeholder:"ossing" help:"The outlet's id."`
	Crop    crop.Kind     `placeholder:"soybean" help:"The crop."`
	Cash    *trade.Price  `placeholder:"'$9.87'" help:"Cash price; or give futures and basis."`
	Futures *trade.Price  `placeholder:"'$10.4225'" help:"Futures price."`
	Basis   *trade.Price  `placeholder:"-55c" help:"Basis, cash less futures; write --basis=-55c."`
	Month   string        `placeholder:"Nov" help:"Futures month."`
	From    *calendar.Day `placeholder:"2031-09-15" help:"First day of delivery."`
	Until   *calendar.Day `placeholder:"2031-10-31" help:"Last day of delivery; left out: no end known."`
}

func (f *bidFlags) onto(b *farm.Bid) error {
	if f.Outlet != "" {
		b.Outlet = f.Outlet
	}
	if f.Crop != crop.Unknown {
		b.Crop = f.Crop
	}
	if f.Cash != nil {
		b.Cash, b.Futures, b.Basis = f.Cash, nil, nil
	}
	if f.Futures != nil {
		b.Futures, b.Cash = f.Futures, nil
	}
	if f.Basis != nil {
		b.Basis, b.Cash = f.Basis, nil
	}
	if f.Month != "" {
		b.Month = f.Month
	}
	if f.From != nil {
		b.From = f.From
	}
	if f.Until != nil {
		b.Until = f.Until
	}
	if b.Cash == nil && (b.Futures == nil || b.Basis == nil) {
		return &problem.InputError{Rule: "flag.missing", Label: "--cash", Want: "a cash price like $9.87, or --futures and --basis both"}
	}
	return nil
}

type addBidCmd struct {
	bidFlags
	whoFlags
	bookFlags
}

// Answer returns the JSON form.
func (addBidCmd) Answer() any { return enteredJSON{} }

// Run enters the bid.
func (c addBidCmd) Run(s *session) error {
	if err := firstOf(need(c.Outlet != "", "--outlet", "the outlet's id"), need(c.Crop != crop.Unknown, "--crop", oneOf(cropNames()))); err != nil {
		return err
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	var b farm.Bid
	if err := c.onto(&b); err != nil {
		return err
	}
	if b.Taken, err = c.when(clock); err != nil {
		return err
	}
	e, err := s.App.AddBid(s.ctx, c.data(), b, nil, c.By)
	if err != nil {
		return err
	}
	return s.tell(e, fmt.Sprintf("%s for %s at %s, heard %s", priceWords(b), b.Crop, b.Outlet, b.Taken.In(clock.Zone).Format("Mon 2 Jan 2006 15:04")))
}

func priceWords(b farm.Bid) string {
	if b.Cash != nil {
		return "$" + b.Cash.Fixed()
	}
	return fmt.Sprintf("futures $%s, basis %s", b.Futures.Fixed(), b.Basis.Fixed())
}

type addForecastCmd struct {
	On     *calendar.Day      `placeholder:"2031-09-15" help:"The day."`
	High   *units.Temperature `placeholder:"82F" help:"Highest temperature."`
	Low    *units.Temperature `placeholder:"61F" help:"Lowest temperature."`
	Rain   *percent           `placeholder:"40" help:"Chance of 0.01 inch or more." low:"0" high:"100"`
	Amount string             `placeholder:"light" help:"How much, if it rains: trace, light, medium or heavy."`
	When   string             `placeholder:"evening" help:"When, if it rains: night, morning, afternoon, evening or any."`
	Dew    string             `placeholder:"heavy" help:"Dew in the morning: none, light or heavy."`
	Wind   string             `placeholder:"light" help:"Wind: calm, light, breezy or windy."`
	Sky    string             `placeholder:"part" help:"Sky: clear, part or cloudy."`
	By     string             `placeholder:"Ada" help:"Who enters it."`
	bookFlags
}

// Answer returns the JSON form.
func (addForecastCmd) Answer() any { return enteredJSON{} }

// Run enters the day.
func (c addForecastCmd) Run(s *session) error {
	if err := firstOf(
		need(c.On != nil, "--on", "the day, as 2031-09-15"), need(c.High != nil, "--high", "the highest temperature, as 82F"),
		need(c.Low != nil, "--low", "the lowest temperature, as 61F"),
		oneOfWords("--amount", c.Amount, "", "trace", "light", "medium", "heavy"),
		oneOfWords("--when", c.When, "", "night", "morning", "afternoon", "evening", "any"),
		oneOfWords("--dew", c.Dew, "", "none", "light", "heavy"),
		oneOfWords("--wind", c.Wind, "", "calm", "light", "breezy", "windy"),
		oneOfWords("--sky", c.Sky, "", "clear", "part", "cloudy"),
	); err != nil {
		return err
	}
	if c.Low.Celsius() > c.High.Celsius() {
		return &problem.InputError{Rule: "forecast.order", Label: "--low", Got: quantity.FormatTemperature(*c.Low), Want: "at most the high, " + quantity.FormatTemperature(*c.High)}
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	now := clock.Now.Truncate(time.Second)
	d := farm.OutlookDay{On: *c.On, High: *c.High, Low: *c.Low, Amount: c.Amount, When: c.When, Dew: c.Dew, Wind: c.Wind, Sky: c.Sky, Entered: &now}
	if c.Rain != nil {
		x := float64(*c.Rain)
		d.RainPct = &x
	}
	e, err := s.App.AddForecast(s.ctx, c.data(), d, typed("high", quantity.FormatTemperature(d.High), "low", quantity.FormatTemperature(d.Low)), c.By)
	if err != nil {
		return err
	}
	return s.tell(e, fmt.Sprintf("forecast for %s: %s / %s", d.On, quantity.FormatTemperature(d.High), quantity.FormatTemperature(d.Low)))
}
