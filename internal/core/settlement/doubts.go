package settlement

import (
	"fmt"
	"slices"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// jumpPct is the share of price or weight that one recorded step of a reading may cost before it is doubted.
const jumpPct = 10

// Doubts returns the rows in cents of which a single recorded step costs more than a tenth of price (S09).
// Everything that can be doubted without a price [Prepare] has reported.
func (t *Terms) Doubts(price *trade.Price) []problem.Finding {
	var out []problem.Finding
	for _, f := range t.curves(price) {
		if i := slices.IndexFunc(t.doubted, func(g problem.Finding) bool { return g.Where == f.Where && g.Want == f.Want }); i < 0 {
			out = append(out, f)
		}
	}
	return out
}

// curves walks every factor over the readings the terms accept and reports, as errors, weight rows that
// leave nothing (S06) and, as warnings, a worse reading that costs less and a single recorded step that
// costs more than a tenth of the price (S09). Rows in cents are measured against price, where one is given.
func (t *Terms) curves(price *trade.Price) []problem.Finding {
	var out []problem.Finding
	for _, items := range [][]item{t.weights, t.prices, t.charges} {
		for i := range items {
			for _, side := range []int64{1, -1} {
				out = append(out, t.walk(&items[i], side, price)...)
			}
		}
	}
	return out
}

// walk takes an item from its thresholds outward on one side.
func (t *Terms) walk(it *item, side int64, price *trade.Price) []problem.Finding {
	first, premium := -1, false
	for i := range it.rules {
		r := &it.rules[i]
		premium = premium || r.coef < 0
		if r.side == side && (first < 0 || (it.rules[first].from-r.from)*side > 0) {
			first = i
		}
	}
	if first < 0 {
		return nil
	}
	w := walker{t: t, it: it, side: side}
	tenth := t.tenth(it, price)
	step := int64(it.factor.info().precision)
	var v values
	v.have = 1 << it.factor
	var before int64
	low, high := it.factor.Range(t.schedule.Crop)
	start := min(max(it.rules[first].from, int64(low)), int64(high)) // readings begin and end somewhere
	for x := start; t.accepts(it.factor, side, x); x += step * side {
		v.x[it.factor] = x
		n := w.oneSide(&v, side)
		if it.class == pctOfWeight && n >= 100*it.den {
			w.add("S06", problem.Error, x, n, "less than the whole weight at every reading that is not refused", "", "Add a reject row, or read the schedule again.")
		}
		if !premium && n < before {
			w.add("S09", problem.Warning, x, n, "at least what a better reading costs",
				fmt.Sprintf("takes %s, less than the %s of a better reading", w.shown(n, x), w.amount(before)), "Read the schedule again.")
		}
		if tenth > 0 && magnitude(n-before) > tenth {
			w.add("S09", problem.Warning, x, n, fmt.Sprintf("a rise of at most %d %% of the price in one recorded step", jumpPct),
				fmt.Sprintf("takes %s, after %s one recorded step before: more than %d %% of the price at once", w.shown(n, x), w.amount(before), jumpPct), "Read the schedule again.")
		}
		before = n
	}
	return w.out
}

// tenth returns what a tenth of the price is over the item's denominator, or 0 where it cannot be known.
func (t *Terms) tenth(it *item, price *trade.Price) int64 {
	switch {
	case it.class == pctOfWeight || it.class == pctOfPrice:
		return jumpPct * it.den
	case it.class == cents && (it.qty == NetBu || it.qty == GrossBu) && price != nil:
		return trade.HalfUp.MulDiv(int64(*price)*jumpPct, it.den, 100_000)
	}
	return 0
}

// accepts reports whether a reading of f is possible, not rejected and not past the last band.
func (t *Terms) accepts(f Factor, side, x int64) bool {
	low, high := f.Range(t.schedule.Crop)
	if x < int64(low) || x > int64(high) || high == 100_00 && x == 100_00 {
		return false
	}
	for i := range t.rejects {
		if r := &t.rejects[i]; r.factor == f && r.side == side && r.hit(x, false) {
			return false
		}
	}
	for i := range t.ends {
		if e := &t.ends[i]; e.factor == f && e.side == side && (x-e.last)*side > 0 {
			return false
		}
	}
	return true
}

// A walker says each thing once per item.
type walker struct {
	t    *Terms
	it   *item
	side int64
	said map[string]bool
	out  []problem.Finding
}

// oneSide returns what the rules of one side take.
func (w *walker) oneSide(v *values, side int64) int64 {
	var sum int64
	for i := range w.it.rules {
		if r := &w.it.rules[i]; r.side == side {
			sum += r.takes(v.x[r.factor], true)
		}
	}
	return sum
}

// at returns the row in whose band x lies, or the last before it.
func (w *walker) at(x int64) int {
	row, from := w.it.rules[0].row, int64(0)
	for i := range w.it.rules {
		r := &w.it.rules[i]
		if r.side == w.side && (x-r.from)*w.side > 0 && (from == 0 || (r.from-from)*w.side >= 0) {
			row, from = r.row, r.from
		}
	}
	return row
}

func (w *walker) amount(n int64) string {
	unit := map[class]string{pctOfWeight: "% of the weight", pctOfPrice: "% of the price", cents: "cents", dollarsFlat: "dollars"}[w.it.class]
	return trade.NewFraction(n, w.it.den).String() + " " + unit
}

func (w *walker) shown(n, x int64) string {
	return fmt.Sprintf("%s at %s %s", w.amount(n), trade.Percent(x), w.it.factor.Unit())
}

// add reports the item at x; say, where given, continues a sentence that begins with the row.
func (w *walker) add(rule string, severity problem.Severity, x, n int64, want, say, next string) {
	if key := rule + want; w.said[key] {
		return
	} else if w.said == nil {
		w.said = map[string]bool{}
	}
	w.said[rule+want] = true
	i := w.at(x)
	e := problem.InputError{Label: w.t.schedule.Rows[i].label(), Got: w.shown(n, x), Want: want}
	f := problem.Finding{
		Rule: rule, Severity: severity, Where: problem.Place{Path: fmt.Sprintf("rows[%d]", i)},
		Label: e.Label, Got: e.Got, Want: e.Want, Say: e.Error(), Next: next,
	}
	if say != "" {
		f.Say = e.Label + " " + say + "."
	}
	w.out = append(w.out, f)
}
