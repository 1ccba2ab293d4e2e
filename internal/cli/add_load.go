package cli

import (
	"fmt"
	"math"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/quantity"
)

// A ticketWeight is what a scale printed, in its own unit.
type ticketWeight struct {
	n    int64
	unit journal.Unit
}

// readTicketWeight reads "78,460lb", "35590kg" or "35.59t".
func readTicketWeight(label, text string) (ticketWeight, error) {
	m, err := quantity.ParseMass(label, text)
	if err != nil {
		return ticketWeight{}, err
	}
	w, x := ticketWeight{unit: journal.Kilograms}, m.Kilograms()
	if low := strings.ToLower(text); strings.HasSuffix(low, "lb") || strings.HasSuffix(low, "lbs") {
		w.unit, x = journal.Pounds, m.Pounds()
	}
	w.n = int64(math.Round(x))
	if math.Abs(x-math.Round(x)) > 1e-6 {
		return w, &problem.InputError{Rule: "weight.whole", Label: label, Got: text, Want: "whole pounds or whole kilograms as the scale printed them, as 78460lb or 35590kg"}
	}
	return w, nil
}

// loadFlags are what a ticket says, in the order of a ticket.
type loadFlags struct {
	Ticket     string         `placeholder:"4711" help:"Ticket number."`
	Outlet     string         `placeholder:"ossing" help:"The outlet or own bin that took it."`
	Crop       crop.Kind      `placeholder:"soybean" help:"The crop; left out: what the field grows."`
	Field      []string       `placeholder:"creek-80" help:"Where it came from. Give it again for a truck from several fields, each with its pounds or its part: creek-80=19840lb or creek-80=40%."`
	Gross      *ticketWeight  `placeholder:"78460lb" help:"Gross weight."`
	Tare       *ticketWeight  `placeholder:"27180lb" help:"Tare weight."`
	Net        *ticketWeight  `placeholder:"51280lb" help:"Net weight as printed; left out: gross less tare."`
	Moisture   *wetBasis      `placeholder:"14.2" help:"Moisture, wet basis."`
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
	put(&l.Ticket, f.Ticket)
	put(&l.Outlet, f.Outlet)
	put(&l.Contract, f.Contract)
	put(&l.Truck, f.Truck)
	put(&l.Driver, f.Driver)
	put(&l.Note, f.Note)
	if f.Crop != crop.Unknown {
		l.Crop = f.Crop
	}
	percent := func(to **trade.Percent, given *trade.Percent) {
		if given != nil {
			*to = given
		}
	}
	percent(&l.Moisture, (*trade.Percent)(f.Moisture))
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
	if err := f.weigh(&l.Weights); err != nil {
		return err
	}
	if len(f.Field) == 0 {
		return nil
	}
	var err error
	l.From, err = parts(f.Field)
	return err
}

// weigh puts the scale's figures onto w. A net that was not printed follows the gross and the tare.
func (f *loadFlags) weigh(w *journal.Weights) error {
	printed := w.Net != nil && (w.Gross == nil || w.Tare == nil || *w.Net != *w.Gross-*w.Tare)
	for _, one := range []struct {
		flag  string
		given *ticketWeight
		to    **int64
	}{{"--gross", f.Gross, &w.Gross}, {"--tare", f.Tare, &w.Tare}, {"--net", f.Net, &w.Net}} {
		if one.given == nil {
			continue
		}
		if w.Unit != "" && w.Unit != one.given.unit {
			return &problem.InputError{Rule: "weight.unit", Label: one.flag, Got: fmt.Sprintf("%d%s", one.given.n, one.given.unit), Want: fmt.Sprintf("%s, the unit of the load's other weights", w.Unit)}
		}
		w.Unit, *one.to = one.given.unit, &one.given.n
	}
	if w.Gross != nil && w.Tare != nil && f.Net == nil && !printed {
		net := *w.Gross - *w.Tare
		if net <= 0 {
			return &problem.InputError{
				Rule: "load.net", Label: "--tare", Got: fmt.Sprintf("%s %s", digits(float64(*w.Tare), 0), w.Unit),
				Want: fmt.Sprintf("less than the gross, %s %s", digits(float64(*w.Gross), 0), w.Unit), Next: "Swapped?",
			}
		}
		w.Net = &net
	}
	return nil
}

