package scheduletoml

import (
	"fmt"
	"strconv"
	"strings"

	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// Write returns the file of a schedule, which [Read] reads back to the same schedule. Its amounts are written with the digits the
// buyer prints.
func Write(s settlement.Schedule) []byte {
	var w writer
	w.texts("id", s.ID, "buyer", s.Buyer, "location", s.Location, "crop", s.Crop.String(), "class", s.Class)
	if s.ValidFrom != nil {
		w.bare("valid_from", s.ValidFrom.String())
	}
	if s.ValidTo != nil {
		w.bare("valid_to", s.ValidTo.String())
	}
	if len(s.AppliesTo) > 0 {
		var quoted []string
		for _, a := range s.AppliesTo {
			quoted = append(quoted, quote(a))
		}
		w.bare("applies_to", "["+strings.Join(quoted, ", ")+"]")
	}
	w.texts("price_per", nameOf(priceUnits, s.PriceUnit))
	w.decimal("lb_per_bu", s.LbPerBu)
	if s.BuDecimals != nil {
		w.bare("decimals", strconv.Itoa(*s.BuDecimals))
	}
	w.texts("rounding", nameOf(styles, s.Style), "weight_of", nameOf(deductBases, s.DeductBasis), "percent_of", nameOf(pctBases, s.PctBase), "average", nameOf(averagings, s.Average))
	if c := s.Checkoff; c != nil {
		rate := c.Rate.String() + " %"
		if c.Kind == settlement.CheckoffCents {
			rate = c.Rate.String() + "c a " + string(settlement.PerBu)
		}
		w.texts("checkoff", rate, "checkoff_base", nameOf(offBases, c.Base))
	}
	w.texts("note", s.Note)
	for i := range s.Rows {
		w.row(i, &s.Rows[i])
	}
	return []byte(w.String())
}

// Text returns the file of a draft: what is known as [Write] has it, and what only the buyer can say as remarks beside it, so that
// the file is not used before somebody has filled them in.
func (d Draft) Text() []byte {
	var w writer
	for _, line := range d.Ask {
		w.put("# %s\n", line)
	}
	bare := d.Schedule
	bare.Rows = nil
	w.put("%s", Write(bare))
	for i := range d.Schedule.Rows {
		w.row(i, &d.Schedule.Rows[i])
		for _, line := range d.AskRow[i] {
			w.put("# %s\n", line)
		}
	}
	return []byte(w.String())
}

type writer struct{ strings.Builder }

// put adds formatted text.
func (w *writer) put(format string, args ...any) {
	_, _ = fmt.Fprintf(w, format, args...) // a builder does not fail
}

// texts writes pairs of key and text; an empty text is left out.
func (w *writer) texts(pairs ...string) {
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			w.bare(pairs[i], quote(pairs[i+1]))
		}
	}
}

func (w *writer) bare(key, text string) { w.put("%s = %s\n", key, text) }

func (w *writer) decimal(key string, d *trade.Decimal) {
	if d != nil {
		w.bare(key, d.String())
	}
}

func (w *writer) row(i int, row *settlement.Row) {
	w.put("\n[[%s]]\n", row.Factor)
	if row.Seq != 10*(i+1) {
		w.bare("seq", strconv.Itoa(row.Seq))
	}
	switch row.Direction {
	case settlement.Above:
		w.decimal("over", row.From)
	case settlement.Below:
		w.decimal("under", row.From)
	case settlement.Flagged:
	}
	w.decimal("to", row.To)
	w.decimal("each", row.Step)
	w.texts("count", nameOf(counts, row.StepMode))
	switch row.Kind {
	case settlement.RejectRow:
		w.bare("refused", "true")
	case settlement.WarnRow:
		w.bare("warns", "true")
	case settlement.WeightRow, settlement.PriceRow, settlement.ChargeRow:
		w.amount(row)
	}
	w.texts("on", nameOf(quantities, row.Qty), "group", row.Group)
	mark := markOf(row)
	for _, limit := range []struct {
		key string
		f   *trade.Fraction
	}{{"most", row.Cap}, {"least", row.Min}} {
		switch {
		case limit.f == nil:
		case mark == "$":
			w.texts(limit.key, "$"+limit.f.String())
		default:
			w.texts(limit.key, limit.f.String()+mark)
		}
	}
	w.texts("text", row.Text)
}

func (w *writer) amount(row *settlement.Row) {
	a := amount{printed: row.Printed, unit: row.Unit}
	verb := "takes"
	if row.Amount != nil {
		a.value = *row.Amount
		if a.printed == "" {
			a.printed = a.value.String()
		}
		if a.value.Sign() < 0 {
			verb = "adds"
		}
	}
	a.printed = strings.TrimLeft(a.printed, "+-−")
	if row.Kind == settlement.ChargeRow {
		verb = "charge"
	}
	w.texts(verb, a.words())
}

// quote writes a text in quotes.
func quote(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteRune('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < 0x20 || r == 0x7f:
			_, _ = fmt.Fprintf(&b, `\u%04X`, r) // a builder does not fail
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
