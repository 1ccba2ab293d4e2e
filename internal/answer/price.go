package answer

import (
	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/market"
	"threshday/internal/core/trade"
)

// Price is what a truckload nets at every outlet, by moisture.
type Price struct {
	Farm       string            `json:"farm"`
	AsOf       string            `json:"as_of"`
	Crop       string            `json:"crop"`
	Field      string            `json:"field,omitempty"`
	Truck      string            `json:"truck"`
	LoadLb     string            `json:"load_lb"`
	Grade      map[string]string `json:"grade"` // readings beside moisture, by factor
	Offers     []PriceOffer      `json:"offers"`
	Closed     []string          `json:"closed"`
	Table      []PriceRow        `json:"table"`
	Best       []PriceRun        `json:"best"`
	BreakEvens []PriceBreakEven  `json:"break_evens"`
	Today      *PriceToday       `json:"today"`
	Choice     *PriceChoice      `json:"dry_sell_or_wait"`
	Assumed    []Assumed         `json:"assumed"`
	Cautions   []string          `json:"cautions"`
}

// A PriceOffer is one way to turn the load into money; break-evens and the table name it by its number, from 1.
type PriceOffer struct {
	Number int    `json:"number"`
	ID     string `json:"id"`
	Kind   string `json:"kind"`
	Place  string `json:"place"`
	Name   string `json:"name"`
	*priceBu
	*priceCwt
	From     *string `json:"from"`
	Until    *string `json:"until"`
	Ends     *string `json:"ends"` // when the outlet last takes a load under it
	Wettest  *string `json:"wettest_pct"`
	Room     *string `json:"room_bu"`
	Miles    Figure  `json:"miles"`
	Freight  string  `json:"freight_usd_per_load"`
	Heard    *string `json:"heard"`
	Stale    bool    `json:"stale"`
	Expected bool    `json:"expected"` // the owner's expectation, and nobody's promise
}

// What an offer pays, in the unit it pays by.
type (
	priceBu struct {
		Cash    string `json:"cash_usd_per_bu"`
		Premium string `json:"premium_usd_per_bu"`
	}
	priceCwt struct {
		Cash    string `json:"cash_usd_per_cwt"`
		Premium string `json:"premium_usd_per_cwt"`
	}
)

// A PriceRow is one moisture. Net and per bushel are null where an offer does not take the load.
type PriceRow struct {
	Moisture string    `json:"moisture_pct"`
	Net      []*string `json:"net_usd"`
	PerBu    []*string `json:"net_usd_per_gross_bu,omitempty"`
	PerCwt   []*string `json:"net_usd_per_gross_cwt,omitempty"` // of a crop without a trade bushel
	PerDry   []*string `json:"net_usd_per_dry_lb"`
	Best     *int      `json:"best"`
}

// A PriceRun is a run of moistures over which one offer nets most; null: none takes the load.
type PriceRun struct {
	From  string `json:"from_pct"`
	To    string `json:"to_pct"`
	Offer *int   `json:"offer"`
}

// A PriceBreakEven says over which moistures an offer nets at least what a rival does.
type PriceBreakEven struct {
	Offer int       `json:"offer"`
	Rival int       `json:"rival"`
	Ahead []Stretch `json:"ahead"`
	UpTo  *string   `json:"up_to_pct"` // the wettest load that still pays to haul there; null: none does
}

// A Stretch is a run of moistures, both ends included.
type Stretch struct {
	From string `json:"from_pct"`
	To   string `json:"to_pct"`
}

// PriceToday is the load at the moisture it has.
type PriceToday struct {
	Moisture string       `json:"moisture_pct"`
	Best     *int         `json:"best"`
	Offers   []PriceAtNow `json:"offers"`
}

// PriceAtNow is what one offer makes of it.
type PriceAtNow struct {
	Offer      int     `json:"offer"`
	Net        *string `json:"net_usd"`
	Value      *string `json:"value_usd"`
	Checkoff   *string `json:"checkoff_usd"`
	Charges    *string `json:"charges_usd"`
	Costs      *string `json:"home_costs_usd"`
	Freight    *string `json:"freight_usd"`
	Why        string  `json:"not_taken,omitempty"`
	Needs      *string `json:"break_even_cash_usd"` // in the offer's own unit, at which it nets what the best other offer does
	ExtraMiles *Figure `json:"lead_pays_extra_miles"`
}

// PriceChoice weighs drying, selling wet and waiting.
type PriceChoice struct {
	Lot      string          `json:"lot_bu"`
	Moisture string          `json:"moisture_pct"`
	Choices  []PriceLotSales `json:"choices"`
	UndoneBy *string         `json:"waiting_undone_by_loss_pct"`
}

// PriceLotSales is one of them at the buyer that nets most.
type PriceLotSales struct {
	What     string `json:"what"`
	Offer    int    `json:"offer"`
	Moisture string `json:"moisture_pct"`
	Hauled   string `json:"hauled_bu"`
	Paid     string `json:"paid_bu"`
	Revenue  string `json:"revenue_usd"`
	Checkoff string `json:"checkoff_usd"`
	Charges  string `json:"charges_usd"`
	Drying   string `json:"drying_usd"`
	Handling string `json:"handling_usd"`
	Freight  string `json:"freight_usd"`
	Net      string `json:"net_usd"`
	Gallons  Figure `json:"lp_gal"`
}

