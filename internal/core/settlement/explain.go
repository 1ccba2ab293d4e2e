package settlement

import (
	"fmt"
	"strings"

	"threshday/internal/core/trade"
)

// Name returns what the line is for in one word of schedule files: a factor, base, premium or rounding.
func (l Line) Name() string {
	switch l.Kind {
	case OfBase:
		return "base"
	case OfPremium:
		return "premium"
	case OfRounding:
		return "rounding"
	case OfRow, OfSetAside:
	}
	return l.Factor.String()
}

// Explain returns one sentence that says how a line of these terms' statements came about: the reading, the
// band, what was counted, at which rate.
func (t *Terms) Explain(l Line) string {
	unit := priceUnit(&t.schedule)
	switch l.Kind {
	case OfBase:
		return fmt.Sprintf("base price $%s per net %s", l.Rate, unit)
	case OfPremium:
		return fmt.Sprintf("premium $%s per net %s", l.Rate, unit)
	case OfRounding:
		return "rounding: the net price is multiplied once"
	case OfRow, OfSetAside:
	}
	row := &t.schedule.Rows[l.Index]
	words := []string{l.Factor.Words()}
	if l.Reading != nil {
		words[0] += fmt.Sprintf(" %s %s", l.Reading, l.Factor.Unit())
	}
	words = append(words, bandWords(row))
	if l.Steps.Sign() == 0 {
		words = append(words, "not reached")
	} else {
		words = append(words, countWords(row, l.Steps), l.Rate+" "+unitWords(row, unit))
	}
	if l.Kind == OfSetAside {
		words = append(words, "set aside: another row of its group takes more")
	}
	return strings.Join(words, "; ")
}

func bandWords(row *Row) string {
	if row.Direction == Flagged {
		return "noted or not"
	}
	side := "over"
	if row.Direction == Below {
		side = "under"
	}
	out := side + " " + row.From.String()
	switch {
	case row.To == nil:
	case row.Direction == Below:
		out += " down to " + row.To.String()
	default:
		out += " up to " + row.To.String()
	}
	return out
}

func countWords(row *Row, steps trade.Fraction) string {
	if row.Direction == Flagged || row.StepMode == Flat {
		return "once"
	}
	size := "1"
	if row.Step != nil {
		size = row.Step.String()
	}
	words := map[StepMode]string{OrFraction: "or fraction", EachFull: "full", Prorated: "prorated"}
	return fmt.Sprintf("%s × %s (%s)", steps, size, words[row.StepMode])
}

func unitWords(row *Row, unit string) string {
	of := map[Qty]string{NetBu: " on net " + unit, GrossBu: " on gross " + unit, NetLb: " on scale weight", AfterPriorLb: " on settled weight"}[row.Qty]
	switch row.Unit {
	case PctWeightPerStep, TablePct:
		return "% of weight"
	case PctExcess:
		return "% of weight for each point"
	case PctPrice:
		return "% of price" + of
	case CentsPerBu, CentsPerCwt:
		return "cents" + of
	case DollarsPerLoad:
		return "dollars per load"
	}
	return ""
}
