package settlement

import (
	"slices"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// Terms are a schedule made ready to settle: checked, compiled to integers. Terms do not change and may be
// used by several goroutines.
type Terms struct {
	schedule   Schedule
	needs      uint64 // factors a row asks for, a bit each
	rejects    []rule
	warns      []rule
	ends       []end
	weights    []item
	prices     []item
	charges    []item
	foldedDen  int64 // common denominator of the cents that go into the net price
	unitPounds int64 // hundredths of a pound in a bushel or hundredweight
	qtyStep    int64 // thousandths in the last printed decimal of a quantity
	rejections []*Rejection
	doubted    []problem.Finding // by the curves alone, without a price
}

// An end is where a schedule stops saying what a factor costs.
type end struct {
	factor Factor
	side   int64
	last   int64
	err    *Unstated
}

// The bounds that keep every product within 128 bits and every sum within 64.
const (
	maxRows        = 200
	maxDenominator = 1_000_000
	maxPctSum      = 1_000     // percent, of one factor
	maxCentsSum    = 1_000_000 // cents or dollars, of one factor
	maxPrice       = trade.Price(10_000_00000)
	maxPounds      = trade.Pounds(10_000_000)
)

// Prepare checks a schedule and compiles it. The findings are all there are, errors and warnings, in the
// order of the rows; with any error among them Terms is nil and err is problem.InputErrors with one error
// for each.
func Prepare(s Schedule) (*Terms, []problem.Finding, error) {
	findings := checkRows(s)
	findings = append(findings, checkBands(s)...)
	if err := refused(findings); err != nil {
		return nil, findings, err
	}
	t := &Terms{schedule: s, foldedDen: 1}
	t.schedule.Rows = slices.Clone(s.Rows)
	findings = append(findings, t.compile()...)
	if err := refused(findings); err != nil {
		return nil, findings, err
	}
	t.doubted = t.curves(nil)
	findings = append(findings, t.doubted...)
	if err := refused(findings); err != nil {
		return nil, findings, err
	}
	return t, findings, nil
}

// Schedule returns the schedule the terms were made from.
func (t *Terms) Schedule() Schedule {
	s := t.schedule
	s.Rows = slices.Clone(s.Rows)
	return s
}

// Needs returns the measured factors a ticket must carry to be settled.
func (t *Terms) Needs() []Factor {
	var out []Factor
	for f := Moisture; f < OdourMusty; f++ {
		if t.needs>>f&1 == 1 {
			out = append(out, f)
		}
	}
	return out
}

func refused(findings []problem.Finding) error {
	var errs problem.InputErrors
	for _, f := range findings {
		if f.Severity == problem.Error {
			errs = append(errs, &problem.InputError{Rule: f.Rule, Label: f.Label, Got: f.Got, Want: f.Want, Where: f.Where, Next: f.Next})
		}
	}
	return errs.Or()
}

// compile fills t from its schedule, whose rows are known to be sound one by one.
func (t *Terms) compile() []problem.Finding {
	s := &t.schedule
	t.qtyStep = []int64{1000, 100, 10, 1}[*s.BuDecimals]
	t.unitPounds = 100_00
	if s.PriceUnit != PerCwt {
		t.unitPounds, _ = s.LbPerBu.Units(2)
	}
	order := make([]int, len(s.Rows))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return s.Rows[a].Seq - s.Rows[b].Seq })
	groups := map[string]int{}
	for _, i := range order {
		row := &s.Rows[i]
		if !row.Factor.IsFlag() {
			t.needs |= 1 << row.Factor
		}
		r := bare(i, row)
		switch row.Kind {
		case RejectRow:
			t.rejects = append(t.rejects, r)
			t.rejections = append(t.rejections, &Rejection{Row: row.Seq, Factor: row.Factor, Limit: row.From, Direction: row.Direction, Text: row.Text})
		case WarnRow:
			t.warns = append(t.warns, r)
		case WeightRow:
			t.weights = appendRule(t.weights, t.key(row, groups), r)
		case PriceRow:
			t.prices = appendRule(t.prices, t.key(row, groups), r)
		case ChargeRow:
			t.charges = appendRule(t.charges, t.key(row, groups), r)
		}
	}
	t.ends = t.lastBands()
	var findings []problem.Finding
	for _, items := range [][]item{t.weights, t.prices, t.charges} {
		for i := range items {
			findings = append(findings, t.scale(&items[i])...)
		}
	}
	return append(findings, t.shareFolded()...)
}

// bare returns the rule of a row without its amount.
func bare(i int, row *Row) rule {
	r := rule{row: i, factor: row.Factor, mode: row.StepMode, width: open, limit: open, step: 100}
	if row.Direction == Flagged {
		r.mode = Flat
		return r
	}
	r.side = 1
	if row.Direction == Below {
		r.side = -1
	}
	r.from, _ = row.From.Units(2)
	if row.To != nil {
		to, _ := row.To.Units(2)
		r.width = (to - r.from) * r.side
	}
	if row.Step != nil {
		r.step, _ = row.Step.Units(2)
	}
	return r
}

// key returns an empty item for the row: rows with equal keys are tiers of one another.
func (t *Terms) key(row *Row, groups map[string]int) item {
	it := item{kind: row.Kind, factor: row.Factor, qty: row.Qty}
	switch row.Unit {
	case PctWeightPerStep, PctExcess, TablePct:
		it.class = pctOfWeight
		it.additive = row.Qty == NetLb || row.Qty == "" && t.schedule.DeductBasis == Additive
		it.qty = ""
	case PctPrice:
		it.class = pctOfPrice
	case CentsPerBu, CentsPerCwt:
		it.class = cents
	case DollarsPerLoad:
		it.class, it.qty = dollarsFlat, PerLoad
	}
	if name := row.Group; name != "" && name != "sum" {
		name = string(row.Kind) + " " + name
		if groups[name] == 0 {
			groups[name] = len(groups) + 1
		}
		it.group = groups[name]
	}
	it.most, it.least = trade.Amount(open), -trade.Amount(open)
	if row.Kind == ChargeRow && (row.Cap != nil || row.Min != nil) {
		it.single = true
		if row.Cap != nil {
			it.most = toCents(*row.Cap)
		}
		if row.Min != nil {
			it.least = toCents(*row.Min)
		}
	}
	return it
}

