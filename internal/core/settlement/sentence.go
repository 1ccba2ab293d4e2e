package settlement

import (
	"fmt"
	"strings"

	"threshday/internal/core/crop"
	"threshday/internal/core/trade"
)

// Sentences returns every row of the schedule in words, in its order: what is measured, from where on, what each step takes.
func (s *Schedule) Sentences() []string {
	out := make([]string, len(s.Rows))
	for i := range s.Rows {
		out[i] = s.sentence(&s.Rows[i])
	}
	return out
}

func (s *Schedule) sentence(row *Row) string {
	what := row.Factor.Words()
	if row.Factor == EveryLoad {
		what = "every load"
	}
	text := strings.ToUpper(what[:1]) + what[1:]
	if row.Direction != Flagged && row.From != nil {
		text += " " + bandWords(row)
		if unit := row.Factor.Unit(); unit != "" {
			text += " " + unit
		}
	} else if row.Factor != EveryLoad {
		text += " noted"
	}
	switch row.Kind {
	case RejectRow:
		return text + ": refused, and no price is stated. Ask the buyer."
	case WarnRow:
		return text + ": taken, with a warning."
	case WeightRow, PriceRow, ChargeRow:
	}
	text += ": " + s.takes(row)
	if row.Group != "" && row.Group != "sum" {
		text += "; of the rows of its group only the one that takes most counts"
	}
	return text + "."
}

// takes says what a row takes, adds or charges, and for how much.
func (s *Schedule) takes(row *Row) string {
	rate := row.Printed
	if row.Amount != nil && rate == "" {
		rate = row.Amount.String()
	}
	verb := "takes"
	switch {
	case row.Kind == ChargeRow:
		verb = "charges"
	case row.Amount != nil && row.Amount.Sign() < 0:
		verb = "adds"
	}
	rate = strings.TrimLeft(rate, "-−")
	text := fmt.Sprintf("%s %s %s%s", verb, rate, unitWords(row, priceUnit(s)), eachWords(row))
	if row.Unit == PctExcess && rate == "1" {
		text = "takes what lies beyond, by weight"
	}
	if rate == "1" {
		text = strings.Replace(text, " cents", " cent", 1)
	}
	for _, bound := range []struct {
		f    *trade.Fraction
		word string
	}{{row.Cap, "at most"}, {row.Min, "at least"}} {
		if bound.f != nil {
			text += fmt.Sprintf(", %s %s", bound.word, bound.f)
		}
	}
	return text
}

// eachWords says how steps are counted, " for each 0.5 or fraction of it"; empty where there are none.
func eachWords(row *Row) string {
	if row.Direction == Flagged || row.Unit == PctExcess || row.StepMode == Flat {
		return ""
	}
	size := "point"
	if row.Factor == TestWeight {
		size = "pound"
	}
	if row.Step != nil && row.Step.Cmp(trade.MustDecimal("1")) != 0 {
		size = row.Step.String()
	}
	switch row.StepMode {
	case OrFraction:
		return " for each " + size + " or fraction of it"
	case EachFull:
		return " for each full " + size
	case Prorated, Flat:
	}
	return " for each " + size + " and its exact part for a part of one"
}

// Profile returns how the buyer counts and rounds, a sentence each; what the schedule does not say is said to be missing.
func (s *Schedule) Profile() []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	unit := priceUnit(s)
	switch {
	case unit == string(PerCwt):
		say("Priced by the hundredweight.")
	case s.LbPerBu != nil:
		say("Priced by the bushel of %s lb.", s.LbPerBu)
	default:
		say("The pounds of a bushel are not stated.")
	}
	if s.BuDecimals != nil {
		say("Quantities are printed with %d decimals.", *s.BuDecimals)
	} else {
		say("The decimals of a printed quantity are not stated.")
	}
	say("%s", map[Style]string{
		NetPrice: "Discounts go into the price, which is multiplied once and rounded to the cent.", LineItem: "Base, premium and each discount are rounded to the cent, then added.",
		"": "Where dollars are rounded is not stated.",
	}[s.Style])
	if text := map[DeductBasis]string{Sequential: "What is taken by weight is taken of what earlier factors left.", Additive: "What is taken by weight is taken of the scale weight."}[s.DeductBasis]; text != "" {
		say("%s", text)
	}
	if text := map[PctBase]string{CashNoPremium: "the cash price without premium", CashWithPremium: "the cash price with its premium", FuturesPrice: "the futures price"}[s.PctBase]; text != "" {
		say("Percents of price are of %s.", text)
	}
	if text := map[Averaging]string{LoadByLoad: "Each load is settled by itself.", PerDay: "The loads of a day are settled on their mean.", PerContract: "The loads of a contract are settled on their mean."}[s.Average]; text != "" {
		say("%s", text)
	}
	return append(out, s.checkoffSaid())
}

