package answer

import (
	"threshday/internal/app"
	"threshday/internal/core/ledger"
	"threshday/internal/core/settlement"
)

// A Ticket is one truckload with what became of it; in a party's statement, of its own share alone.
type Ticket struct {
	Ticket     string       `json:"ticket"`
	ID         string       `json:"id"`
	Day        string       `json:"day"`
	To         string       `json:"to"`
	Crop       string       `json:"crop"`
	Moisture   *string      `json:"moisture_pct"`
	Averaged   bool         `json:"averaged"` // settled on the mean of several loads
	Gross      *string      `json:"gross_lb,omitempty"`
	Tare       *string      `json:"tare_lb,omitempty"`
	Net        string       `json:"net_lb"`
	SettleLb   *string      `json:"settle_lb"`
	Settled    *string      `json:"settled_bu,omitempty"`
	SettledCwt *string      `json:"settled_cwt,omitempty"`
	Insured    *string      `json:"insured_bu,omitempty"`
	DryBu      *string      `json:"dry_bu,omitempty"`
	NotSettled string       `json:"not_settled,omitempty"`
	Parts      []TicketPart `json:"parts"`
	Sales      []Sale       `json:"sales"`
	Stock      []Stock      `json:"stock"`
	Where      string       `json:"where,omitempty"`
	Explained  []Explained  `json:"settlement,omitzero"`
}

type TicketPart struct {
	Field   string `json:"field"`
	Party   string `json:"party"`
	Net     string `json:"net_lb"`
	Settled string `json:"settle_lb"`
	Dry     string `json:"dry_lb"`
	Insured string `json:"insured_bu"`
}

type Sale struct {
	Party    string  `json:"party"`
	Contract string  `json:"contract"` // empty: at the bid of the day
	Settled  string  `json:"settle_lb"`
	Qty      string  `json:"bu,omitempty"`
	Cwt      string  `json:"cwt,omitempty"`
	Cash     *string `json:"cash_usd"` // null: no price yet
	Premium  *string `json:"premium_usd"`
	Value    string  `json:"value_usd"`
	Checkoff string  `json:"checkoff_usd"`
	Charges  string  `json:"charges_usd"`
	Net      string  `json:"net_usd"`
}

type Stock struct {
	Bin   string `json:"bin"`
	Field string `json:"field"`
	Party string `json:"party"`
	Net   string `json:"net_lb"`
	Dry   string `json:"dry_lb"`
}

// Explained is the settlement of a load at one of its prices, in sentences.
type Explained struct {
	Cash  string          `json:"cash_usd"`
	Net   string          `json:"net_usd"`
	Lines []ExplainedLine `json:"lines"`
}

// ticketsOf returns the loads of a trail with its lines.
func ticketsOf(b *app.Books, t ledger.Trail, party string, explain bool) []Ticket {
	out := make([]Ticket, len(t.Loads))
	at := make(map[int32]*Ticket, len(t.Loads))
	for n, i := range t.Loads {
		out[n] = ticketOf(b, i, party)
		at[int32(i)] = &out[n] //nolint:gosec // a season has fewer loads than that
	}
	for _, l := range t.Harvest {
		to := at[l.Ticket]
		to.Parts = append(to.Parts, TicketPart{b.FieldName(l.Field), b.Parties[l.Party], l.Net.String(), l.Settled.String(), dryPounds(l.Dry), l.Insured.String()})
	}
	for _, l := range t.Sales {
		to := at[l.Ticket]
		one := Sale{
			Party: b.Parties[l.Party], Contract: b.ContractOf(l), Settled: l.Settled.String(), Value: l.Value.String(), Checkoff: l.Checkoff.String(),
			Charges: l.Charges.String(), Net: l.Net().String(),
		}
		if b.Loads[l.Ticket].Cwt {
			one.Cwt = l.Qty.String()
		} else {
			one.Qty = l.Qty.String()
		}
		if l.Priced {
			one.Cash, one.Premium = priceOrNil(&l.Cash), priceOrNil(&l.Premium)
		}
		to.Sales = append(to.Sales, one)
	}
	for _, l := range t.Stock {
		to := at[l.Ticket]
		to.Stock = append(to.Stock, Stock{b.Bins[l.Bin], b.FieldName(l.Field), b.Parties[l.Party], l.Net.String(), dryPounds(l.Dry)})
	}
	if explain {
		for _, one := range b.Explanations(t) {
			to := at[one.Load]
			to.Explained = append(to.Explained, Explained{one.Cash.Fixed(), one.Net.String(), linesOf(one.Lines)})
		}
	}
	return out
}