// OfPrices returns the document of a price sheet.
func OfPrices(s *app.PriceSheet) Price {
	out := Price{
		Farm: s.Farm, AsOf: Stamp(s.AsOf), Crop: s.Crop.String(), Field: s.Field, Truck: s.Truck, LoadLb: s.Load.Net().String(), Grade: map[string]string{},
		Offers: []PriceOffer{}, Closed: List(s.Closed), Table: []PriceRow{}, Best: []PriceRun{}, BreakEvens: []PriceBreakEven{}, Assumed: []Assumed{}, Cautions: List(s.Cautions),
	}
	for f, x := range s.Load.Readings.All {
		out.Grade[f.String()] = x.String()
	}
	for i, o := range s.Offers {
		out.Offers = append(out.Offers, offerOf(i, o, s))
	}
	for _, row := range s.Rows {
		out.Table = append(out.Table, priceRowOf(row, s))
	}
	for _, run := range s.Best {
		out.Best = append(out.Best, PriceRun{run.From.String(), run.To.String(), numberOf(run.Offer)})
	}
	for _, b := range s.BreakEvens {
		one := PriceBreakEven{Offer: b.Offer + 1, Rival: b.Rival + 1, Ahead: []Stretch{}}
		for _, st := range b.Ahead {
			one.Ahead = append(one.Ahead, Stretch{st.From.String(), st.To.String()})
			one.UpTo = new(st.To.String())
		}
		out.BreakEvens = append(out.BreakEvens, one)
	}
	out.Today, out.Choice = todayOf(s), choiceOf(s.Choice)
	for _, a := range s.Assumed {
		out.Assumed = append(out.Assumed, Assumed(a))
	}
	return out
}

// numberOf returns the number of an offer as the document counts; nil for none.
func numberOf(i int) *int {
	if i < 0 {
		return nil
	}
	return new(i + 1)
}

func offerOf(i int, o app.PriceOffer, s *app.PriceSheet) PriceOffer {
	day := func(d *calendar.Day) *string {
		if d == nil {
			return nil
		}
		return new(d.String())
	}
	out := PriceOffer{
		Number: i + 1, ID: o.ID, Kind: o.Kind, Place: o.Place, Name: o.Name, From: day(o.From), Until: day(o.Until),
		Miles: Figure(o.Miles), Freight: o.Freight.String(), Stale: o.Kind == "bid" && o.Fresh >= market.TooOld, Expected: o.Expected,
	}
	if pays := (priceBu{o.Cash.Fixed(), o.Premium.Fixed()}); o.Cwt {
		out.priceCwt = new(priceCwt(pays))
	} else {
		out.priceBu = &pays
	}
	if o.Wettest != nil {
		out.Wettest = new(o.Wettest.String())
	}
	if o.Room != nil {
		out.Room = new(o.Room.String())
	}
	if o.Ends != nil {
		out.Ends = new(Stamp(*o.Ends))
	}
	if !o.Heard.IsZero() {
		out.Heard = new(Stamp(o.Heard.In(s.AsOf.Location())))
	}
	return out
}

func priceRowOf(row market.Row, s *app.PriceSheet) PriceRow {
	out := PriceRow{Moisture: row.Moisture.String(), Net: make([]*string, len(row.Cells)), PerDry: make([]*string, len(row.Cells))}
	per := make([]*string, len(row.Cells))
	for i, c := range row.Cells {
		if c.OK() {
			out.Net[i], per[i], out.PerDry[i] = new(c.Net.String()), new(s.PerUnit(c).Fixed()), new(c.PerDryPound().String())
		}
	}
	if unit, _ := s.Unit(); unit == "bu" {
		out.PerBu = per
	} else {
		out.PerCwt = per
	}
	if best, ok := row.Best(); ok {
		out.Best = numberOf(best)
	}
	return out
}

func todayOf(s *app.PriceSheet) *PriceToday {
	if s.Today == nil {
		return nil
	}
	out := &PriceToday{Moisture: s.Today.Moisture.String(), Best: numberOf(s.Today.Best)}
	for i, c := range s.Today.Cells {
		one := PriceAtNow{Offer: i + 1}
		if c.OK() {
			one.Net, one.Value, one.Checkoff = new(c.Net.String()), new(c.Paid.Value.String()), new(c.Paid.Checkoff.String())
			one.Charges, one.Costs, one.Freight = new(c.Paid.Charges.String()), new(c.Costs.String()), new(c.Freight.String())
			if i != s.Today.Best {
				one.ExtraMiles = new(Figure(s.Today.ExtraMiles[i]))
			}
		} else {
			one.Why = c.Why.Error()
		}
		if p := s.Today.Needs[i]; p != nil {
			one.Needs = new(p.Fixed())
		}
		out.Offers = append(out.Offers, one)
	}
	return out
}

func choiceOf(c *app.DrySellWait) *PriceChoice {
	if c == nil {
		return nil
	}
	out := &PriceChoice{Lot: c.Lot.String(), Moisture: c.Moisture.String()}
	usd := func(a trade.Amount) string { return a.String() }
	for _, x := range c.Choices {
		s := x.Sale
		out.Choices = append(out.Choices, PriceLotSales{
			x.What, x.Offer + 1, x.Moisture.String(), s.Wet.String(), s.Paid.String(), usd(s.Revenue), usd(s.Checkoff), usd(s.Charges), usd(s.Drying), usd(s.Handling), usd(s.Freight),
			usd(s.Net), Figure(x.Gallons),
		})
	}
	if c.UndoneBy != nil {
		out.UndoneBy = new(c.UndoneBy.String())
	}
	return out
}