func (s *Schedule) checkoffSaid() string {
	c := s.Checkoff
	switch {
	case c == nil:
		return "No checkoff is stated."
	case c.Kind == CheckoffCents:
		return fmt.Sprintf("Checkoff: %s cents a net %s.", c.Rate, priceUnit(s))
	}
	of := map[CheckoffBase]string{BeforeQuality: "before quality", AfterCharges: "after charges"}[c.Base]
	if of == "" {
		of = "after quality, before charges"
	}
	return fmt.Sprintf("Checkoff: %s %% of the value %s.", c.Rate, of)
}

// A CurvePoint is what a unit of scale weight nets at one reading; without a price Why says why.
type CurvePoint struct {
	Reading trade.Percent
	Net     trade.Price // a gross bushel or hundredweight, after checkoff and charges
	Why     error
}

// curveLb is the load that a curve is drawn with, a truckload, so that fees by the load weigh what they do.
const curveLb = trade.Pounds(54_000)

// Curve returns what a unit nets at every tenth of f from low to high, every other reading where the schedule takes nothing.
func (t *Terms) Curve(f Factor, p Prices, low, high trade.Percent) []CurvePoint {
	const tenth = trade.Percent(10)
	load := Load{Crop: t.schedule.Crop, Class: t.schedule.Class, Gross: curveLb + 1, Tare: 1}
	if t.schedule.ValidFrom != nil {
		load.Day = *t.schedule.ValidFrom
	}
	for _, need := range t.Needs() {
		load.Readings = load.Readings.With(need, Free(need, t))
	}
	var out []CurvePoint
	for x := low.Round(tenth, trade.Ceiling); x <= high; x += tenth {
		load.Readings = load.Readings.With(f, x)
		sum, err := t.Totals(load, p)
		point := CurvePoint{Reading: x, Why: err}
		if err == nil {
			point.Net = trade.Price(trade.HalfUp.MulDiv(int64(sum.Net), 1e5, int64(sum.GrossQty))) * 10
		}
		out = append(out, point)
	}
	return out
}

// Span returns the readings of f about which those terms are best drawn: from where nothing is taken yet on into the discounts.
func (t *Terms) Span(f Factor) (low, high trade.Percent) {
	free := Free(f, t)
	if usual := crop.UsualBases(t.schedule.Crop); f == Moisture && len(usual) > 0 {
		free = usual[0].Moisture
	}
	low, high = free-200, free+800 // [judgement]
	if f == TestWeight {
		low, high = free-800, free+200
	}
	least, most := f.Range(t.schedule.Crop)
	return max(low, least), min(high, most)
}

// Free returns the reading of f at which none of those terms takes or adds anything yet: the least of the limits that count above
// them, the greatest of those that count below; 0 where none has a row for f.
func Free(f Factor, all ...*Terms) trade.Percent {
	var out *trade.Percent
	for _, t := range all {
		for _, row := range t.schedule.Rows {
			if row.Factor != f || row.From == nil {
				continue
			}
			n, exact := row.From.Units(2)
			if x := trade.Percent(n); exact && (out == nil || row.Direction == Above && x < *out || row.Direction == Below && x > *out) {
				out = &x
			}
		}
	}
	if out == nil {
		return 0
	}
	return *out
}
