package cli

import (
	"fmt"
	"slices"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/journal"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
)

type correctCmd struct {
	sayFlags

	Field    []string  `placeholder:"creek-80" help:"Reading, stage, load: the field."`
	Moisture *wetBasis `placeholder:"15.8" help:"Reading, load: moisture, wet basis."`
	Device   string    `placeholder:"meter" help:"Reading: what read it."`
	Name     string    `placeholder:"'shop meter'" help:"Reading: which meter, whose bite."`
	Spots    *count    `placeholder:"4" help:"Reading: spots sampled into the figure." low:"1" high:"200"`
	Zone     string    `placeholder:"low" help:"Reading, stage: where in the field."`
	At       string    `placeholder:"'2031-09-13 14:20'" help:"Reading, bid, load: when it was."`

	Stage  string        `placeholder:"R7" help:"Stage: what was seen."`
	On     *calendar.Day `placeholder:"2031-09-09" help:"Stage, forecast, cheque: the day."`
	Plants *percent      `placeholder:"60" help:"Stage: percent of plants at the stage." low:"0" high:"100"`

	Outlet  string        `placeholder:"ossing" help:"Bid, load, cheque, sheet: the outlet."`
	Crop    crop.Kind     `placeholder:"soybean" help:"Bid, load: the crop."`
	Cash    *trade.Price  `placeholder:"'$9.87'" help:"Bid: cash price."`
	Futures *trade.Price  `placeholder:"'$10.4225'" help:"Bid: futures price."`
	Basis   *trade.Price  `placeholder:"-55c" help:"Bid: basis; write --basis=-55c."`
	Month   string        `placeholder:"Nov" help:"Bid: futures month."`
	From    *calendar.Day `placeholder:"2031-09-15" help:"Bid: first day of delivery."`
	Until   *calendar.Day `placeholder:"2031-10-31" help:"Bid: last day of delivery."`

	High   *units.Temperature `placeholder:"82F" help:"Forecast: highest temperature."`
	Low    *units.Temperature `placeholder:"61F" help:"Forecast: lowest temperature."`
	Rain   *percent           `placeholder:"40" help:"Forecast: chance of rain." low:"0" high:"100"`
	Amount string             `placeholder:"light" help:"Forecast: how much, if it rains."`
	When   string             `placeholder:"evening" help:"Forecast: when, if it rains."`
	Dew    string             `placeholder:"heavy" help:"Forecast: dew in the morning."`
	Wind   string             `placeholder:"light" help:"Forecast: wind."`
	Sky    string             `placeholder:"part" help:"Forecast: sky."`

	Ticket     string         `placeholder:"4711" help:"Load, sheet: ticket number."`
	Gross      *ticketWeight  `placeholder:"78460lb" help:"Load: gross weight."`
	Tare       *ticketWeight  `placeholder:"27180lb" help:"Load: tare weight."`
	Net        *ticketWeight  `placeholder:"51280lb" help:"Load: net weight as printed."`
	TestWeight *testWeight    `placeholder:"56.5" help:"Load: test weight, lb a bushel."`
	FM         *trade.Percent `name:"fm" placeholder:"1.8" help:"Load: foreign material."`
	Damage     *trade.Percent `placeholder:"2.4" help:"Load: total damage."`
	Heat       *trade.Percent `placeholder:"0.1" help:"Load: heat damage."`
	Splits     *trade.Percent `placeholder:"12" help:"Load: splits."`
	BCFM       *trade.Percent `name:"bcfm" placeholder:"2.1" help:"Load: broken corn and foreign material."`
	Dockage    *trade.Percent `placeholder:"1.1" help:"Load: dockage."`
	Protein    *trade.Percent `placeholder:"12.6" help:"Load: protein."`
	Contract   string         `placeholder:"oss-101" help:"Load: contract it is for."`
	Truck      string         `placeholder:"semi" help:"Load: truck."`
	Driver     string         `placeholder:"Gil" help:"Load: driver."`

	Number   string   `placeholder:"1207" help:"Cheque: its number."`
	Party    string   `placeholder:"orla" help:"Cheque: who was paid."`
	Total    string   `placeholder:"'$8,512.40'" help:"Cheque: what it is over."`
	Advance  []string `sep:"none" placeholder:"'$2,000.00'" help:"Cheque: what it pays for no ticket."`
	Line     []string `sep:"none" placeholder:"'4711=$4,256.20'" help:"Cheque, sheet: a line; those given take the place of all there were."`
	Charge   []string `sep:"none" placeholder:"'moisture=-$93.47'" help:"Sheet: a charge; those given take the place of all there were."`
	NetLb    string   `name:"net-lb" placeholder:"51280" help:"Sheet: net weight."`
	Settled  string   `name:"settled-lb" placeholder:"50870" help:"Sheet: weight paid for."`
	GrossQty string   `name:"gross-qty" placeholder:"854.67" help:"Sheet: gross bushels or hundredweight."`
	NetQty   string   `name:"net-qty" placeholder:"847.83" help:"Sheet: net bushels or hundredweight."`
	Price    string   `placeholder:"'$9.5423'" help:"Sheet: net price."`
	Value    string   `placeholder:"'$8,090.25'" help:"Sheet: value."`
	Checkoff string   `placeholder:"'$40.45'" help:"Sheet: checkoff."`
	NetUSD   string   `name:"net-usd" placeholder:"'$8,049.80'" help:"Sheet: net amount."`

	Note string `help:"Reading, stage, load, cheque, sheet: a note."`
}

