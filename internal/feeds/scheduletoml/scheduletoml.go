// Package scheduletoml reads and writes posted schedules in a form that a person reads: one table for each line of the buyer's
// sheet, named by what is measured, with the amount in words.
//
//	[[moisture]]
//	over = 13.0
//	to = 15.0
//	each = 0.5
//	count = "or fraction"
//	takes = "1.25 % of price"
//	on = "net"
//
// It holds what the JSON form of schedulefile holds, no more and no less. It is strict: an unknown or repeated key, a wrong type or
// words it does not know are refused with line and column, everything wrong in one answer. Figures are taken as they are written,
// digit by digit. It also holds starting points ([Families]) and reads a pasted table ([Paste]). It settles nothing.
package scheduletoml

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A word is a value of an enumeration and what it is called in a file.
type word[T comparable] struct {
	value T
	name  string
}

var (
	priceUnits  = []word[settlement.PriceUnit]{{settlement.PerBu, "bu"}, {settlement.PerCwt, "cwt"}}
	styles      = []word[settlement.Style]{{settlement.NetPrice, "net price"}, {settlement.LineItem, "line by line"}}
	deductBases = []word[settlement.DeductBasis]{{settlement.Sequential, "what is left"}, {settlement.Additive, "scale weight"}}
	pctBases    = []word[settlement.PctBase]{{settlement.CashNoPremium, "cash"}, {settlement.CashWithPremium, "cash and premium"}, {settlement.FuturesPrice, "futures"}}
	averagings  = []word[settlement.Averaging]{{settlement.LoadByLoad, "load"}, {settlement.PerDay, "day"}, {settlement.PerContract, "contract"}}
	offBases    = []word[settlement.CheckoffBase]{{settlement.AfterQuality, "after quality"}, {settlement.BeforeQuality, "before quality"}, {settlement.AfterCharges, "after charges"}}
	counts      = []word[settlement.StepMode]{{settlement.OrFraction, "or fraction"}, {settlement.EachFull, "each full"}, {settlement.Prorated, "exact part"}, {settlement.Flat, "once"}}
	quantities  = []word[settlement.Qty]{{settlement.NetBu, "net"}, {settlement.GrossBu, "gross"}, {settlement.NetLb, "scale weight"}, {settlement.AfterPriorLb, "settled weight"}, {settlement.PerLoad, "load"}}
)

// nameOf returns what a value is called; empty for one that has no name.
func nameOf[T comparable](words []word[T], v T) string {
	for _, w := range words {
		if w.value == v {
			return w.name
		}
	}
	return ""
}

func names[T comparable](words []word[T]) string {
	var out []string
	for _, w := range words {
		out = append(out, w.name)
	}
	return "one of " + strings.Join(out, ", ")
}

// Keys of the file and of a row, for messages and the reference page.
var (
	topKeys = []string{
		"id", "buyer", "location", "crop", "class", "valid_from", "valid_to", "applies_to", "price_per", "lb_per_bu", "decimals", "rounding", "weight_of", "percent_of", "average",
		"checkoff", "checkoff_base", "note",
	}
	rowKeys = []string{"over", "under", "to", "each", "count", "takes", "adds", "charge", "refused", "warns", "on", "group", "most", "least", "text", "seq"}
)

// Read returns the schedule a file holds. The error is problem.InputErrors or a *problem.InputError. Whether the rows make sense
// together is for settlement.Prepare to say.
func Read(file string, data []byte) (settlement.Schedule, error) {
	r := &reader{file: file}
	top, rows, err := r.parse(data)
	if err != nil {
		return settlement.Schedule{}, err
	}
	s := r.top(top)
	for i, t := range rows {
		s.Rows = append(s.Rows, r.row(i, t))
	}
	slices.SortStableFunc(r.errs, func(a, b *problem.InputError) int {
		return cmp.Or(cmp.Compare(a.Where.Line, b.Where.Line), cmp.Compare(a.Where.Column, b.Where.Column))
	})
	if err := r.errs.Or(); err != nil {
		return settlement.Schedule{}, err
	}
	return s, nil
}

