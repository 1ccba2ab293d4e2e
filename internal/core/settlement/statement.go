package settlement

import (
	"errors"
	"fmt"
	"slices"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// A Statement is what a load pays, with a line for every row.
type Statement struct {
	Totals
	Unit        PriceUnit // of the quantities and prices
	Lines       []Line    // weight rows, base price, premium, price rows; their dollars add up to Value
	ChargeLines []Line    // charge rows; their dollars add up to -Charges
	Findings    []problem.Finding
}

// LineKind says what a line stands for.
type LineKind uint8

// The kinds of line.
const (
	OfRow      LineKind = iota // a row of the schedule
	OfBase                     // the base price on the net quantity
	OfPremium                  // the premium on it
	OfRounding                 // what one product on the net price rounds differently from its parts
	OfSetAside                 // a row of a group in which another takes more
)

// A Line explains one row, or a part that no row states. Pounds are those removed; Dollars are what the line
// adds, negative where it takes off.
type Line struct {
	Kind    LineKind
	Row     int // Seq of the schedule's row
	Index   int // of the row in Schedule.Rows; -1 where there is none
	Factor  Factor
	Reading *trade.Percent // as recorded; nil for flags and where no row stands behind the line
	Steps   trade.Fraction
	Rate    string // per step, as printed: the row's amount, or the price
	Pounds  trade.Pounds
	Dollars trade.Amount
	Running trade.Amount // of the dollars so far
	Left    trade.Pounds // of the pounds so far
}

// Settle returns the statement of a load. The error is a *Rejection ([ErrNotAccepted]) or an *Unstated
// ([ErrUnstated]), in which case the statement holds scale weight and gross quantity alone; or, for a ticket or
// price that cannot be used, a *problem.InputError or problem.InputErrors.
func (t *Terms) Settle(l Load, p Prices) (Statement, error) {
	s := Statement{Unit: PerBu}
	if t.schedule.PriceUnit == PerCwt {
		s.Unit = PerCwt
	}
	tr := &trace{}
	if err := t.run(&l, &p, &s.Totals, tr); err != nil {
		scale := Totals{NetLb: l.Net()}
		if errors.Is(err, ErrNotAccepted) || errors.Is(err, ErrUnstated) {
			scale.GrossQty = t.quantity(scale.NetLb)
		}
		return Statement{Totals: scale, Unit: s.Unit}, t.withReading(err, l)
	}
	s.Findings = t.warnings(&l)
	s.Lines, s.ChargeLines = tr.lines, tr.charges
	var running trade.Amount
	for _, lines := range [][]Line{s.Lines, s.ChargeLines} {
		for i := range lines {
			running += lines[i].Dollars
			lines[i].Running = running
		}
	}
	return s, nil
}

// withReading fills the reading into a refusal.
func (t *Terms) withReading(err error, l Load) error {
	var rejection *Rejection
	if errors.As(err, &rejection) {
		with := *rejection
		if x, ok := l.Readings.Of(with.Factor); ok {
			x = with.Factor.Recorded(x)
			with.Reading = &x
		}
		return &with
	}
	var silent *Unstated
	if errors.As(err, &silent) {
		for _, e := range t.ends {
			if e.err == silent {
				x, _ := l.Readings.Of(e.factor)
				return silent.at(e.factor.Recorded(x))
			}
		}
	}
	return err
}

func (t *Terms) warnings(l *Load) []problem.Finding {
	v := recorded(l)
	var out []problem.Finding
	for i := range t.warns {
		r := &t.warns[i]
		if !r.hit(v.x[r.factor], v.noted(r.factor)) {
			continue
		}
		row := t.schedule.Rows[r.row]
		f := problem.Finding{Rule: "schedule.warn", Severity: problem.Warning, Label: row.Factor.Words(), Say: row.Text}
		if x, ok := l.Readings.Of(row.Factor); ok {
			f.Got = row.Factor.Recorded(x).String()
		}
		if f.Say == "" {
			f.Say = fmt.Sprintf("The buyer warns of %s here (row %d).", row.Factor.Words(), row.Seq)
		}
		f.Next = "Ask the buyer before hauling more of it."
		out = append(out, f)
	}
	return out
}

// A trace keeps the lines of one evaluation. The nil trace keeps nothing.
type trace struct {
	lines   []Line
	charges []Line
}

// line returns the line of rule r at v.
func (t *Terms) line(r *rule, v *values) Line {
	row := &t.schedule.Rows[r.row]
	l := Line{Row: row.Seq, Index: r.row, Factor: r.factor, Rate: row.rate(), Steps: r.steps(v.x[r.factor], v.noted(r.factor))}
	if !r.factor.IsFlag() {
		x := trade.Percent(v.x[r.factor])
		l.Reading = &x
	}
	return l
}

// rate returns the amount as the buyer prints it.
func (r *Row) rate() string {
	if r.Printed != "" {
		return r.Printed
	}
	return r.Amount.String()
}

// weight keeps the rows of a weight item; their pounds are differences of the rounded running sum.
func (tr *trace) weight(t *Terms, it *item, v *values, sum *Totals) {
	if tr == nil {
		return
	}
	var n int64
	var before trade.Pounds
	for i := range it.rules {
		r := &it.rules[i]
		l := t.line(r, v)
		n += r.takes(v.x[r.factor], v.noted(r.factor))
		after := it.pounds(n, sum)
		l.Pounds, before = after-before, after
		l.Left = sum.SettledLb - after
		tr.lines = append(tr.lines, l)
	}
}

// money returns the lines of a price or charge item, their dollars differences of the rounded running sum.
func (tr *trace) money(t *Terms, it *item, v *values, p *Prices, sum *Totals) []Line {
	var n int64
	var before trade.Amount
	lines := make([]Line, len(it.rules))
	for i := range it.rules {
		r := &it.rules[i]
		lines[i] = t.line(r, v)
		n += r.takes(v.x[r.factor], v.noted(r.factor))
		after := it.dollars(n, p, t, sum)
		lines[i].Dollars, before = before-after, after
		lines[i].Left = sum.SettledLb
	}
	return lines
}

func (tr *trace) price(t *Terms, it *item, v *values, p *Prices, sum *Totals) {
	if tr != nil {
		tr.lines = append(tr.lines, tr.money(t, it, v, p, sum)...)
	}
}

func (tr *trace) charge(t *Terms, it *item, v *values, p *Prices, sum *Totals) {
	if tr != nil {
		tr.charges = append(tr.charges, tr.money(t, it, v, p, sum)...)
	}
}

// idle keeps the rows of an item that another of its group outdoes.
func (tr *trace) idle(t *Terms, it *item, v *values, sum *Totals) {
	if tr == nil {
		return
	}
	for i := range it.rules {
		l := t.line(&it.rules[i], v)
		l.Kind, l.Left = OfSetAside, sum.SettledLb
		if it.kind == ChargeRow {
			tr.charges = append(tr.charges, l)
		} else {
			tr.lines = append(tr.lines, l)
		}
	}
}

func (tr *trace) base(p *Prices, sum *Totals) {
	if tr == nil {
		return
	}
	one := trade.NewFraction(1, 1)
	tr.lines = append(tr.lines, Line{Kind: OfBase, Index: -1, Steps: one, Rate: p.Cash.Fixed(), Dollars: p.Cash.Times(sum.NetQty, trade.HalfUp), Left: sum.SettledLb})
	if p.Premium != 0 {
		tr.lines = append(tr.lines, Line{Kind: OfPremium, Index: -1, Steps: one, Rate: p.Premium.Fixed(), Dollars: p.Premium.Times(sum.NetQty, trade.HalfUp), Left: sum.SettledLb})
	}
}

// rounding keeps what the lines leave over against the value of the one product.
func (tr *trace) rounding(sum *Totals) {
	if tr == nil {
		return
	}
	left := sum.Value
	for _, l := range tr.lines {
		left -= l.Dollars
	}
	if left != 0 {
		tr.lines = append(slices.Clip(tr.lines), Line{Kind: OfRounding, Index: -1, Steps: trade.NewFraction(1, 1), Rate: left.String(), Dollars: left, Left: sum.SettledLb})
	}
}