// Explain says what a correction is.
func (correctCmd) Explain() string {
	return "Gives an entry other figures: name those that change. It is an entry of its own, with its reason; what was there before stays in the history."
}

// Answer returns the JSON form.
func (correctCmd) Answer() any { return enteredJSON{} }

// correctable are the flags that belong to each kind of record.
var correctable = map[journal.Subject][]string{
	journal.ReadingSubject: {"--field", "--moisture", "--device", "--name", "--spots", "--zone", "--at", "--note"},
	journal.StageSubject:   {"--field", "--stage", "--on", "--plants", "--zone", "--note"},
	journal.BidSubject:     {"--outlet", "--crop", "--cash", "--futures", "--basis", "--month", "--from", "--until", "--at"},
	journal.OutlookSubject: {"--on", "--high", "--low", "--rain", "--amount", "--when", "--dew", "--wind", "--sky"},
	journal.LoadSubject: {
		"--field", "--moisture", "--at", "--outlet", "--crop", "--ticket", "--gross", "--tare", "--net", "--test-weight", "--fm", "--damage",
		"--heat", "--splits", "--bcfm", "--dockage", "--protein", "--contract", "--truck", "--driver", "--note",
	},
	journal.ChequeSubject: {"--number", "--outlet", "--party", "--on", "--total", "--line", "--advance", "--note"},
	journal.SheetSubject: {
		"--outlet", "--ticket", "--net-lb", "--settled-lb", "--gross-qty", "--net-qty", "--price", "--value", "--checkoff", "--net-usd", "--line", "--charge", "--note",
	},
}

// Run corrects the entry.
func (c correctCmd) Run(s *session) error {
	clock, err := s.App.Clock(s.ctx, c.data())
	if err != nil {
		return err
	}
	what := ""
	e, err := s.App.Correct(s.ctx, c.data(), c.ID, tidy(c.Why), tidy(c.By), func(subject journal.Subject, body []byte) ([]byte, error) {
		for _, flag := range s.given {
			own := correctable[subject]
			if !slices.Contains(own, flag) && !slices.Contains([]string{"--why", "--by", "--data", "--json"}, flag) {
				return nil, refuse("correct.kind", flag, fmt.Sprintf("%s is a %s, which has no %s.", c.ID, subject, flag), "It has "+oneOf(own)+".")
			}
		}
		to, err := c.body(s, subject, body, clock)
		what = answer.BodySaid(subject, string(to), clock.Zone)
		return to, err
	})
	return c.said(s, e, err, what+"; what it was before stays in the history")
}

// body returns the body of a record with what was given in it. Every field that is not given stays as it is.
func (c *correctCmd) body(s *session, subject journal.Subject, body []byte, clock app.Clock) ([]byte, error) {
	var at *time.Time
	if c.At != "" {
		when, err := (&atFlags{c.At}).when(clock)
		if err != nil {
			return nil, err
		}
		at = &when
	}
	switch subject {
	case journal.ReadingSubject:
		return c.reading(s, body, at)
	case journal.StageSubject:
		return c.stage(s, body)
	case journal.BidSubject:
		return c.bid(s, body, at)
	case journal.OutlookSubject:
		return c.forecast(s, body)
	case journal.LoadSubject:
		return c.load(s, body, at, clock)
	case journal.ChequeSubject:
		return c.cheque(body)
	case journal.SheetSubject:
		return c.sheet(body)
	case journal.SeasonSubject, journal.BookSubject:
	}
	return nil, refuse("correct.kind", "ID", c.ID+" is the "+string(subject)+".", "A season is changed in its file: export it, change it, import it.")
}

// field returns the one field of a record that has one.
func (c *correctCmd) field() string {
	if len(c.Field) == 0 {
		return ""
	}
	return c.Field[len(c.Field)-1]
}

