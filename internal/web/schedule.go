package web

import (
	"fmt"

	"threshday/internal/core/settlement"
	"threshday/internal/words"
)

// scheduleWords reads a posted schedule back, a sentence a row.
func scheduleWords(s settlement.Schedule) []string {
	out := []string{}
	for i := range s.Rows {
		out = append(out, rowWords(&s.Rows[i], s.PriceUnit))
	}
	if c := s.Checkoff; c != nil {
		unit := "% of the value"
		if c.Kind == settlement.CheckoffCents {
			unit = "cents a bushel"
		}
		out = append(out, fmt.Sprintf("Checkoff: %s %s.", c.Rate, unit))
	}
	return out
}

// rowWords says one row: what is read, in which band, what is taken for it.
func rowWords(r *settlement.Row, per settlement.PriceUnit) string {
	what := words.Sentence(r.Factor.Words())
	what = what[:len(what)-1]
	unit := r.Factor.Unit()
	if r.Direction == settlement.Flagged {
		if r.Kind == settlement.RejectRow {
			return what + ": turned away."
		}
		return fmt.Sprintf("%s: %s.", what, takesWords(r, per))
	}
	side := "over"
	if r.Direction == settlement.Below {
		side = "under"
	}
	band := fmt.Sprintf("%s %s %s %s", what, side, r.From, unit)
	if r.To != nil {
		to := "up to"
		if r.Direction == settlement.Below {
			to = "down to"
		}
		band += fmt.Sprintf(", %s %s", to, r.To)
	}
	switch r.Kind {
	case settlement.RejectRow:
		return band + ": turned away."
	case settlement.WarnRow:
		return band + ": ask first."
	case settlement.WeightRow, settlement.PriceRow, settlement.ChargeRow:
	}
	return fmt.Sprintf("%s: %s%s.", band, takesWords(r, per), stepWords(r, unit))
}

// takesWords says what a row takes each time.
func takesWords(r *settlement.Row, per settlement.PriceUnit) string {
	if r.Amount == nil {
		return "nothing is taken"
	}
	amount := r.Printed
	if amount == "" {
		amount = r.Amount.String()
	}
	wet := ""
	if r.Qty == settlement.GrossBu {
		wet = " on the gross weight"
	}
	bushel := "bushel"
	if per == settlement.PerCwt {
		bushel = "hundredweight"
	}
	switch r.Unit {
	case settlement.PctWeightPerStep, settlement.TablePct:
		return amount + " % of the weight"
	case settlement.PctExcess:
		return "what lies beyond is taken off the weight"
	case settlement.PctPrice:
		return amount + " % of the price" + wet
	case settlement.CentsPerBu:
		return cents(amount) + " a " + bushel + wet
	case settlement.CentsPerCwt:
		return cents(amount) + " a hundredweight" + wet
	case settlement.DollarsPerLoad:
		return "$" + amount + " a load"
	}
	return amount
}

// stepWords says how the excess is counted.
func stepWords(r *settlement.Row, unit string) string {
	if r.Unit == settlement.PctExcess || r.Unit == settlement.TablePct {
		return ""
	}
	size := "each " + unit
	if r.Step != nil {
		size = fmt.Sprintf("each %s %s", r.Step, unit)
	}
	switch r.StepMode {
	case settlement.OrFraction:
		return " for " + size + " or part of it"
	case settlement.EachFull:
		return " for " + size + " that is full"
	case settlement.Prorated:
		return " for " + size + ", parts counted as parts"
	case settlement.Flat:
	}
	return ", once"
}

func cents(amount string) string {
	if amount == "1" {
		return "1 cent"
	}
	return amount + " cents"
}
