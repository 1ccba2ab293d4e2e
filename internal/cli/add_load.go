package cli

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// loadFlags are what a ticket says, in the order of a ticket.
type loadFlags struct {
	Ticket     string         `placeholder:"4711" help:"Ticket number."`
	Outlet     string         `placeholder:"ossing" help:"The outlet or own bin that took it."`
	Crop       crop.Kind      `placeholder:"soybean" help:"The crop."`
	Field      []string       `placeholder:"creek-80" help:"Where it came from. Give it again for a truck from several fields, each with its pounds: creek-80=19840."`
	Gross      *scaleWeight   `placeholder:"78460lb" help:"Gross weight."`
	Tare       *scaleWeight   `placeholder:"27180lb" help:"Tare weight."`
	Moisture   *trade.Percent `placeholder:"14.2" help:"Moisture, wet basis."`
	TestWeight *testWeight    `placeholder:"56.5" help:"Test weight, lb a bushel."`
	FM         *trade.Percent `name:"fm" placeholder:"1.8" help:"Foreign material, percent."`
	Damage     *trade.Percent `placeholder:"2.4" help:"Total damage, percent."`
	Heat       *trade.Percent `placeholder:"0.1" help:"Heat damage, percent."`
	Splits     *trade.Percent `placeholder:"12" help:"Splits, percent."`
	BCFM       *trade.Percent `name:"bcfm" placeholder:"2.1" help:"Broken corn and foreign material, percent."`
	Dockage    *trade.Percent `placeholder:"1.1" help:"Dockage, percent."`
	Protein    *trade.Percent `placeholder:"12.6" help:"Protein, percent."`
	Contract   string         `placeholder:"oss-101" help:"Contract it is for."`
	Truck      string         `placeholder:"semi" help:"Truck."`
	Driver     string         `placeholder:"Gil" help:"Driver."`
	Note       string         `help:"Anything to remember."`
}

// onto puts what was given onto l.
func (f *loadFlags) onto(l *journal.Load) error {
	set := func(to *string, given string) {
		if given != "" {
			*to = given
		}
	}
	set(&l.Ticket, f.Ticket)
	set(&l.Outlet, f.Outlet)
	set(&l.Contract, f.Contract)
	set(&l.Truck, f.Truck)
	set(&l.Driver, f.Driver)
	set(&l.Note, f.Note)
	if f.Crop != crop.Unknown {
		l.Crop = f.Crop
	}
	percent := func(to **trade.Percent, given *trade.Percent) {
		if given != nil {
			*to = given
		}
	}
	percent(&l.Moisture, f.Moisture)
	percent(&l.Quality.ForeignMaterial, f.FM)
	percent(&l.Quality.Damage, f.Damage)
	percent(&l.Quality.Heat, f.Heat)
	percent(&l.Quality.Splits, f.Splits)
	percent(&l.Quality.BCFM, f.BCFM)
	percent(&l.Quality.Dockage, f.Dockage)
	percent(&l.Quality.Protein, f.Protein)
	if f.TestWeight != nil {
		w := trade.Percent(*f.TestWeight)
		l.Quality.TestWeight = &w
	}
	if f.Gross != nil {
		l.Weights.Gross = pounds(*f.Gross)
	}
	if f.Tare != nil {
		l.Weights.Tare = pounds(*f.Tare)
	}
	if l.Weights.Gross != nil && l.Weights.Tare != nil {
		net := *l.Weights.Gross - *l.Weights.Tare
		l.Weights.Net, l.Weights.Unit = &net, journal.Pounds
	}
	if len(f.Field) == 0 {
		return nil
	}
	var err error
	l.From, err = parts(f.Field)
	return err
}

func pounds(w scaleWeight) *int64 {
	n := int64(w)
	return &n
}

// parts reads "creek-80" or "creek-80=19840" for each field.
func parts(fields []string) ([]journal.Part, error) {
	var out []journal.Part
	for _, text := range fields {
		field, share, given := strings.Cut(text, "=")
		p := journal.Part{Field: field, Share: 1}
		if given {
			n, err := strconv.ParseInt(strings.TrimSuffix(share, "lb"), 10, 64)
			if err != nil || n < 1 || n > 1_000_000_000 {
				return nil, &problem.InputError{Rule: "load.part", Label: "--field", Got: text, Want: "a field's id, or id=pounds with whole pounds, as creek-80=19840"}
			}
			p.Share = n
		}
		if len(fields) > 1 && !given {
			return nil, &problem.InputError{Rule: "load.part", Label: "--field", Got: text, Want: "its pounds too, as " + field + "=19840, where a truck holds several fields"}
		}
		out = append(out, p)
	}
	return out, nil
}

type addLoadCmd struct {
	loadFlags
	whoFlags
	bookFlags
}

// Answer returns the JSON form.
func (addLoadCmd) Answer() any { return enteredJSON{} }

// Run enters the load.
func (c addLoadCmd) Run(s *session) error {
	if err := firstOf(
		need(c.Outlet != "", "--outlet", "the outlet's or bin's id"), need(c.Crop != crop.Unknown, "--crop", oneOf(cropNames())),
		need(len(c.Field) > 0, "--field", "the field's id"), need(c.Gross != nil, "--gross", "the gross weight, as 78460lb"),
		need(c.Tare != nil, "--tare", "the tare weight, as 27180lb"),
	); err != nil {
		return err
	}
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	at, err := c.when(clock)
	if err != nil {
		return err
	}
	at = at.Truncate(time.Second)
	l := journal.Load{In: &at, Day: calendar.DayOf(at, clock.Zone)}
	l.CropYear = l.Day.Year
	if err := c.onto(&l); err != nil {
		return err
	}
	if *c.Gross <= *c.Tare {
		return &problem.InputError{Rule: "load.net", Label: "--tare", Got: digits(float64(*c.Tare), 0) + " lb", Want: "less than the gross, " + digits(float64(*c.Gross), 0) + " lb"}
	}
	e, err := s.App.AddLoad(s.ctx, c.data(), l, c.By)
	if err != nil {
		return err
	}
	return s.tell(e, loadSaid(l))
}

// loadSaid says a load in one line.
func loadSaid(l journal.Load) string {
	text := "load"
	if l.Ticket != "" {
		text += " " + l.Ticket
	}
	if l.Weights.Net != nil {
		text += fmt.Sprintf(", %s %s net", digits(float64(*l.Weights.Net), 0), l.Weights.Unit)
	}
	text += fmt.Sprintf(" of %s to %s", l.Crop, l.Outlet)
	if l.Moisture != nil {
		text += fmt.Sprintf(" at %s %%", *l.Moisture)
	}
	var from []string
	for _, p := range l.From {
		from = append(from, p.Field)
	}
	return text + " from " + strings.Join(from, " and ") + ", " + l.Day.String()
}