func (c *correctCmd) reading(s *session, body []byte, at *time.Time) ([]byte, error) {
	r, typed, err := journal.ReadReading(body)
	if err != nil {
		return nil, err
	}
	f := readingFlags{Field: c.field(), Moisture: c.Moisture, Device: c.Device, Name: c.Name, Spots: c.Spots, Zone: c.Zone, Note: c.Note}
	if err := f.onto(&r); err != nil {
		return nil, err
	}
	if at != nil {
		r.At = *at
	}
	return journal.ReadingBody(r, retyped(typed, s.typedReading())), nil
}

func (c *correctCmd) stage(s *session, body []byte) ([]byte, error) {
	r, typed, err := journal.ReadStage(body)
	if err != nil {
		return nil, err
	}
	f := stageFlags{Field: c.field(), Stage: c.Stage, On: c.On, Plants: c.Plants, Zone: c.Zone, Note: c.Note}
	if err := f.onto(&r); err != nil {
		return nil, err
	}
	return journal.StageBody(r, retyped(typed, s.typedStage())), nil
}

func (c *correctCmd) bid(s *session, body []byte, at *time.Time) ([]byte, error) {
	b, typed, err := journal.ReadBid(body)
	if err != nil {
		return nil, err
	}
	f := bidFlags{Outlet: c.Outlet, Crop: c.Crop, Cash: c.Cash, Futures: c.Futures, Basis: c.Basis, Month: c.Month, From: c.From, Until: c.Until}
	if err := f.onto(&b); err != nil {
		return nil, err
	}
	if at != nil {
		b.Taken = *at
	}
	return journal.BidBody(b, retyped(typed, s.typedBid())), nil
}

func (c *correctCmd) forecast(s *session, body []byte) ([]byte, error) {
	d, typed, err := journal.ReadOutlook(body)
	if err != nil {
		return nil, err
	}
	f := forecastFlags{On: c.On, High: c.High, Low: c.Low, Rain: c.Rain, Amount: c.Amount, When: c.When, Dew: c.Dew, Wind: c.Wind, Sky: c.Sky}
	if err := f.onto(&d); err != nil {
		return nil, err
	}
	return journal.OutlookBody(d, retyped(typed, s.typedForecast())), nil
}

func (c *correctCmd) load(s *session, body []byte, at *time.Time, clock app.Clock) ([]byte, error) {
	l, err := journal.ReadLoad(body)
	if err != nil {
		return nil, err
	}
	f := loadFlags{
		Ticket: c.Ticket, Outlet: c.Outlet, Crop: c.Crop, Field: c.Field, Gross: c.Gross, Tare: c.Tare, Net: c.Net, Moisture: c.Moisture,
		TestWeight: c.TestWeight, FM: c.FM, Damage: c.Damage, Heat: c.Heat, Splits: c.Splits, BCFM: c.BCFM, Dockage: c.Dockage, Protein: c.Protein,
		Contract: c.Contract, Truck: c.Truck, Driver: c.Driver, Note: c.Note,
	}
	if err := f.onto(&l); err != nil {
		return nil, err
	}
	if at != nil {
		l.In, l.Day = at, calendar.DayOf(*at, clock.Zone)
	}
	l.Typed = retyped(l.Typed, s.typedLoad(l.Weights.Unit))
	return journal.LoadBody(l), nil
}

func (c *correctCmd) cheque(body []byte) ([]byte, error) {
	q, err := journal.ReadCheque(body)
	if err != nil {
		return nil, err
	}
	f := chequeFlags{Number: c.Number, Outlet: c.Outlet, Party: c.Party, On: c.On, Total: c.Total, Line: c.Line, Advance: c.Advance, Note: c.Note}
	if err := f.onto(&q); err != nil {
		return nil, err
	}
	return journal.ChequeBody(q), nil
}

func (c *correctCmd) sheet(body []byte) ([]byte, error) {
	p, err := journal.ReadSheet(body)
	if err != nil {
		return nil, err
	}
	put(&p.Outlet, c.Outlet)
	put(&p.Ticket, c.Ticket)
	f := sheetFlags{
		NetLb: c.NetLb, Settled: c.Settled, GrossQty: c.GrossQty, NetQty: c.NetQty, Price: c.Price, Value: c.Value, Checkoff: c.Checkoff, NetUSD: c.NetUSD,
		Line: c.Line, Charge: c.Charge, Note: c.Note,
	}
	if err := f.onto(&p); err != nil {
		return nil, err
	}
	return journal.SheetBody(p), nil
}
