package settlement

import (
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/trade"
)

// A reading of the terms that a buyer may have followed instead of ours.
type change struct {
	Change
	slot  string // changes of one slot exclude one another
	apply func(*scenario)
}

// A scenario is what is settled; its rows are its own.
type scenario struct {
	s Schedule
	l Load
	p Prices
}

// A Change names one way in which a sheet departs from the terms.
type Change struct {
	Rule   string // "deduct_basis", "steps"
	Detail string // one sentence
}

// changes lists every reading that can matter to this load, the likelier first.
func changes(in *AuditInput) []change {
	var out []change
	add := func(rule, slot, detail string, apply func(*scenario)) {
		out = append(out, change{Change{rule, detail}, slot, apply})
	}
	profileChanges(in, add)
	for _, part := range parts(in.Schedule.Rows) {
		partChanges(in, part, add)
	}
	valueChanges(in, add)
	return out
}

type adder func(rule, slot, detail string, apply func(*scenario))

// profileChanges varies what stands beside the rows.
func profileChanges(in *AuditInput, add adder) {
	s := &in.Schedule
	other := map[Style]Style{NetPrice: LineItem, LineItem: NetPrice}[s.Style]
	add("style", "style", fmt.Sprintf("rounded in %s style; the schedule says %s", other, s.Style), func(c *scenario) { c.s.Style = other })
	if basis := map[DeductBasis]DeductBasis{Sequential: Additive, Additive: Sequential}[s.DeductBasis]; basis != "" {
		add("deduct_basis", "deduct_basis", fmt.Sprintf("weight deductions taken %s; the schedule says %s", basis, s.DeductBasis),
			func(c *scenario) { c.s.DeductBasis = basis })
	}
	for _, base := range []PctBase{CashNoPremium, CashWithPremium, FuturesPrice} {
		if base == s.PctBase || s.PctBase == "" || base == FuturesPrice && in.Prices.Futures == nil {
			continue
		}
		add("pct_base", "pct_base", fmt.Sprintf("percentages taken of %s; the schedule says %s", base, s.PctBase), func(c *scenario) { c.s.PctBase = base })
	}
	for places := range 4 {
		if places != *s.BuDecimals {
			add("bu_decimals", "bu_decimals", fmt.Sprintf("quantities kept to %d decimals; the schedule says %d", places, *s.BuDecimals),
				func(c *scenario) { c.s.BuDecimals = &places })
		}
	}
	checkoffChanges(s, add)
	for _, version := range in.Others {
		add("schedule", "schedule", fmt.Sprintf("settled under schedule %q, in force %s", version.ID, span(&version)), func(c *scenario) {
			c.s = version
			c.s.Rows = slices.Clone(version.Rows)
			c.s.ValidFrom, c.s.ValidTo = nil, nil
		})
	}
}

func checkoffChanges(s *Schedule, add adder) {
	if s.Checkoff == nil {
		return
	}
	swap := func(change func(*Checkoff)) func(*scenario) {
		return func(c *scenario) {
			if c.s.Checkoff != nil {
				off := *c.s.Checkoff
				change(&off)
				c.s.Checkoff = &off
			}
		}
	}
	if s.Checkoff.Kind == CheckoffPercent {
		for _, base := range []CheckoffBase{BeforeQuality, AfterCharges, AfterQuality} {
			if base != s.Checkoff.Base && (base != AfterQuality || s.Checkoff.Base != "") {
				add("checkoff_base", "checkoff", "checkoff taken of the value "+strings.ReplaceAll(string(base), "_", " "), swap(func(off *Checkoff) { off.Base = base }))
			}
		}
	}
	add("checkoff", "checkoff", "checkoff taken twice", swap(func(off *Checkoff) { off.Rate = scaled(off.Rate, 2) }))
	add("checkoff", "checkoff", "no checkoff taken", swap(func(off *Checkoff) { off.Rate = trade.Fraction{} }))
}

// A part is the rows of one factor and kind.
type part struct {
	factor Factor
	kind   Kind
}

func (p part) has(r *Row) bool { return r.Factor == p.factor && r.Kind == p.kind }

func (p part) words() string {
	switch p.kind {
	case WeightRow:
		return p.factor.Words() + " deduction"
	case ChargeRow:
		return p.factor.Words() + " charge"
	default:
		return p.factor.Words() + " discount or premium"
	}
}

