package settlement

import (
	"fmt"
	"slices"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// checker collects findings on one schedule.
type checker struct {
	s   *Schedule
	out []problem.Finding
}

// checkRows checks the schedule and its rows one by one: S01 within the schedule, S03, S04, S05, S07, S08, S10.
func checkRows(s Schedule) []problem.Finding {
	c := &checker{s: &s}
	c.profile()
	for i := range s.Rows {
		row := &s.Rows[i]
		if !row.Kind.Known() || !row.Direction.Known() {
			c.row("S07", i, "kind", string(row.Kind)+" "+string(row.Direction), "a kind (weight, price, charge, reject, warn) and a direction (above, below, flag)", "")
			continue
		}
		c.factor(i, row)
		c.band(i, row)
		if row.Kind != RejectRow && row.Kind != WarnRow {
			c.steps(i, row)
			c.amount(i, row)
			c.unit(i, row)
			c.group(i, row)
		}
	}
	return c.out
}

func (c *checker) add(rule string, severity problem.Severity, path, label, got, want, next string) {
	say := (&problem.InputError{Label: label, Got: got, Want: want}).Error()
	c.out = append(c.out, problem.Finding{
		Rule: rule, Severity: severity, Where: problem.Place{Path: path}, Label: label, Got: got, Want: want, Say: say, Next: next,
	})
}

func (c *checker) row(rule string, i int, key, got, want, next string) {
	c.add(rule, problem.Error, fmt.Sprintf("rows[%d].%s", i, key), c.s.Rows[i].label()+": "+key, got, want, next)
}

// doubt reports a row that is used as it stands; say continues the sentence that begins with the row.
func (c *checker) doubt(rule string, i int, key, got, want, say, next string) {
	label := c.s.Rows[i].label()
	c.out = append(c.out, problem.Finding{
		Rule: rule, Severity: problem.Warning, Where: problem.Place{Path: fmt.Sprintf("rows[%d].%s", i, key)},
		Label: label + ": " + key, Got: got, Want: want, Say: label + " " + say + ".", Next: next,
	})
}

// label names a row for a person.
func (r *Row) label() string {
	if r.Factor == NoFactor || r.Factor >= factorCount {
		return fmt.Sprintf("Row %d", r.Seq)
	}
	return fmt.Sprintf("Row %d (%s)", r.Seq, r.Factor.Words())
}

// profile checks what stands beside the rows. None of it has a default that is safe.
func (c *checker) profile() {
	s := c.s
	missing := func(key, want string) { c.add("S10", problem.Error, key, key, "", want, "Ask the buyer.") }
	if s.Crop == crop.Unknown {
		missing("crop", "the one crop of the schedule")
	}
	if s.ValidFrom != nil && s.ValidTo != nil && s.ValidFrom.After(*s.ValidTo) {
		c.add("S01", problem.Error, "valid_to", "valid_to", s.ValidTo.String(), "a day not before valid_from, "+s.ValidFrom.String(), "")
	}
	switch s.PriceUnit {
	case "", PerBu:
		if s.LbPerBu == nil {
			missing("lb_per_bu", "pounds of a bushel, because the price is per bushel")
		} else if n, ok := s.LbPerBu.Units(2); !ok || n < 1_00 || n > 200_00 {
			c.add("S10", problem.Error, "lb_per_bu", "lb_per_bu", s.LbPerBu.String(), "1 to 200 lb per bushel, at most two decimals", "")
		}
	case PerCwt:
	default:
		c.add("S10", problem.Error, "price_unit", "price_unit", string(s.PriceUnit), "bu or cwt", "")
	}
	if s.BuDecimals == nil {
		missing("bu_decimals", "0, 1, 2 or 3, the decimals of a printed quantity")
	} else if *s.BuDecimals < 0 || *s.BuDecimals > 3 {
		c.add("S10", problem.Error, "bu_decimals", "bu_decimals", fmt.Sprint(*s.BuDecimals), "0, 1, 2 or 3, the decimals of a printed quantity", "")
	}
	if s.Style != NetPrice && s.Style != LineItem {
		c.enum("style", string(s.Style), "net_price or line_item")
	}
	if s.DeductBasis != "" || c.weightFactors() > 1 {
		if s.DeductBasis != Sequential && s.DeductBasis != Additive {
			c.enum("deduct_basis", string(s.DeductBasis), "sequential or additive, because several factors take weight")
		}
	}
	if s.PctBase != "" || slices.ContainsFunc(s.Rows, func(r Row) bool { return r.Unit == PctPrice }) {
		if s.PctBase != CashNoPremium && s.PctBase != CashWithPremium && s.PctBase != FuturesPrice {
			c.enum("pct_base", string(s.PctBase), "cash_no_premium, cash_with_premium or futures, because a row takes a percentage of price")
		}
	}
	if s.Average != "" && s.Average != LoadByLoad && s.Average != PerContract && s.Average != PerDay {
		c.enum("average", string(s.Average), "load, contract or day")
	}
	c.checkoff()
	if len(s.Rows) > maxRows {
		c.add("S10", problem.Error, "rows", "rows", fmt.Sprint(len(s.Rows)), fmt.Sprintf("at most %d rows", maxRows), "")
	}
}

func (c *checker) enum(key, got, want string) {
	c.add("S10", problem.Error, key, key, got, want, "Ask the buyer.")
}

func (c *checker) weightFactors() int {
	var seen []Factor
	for _, r := range c.s.Rows {
		if r.Kind == WeightRow && !slices.Contains(seen, r.Factor) {
			seen = append(seen, r.Factor)
		}
	}
	return len(seen)
}

func (c *checker) checkoff() {
	off := c.s.Checkoff
	if off == nil {
		return
	}
	if off.Kind != CheckoffPercent && off.Kind != CheckoffCents {
		c.add("S07", problem.Error, "checkoff.kind", "checkoff.kind", string(off.Kind), "percent or cents_bu", "")
	}
	if most := trade.NewFraction(100, 1); off.Rate.Sign() < 0 || off.Rate.Cmp(most) > 0 {
		c.add("S05", problem.Error, "checkoff.rate", "checkoff.rate", off.Rate.String(), "0 to 100", "")
	}
	switch off.Base {
	case "", AfterQuality, BeforeQuality, AfterCharges:
	default:
		c.add("S07", problem.Error, "checkoff.base", "checkoff.base", string(off.Base), "after_quality, before_quality or after_charges", "")
	}
}

func (c *checker) factor(i int, row *Row) {
	switch {
	case row.Factor == NoFactor || row.Factor >= factorCount:
		c.row("S08", i, "factor", "unknown", "a factor that a grader measures or notes", "")
	case row.Factor.IsFlag() != (row.Direction == Flagged):
		c.row("S08", i, "direction", string(row.Direction), "flag for what is only noted, above or below for what is measured", "")
	case !row.Factor.MeasuredFor(c.s.Crop):
		c.row("S08", i, "factor", row.Factor.String(), "a factor measured on "+c.s.Crop.String(), "")
	}
}

// band checks from and to: S03, S04, and the precision of S08.
func (c *checker) band(i int, row *Row) {
	if row.Direction == Flagged {
		if row.From != nil || row.To != nil {
			c.row("S04", i, "from", "given", "no from and no to, because this is only noted", "")
		}
		return
	}
	if row.From == nil {
		c.row("S03", i, "from", "", "the threshold at which the band begins", "")
		return
	}
	c.recorded(i, row, "from", row.From)
	if row.To == nil {
		return
	}
	c.recorded(i, row, "to", row.To)
	switch cmp := row.From.Cmp(*row.To); {
	case cmp == 0:
		c.row("S03", i, "to", row.To.String(), "an end apart from the beginning of the band", "")
	case cmp > 0 && row.Direction == Above:
		c.row("S04", i, "to", row.To.String(), fmt.Sprintf("more than %s, where the band begins", row.From), "")
	case cmp < 0 && row.Direction == Below:
		c.row("S04", i, "to", row.To.String(), fmt.Sprintf("less than %s, where the band begins", row.From), "")
	}
}

func (c *checker) recorded(i int, row *Row, key string, d *trade.Decimal) {
	n, ok := d.Units(2)
	precision := row.Factor.info().precision
	if row.Factor.IsFlag() || precision == 0 {
		return
	}
	if !ok || n%int64(precision) != 0 {
		c.row("S08", i, key, d.String(), fmt.Sprintf("a multiple of %s, the step in which it is recorded", precision), "")
	}
	if magnitude(n) > 10_000_00 {
		c.row("S08", i, key, d.String(), "at most 10,000", "")
	}
}

// steps checks step and step mode: S03.
func (c *checker) steps(i int, row *Row) {
	if row.Direction == Flagged {
		if row.StepMode != "" && row.StepMode != Flat {
			c.row("S07", i, "step_mode", string(row.StepMode), "flat, or nothing, because this is only noted", "")
		}
		return
	}
	if !row.StepMode.Known() {
		c.row("S07", i, "step_mode", string(row.StepMode), "ceil, floor, prorate or flat", "")
		return
	}
	if row.Step == nil {
		if row.StepMode == OrFraction || row.StepMode == EachFull {
			c.row("S03", i, "step", "", "the size of the steps that are counted", "")
		}
		return
	}
	if n, ok := row.Step.Units(2); !ok || n <= 0 || n > 1000_00 {
		c.row("S03", i, "step", row.Step.String(), "more than 0 and at most 1000, at most two decimals", "")
	}
}

// amount checks amount, cap and min: S05.
func (c *checker) amount(i int, row *Row) {
	if row.Amount == nil {
		c.row("S05", i, "amount", "", "how much each step takes", "")
		return
	}
	if row.Amount.Sign() < 0 && row.Kind != PriceRow {
		c.row("S05", i, "amount", row.Amount.String(), "0 or more; only a price row may be negative, a premium", "")
	}
	hundred := trade.NewFraction(100, 1)
	if percent := row.Unit.forWeight() || row.Unit == PctPrice; percent && abs(*row.Amount).Cmp(hundred) > 0 {
		c.row("S05", i, "amount", row.Amount.String(), "at most 100 percent", "")
	}
	if row.Cap != nil && row.Cap.Sign() <= 0 {
		c.row("S05", i, "cap", row.Cap.String(), "more than 0", "")
	}
	if row.Min != nil {
		switch {
		case row.Kind != ChargeRow:
			c.row("S07", i, "min", row.Min.String(), "nothing; only a charge has a least amount, in dollars per load", "")
		case row.Min.Sign() < 0 || row.Cap != nil && row.Min.Cmp(*row.Cap) > 0:
			c.row("S05", i, "min", row.Min.String(), "0 or more, and not over the cap", "")
		}
	}
}

func abs(f trade.Fraction) trade.Fraction {
	if f.Sign() < 0 {
		return trade.NewFraction(-f.Num(), f.Den())
	}
	return f
}

// unit checks that unit, quantity and price unit fit the kind: S07, S10.
func (c *checker) unit(i int, row *Row) {
	perCwt := c.s.PriceUnit == PerCwt
	byPounds := row.Qty == NetLb || row.Qty == AfterPriorLb
	byUnits := row.Qty == NetBu || row.Qty == GrossBu
	switch {
	case !row.Unit.Known():
		c.row("S07", i, "unit", string(row.Unit), "one of pct_weight_per_step, pct_excess, table_pct, pct_price, cents_bu, cents_cwt, dollars_load", "")
	case row.Qty != "" && !row.Qty.Known():
		c.row("S07", i, "qty", string(row.Qty), "one of net_bu, gross_bu, net_lb, after_prior_lb, load", "")
	case row.Kind == WeightRow && !row.Unit.forWeight(), row.Kind != WeightRow && !row.Unit.forMoney():
		c.row("S07", i, "unit", string(row.Unit), unitsFor(row.Kind), "")
	case row.Kind == WeightRow && row.Qty != "" && !byPounds:
		c.row("S07", i, "qty", string(row.Qty), "net_lb or after_prior_lb, of which weight is taken", "")
	case row.Kind == WeightRow && row.Unit == PctExcess && (row.StepMode == Flat || row.Direction == Flagged):
		c.row("S07", i, "step_mode", string(row.StepMode), "ceil, floor or prorate; an excess is counted", "")
	case row.Kind == WeightRow:
	case row.Unit == DollarsPerLoad:
		if row.Qty != "" && row.Qty != PerLoad {
			c.row("S07", i, "qty", string(row.Qty), "load, because the amount is dollars per load", "")
		}
	case row.Qty == "":
		c.row("S07", i, "qty", "", "the quantity the amount is taken of: net_bu or gross_bu", "Ask the buyer.")
	case row.Unit == CentsPerBu && perCwt, row.Unit == CentsPerCwt && !perCwt && byUnits:
		c.row("S10", i, "unit", string(row.Unit), "cents_"+priceUnit(c.s)+", because this schedule is priced per "+priceUnit(c.s), "")
	case row.Unit == CentsPerCwt && (byPounds || byUnits), row.Unit != CentsPerCwt && byUnits:
	default:
		c.row("S07", i, "qty", string(row.Qty), quantitiesFor(row.Unit, c.s), "")
	}
}

func unitsFor(k Kind) string {
	if k == WeightRow {
		return "pct_weight_per_step, pct_excess or table_pct in a weight row"
	}
	return "pct_price, cents_bu, cents_cwt or dollars_load in a " + string(k) + " row"
}

func quantitiesFor(u Unit, s *Schedule) string {
	switch {
	case u == CentsPerCwt && s.PriceUnit != PerCwt:
		return "net_lb or after_prior_lb, of which cents_cwt are taken"
	case u == CentsPerCwt:
		return "net_bu, gross_bu, net_lb or after_prior_lb, of which cents_cwt are taken"
	}
	return "net_bu or gross_bu, of which " + string(u) + " is taken"
}

func priceUnit(s *Schedule) string {
	if s.PriceUnit == "" {
		return string(PerBu)
	}
	return string(s.PriceUnit)
}

func (c *checker) group(i int, row *Row) {
	if g := row.Group; g != "" && g != "sum" && g != "max" && (len(g) < 5 || g[:4] != "max:") {
		c.row("S07", i, "group", g, "sum, max, or max:name where a schedule has several", "")
	}
	for j, other := range c.s.Rows[:i] {
		if other.Kind != row.Kind || other.Factor != row.Factor {
			continue
		}
		if row.Kind == WeightRow && other.Qty != row.Qty {
			c.row("S07", i, "qty", string(row.Qty), fmt.Sprintf("%q as in row %d, a tier of the same factor", other.Qty, c.s.Rows[j].Seq), "")
			return
		}
		if other.Group != row.Group {
			c.row("S07", i, "group", row.Group, fmt.Sprintf("%q as in row %d, a tier of the same factor", other.Group, c.s.Rows[j].Seq), "")
			return
		}
	}
}

func (t *Terms) tooFine(it *item, row *Row) problem.Finding {
	c := &checker{s: &t.schedule}
	i := slices.IndexFunc(c.s.Rows, func(r Row) bool { return r.Seq == row.Seq })
	c.row("S05", i, "amount", row.Amount.String(), "amounts and steps of "+it.factor.Words()+" that share a common part of a millionth or more, to be summed exactly", "Write the amount with fewer digits.")
	return c.out[0]
}

func (t *Terms) tooMuch(row *Row) problem.Finding {
	c := &checker{s: &t.schedule}
	i := slices.IndexFunc(c.s.Rows, func(r Row) bool { return r.Seq == row.Seq })
	c.row("S05", i, "amount", row.Amount.String(), "an amount that adds up to at most ten times the price or $10,000", "Read the schedule again.")
	return c.out[0]
}