func toCents(dollars trade.Fraction) trade.Amount {
	return trade.Amount(trade.HalfUp.MulDiv(dollars.Num(), 100, dollars.Den()))
}

func appendRule(items []item, key item, r rule) []item {
	for i := range items {
		it := &items[i]
		if it.factor == key.factor && it.class == key.class && it.qty == key.qty && it.group == key.group &&
			it.additive == key.additive && !it.single && !key.single {
			it.rules = append(it.rules, r)
			return items
		}
	}
	key.rules = []rule{r}
	return append(items, key)
}

// scale gives an item its denominator and its rules their coefficients.
func (t *Terms) scale(it *item) []problem.Finding {
	it.den = 1
	rates := make([]trade.Fraction, len(it.rules))
	for i := range it.rules {
		row := &t.schedule.Rows[it.rules[i].row]
		rates[i] = perCount(row, &it.rules[i])
		it.den = lcm(it.den, rates[i].Den())
		if row.Cap != nil && !it.single {
			it.den = lcm(it.den, row.Cap.Den())
		}
		if it.den > maxDenominator {
			return []problem.Finding{t.tooFine(it, row)}
		}
	}
	bound := int64(maxPctSum)
	if it.class == cents || it.class == dollarsFlat {
		bound = maxCentsSum
	}
	for i := range it.rules {
		r := &it.rules[i]
		row := &t.schedule.Rows[r.row]
		// The largest product: a billion above the line of a rate times a million hundredths fits.
		if magnitude(rates[i].Num()) > 1e9 {
			return []problem.Finding{t.tooFine(it, row)}
		}
		r.coef = rates[i].Num() * (it.den / rates[i].Den())
		if row.Cap != nil && !it.single {
			r.limit = row.Cap.Num() * (it.den / row.Cap.Den())
		}
		if most := t.mostCounted(r); r.coef != 0 && most > bound*it.den/magnitude(r.coef) {
			return []problem.Finding{t.tooMuch(row)}
		}
	}
	return nil
}

// perCount returns what one unit of [rule.count] takes.
func perCount(row *Row, r *rule) trade.Fraction {
	a := *row.Amount
	num, den := a.Num(), a.Den()
	switch {
	case r.side == 0 || r.mode == Flat:
	case row.Unit == PctExcess && r.mode == Prorated:
		den *= 100 // the excess itself, counted in hundredths
	case row.Unit == PctExcess:
		num, den = num*r.step, den*100
	case r.mode == Prorated:
		den *= r.step
	}
	return trade.NewFraction(num, den)
}

// mostCounted returns the largest count a reading in the factor's physical range can give.
func (t *Terms) mostCounted(r *rule) int64 {
	low, high := r.factor.Range(t.schedule.Crop)
	return max(r.count(int64(low), true), r.count(int64(high), true), r.count(r.from+r.side, true))
}

// shareFolded puts the cents that go into the net price over one denominator.
func (t *Terms) shareFolded() []problem.Finding {
	for i := range t.prices {
		it := &t.prices[i]
		if it.folded() && it.class == cents {
			t.foldedDen = lcm(t.foldedDen, it.den)
		}
		if t.foldedDen > maxDenominator {
			return []problem.Finding{t.tooFine(it, &t.schedule.Rows[it.rules[0].row])}
		}
	}
	return nil
}

// folded reports whether the item goes into the net price rather than standing as an amount.
func (it *item) folded() bool { return it.kind == PriceRow && it.qty == NetBu }

// lastBands finds, for each factor and side, where the last paid or rejected band ends.
func (t *Terms) lastBands() []end {
	var out []end
	for i := range t.schedule.Rows {
		row := &t.schedule.Rows[i]
		if row.Kind == WarnRow || row.Direction == Flagged {
			continue
		}
		r := bare(i, row)
		at := slices.IndexFunc(out, func(e end) bool { return e.factor == r.factor && e.side == r.side })
		if at < 0 {
			out = append(out, end{factor: r.factor, side: r.side, last: r.from})
			at = len(out) - 1
		}
		switch e := &out[at]; {
		case r.width == open && row.Kind != RejectRow:
			e.last = open
		case row.Kind != RejectRow && e.last != open:
			e.last = farther(r.side, e.last, r.from+r.width*r.side)
		}
	}
	out = slices.DeleteFunc(out, func(e end) bool { return e.last == open || !t.paid(e) })
	for i := range out {
		out[i].err = unstated(out[i])
	}
	return out
}

// paid reports whether a weight, price or charge row speaks of the factor on that side.
func (t *Terms) paid(e end) bool {
	for i := range t.schedule.Rows {
		row := &t.schedule.Rows[i]
		if r := bare(i, row); row.Kind != RejectRow && row.Kind != WarnRow && row.Direction != Flagged && r.factor == e.factor && r.side == e.side {
			return true
		}
	}
	return false
}

func farther(side, a, b int64) int64 {
	if (b-a)*side > 0 {
		return b
	}
	return a
}

func lcm(a, b int64) int64 {
	x, y := a, b
	for y != 0 {
		x, y = y, x%y
	}
	return a / x * b
}

func magnitude(n int64) int64 { return max(n, -n) }