// parts reads "creek-80", or for each of several fields "creek-80=19840lb" or "creek-80=40%".
func parts(fields []string) ([]journal.Part, error) {
	var out []journal.Part
	var unit string
	sum := int64(0)
	for _, text := range fields {
		field, share, given := strings.Cut(text, "=")
		p, wrong := journal.Part{Field: tidy(field), Share: 1}, &problem.InputError{
			Rule: "load.part", Label: "--field", Got: text, Want: "a field's id; of several each with its pounds, as creek-80=19840lb, or each with its part, as creek-80=40%",
		}
		if given != (len(fields) > 1) && (len(fields) > 1 || !strings.HasSuffix(share, "lb")) {
			return nil, wrong
		}
		if given {
			var is string
			if strings.HasSuffix(share, "%") {
				is = "%"
				part, err := trade.ParsePercent("--field", share)
				if err != nil {
					return nil, wrong
				}
				p.Share = int64(part)
			} else {
				w, err := readTicketWeight("--field", share)
				if err != nil {
					return nil, err
				}
				is, p.Share = string(w.unit), w.n
			}
			if unit != "" && is != unit || p.Share < 1 {
				return nil, wrong
			}
			unit = is
		}
		sum += p.Share
		out = append(out, p)
	}
	if unit == "%" && sum != 100_00 {
		return nil, &problem.InputError{Rule: "load.shares", Label: "--field", Got: trade.Percent(sum).String() + " % in all", Want: "parts that add to 100 %"}
	}
	return out, nil
}

// needed are the flags a load cannot do without.
func (f *loadFlags) needed() error {
	return firstOf(
		need(f.Outlet != "", "--outlet", "the outlet's or bin's id"), need(len(f.Field) > 0, "--field", "the field's id"),
		need(f.Gross != nil || f.Net != nil, "--gross", "the gross weight, as 78460lb"),
		need(f.Tare != nil || f.Net != nil, "--tare", "the tare weight, as 27180lb"),
	)
}

// typedLoad keeps the numbers of a ticket as they were typed.
func (s *session) typedLoad(u journal.Unit) journal.Typed {
	return s.typed("gross_"+string(u), "--gross", "tare_"+string(u), "--tare", "net_"+string(u), "--net", "moist_hundredth_pct", "--moisture",
		"test_weight_hundredth_lb_bu", "--test-weight", "foreign_material_hundredth_pct", "--fm", "damage_hundredth_pct", "--damage",
		"heat_hundredth_pct", "--heat", "splits_hundredth_pct", "--splits", "bcfm_hundredth_pct", "--bcfm", "dockage_hundredth_pct", "--dockage",
		"protein_hundredth_pct", "--protein")
}

type addLoadCmd struct {
	loadFlags
	atFlags
	OutAt string `placeholder:"'2031-09-13 14:52'" help:"When it was weighed empty, on the farm's clock or with an offset. From such tickets plans learn how long trucks are at the outlet."`
	whoFlags
	bookFlags
}

// Answer returns the JSON form.
func (addLoadCmd) Answer() any { return enteredJSON{} }

// Run enters the load.
func (c addLoadCmd) Run(s *session) error {
	sign, err := c.signed(c.At != "", "--at")
	if err := firstOf(c.needed(), err); err != nil {
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
	l := journal.Load{In: &at, Day: calendar.DayOf(at, clock.Zone)}
	if c.OutAt != "" {
		out, err := quantity.ParseInstant("--out-at", c.OutAt, clock.Zone)
		if err != nil {
			return err
		}
		l.Out = &out
	}
	if err := c.onto(&l); err != nil {
		return err
	}
	l.Typed = s.typedLoad(l.Weights.Unit)
	e, l, err := s.App.AddLoad(s.ctx, c.data(), l, sign)
	if err != nil {
		return err
	}
	return s.tell(e, answer.LoadSaid(l))
}
