package answer

import (
	"threshday/internal/app"
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// Books is the form that scripts read. A part that was not asked for is left out; one that is empty is an empty list.
type Books struct {
	Farm      string       `json:"farm"`
	AsOf      string       `json:"as_of"`
	Party     string       `json:"party,omitempty"`
	Loads     int          `json:"loads"`
	TakenBack []TakenBack  `json:"taken_back,omitzero"`
	Contracts []Contract   `json:"contracts,omitzero"`
	Promises  []Promise    `json:"promises,omitzero"`
	Bins      []Bin        `json:"bins,omitzero"`
	Shares    []Position   `json:"shares,omitzero"`
	Yields    []FieldYield `json:"yields,omitzero"`
	Records   []Record     `json:"records,omitzero"`
	Cheques   []Cheque     `json:"cheques,omitzero"`
	Audit     *BooksAudit  `json:"audit,omitempty"`
	Tickets   []Ticket     `json:"tickets,omitzero"`
	Checks    []Complaint  `json:"checks,omitzero"`
	Assumed   []Assumed    `json:"assumed"`
	Cautions  []string     `json:"cautions"`
}

type TakenBack struct {
	Ticket string `json:"ticket"`
	ID     string `json:"id"`
	Reason string `json:"reason"`
}

type Contract struct {
	ID        string   `json:"id"`
	Outlet    string   `json:"outlet"`
	Party     string   `json:"party"`
	Crop      string   `json:"crop"`
	Kind      string   `json:"kind"`
	From      string   `json:"from,omitempty"`
	Until     string   `json:"until"`
	Promised  string   `json:"promised_bu"`
	Before    string   `json:"applied_before_bu"`
	Filled    string   `json:"filled_bu"`
	Left      string   `json:"left_bu"`
	Closed    bool     `json:"closed"`
	Open      []string `json:"open"` // parts of the price that are still open
	Price     *string  `json:"price_usd_per_bu"`
	Settled   string   `json:"settled_lb"`
	Unpriced  string   `json:"unpriced_bu"`
	Value     string   `json:"value_usd"`
	Net       string   `json:"net_usd"`
	ShortFees *string  `json:"short_usd_per_bu"`
	Written   string   `json:"written,omitempty"`
	PriceBy   string   `json:"price_by,omitempty"`
	Month     string   `json:"month,omitempty"` // futures month, after rolls
	Rolls     int      `json:"rolls,omitempty"`
	Tolerance string   `json:"tolerance_bu,omitempty"`
	BoughtOut bool     `json:"bought_out,omitempty"`
	BuyOut    *string  `json:"buy_out_usd"` // of what is left, at the bid of now; null: nothing is left, or it cannot be told
}

type Promise struct {
	Party     string `json:"party"`
	Crop      string `json:"crop"`
	Promised  string `json:"promised_bu"`
	Delivered string `json:"delivered_bu"`
	InBins    string `json:"in_bins_bu"`
	CountedOn string `json:"counted_on_bu"`
	Short     string `json:"short_bu"`
}

type Bin struct {
	Bin     string  `json:"bin"`
	Crop    string  `json:"crop"`
	Base    *string `json:"base_pct"`
	Opening string  `json:"opening_bu"`
	In      string  `json:"in_bu"`
	Out     string  `json:"out_bu"`
	Now     string  `json:"now_bu"`
	InLb    string  `json:"in_lb"`
	OutLb   string  `json:"out_lb"`
	Dry     string  `json:"dry_lb"`
	Life    *Life   `json:"life,omitempty"` // left out of an empty bin
}

// Life is how much of its storage life the worst load in a bin has used up.
type Life struct {
	Why     string   `json:"not_known,omitempty"`
	Used    *Figure  `json:"used_pct"`
	Ticket  string   `json:"load,omitempty"`
	Moist   string   `json:"moisture_pct,omitempty"`
	Temp    *Figure  `json:"grain_f"`
	Read    string   `json:"read_on,omitempty"`
	Left    *Figure  `json:"days_left"`
	Over    bool     `json:"over_300,omitempty"` // the table says only that it keeps over 300 days in all
	Outside bool     `json:"outside_table,omitempty"`
	Assumed []string `json:"taken_as_given,omitempty"`
}

type Position struct {
	Party string `json:"party"`
	Place string `json:"place"`
	Crop  string `json:"crop"`
	*heldBu
	*heldCwt
	Value    string `json:"value_usd"`
	Checkoff string `json:"checkoff_usd"`
	Charges  string `json:"charges_usd"`
	Net      string `json:"net_usd"`
	InBin    string `json:"in_bin_bu"`
}

// What a party sold, has delivered without a price and has stored at a buyer, in the unit that the buyer pays by.
type (
	heldBu struct {
		Sold   string `json:"sold_bu"`
		Claim  string `json:"claim_bu"`
		Stored string `json:"stored_bu"`
	}
	heldCwt struct {
		Sold   string `json:"sold_cwt"`
		Claim  string `json:"claim_cwt"`
		Stored string `json:"stored_cwt"`
	}
)

type FieldYield struct {
	Field   string  `json:"field"`
	Crop    string  `json:"crop"`
	Loads   int     `json:"loads"`
	Net     string  `json:"net_lb"`
	Dry     string  `json:"dry_lb"`
	Base    string  `json:"base_pct"`
	Bushels string  `json:"dry_bu"`
	Acres   Figure  `json:"acres"`
	Whole   bool    `json:"whole"` // the acres are all of the field's, for nobody said how many are cut
	PerAcre *string `json:"bu_per_acre"`
	Unread  int     `json:"without_moisture"`
}

type Record struct {
	Field      string `json:"field"`
	Party      string `json:"party"`
	Share      string `json:"share"`
	Crop       string `json:"crop"`
	Loads      int    `json:"loads"`
	Commingled int    `json:"commingled"`
	Net        string `json:"net_lb"`
	ToBuyers   string `json:"to_buyers_lb"`
	ToBins     string `json:"to_bins_lb"`
	Insured    string `json:"insured_bu"`
	Base       string `json:"base_pct"`
	Recalled   bool   `json:"base_from_memory"`
	Unread     int    `json:"without_moisture"`
	Acres      Figure `json:"acres"`
}

type Cheque struct {
	ID     string `json:"id,omitempty"` // of the record in the data file
	Cheque string `json:"cheque"`
	Outlet string `json:"outlet"`
	Party  string `json:"party"`
	On     string `json:"on"`
	Total  string `json:"total_usd"`
	Lines  int    `json:"lines"`
}

// OfBooks returns what is shown of the books.
func OfBooks(v *app.BooksView) Books {
	out := Books{Farm: v.Farm, AsOf: Stamp(v.AsOf), Party: v.Party, Loads: len(v.Trace(ledger.Question{Party: v.Party}).Loads), Assumed: []Assumed{}, Cautions: List(v.Cautions())}
	for _, a := range v.Assumed {
		out.Assumed = append(out.Assumed, Assumed(a))
	}
	if v.Shows("contracts") {
		out.Contracts, out.Promises = contractsOf(v), promisesOf(v)
	}
	if v.Shows("bins") && v.Party == "" {
		out.Bins = binsOf(v)
	}
	if v.Shows("shares") {
		out.Shares = sharesOf(v)
	}
	if v.Shows("yields") && v.Party == "" {
		out.Yields = yieldsOf(v)
	}
	if v.Shows("records") {
		out.Records = recordsOf(v)
	}
	if v.Shows("cheques") {
		out.Cheques = []Cheque{}
		for _, c := range v.Cheques {
			if v.Of(c.Party) {
				out.Cheques = append(out.Cheques, Cheque{c.ID, c.Number, c.Outlet, c.Party, c.On.String(), c.Total.String(), len(c.Lines)})
			}
		}
	}
	if v.Shows("audit") && v.Audit != nil {
		out.Audit = auditOf(v)
	}
	if v.Shows("tickets") {
		out.Tickets = ticketsOf(v.Books, v.Trace(ledger.Question{Party: v.Party}), v.Party, false)
	}
	if v.Party == "" && v.Show == "all" || v.Show == "tickets" {
		out.TakenBack = []TakenBack{}
		for _, t := range v.TakenBack {
			out.TakenBack = append(out.TakenBack, TakenBack{t.Ticket.Number, t.Ticket.ID, t.Reason})
		}
	}
	if v.Shows("checks") {
		out.Checks = findingsOf(v.Checks())
	}
	return out
}

func findingsOf(found []problem.Finding) []Complaint {
	out := []Complaint{}
	for _, f := range found {
		out = append(out, OfFinding(f))
	}
	return out
}

func contractsOf(v *app.BooksView) []Contract {
	out := []Contract{}
	for _, c := range v.ContractSums() {
		if !v.Of(c.Party) {
			continue
		}
		one := Contract{
			ID: c.ID, Outlet: c.Outlet, Party: c.Party, Crop: c.Crop.String(), Kind: string(c.Price.Kind()), Until: c.Until.String(), Promised: c.Promised.String(),
			Before: c.Applied.String(), Filled: c.Filled.String(), Left: c.Left().String(), Closed: c.Closed, Open: List(c.Price.Open()), Settled: c.Settled.String(),
			Unpriced: c.Claim.String(), Value: c.Value.String(), Net: c.Net.String(), ShortFees: priceOrNil(c.ShortFee),
		}
		if c.From != nil {
			one.From = c.From.String()
		}
		one.Month, one.Rolls, one.BoughtOut = c.Price.Month(), len(c.Price.Rolls()), c.BoughtOut
		if !c.Written.IsZero() {
			one.Written = c.Written.String()
		}
		if by := c.Price.PriceBy(); by != nil {
			one.PriceBy = by.String()
		}
		if c.Tolerance > 0 {
			one.Tolerance = c.Tolerance.String()
		}
		if cost, _, ok := v.BuyOut(&c.ContractState); ok {
			one.BuyOut = new(cost.Total.String())
		}
		if p, ok := c.Price.Price(c.Until); ok {
			one.Price = priceOrNil(&p)
		}
		out = append(out, one)
	}
	return out
}

func priceOrNil(p *trade.Price) *string {
	if p == nil {
		return nil
	}
	return new(p.Fixed())
}

func promisesOf(v *app.BooksView) []Promise {
	out := []Promise{}
	for _, p := range v.Promises {
		if v.Of(p.Party) {
			out = append(out, Promise{p.Party, p.Crop.String(), p.Promised.String(), p.Delivered.String(), p.InBins.String(), p.CountedOn.String(), p.Short.String()})
		}
	}
	return out
}

func binsOf(v *app.BooksView) []Bin {
	out := []Bin{}
	for _, b := range v.BinBalances() {
		one := Bin{
			Bin: b.Bin, Crop: b.Crop.String(), Opening: b.Opening.String(), In: b.In.String(), Out: b.Out.String(), Now: b.Now.String(), InLb: b.InLb.String(),
			OutLb: b.OutLb.String(), Dry: dryPounds(b.Dry),
		}
		if b.Base > 0 {
			one.Base = new(b.Base.String())
		}
		for _, l := range v.Lives {
			if l.Bin == b.Bin {
				one.Life = lifeOf(l)
			}
		}
		out = append(out, one)
	}
	return out
}

func lifeOf(l ledger.BinLife) *Life {
	if l.Why != "" {
		return &Life{Why: l.Why}
	}
	return &Life{
		Used: new(Figure(100 * float64(l.Spent))), Ticket: l.Ticket, Moist: l.Moist.String(), Temp: new(Figure(l.Temp.Fahrenheit())), Read: l.Read.String(),
		Left: new(Figure(l.Left)), Over: l.Long, Outside: l.Outside, Assumed: l.Assumed,
	}
}

// dryPounds writes dry matter, which is counted in ten-thousandths of a pound.
func dryPounds(dry int64) string { return trade.NewDecimal(dry, 4).String() }

func sharesOf(v *app.BooksView) []Position {
	out := []Position{}
	for _, p := range v.Positions() {
		if !v.Of(p.Party) {
			continue
		}
		one := Position{
			Party: p.Party, Place: p.Place, Crop: p.Crop.String(), Value: p.Value.String(), Checkoff: p.Checkoff.String(), Charges: p.Charges.String(),
			Net: p.Net.String(), InBin: p.InBin.String(),
		}
		held := heldBu{p.Sold.String(), p.Claim.String(), p.Stored.String()}
		if p.Cwt {
			one.heldCwt = new(heldCwt(held))
		} else {
			one.heldBu = &held
		}
		out = append(out, one)
	}
	return out
}

func yieldsOf(v *app.BooksView) []FieldYield {
	out := []FieldYield{}
	for _, y := range v.Yields() {
		one := FieldYield{
			Field: y.Field, Crop: y.Crop.String(), Loads: y.Loads, Net: y.Net.String(), Dry: dryPounds(y.Dry), Base: y.Base.String(), Bushels: y.Bushels.String(),
			Acres: Figure(y.Acres), Whole: y.Whole, Unread: y.Unread,
		}
		if y.Acres > 0 {
			one.PerAcre = new(y.PerAcre.String())
		}
		out = append(out, one)
	}
	return out
}

func recordsOf(v *app.BooksView) []Record {
	out := []Record{}
	for _, r := range v.Records() {
		if v.Of(r.Party) {
			out = append(out, Record{
				r.Field, r.Party, r.Share.Ratio(), r.Crop.String(), r.Loads, r.Commingled, r.Net.String(), r.ToBuyers.String(), r.ToBins.String(), r.Insured.String(),
				r.Base.String(), r.Recalled, r.Unread, Figure(r.Acres),
			})
		}
	}
	return out
}
