package cli

import (
	"fmt"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/ledger"
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
		return s.print(answer.OfTrail(b, figure, party, t))
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
