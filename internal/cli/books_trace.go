package cli

import (
	"fmt"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/ledger"
	"threshday/internal/core/settlement"
)

// trace prints the tickets behind a figure.
func (s *session) trace(b *app.Books, figure, party string) error {
	q, err := b.Question(figure, party)
	if err != nil {
		return err
	}
	t := b.Trace(q)
	if len(t.Loads) == 0 {
		return &app.NoAnswer{Rule: "trace.empty", Say: "No ticket stands behind " + figure + ".", Next: "A figure of nothing has no tickets; threshday books shows what there is."}
	}
	if s.json {
		return s.print(answer.OfTrail(b, figure, party, t, 0))
	}
	p := s.printer()
	p.line(p.bold(figure))
	p.wrapped("", traceSums(b, t))
	p.line("")
	printTickets(p, &app.BooksView{Books: b, Party: party}, t, party == "")
	return p.Flush()
}

// traceSums says what the lines of a trail add up to.
func traceSums(b *app.Books, t ledger.Trail) string {
	parts := []string{plural(int64(len(t.Loads)), "load")}
	if len(t.Harvest) > 0 {
		parts = append(parts, lb(t.Net)+" lb off the field")
	}
	if len(t.Sales) > 0 {
		sold := lb(t.Settled) + " lb settled"
		if unit, one := b.UnitOf(t); one {
			sold += fmt.Sprintf(", %s %s", bu(t.Qty), unit)
		}
		parts = append(parts, fmt.Sprintf("%s, value $%s, net $%s", sold, money(t.Value), money(t.Paid)))
	}
	if len(t.Stock) > 0 {
		parts = append(parts, digits(float64(app.BinDry(t))/10_000, 0)+" lb of dry matter left in bins")
	}
	return strings.Join(parts, "; ")
}

func ticketName(t *ledger.Ticket) string {
	if t.Number != "" {
		return "ticket " + t.Number
	}
	return "load " + t.ID
}

// printTickets prints the loads of a trail with their lines.
func printTickets(p *printer, v *app.BooksView, t ledger.Trail, explain bool) {
	lines := map[int32][]string{}
	add := func(ticket int32, format string, args ...any) {
		lines[ticket] = append(lines[ticket], fmt.Sprintf(format, args...))
	}
	for _, l := range t.Harvest {
		from := v.FieldName(l.Field)
		if from == "" {
			from = "no field"
		}
		add(l.Ticket, "%s lb from %s, %s; insured %s bu", lb(l.Net), from, v.Parties[l.Party], l.Insured)
	}
	for _, l := range t.Stock {
		way := "into"
		if l.Net < 0 {
			way = "out of"
		}
		add(l.Ticket, "%s lb %s bin %s, %s", lb(max(l.Net, -l.Net)), way, v.Bins[l.Bin], v.Parties[l.Party])
	}
	for _, l := range t.Sales {
		on := "at the bid"
		if id := v.ContractOf(l); id != "" {
			on = "on contract " + id
		}
		unit := cwtOrBu(v.Loads[l.Ticket].Cwt)
		if !l.Priced {
			add(l.Ticket, "%s: %s lb, %s %s %s, no price yet", v.Parties[l.Party], lb(l.Settled), l.Qty, unit, on)
			continue
		}
		price := "$" + l.Cash.Fixed()
		if l.Premium != 0 {
			price += " + " + l.Premium.Fixed()
		}
		add(l.Ticket, "%s: %s lb, %s %s %s, %s; value $%s - checkoff %s - charges %s = $%s", v.Parties[l.Party], lb(l.Settled), l.Qty, unit, on, price,
			money(l.Value), money(l.Checkoff), money(l.Charges), money(l.Net()))
	}
	if explain {
		for _, e := range v.Explanations(t) {
			add(e.Load, "The whole load at $%s nets $%s:", e.Cash.Fixed(), money(e.Net))
			for _, l := range e.Lines {
				add(e.Load, "  %s: %s", lineTakes(l), l.Say)
			}
		}
	}
	for _, i := range t.Loads {
		printTicket(p, v, i, lines[int32(i)]) //nolint:gosec // a season has fewer loads than that
	}
}

func printTicket(p *printer, v *app.BooksView, i int, lines []string) {
	load := &v.Loads[i]
	t := load.Ticket
	w := v.WeightsOf(i, v.Party)
	text := fmt.Sprintf("%s  %s of %s to %s, %s lb net", t.Day, ticketName(t), t.Load.Crop, t.Place, lb(w.Net))
	if m, ok := load.Readings.Of(settlement.Moisture); ok {
		text += fmt.Sprintf(" at %s %%", m)
	}
	if v.Party == "" {
		q := v.Quantities(i)
		text += fmt.Sprintf("; settled %s %s, insured %s bu, dry %s bu", bu(q.Settled), cwtOrBu(load.Cwt), bu(q.Insured), bu(q.Dry))
	}
	if load.Averaged {
		text += "; settled on the mean of several loads"
	}
	p.hung("  ", text)
	for _, l := range lines {
		inner := strings.TrimLeft(l, " ")
		p.hung("    "+strings.Repeat(" ", len(l)-len(inner)), inner)
	}
	if load.Why != nil {
		p.hung("    ", "not settled: "+load.Why.Error())
	}
}

// lineTakes says what a line of a settlement took or added.
func lineTakes(l app.ExplainedLine) string {
	switch {
	case l.Pounds != 0:
		return lb(-l.Pounds) + " lb"
	}
	return signedUSD(l.Dollars)
}
