package app

import (
	"slices"

	"threshday/internal/core/ledger"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// An Explanation is the settlement of one load at one of its prices, a sentence for every line that took or added something.
type Explanation struct {
	Load  int32
	Cash  trade.Price
	Net   trade.Amount
	Lines []ExplainedLine
}

// An ExplainedLine is what one line of a settlement took or added, pounds of a weight row and dollars of the others, and why.
type ExplainedLine struct {
	Pounds  trade.Pounds // taken off; 0: the line is one of dollars
	Dollars trade.Amount
	Say     string
}

// Newest returns the lines of the n loads of a trail that came last, with the sums of all of it; 0: of every load.
func (b *Books) Newest(t ledger.Trail, n int) ledger.Trail {
	if n <= 0 || len(t.Loads) <= n {
		return t
	}
	loads := slices.Clone(t.Loads)
	slices.SortStableFunc(loads, func(i, j int) int { return b.Loads[j].Ticket.Day.DaysSince(b.Loads[i].Ticket.Day) })
	t.Loads = loads[:n]
	kept := map[int32]bool{}
	for _, i := range t.Loads {
		kept[int32(i)] = true //nolint:gosec // a season has fewer loads than that
	}
	t.Harvest = slices.DeleteFunc(slices.Clone(t.Harvest), func(l ledger.HarvestLine) bool { return !kept[l.Ticket] })
	t.Sales = slices.DeleteFunc(slices.Clone(t.Sales), func(l ledger.SaleLine) bool { return !kept[l.Ticket] })
	t.Stock = slices.DeleteFunc(slices.Clone(t.Stock), func(l ledger.StockLine) bool { return !kept[l.Ticket] })
	return t
}

// Explanations settles every load of a trail again at each of its prices, with a sentence for every line.
func (b *Books) Explanations(t ledger.Trail) []Explanation {
	type price struct {
		load          int32
		cash, premium trade.Price
		contract      int32
	}
	seen := map[price]bool{}
	var out []Explanation
	for _, l := range t.Sales {
		k := price{l.Ticket, l.Cash, l.Premium, l.Contract}
		if !l.Priced || seen[k] {
			continue
		}
		seen[k] = true
		st, err := b.Explain(l)
		if err != nil {
			continue // it was settled before; that it no longer can be stands among the checks
		}
		terms := b.Loads[l.Ticket].Terms
		one := Explanation{Load: l.Ticket, Cash: l.Cash, Net: st.Net}
		for _, lines := range [][]settlement.Line{st.Lines, st.ChargeLines} {
			for _, line := range lines {
				if line.Dollars == 0 && line.Pounds == 0 {
					continue
				}
				one.Lines = append(one.Lines, ExplainedLine{line.Pounds, line.Dollars, terms.Explain(line)})
			}
		}
		if st.Checkoff != 0 {
			one.Lines = append(one.Lines, ExplainedLine{Dollars: -st.Checkoff, Say: "checkoff"})
		}
		out = append(out, one)
	}
	return out
}

// FieldName is the id of a field by its number; a load that names none has none.
func (b *Books) FieldName(f int32) string {
	if f < 0 {
		return ""
	}
	return b.Fields[f]
}

// Weights are a load's, or those of one party's share of it.
type Weights struct {
	Net, Settled trade.Pounds
	Qty          trade.Bushels
}

// WeightsOf returns the weights of load i, or of a party's share of it.
func (b *Books) WeightsOf(i int, party string) Weights {
	p := &b.Loads[i]
	if party == "" {
		return Weights{p.Totals.NetLb, p.Totals.SettledLb, p.Totals.NetQty}
	}
	var w Weights
	for _, l := range b.Harvest[p.Harvest.First:p.Harvest.End] {
		if b.Parties[l.Party] == party {
			w.Net += l.Net
		}
	}
	for _, l := range b.Sales[p.Sales.First:p.Sales.End] {
		if b.Parties[l.Party] == party {
			w.Settled += l.Settled
			w.Qty += l.Qty
		}
	}
	return w
}

// BinDry returns the dry matter that a trail's lines leave in bins, in ten-thousandths of a pound.
func BinDry(t ledger.Trail) int64 {
	var dry int64
	for _, l := range t.Stock {
		dry += l.Dry
	}
	return dry
}

// UnitOf returns the unit of a trail's quantities, and whether all of them have it: bushels and hundredweight are not added.
func (b *Books) UnitOf(t ledger.Trail) (unit string, one bool) {
	for _, l := range t.Sales {
		is := "bu"
		if b.Loads[l.Ticket].Cwt {
			is = "cwt"
		}
		if unit != "" && unit != is {
			return "", false
		}
		unit = is
	}
	return unit, unit != ""
}
