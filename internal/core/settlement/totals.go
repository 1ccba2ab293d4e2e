package settlement

import (
	"math/bits"

	"threshday/internal/core/trade"
)

// Prices are what a bushel (or hundredweight) is worth before quality.
type Prices struct {
	Cash    trade.Price
	Premium trade.Price  // of a window or grade; 0: none
	Futures *trade.Price // needed where percentages are taken of the futures price
}

// Totals are the figures of a settlement without its lines.
type Totals struct {
	NetLb     trade.Pounds // scale weight
	SettledLb trade.Pounds // after weight rows
	GrossQty  trade.Bushels
	NetQty    trade.Bushels
	PerUnit   trade.Price // premium in, price rows on net quantity out; rounded to 4 decimals
	Value     trade.Amount
	Checkoff  trade.Amount
	Charges   trade.Amount
	Net       trade.Amount // value less checkoff less charges
}

// Net returns what the load pays in cents, exactly as [Terms.Settle] prints it, without allocating.
// Errors are those of [Terms.Totals].
func (t *Terms) Net(l Load, p Prices) (trade.Amount, error) {
	var sum Totals
	err := t.run(&l, &p, &sum, nil)
	return sum.Net, err
}

// Totals returns the figures of [Terms.Settle] without its lines, without allocating. The error is a
// *Rejection or *Unstated whose reading is left blank; or, for a ticket or price that cannot be used, a
// *problem.InputError or problem.InputErrors.
func (t *Terms) Totals(l Load, p Prices) (Totals, error) {
	var sum Totals
	err := t.run(&l, &p, &sum, nil)
	return sum, err
}

// run evaluates the load: reject rows, weight rows in sequence, quantities, price rows, checkoff, charges.
// With a trace it also keeps a line for every row.
func (t *Terms) run(l *Load, p *Prices, sum *Totals, tr *trace) error {
	if err := t.check(l, p); err != nil {
		return err
	}
	v := recorded(l)
	if err := t.refuse(&v); err != nil {
		return err
	}
	sum.NetLb = l.Net()
	sum.SettledLb = sum.NetLb
	for i := range t.weights {
		if it := &t.weights[i]; it.group == 0 || t.counts(t.weights, i, &v, sum, p) {
			lb := it.pounds(it.takes(&v), sum)
			tr.weight(t, it, &v, sum)
			sum.SettledLb -= lb
		} else {
			tr.idle(t, it, &v, sum)
		}
	}
	sum.GrossQty = t.quantity(sum.NetLb)
	sum.NetQty = t.quantity(sum.SettledLb)
	if sum.SettledLb <= 0 || sum.NetQty <= 0 {
		return nothingLeft(sum.NetLb, sum.SettledLb)
	}
	t.value(&v, p, sum, tr)
	for i := range t.charges {
		if it := &t.charges[i]; it.group == 0 || t.counts(t.charges, i, &v, sum, p) {
			sum.Charges += it.dollars(it.takes(&v), p, t, sum)
			tr.charge(t, it, &v, p, sum)
		} else {
			tr.idle(t, it, &v, sum)
		}
	}
	sum.Checkoff = t.checkoff(p, sum)
	sum.Net = sum.Value - sum.Checkoff - sum.Charges
	return nil
}

func recorded(l *Load) values {
	v := values{have: l.Readings.have}
	for have := v.have & (1<<OdourMusty - 1); have != 0; have &= have - 1 {
		f := Factor(bits.TrailingZeros64(have)) //nolint:gosec // at most 63
		v.x[f] = int64(f.Recorded(trade.Percent(l.Readings.x[f])))
	}
	return v
}

// refuse returns the first reject row that x falls under, or the first factor whose bands x leaves behind.
func (t *Terms) refuse(v *values) error {
	for i := range t.rejects {
		if r := &t.rejects[i]; r.hit(v.x[r.factor], v.noted(r.factor)) {
			return t.rejections[i]
		}
	}
	for i := range t.ends {
		if e := &t.ends[i]; (v.x[e.factor]-e.last)*e.side > 0 {
			return e.err
		}
	}
	return nil
}

// counts reports whether item i is the one that counts in its group: the largest, the first of equals.
func (t *Terms) counts(items []item, i int, v *values, sum *Totals, p *Prices) bool {
	mine := t.size(&items[i], v, sum, p)
	for j := range items {
		if items[j].group != items[i].group || j == i {
			continue
		}
		if other := t.size(&items[j], v, sum, p); other > mine || other == mine && j < i {
			return false
		}
	}
	return true
}

// size returns what the item takes from this load, to compare within a group: pounds of the scale weight in
// thousandths, or cents.
func (t *Terms) size(it *item, v *values, sum *Totals, p *Prices) int64 {
	n := it.takes(v)
	if it.kind == WeightRow {
		return trade.HalfUp.MulDiv(int64(sum.NetLb), n*10, it.den)
	}
	return int64(it.dollars(n, p, t, sum))
}