// ticketOf returns load i without its lines. Its whole weights are everybody's and are left out of a party's statement.
func ticketOf(b *app.Books, i int, party string) Ticket {
	p := &b.Loads[i]
	t := p.Ticket
	out := Ticket{
		Ticket: t.Number, ID: t.ID, Day: t.Day.String(), To: t.Place, Crop: t.Load.Crop.String(), Averaged: p.Averaged, Parts: []TicketPart{},
		Sales: []Sale{}, Stock: []Stock{}, Where: t.Where.String(),
	}
	if m, ok := p.Readings.Of(settlement.Moisture); ok {
		out.Moisture = new(m.String())
	}
	if p.Why != nil {
		out.NotSettled = p.Why.Error()
	}
	w := b.WeightsOf(i, party)
	out.Net = w.Net.String()
	if p.Settled {
		out.SettleLb = new(w.Settled.String())
		if qty := new(w.Qty.String()); p.Cwt {
			out.SettledCwt = qty
		} else {
			out.Settled = qty
		}
	}
	if party == "" {
		q := b.Quantities(i)
		out.Gross, out.Tare = new(t.Load.Gross.String()), new(t.Load.Tare.String())
		out.Insured, out.DryBu = new(q.Insured.String()), new(q.Dry.String())
	}
	return out
}

// A Trace is a figure led back to its tickets.
type Trace struct {
	Figure     string   `json:"figure"`
	Party      string   `json:"party,omitempty"`
	Loads      int      `json:"loads"`
	Net        string   `json:"net_lb"`
	Settled    string   `json:"settle_lb"`
	SettledBu  *string  `json:"settled_bu,omitempty"` // left out where some are counted in hundredweight
	SettledCwt *string  `json:"settled_cwt,omitempty"`
	Value      string   `json:"value_usd"`
	Paid       string   `json:"net_usd"`
	Dry        string   `json:"bin_dry_lb"`
	Tickets    []Ticket `json:"tickets"`
}

// OfTrail returns what stands behind a figure, with at most so many of its tickets, the newest; 0: all of them. The settlement of a
// whole load is everybody's: whoever sees one party's share alone sees its part of the lines.
func OfTrail(b *app.Books, figure, party string, t ledger.Trail, most int) Trace {
	out := Trace{
		Figure: figure, Party: party, Loads: len(t.Loads), Net: t.Net.String(), Settled: t.Settled.String(), Value: t.Value.String(), Paid: t.Paid.String(),
		Dry: dryPounds(app.BinDry(t)), Tickets: ticketsOf(b, b.Newest(t, most), party, party == ""),
	}
	switch unit, one := b.UnitOf(t); {
	case one && unit == "cwt":
		out.SettledCwt = new(t.Qty.String())
	case one:
		out.SettledBu = new(t.Qty.String())
	}
	return out
}

// An ExplainedLine is what one line of a settlement took or added, and why.
type ExplainedLine struct {
	Lb  string `json:"lb"`
	USD string `json:"usd"`
	Say string `json:"say"`
}

func linesOf(lines []app.ExplainedLine) []ExplainedLine {
	out := make([]ExplainedLine, len(lines))
	for i, l := range lines {
		out[i] = ExplainedLine{l.Pounds.String(), l.Dollars.String(), l.Say}
	}
	return out
}