// top reads what stands beside the rows.
func (r *reader) top(t *table) settlement.Schedule {
	r.known(t, topKeys, "")
	s := settlement.Schedule{
		ID: r.text(t, "id"), Buyer: r.text(t, "buyer"), Location: r.text(t, "location"), Class: r.text(t, "class"), Note: r.text(t, "note"),
		ValidFrom: r.day(t, "valid_from"), ValidTo: r.day(t, "valid_to"), LbPerBu: r.decimal(t, "lb_per_bu"),
		PriceUnit: enum(r, t, "price_per", priceUnits), Style: enum(r, t, "rounding", styles), DeductBasis: enum(r, t, "weight_of", deductBases),
		PctBase: enum(r, t, "percent_of", pctBases), Average: enum(r, t, "average", averagings),
	}
	if t.values["crop"] == nil {
		r.fail(t.at, "crop", "toml.missing", "crop", "", cropNames(), "")
	} else if name := r.text(t, "crop"); name != "" {
		k, ok := crop.Parse(name)
		if !ok {
			r.fail(t.values["crop"].at, "crop", "crop.unknown", "crop", name, cropNames(), "")
		}
		s.Crop = k
	}
	if d := r.decimal(t, "decimals"); d != nil {
		n, ok := d.Units(0)
		if !ok || n < 0 || n > 3 {
			r.fail(t.values["decimals"].at, "decimals", "number.range", "decimals", d.String(), "0, 1, 2 or 3, the decimals of a printed quantity", "")
		}
		places := int(n)
		s.BuDecimals = &places
	}
	s.AppliesTo = r.list(t, "applies_to")
	s.Checkoff = r.checkoff(t)
	return s
}

func cropNames() string {
	var out []string
	for _, k := range crop.Kinds() {
		out = append(out, k.String())
	}
	return "one of " + strings.Join(out, ", ")
}

// checkoff reads "0.5 %" or "1c a bu".
func (r *reader) checkoff(t *table) *settlement.Checkoff {
	text := r.text(t, "checkoff")
	base := enum(r, t, "checkoff_base", offBases)
	if text == "" {
		return nil
	}
	c := &settlement.Checkoff{Kind: settlement.CheckoffPercent, Base: base}
	number, percent := strings.CutSuffix(text, "%")
	if !percent {
		a, ok := amountOf(text)
		if !ok || a.unit != settlement.CentsPerBu && a.unit != settlement.CentsPerCwt {
			r.fail(t.values["checkoff"].at, "checkoff", "words.unknown", "checkoff", text, `a percentage of the value, "0.5 %", or cents, "1c a bu"`, "")
			return nil
		}
		c.Kind, c.Rate = settlement.CheckoffCents, a.value
		return c
	}
	rate, err := trade.ParseFraction("checkoff", strings.TrimSpace(number))
	if err != nil {
		r.refuse(t.values["checkoff"].at, "checkoff", err)
	}
	c.Rate = rate
	return c
}

// row reads one table as row i.
func (r *reader) row(i int, t *table) settlement.Row {
	r.known(t, rowKeys, t.name+".")
	row := settlement.Row{Seq: 10 * (i + 1), Factor: r.factor(t), Text: r.text(t, "text"), Group: r.text(t, "group"), To: r.decimal(t, "to"), Step: r.decimal(t, "each")}
	if d := r.decimal(t, "seq"); d != nil {
		n, ok := d.Units(0)
		if !ok || n < 0 || n > 1_000_000 {
			r.fail(t.values["seq"].at, t.name, "number.range", "seq", d.String(), "a whole number from 0 to 1,000,000", "")
		}
		row.Seq = int(n)
	}
	over, under := r.decimal(t, "over"), r.decimal(t, "under")
	switch {
	case over != nil && under != nil:
		r.fail(t.values["under"].at, t.name, "row.direction", "under", under.String(), "over or under, one of them", "Write two rows.")
	case over != nil:
		row.Direction, row.From = settlement.Above, over
	case under != nil:
		row.Direction, row.From = settlement.Below, under
	default:
		row.Direction = settlement.Flagged
	}
	row.StepMode = enum(r, t, "count", counts)
	row.Qty = enum(r, t, "on", quantities)
	r.does(t, &row)
	return row
}

