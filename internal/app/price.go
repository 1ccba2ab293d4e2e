package app

import (
	"context"
	"fmt"
	"io/fs"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A PriceRequest asks what a load of a crop nets at every outlet.
type PriceRequest struct {
	Files    fs.FS  // the season file and what it names
	Season   string // name of the season file in Files
	Book     string // path of a data file to take the season from instead
	Now      *time.Time
	Crop     crop.Kind // needed where no field is named
	Field    string    // whose grade and whose roads; empty: nobody's, from the middle of the farm
	Moisture *trade.Percent
	From, To *trade.Percent // moistures of the table; nil: about the crop's usual base
	Lot      trade.Bushels  // wet bushels to dry, sell or leave standing
	Wait     *PriceWait     // nil: waiting is not weighed
}

// A PriceWait is what the grain is expected to be after standing: the weather of it is the plan's to weigh.
type PriceWait struct{ Moisture, Loss trade.Percent }

// A PriceOffer is one way to turn a load into money.
type PriceOffer struct {
	ID       string // of the contract, premium or bin; of a bid its outlet
	Kind     string // "bid", "premium", "contract" or "bin"
	Place    string // outlet or bin
	Name     string
	Cash     trade.Price
	Premium  trade.Price
	From     *calendar.Day
	Until    *calendar.Day
	Ends     *time.Time     // the last moment at which a load can be weighed in under it; nil: no end is known
	Wettest  *trade.Percent // that earns a premium, or goes into a bin without a dryer
	Room     *trade.Bushels // left on a contract or premium
	Miles    float64
	Freight  trade.Amount // of the load
	Heard    time.Time    // when the bid was heard; zero: not known, or not a bid
	Fresh    market.Freshness
	Expected bool // the price is the owner's expectation, and nobody's promise
	Cwt      bool // the price is for a hundredweight

	offer market.Offer
}

// A PriceSheet is what a load nets at every outlet, by moisture.
type PriceSheet struct {
	Farm       string
	AsOf       time.Time
	Crop       crop.Kind
	Field      string
	Load       settlement.Load // without a moisture
	Truck      string
	Offers     []PriceOffer
	Closed     []string // what is not open today or cannot be weighed, and why
	Rows       []market.Row
	BreakEvens []PriceBreakEven
	Best       []PriceRun
	Today      *PriceToday
	Choice     *DrySellWait
	Assumed    []Assumption
	Cautions   []string
}

// Unit is what nets are said for, so that outlets that pay by unlike units compare: the trade bushel, or the hundredweight of a crop
// that has none.
func (s *PriceSheet) Unit() (name string, pounds trade.Pounds) {
	if lb, ok := crop.BushelPounds(s.Crop); ok {
		return "bu", lb
	}
	return "cwt", 100
}

// PerUnit returns what a cell nets on each unit of scale weight.
func (s *PriceSheet) PerUnit(c market.Cell) trade.Price {
	_, pounds := s.Unit()
	return c.Per(pounds)
}

// A PriceBreakEven says over which moistures an offer nets at least as much as a rival: the end of the last is how wet the load may
// be and still pay to haul there.
type PriceBreakEven struct {
	Offer, Rival int // into Offers
	Ahead        []market.Stretch
}

// A PriceRun is a run of moistures over which one offer nets most; Offer is -1 where none takes the load.
type PriceRun struct {
	market.Stretch
	Offer int
}

// PriceToday is the load at the moisture it has.
type PriceToday struct {
	Moisture trade.Percent
	Cells    []market.Cell
	Best     int // into Offers; -1: nobody takes it
	// Needs is, for each offer of a buyer, the cash price at which it would net what the best other offer does: how far its bid may
	// fall, or must rise. Nil: no price does.
	Needs []*trade.Price
	// ExtraMiles is how many more miles one way the best offer's lead over each would pay for.
	ExtraMiles []float64
}

// Prices works out what a truckload nets at every outlet at every printed moisture, by the terms that settle it afterwards.
func (a *App) Prices(ctx context.Context, r PriceRequest) (*PriceSheet, error) {
	l, err := a.tickets(ctx, BooksRequest{Files: r.Files, Season: r.Season, Book: r.Book, Now: r.Now}, false)
	if err != nil {
		return nil, err
	}
	terms, err := l.terms(a)
	if err != nil {
		return nil, err
	}
	p := &pricer{season: l.season, now: l.now, zone: l.zone, terms: terms, sheet: &PriceSheet{Farm: l.season.Farm.Name, AsOf: l.now, Crop: r.Crop}}
	if err := p.about(r); err != nil {
		return nil, err
	}
	if err := p.truck(); err != nil {
		return nil, err
	}
	if err := p.offers(); err != nil {
		return nil, err
	}
	if len(p.sheet.Offers) == 0 {
		return nil, p.noOffer()
	}
	p.grade()
	if err := p.table(r); err != nil {
		return nil, err
	}
	if err := p.today(r.Moisture); err != nil {
		return nil, err
	}
	if err := p.choice(r); err != nil {
		return nil, err
	}
	p.cautions()
	return p.sheet, nil
}

// about finds the field and the crop.
func (p *pricer) about(r PriceRequest) error {
	for i := range p.season.Fields {
		if f := &p.season.Fields[i]; r.Field != "" && f.ID == r.Field {
			p.field, p.sheet.Field = f, f.ID
		}
	}
	switch {
	case r.Field != "" && p.field == nil:
		var known []string
		for _, f := range p.season.Fields {
			known = append(known, f.ID)
		}
		return &problem.InputError{Rule: "field.unknown", Label: "field", Got: r.Field, Want: "one of " + few(known)}
	case p.field != nil && r.Crop != crop.Unknown && r.Crop != p.field.Crop:
		return &problem.InputError{Rule: "field.crop", Label: "crop", Got: r.Crop.String(), Want: p.field.Crop.String() + ", which field " + r.Field + " grows"}
	case p.field != nil:
		p.sheet.Crop = p.field.Crop
	case r.Crop == crop.Unknown:
		return p.onlyCrop()
	}
	return nil
}

// onlyCrop takes the crop where the season grows one alone.
func (p *pricer) onlyCrop() error {
	for _, f := range p.season.Fields {
		if p.sheet.Crop != crop.Unknown && f.Crop != p.sheet.Crop {
			return &problem.InputError{Rule: "crop.missing", Label: "crop", Want: "the crop to price, for the season grows several", Next: "As --crop soybean, or name a field."}
		}
		p.sheet.Crop = f.Crop
	}
	if p.sheet.Crop == crop.Unknown {
		return &problem.InputError{Rule: "crop.missing", Label: "crop", Want: "the crop to price", Next: "As --crop soybean."}
	}
	return nil
}

// noOffer says that nobody can be asked for a price today.
func (p *pricer) noOffer() error {
	out := &NoAnswer{Rule: "price.none", Say: fmt.Sprintf("No outlet has a price for %s on %s.", p.sheet.Crop, p.day()), Next: "Enter a bid with threshday add bid, and the outlet's schedule and road miles in the season file."}
	if len(p.sheet.Closed) > 0 {
		out.Next = p.sheet.Closed[0] + "."
	}
	return out
}

// pricer is a price sheet while it is made.
type pricer struct {
	season *farm.Season
	now    time.Time
	zone   *time.Location
	terms  map[termsKey]*settlement.Terms
	field  *farm.Field // nil: no field is named
	haul   ownTruck
	sheet  *PriceSheet
}

func (p *pricer) day() calendar.Day { return calendar.DayOf(p.now, p.zone) }

func (p *pricer) assume(what, value, from string) {
	p.sheet.Assumed = append(p.sheet.Assumed, Assumption{what, value, from})
}

func (p *pricer) close(format string, args ...any) {
	p.sheet.Closed = append(p.sheet.Closed, fmt.Sprintf(format, args...))
}

// table fills the rows, and says where each offer is ahead of each other one.
func (p *pricer) table(r PriceRequest) error {
	low, high := trade.Percent(10_00), trade.Percent(20_00)
	if usual := crop.UsualBases(p.sheet.Crop); len(usual) > 0 {
		low, high = usual[0].Moisture-200, usual[0].Moisture+700
	}
	if r.From != nil {
		low = *r.From
	}
	if r.To != nil {
		high = *r.To
	}
	if low > high {
		return &problem.InputError{Rule: "price.range", Label: "moistures", Got: low.String() + " to " + high.String(), Want: "the drier one first"}
	}
	var err error
	if p.sheet.Rows, err = market.Grid(p.ways(), p.sheet.Load, low, high); err != nil {
		return err
	}
	for i := range p.sheet.Offers {
		for j := range p.sheet.Offers {
			if i != j {
				p.sheet.BreakEvens = append(p.sheet.BreakEvens, PriceBreakEven{i, j, market.Ahead(p.sheet.Rows, i, j)})
			}
		}
	}
	for _, row := range p.sheet.Rows {
		best, ok := row.Best()
		if !ok {
			best = -1
		}
		if n := len(p.sheet.Best); n > 0 && p.sheet.Best[n-1].Offer == best {
			p.sheet.Best[n-1].To = row.Moisture
			continue
		}
		p.sheet.Best = append(p.sheet.Best, PriceRun{market.Stretch{From: row.Moisture, To: row.Moisture}, best})
	}
	return nil
}

func (p *pricer) ways() []market.Offer {
	out := make([]market.Offer, len(p.sheet.Offers))
	for i := range p.sheet.Offers {
		out[i] = p.sheet.Offers[i].offer
	}
	return out
}

// today weighs the load at the moisture it has.
func (p *pricer) today(m *trade.Percent) error {
	if m == nil {
		return nil
	}
	at := settlement.Moisture.Recorded(*m)
	rows, err := market.Grid(p.ways(), p.sheet.Load, at, at)
	if err != nil {
		return err
	}
	t := &PriceToday{Moisture: at, Cells: rows[0].Cells, Best: -1, Needs: make([]*trade.Price, len(p.sheet.Offers)), ExtraMiles: make([]float64, len(p.sheet.Offers))}
	p.sheet.Today = t
	load := p.sheet.Load
	load.Readings = load.Readings.With(settlement.Moisture, at)
	p.sayRefusals(t, load)
	best, ok := rows[0].Best()
	if !ok {
		return nil
	}
	t.Best = best
	for i, o := range p.sheet.Offers {
		rest := market.Row{Cells: append([]market.Cell(nil), rows[0].Cells...)}
		rest.Cells[i].Why = settlement.ErrNotAccepted // its rivals alone
		rival, known := rest.Best()
		if buyer, ok := o.offer.(market.Outlet); ok && known {
			if price, ok := buyer.BreakEvenPrice(load, rest.Cells[rival].Net); ok {
				t.Needs[i] = &price
			}
		}
		if c := rows[0].Cells[i]; c.OK() && i != best {
			t.ExtraMiles[i] = p.haul.milesFor((rows[0].Cells[best].Net - c.Net).Float())
		}
	}
	return nil
}

// sayRefusals puts the words of whoever refuses the load in place of the bare refusal that the table has.
func (p *pricer) sayRefusals(t *PriceToday, load settlement.Load) {
	for i, o := range p.sheet.Offers {
		buyer, ok := o.offer.(market.Outlet)
		if t.Cells[i].OK() || !ok {
			continue
		}
		if _, err := buyer.Terms.Settle(load, buyer.Prices); err != nil {
			t.Cells[i].Why = err
		}
	}
}
