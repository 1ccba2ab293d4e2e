package settlement

import (
	"slices"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// AuditInput is a load, the terms it should have been settled under, and the buyer's sheet.
type AuditInput struct {
	Schedule Schedule
	Load     Load
	Prices   Prices
	Sheet    Sheet
	Others   []Schedule // neighbouring versions of the schedule that may have been used by mistake
	// Rounding is the largest difference of a load's money that is put down to rounding where nothing else
	// explains it; nil: five cents. [judgement]
	Rounding *trade.Amount
}

// roundingDefault is five cents a load. [judgement]
const roundingDefault trade.Amount = 5

// maxChanges is how many departures from the terms are tried together.
const maxChanges = 3

// An AuditResult says whether a sheet follows the terms, and if not, how it departs from them.
type AuditResult struct {
	Statement   Statement // ours
	Agrees      bool      // every figure the sheet prints is ours
	Differ      []Figure  // those that are not
	Difference  *trade.Amount
	Explained   []Change   // the fewest departures that give every figure of the sheet to the cent
	Equally     [][]Change // others, as few, that give them too: the sheet cannot tell them apart
	Unexplained trade.Amount
}

// Audit settles the load and compares the sheet figure by figure. Where they differ it settles again under
// every reading of the terms that a buyer may have followed, one departure at a time, then two, then three,
// and reports the fewest that give every figure of the sheet to the cent. Failing that, it reports those that
// mend figures and spoil none, and what they leave unexplained. Errors are those of [Prepare] and
// [Terms.Settle].
func Audit(in AuditInput) (AuditResult, []problem.Finding, error) {
	terms, findings, err := Prepare(in.Schedule)
	if err != nil {
		return AuditResult{}, findings, err
	}
	ours, err := terms.Settle(in.Load, in.Prices)
	if err != nil {
		return AuditResult{Statement: ours}, findings, err
	}
	out := AuditResult{Statement: ours, Differ: in.Sheet.compare(&ours)}
	out.Agrees = len(out.Differ) == 0
	out.Difference = difference(&in.Sheet, &ours)
	if out.Agrees {
		return out, findings, nil
	}
	out.explain(in)
	return out, findings, nil
}

// difference returns the sheet's net less ours, or of the value where it prints no net.
func difference(sh *Sheet, s *Statement) *trade.Amount {
	switch {
	case sh.Net != nil:
		return new(*sh.Net - s.Net)
	case sh.Value != nil:
		return new(*sh.Value - s.Value)
	}
	return nil
}

func (out *AuditResult) explain(in AuditInput) {
	a := &auditor{in: &in, sheet: in.Sheet}
	// A sheet whose own figures do not add up is judged by what they add up to.
	if own, ok := in.Sheet.sum(); ok && own != *in.Sheet.Net {
		out.Explained = append(out.Explained, Change{"P01", "the sheet pays $" + in.Sheet.Net.String() + ", its own lines add up to $" + own.String()})
		a.sheet.Net = &own
	}
	a.base = a.sheet.compare(&out.Statement)
	if len(a.base) == 0 {
		return
	}
	a.all = changes(&in)
	found := a.search()
	if len(found) > 0 {
		if len(found) > 1 {
			out.Equally = found[1:]
		}
		out.Explained = append(out.Explained, found[0]...)
		return
	}
	left := difference(&a.sheet, &out.Statement)
	if left != nil && magnitude(int64(*left)) <= int64(in.rounding()) && onlyMoney(a.base) {
		out.Explained = append(out.Explained, Change{"rounding", "only cents differ, within $" + in.rounding().String() + " a load"})
		return
	}
	partly, rest := a.partly()
	out.Explained = append(out.Explained, partly...)
	if rest != nil {
		out.Unexplained = *rest
	} else if left != nil {
		out.Unexplained = *left
	}
}

func (in *AuditInput) rounding() trade.Amount {
	if in.Rounding != nil {
		return *in.Rounding
	}
	return roundingDefault
}

func onlyMoney(figures []Figure) bool {
	return !slices.ContainsFunc(figures, func(f Figure) bool {
		return len(f.Name) < 3 || f.Name[len(f.Name)-3:] != "usd"
	})
}

// An auditor tries readings of the terms against a sheet.
type auditor struct {
	in    *AuditInput
	sheet Sheet
	base  []Figure // what differs under the terms as they stand
	all   []change
}

// search returns every combination of the fewest changes that leaves no figure of the sheet different.
func (a *auditor) search() [][]Change {
	effective := make([]int, 0, len(a.all))
	for i := range a.all {
		if left, _ := a.try([]int{i}); !slices.Equal(left, a.base) {
			effective = append(effective, i)
		}
	}
	whole := make([]int, len(a.all))
	for i := range whole {
		whole[i] = i
	}
	for size := 1; size <= maxChanges; size++ {
		among := whole // alone or in pairs, a change that shows nothing by itself may still count
		if size > 2 {
			among = effective
		}
		var found [][]Change
		a.combine(among, size, nil, func(picked []int) {
			if left, _ := a.try(picked); len(left) == 0 {
				found = append(found, a.named(picked))
			}
		})
		if found != nil {
			return found
		}
		if size == 1 {
			if one := a.otherPrice(); one != nil {
				return one
			}
		}
	}
	return nil
}

// combine calls visit for every set of size changes whose slots differ.
func (a *auditor) combine(among []int, size int, picked []int, visit func([]int)) {
	if len(picked) == size {
		visit(picked)
		return
	}
	for n, i := range among {
		if !slices.ContainsFunc(picked, func(j int) bool { return a.all[i].slot == a.all[j].slot }) {
			a.combine(among[n+1:], size, append(picked, i), visit)
		}
	}
}

// try returns the figures that differ under the picked changes, and the statement.
func (a *auditor) try(picked []int) ([]Figure, *Statement) {
	c := scenario{s: a.in.Schedule, l: a.in.Load, p: a.in.Prices}
	c.s.Rows = slices.Clone(c.s.Rows)
	for _, first := range []bool{true, false} { // another schedule comes before changes to its rows
		for _, i := range picked {
			if (a.all[i].slot == "schedule") == first {
				a.all[i].apply(&c)
			}
		}
	}
	s, ok := c.settle()
	if !ok {
		return a.base, nil
	}
	return a.sheet.compare(&s), &s
}

// settle settles a scenario without the checks that its schedule passed before it was changed.
func (c *scenario) settle() (Statement, bool) {
	t := &Terms{schedule: c.s, foldedDen: 1}
	for _, f := range t.compile() {
		if f.Severity == problem.Error {
			return Statement{}, false
		}
	}
	s, err := t.Settle(c.l, c.p)
	return s, err == nil
}

func (a *auditor) named(picked []int) []Change {
	out := make([]Change, len(picked))
	for n, i := range picked {
		out[n] = a.all[i].Change
	}
	return out
}

// otherPrice looks for one base price under which every figure of the sheet follows: the price of another
// contract or day. The sheet must print a price per unit.
func (a *auditor) otherPrice() [][]Change {
	if a.sheet.PerUnit == nil {
		return nil
	}
	cash := a.in.Prices.Cash
	const rounds = 20 // each takes away all but the percent-of-price share of the error
	for range rounds {
		c := scenario{s: a.in.Schedule, l: a.in.Load, p: a.in.Prices}
		c.p.Cash = cash
		s, ok := c.settle()
		if !ok {
			return nil
		}
		if len(a.sheet.compare(&s)) == 0 {
			return [][]Change{{{"base_price", "paid on a base price of $" + cash.Fixed() + ", not $" + a.in.Prices.Cash.Fixed()}}}
		}
		if s.PerUnit == *a.sheet.PerUnit {
			return nil
		}
		cash += *a.sheet.PerUnit - s.PerUnit
	}
	return nil
}

// partly returns the one or two changes that mend most figures and spoil none, and the money they leave.
func (a *auditor) partly() ([]Change, *trade.Amount) {
	var best []Change
	var rest *trade.Amount
	fewest := len(a.base)
	every := make([]int, len(a.all))
	for i := range every {
		every[i] = i
	}
	for size := 1; size < maxChanges; size++ {
		a.combine(every, size, nil, func(picked []int) {
			left, s := a.try(picked)
			if s == nil || len(left) >= fewest || slices.ContainsFunc(left, func(f Figure) bool { return !named(a.base, f.Name) }) {
				return
			}
			best, fewest, rest = a.named(picked), len(left), difference(&a.sheet, s)
		})
		if best != nil {
			break
		}
	}
	return best, rest
}

func named(figures []Figure, name string) bool {
	return slices.ContainsFunc(figures, func(f Figure) bool { return f.Name == name })
}
