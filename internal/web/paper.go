package web

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/feeds/quantity"
	"threshday/internal/words"
)

// cheque puts what stands in the boxes onto a cheque; lines that are given take the place of all there were.
func (f *form) cheque(c *journal.Cheque) {
	f.put("number", &c.Number)
	f.put("outlet", &c.Outlet)
	f.put("party", &c.Party)
	f.put("note", &c.Note)
	must(f, "on", "", quantity.ParseDay, &c.On)
	must(f, "total", "total_usd_e2", dollars, &c.Total)
	if rows := f.rows("lines"); f.has("lines") {
		c.Lines = nil
		for _, row := range rows {
			l := journal.ChequeLine{Ticket: row.text("ticket")}
			row.need(must(row, "amount", "", dollars, &l.Amount), "amount", "what the cheque pays for the ticket, as $4,256.20")
			c.Lines = append(c.Lines, l)
		}
		f.gather("lines", rows)
	}
}

// sheet puts what stands in the boxes onto a settlement sheet; lines and charges that are given take the place of all there were.
func (f *form) sheet(s *journal.Sheet) {
	f.put("outlet", &s.Outlet)
	f.put("ticket", &s.Ticket)
	f.put("note", &s.Note)
	read(f, "net_lb", "net_lb", printedPounds, &s.NetLb)
	read(f, "settle_lb", "settle_lb", printedPounds, &s.SettledLb)
	read(f, "gross_qty", "gross_qty_e3", bushels, &s.GrossQty)
	read(f, "net_qty", "net_qty_e3", bushels, &s.NetQty)
	read(f, "price", "price_usd_e5", price, &s.PerUnit)
	read(f, "value", "value_usd_e2", dollars, &s.Value)
	read(f, "checkoff", "checkoff_usd_e2", dollars, &s.Checkoff)
	read(f, "net", "net_usd_e2", dollars, &s.Net)
	f.sheetLines("lines", &s.Lines)
	f.sheetLines("charges", &s.Charges)
}

// sheetLines reads what a sheet prints by factor: dollars, or pounds that were taken.
func (f *form) sheetLines(key string, to *[]journal.SheetLine) {
	rows := f.rows(key)
	if !f.has(key) {
		return
	}
	*to = []journal.SheetLine{}
	for _, row := range rows {
		l := journal.SheetLine{Name: row.text("name")}
		if !slices.Contains(sheetLineNames, l.Name) {
			row.refuse(atBox(&problem.InputError{Rule: "sheet.line", Label: "Name", Got: shortened(l.Name), Want: words.OneOf(sheetLineNames)}, "name"))
		}
		read(row, "amount", "", dollars, &l.Dollars)
		read(row, "lb", "", printedPounds, &l.Pounds)
		row.need(l.Dollars != nil || l.Pounds != nil, "amount", "what was taken, as -$313.87, or pounds")
		*to = append(*to, l)
	}
	f.gather(key, rows)
}

// sheetLineNames are the names that a line of a sheet may bear.
var sheetLineNames = func() []string {
	names := []string{"base", "premium", "rounding"}
	for _, f := range settlement.Factors() {
		names = append(names, f.String())
	}
	return names
}()

// rows reads a box that holds a list of forms.
func (f *form) rows(key string) []*form {
	f.used[key] = true
	raw, ok := f.in[key]
	if !ok || string(raw) == "null" {
		return nil
	}
	var all []json.RawMessage
	if json.Unmarshal(raw, &all) != nil {
		f.refuse(atBox(&problem.InputError{Rule: "box.list", Label: labelOf(key), Got: shortened(string(raw)), Want: "a list of lines"}, key))
		return nil
	}
	out := make([]*form, len(all))
	for i, one := range all {
		out[i] = newForm(one, f.zone)
	}
	return out
}

// gather takes over what is wrong in a list of forms; the boxes of the first are lines.0.amount and so on.
func (f *form) gather(key string, rows []*form) {
	for i, row := range rows {
		if row.done() == nil {
			continue
		}
		for _, e := range row.wrong {
			f.refuse(atBox(e, strings.TrimSuffix(fmt.Sprintf("%s.%d.%s", key, i, e.Where.Path), ".")))
		}
	}
}

func dollars(label, text string) (trade.Amount, error) {
	return trade.ParseAmount(label, pointed(text))
}

func bushels(label, text string) (trade.Bushels, error) {
	return trade.ParseBushels(label, pointed(text))
}

// printedPounds reads whole pounds as a sheet prints them; what is taken off may be negative there.
func printedPounds(label, text string) (trade.Pounds, error) {
	plain := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "lb"))
	off, negative := strings.CutPrefix(plain, "-")
	n, err := trade.ParsePounds(label, off)
	if negative {
		n = -n
	}
	return n, err
}