func parts(rows []Row) []part {
	var out []part
	for _, r := range rows {
		if p := (part{r.Factor, r.Kind}); r.Kind != RejectRow && r.Kind != WarnRow && !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	return out
}

// each returns a change of every row of the part.
func (p part) each(change func(*Row)) func(*scenario) {
	return func(c *scenario) {
		for i := range c.s.Rows {
			if p.has(&c.s.Rows[i]) {
				change(&c.s.Rows[i])
			}
		}
	}
}

// partChanges varies how one factor is read.
func partChanges(in *AuditInput, p part, add adder) {
	slot := string(p.kind) + " " + p.factor.String()
	some := func(is func(*Row) bool) bool {
		return slices.ContainsFunc(in.Schedule.Rows, func(r Row) bool { return p.has(&r) && is(&r) })
	}
	mode := func(m StepMode) func(*Row) bool {
		return func(r *Row) bool { return r.StepMode == m && r.Direction != Flagged }
	}
	to := func(from, to StepMode) func(*Row) {
		return func(r *Row) {
			if r.StepMode == from && r.Direction != Flagged {
				r.StepMode = to
				if r.Step == nil {
					r.Step = decimalOf("1")
				}
			}
		}
	}
	rule := "discount_qty"
	if p.kind == ChargeRow {
		rule = "drying_qty"
	}
	if some(func(r *Row) bool { return r.Qty == NetBu }) {
		add(rule, slot+" qty", p.words()+" taken on gross instead of net "+priceUnit(&in.Schedule), p.each(func(r *Row) { swapQty(r, NetBu, GrossBu) }))
	} else if some(func(r *Row) bool { return r.Qty == GrossBu }) {
		add(rule, slot+" qty", p.words()+" taken on net instead of gross "+priceUnit(&in.Schedule), p.each(func(r *Row) { swapQty(r, GrossBu, NetBu) }))
	}
	if some(mode(OrFraction)) {
		add("steps", slot, p.words()+": full steps only, a started step not counted", p.each(to(OrFraction, EachFull)))
		add("steps", slot, p.words()+": prorated instead of each step or fraction", p.each(to(OrFraction, Prorated)))
	}
	if some(mode(EachFull)) {
		add("steps", slot, p.words()+": a started step counted as a full one", p.each(to(EachFull, OrFraction)))
	}
	if some(mode(Prorated)) {
		add("steps", slot, p.words()+": each step or fraction instead of prorated", p.each(to(Prorated, OrFraction)))
	}
	if counted := func(r *Row) bool { return mode(OrFraction)(r) || mode(EachFull)(r) }; some(counted) {
		add("steps", slot, p.words()+": steps twice as large, a point where the schedule says half a point", p.each(func(r *Row) { scaleStep(r, 2, 1) }))
		add("steps", slot, p.words()+": steps half as large, half a point where the schedule says a point", p.each(func(r *Row) { scaleStep(r, 1, 2) }))
		add("steps", slot, p.words()+": the threshold itself charged", p.each(func(r *Row) { shift(r, r.Factor.info().precision) }))
		shiftLast(in, p, slot, add)
	}
	if some(func(r *Row) bool { return r.Unit == PctExcess && r.From.Sign() > 0 && r.Direction == Above }) {
		add("free_band", slot, p.words()+": the free part deducted too", p.each(func(r *Row) {
			if r.Unit == PctExcess && r.Direction == Above {
				r.From = decimalOf("0")
			}
		}))
	}
	add("not_charged", slot, p.words()+" not taken", p.each(func(r *Row) { r.Amount = new(trade.Fraction) }))
	add("charged_twice", slot, p.words()+" taken twice", p.each(func(r *Row) { r.Amount = new(scaled(*r.Amount, 2)) }))
}

func swapQty(r *Row, from, to Qty) {
	if r.Qty == from {
		r.Qty = to
	}
}

// shiftLast counts one step too many, or one too few, in the tier the reading stands in.
func shiftLast(in *AuditInput, p part, slot string, add adder) {
	x, ok := in.Load.Readings.Of(p.factor)
	if !ok {
		return
	}
	at := -1
	for i := range in.Schedule.Rows {
		row := &in.Schedule.Rows[i]
		if r := bare(i, row); p.has(row) && r.side != 0 && r.mode != Flat && r.mode != Prorated && r.count(int64(p.factor.Recorded(x)), false) > 0 {
			at = row.Seq
		}
	}
	by := func(n trade.Percent) func(*scenario) {
		return p.each(func(r *Row) {
			if r.Seq == at {
				step, _ := r.Step.Units(2)
				shift(r, n*trade.Percent(step))
			}
		})
	}
	add("steps", slot, p.words()+": one step too many", by(1))
	add("steps", slot, p.words()+": one step too few", by(-1))
}

// shift moves the threshold of a counted row so that by more is counted.
func shift(r *Row, by trade.Percent) {
	if r.Direction == Flagged || r.StepMode == Flat || r.StepMode == Prorated {
		return
	}
	from, _ := r.From.Units(2)
	if r.Direction == Below {
		by = -by
	}
	r.From = new(trade.NewDecimal(from-int64(by), 2))
}

func scaleStep(r *Row, num, den int64) {
	if r.Direction == Flagged || r.Step == nil {
		return
	}
	if step, _ := r.Step.Units(2); step*num%den == 0 {
		r.Step = new(trade.NewDecimal(step*num/den, 2))
	}
}

func scaled(f trade.Fraction, n int64) trade.Fraction { return trade.NewFraction(f.Num()*n, f.Den()) }

// valueChanges varies weights and prices.
func valueChanges(in *AuditInput, add adder) {
	if in.Prices.Premium != 0 {
		add("premium", "premium", fmt.Sprintf("premium of $%s not paid", in.Prices.Premium.Fixed()), func(c *scenario) { c.p.Premium = 0 })
	}
	if w, ok := in.Load.Readings.Of(TestWeight); ok && in.Schedule.PriceUnit != PerCwt {
		add("lb_per_bu", "lb_per_bu", fmt.Sprintf("bushels of %s lb, the test weight, instead of %s lb", w, in.Schedule.LbPerBu),
			func(c *scenario) { c.s.LbPerBu = new(trade.NewDecimal(int64(w), 2)) })
	}
	if lb := in.Sheet.NetLb; lb != nil && *lb != in.Load.Net() && *lb > 0 {
		add("net_weight", "net_weight", fmt.Sprintf("settled on %s lb; gross less tare on the ticket is %s lb", lb, in.Load.Net()),
			func(c *scenario) { c.l.Gross = c.l.Tare + *lb })
	}
}