func (r *reader) factor(t *table) settlement.Factor {
	f, ok := settlement.ParseFactor(t.name)
	if !ok {
		var all []string
		for _, f := range settlement.Factors() {
			all = append(all, f.String())
		}
		r.fail(t.at, "", "S08", "[["+t.name+"]]", "an unknown factor", "one of "+strings.Join(all, ", "), "")
	}
	return f
}

// does reads what the row does: exactly one of the verbs.
func (r *reader) does(t *table, row *settlement.Row) {
	verbs := slices.DeleteFunc([]string{"takes", "adds", "charge", "refused", "warns"}, func(v string) bool { return t.values[v] == nil })
	if len(verbs) != 1 {
		r.fail(t.at, t.name, "row.verb", "[["+t.name+"]]", strings.Join(verbs, " and "), "exactly one of takes, adds, charge, refused, warns", "")
		return
	}
	verb := verbs[0]
	if verb == "refused" || verb == "warns" {
		if v := t.values[verb]; v.text != "true" {
			r.fail(v.at, t.name, "toml.type", verb, v.text, "true", "Leave the row out otherwise.")
		}
		row.Kind = map[string]settlement.Kind{"refused": settlement.RejectRow, "warns": settlement.WarnRow}[verb]
		return
	}
	text := r.text(t, verb)
	a, ok := amountOf(text)
	if !ok || !a.fits(verb) {
		r.fail(t.values[verb].at, t.name, "words.unknown", verb, text, phrases(verb), "")
		return
	}
	row.Unit, row.Printed = a.unit, a.printed
	row.Kind = settlement.PriceRow
	switch {
	case verb == "charge":
		row.Kind = settlement.ChargeRow
	case a.ofWeight():
		row.Kind = settlement.WeightRow
	case verb == "adds":
		a.value = trade.NewFraction(-a.value.Num(), a.value.Den())
		row.Printed = "-" + a.printed
	}
	row.Amount = &a.value
	row.Cap, row.Min = r.limit(t, "most", row), r.limit(t, "least", row)
}

// limit reads a bound with its mark: of a charge dollars a load, else in the unit of the amount.
func (r *reader) limit(t *table, key string, row *settlement.Row) *trade.Fraction {
	text := r.text(t, key)
	if text == "" {
		return nil
	}
	mark := markOf(row)
	number, ok := strings.CutSuffix(text, mark)
	if mark == "$" {
		number, ok = strings.CutPrefix(text, mark)
	}
	f, err := trade.ParseFraction(key, strings.TrimSpace(number))
	if !ok || err != nil {
		r.fail(t.values[key].at, t.name, "words.unknown", key, text, fmt.Sprintf("a number with %s, as the row's amount; of a charge dollars a load", mark), "")
		return nil
	}
	return &f
}

// markOf returns the mark of the unit that a row's bounds are in.
func markOf(row *settlement.Row) string {
	switch {
	case row.Kind == settlement.ChargeRow, row.Unit == settlement.DollarsPerLoad:
		return "$"
	case row.Unit == settlement.CentsPerBu, row.Unit == settlement.CentsPerCwt:
		return "c"
	}
	return "%"
}

func (r *reader) day(t *table, key string) *calendar.Day {
	v := t.values[key]
	if v == nil {
		return nil
	}
	d, err := calendar.ParseDay(v.text)
	if err != nil {
		r.fail(v.at, key, "date.form", key, v.text, "a date, as 2031-09-01", "")
		return nil
	}
	return &d
}

// refuse keeps the error of a parser with its place.
func (r *reader) refuse(at int, path string, err error) {
	with := *err.(*problem.InputError) //nolint:errorlint,forcetypeassert // parsers of trade return it unwrapped
	with.Where = r.place(at, path)
	r.errs = append(r.errs, &with)
}