// pounds returns n of a weight item in whole pounds.
func (it *item) pounds(n int64, sum *Totals) trade.Pounds {
	of := sum.SettledLb
	if it.additive {
		of = sum.NetLb
	}
	if n == 0 {
		return 0
	}
	return trade.Pounds(trade.HalfUp.MulDiv(int64(of), n, it.den*100))
}

// quantity returns pounds in bushels or hundredweight, to the printed decimals.
func (t *Terms) quantity(w trade.Pounds) trade.Bushels {
	n := trade.HalfUp.MulDiv(int64(w), 1000/t.qtyStep*100, t.unitPounds)
	return trade.Bushels(n * t.qtyStep)
}

// pctBase returns the price that percentages are taken of.
func (t *Terms) pctBase(p *Prices) trade.Price {
	switch t.schedule.PctBase {
	case CashWithPremium:
		return p.Cash + p.Premium
	case FuturesPrice:
		return *p.Futures // its presence was checked
	case CashNoPremium:
	}
	return p.Cash
}

// perUnit returns n of a percent-of-price item in dollars per unit, to 4 decimals.
func (it *item) perUnit(n int64, base trade.Price) int64 {
	if n == 0 {
		return 0
	}
	return trade.HalfUp.MulDiv(int64(base), n, it.den*1000) * 10
}

// dollars returns n of a price or charge item as the amount it takes from the load.
func (it *item) dollars(n int64, p *Prices, t *Terms, sum *Totals) trade.Amount {
	if n == 0 {
		return 0
	}
	var a int64
	switch it.class {
	case pctOfPrice:
		a = trade.HalfUp.MulDiv(it.quantity(sum), it.perUnit(n, t.pctBase(p)), 1_000_000)
	case cents:
		a = trade.HalfUp.MulDiv(it.quantity(sum), n, it.den*1000)
	case dollarsFlat:
		a = trade.HalfUp.MulDiv(n, 100, it.den)
	case pctOfWeight:
	}
	return max(it.least, min(trade.Amount(a), it.most))
}

// quantity returns thousandths of the unit the item is charged on.
func (it *item) quantity(sum *Totals) int64 {
	switch it.qty {
	case GrossBu:
		return int64(sum.GrossQty)
	case NetLb:
		return int64(sum.NetLb) * 10 // hundredweight
	case AfterPriorLb:
		return int64(sum.SettledLb) * 10
	case NetBu, PerLoad:
	}
	return int64(sum.NetQty)
}

// value works out price rows and what the grain is worth before checkoff and charges.
func (t *Terms) value(v *values, p *Prices, sum *Totals, tr *trace) {
	tr.base(p, sum)
	net := int64(p.Cash + p.Premium) // 1e-5 dollar
	folded := int64(0)               // cents over foldedDen
	var apart trade.Amount           // what stands as an amount of its own
	for i := range t.prices {
		it := &t.prices[i]
		if it.group != 0 && !t.counts(t.prices, i, v, sum, p) {
			tr.idle(t, it, v, sum)
			continue
		}
		n := it.takes(v)
		tr.price(t, it, v, p, sum)
		switch {
		case !it.folded():
			apart += it.dollars(n, p, t, sum)
			continue
		case it.class == pctOfPrice:
			net -= it.perUnit(n, t.pctBase(p))
		default:
			folded += n * (t.foldedDen / it.den)
		}
		if t.schedule.Style == LineItem {
			apart += it.dollars(n, p, t, sum)
		}
	}
	exact := net*t.foldedDen - folded*1000
	sum.PerUnit = trade.Price(trade.HalfUp.Div(exact, t.foldedDen*10) * 10)
	if t.schedule.Style == LineItem {
		sum.Value = p.Cash.Times(sum.NetQty, trade.HalfUp) + p.Premium.Times(sum.NetQty, trade.HalfUp) - apart
		return
	}
	sum.Value = trade.Amount(trade.HalfUp.MulDiv(int64(sum.NetQty), exact, t.foldedDen*1_000_000)) - apart
	tr.rounding(sum)
}

func (t *Terms) checkoff(p *Prices, sum *Totals) trade.Amount {
	c := t.schedule.Checkoff
	if c == nil {
		return 0
	}
	if c.Kind == CheckoffCents {
		return trade.Amount(trade.HalfUp.MulDiv(int64(sum.NetQty), c.Rate.Num(), c.Rate.Den()*1000))
	}
	of := sum.Value
	switch c.Base {
	case BeforeQuality:
		of = (p.Cash + p.Premium).Times(sum.NetQty, trade.HalfUp)
	case AfterCharges:
		of -= sum.Charges
	case AfterQuality:
	}
	return trade.Amount(trade.HalfUp.MulDiv(int64(of), c.Rate.Num(), c.Rate.Den()*100))
}
