package settlement

import (
	"fmt"

	"threshday/internal/core/trade"
)

// A Sheet is what a buyer's settlement sheet prints of one load; what it does not print is nil and is not
// compared.
type Sheet struct {
	NetLb     *trade.Pounds
	SettledLb *trade.Pounds
	GrossQty  *trade.Bushels
	NetQty    *trade.Bushels
	PerUnit   *trade.Price
	Value     *trade.Amount
	Checkoff  *trade.Amount
	Net       *trade.Amount
	Lines     []SheetLine // discounts and deductions by factor, in the signs of [Line]
	Charges   []SheetLine
}

// A SheetLine is what a sheet prints for one factor, or for base or premium.
type SheetLine struct {
	Name    string // as [Line.Name]
	Pounds  *trade.Pounds
	Dollars *trade.Amount
}

// A Figure is one number of a sheet beside ours.
type Figure struct {
	Name   string // "net_lb", "moisture usd"
	Ours   string
	Theirs string
}

// compare returns the figures of the sheet that differ from a statement, in the order of the paper.
func (sh *Sheet) compare(s *Statement) []Figure {
	var out []Figure
	unit := "bu"
	if s.Unit == PerCwt {
		unit = "cwt"
	}
	out = differ(out, "net_lb", s.NetLb, sh.NetLb)
	out = differ(out, "settle_lb", s.SettledLb, sh.SettledLb)
	out = differ(out, "gross_"+unit, s.GrossQty, sh.GrossQty)
	out = differ(out, "net_"+unit, s.NetQty, sh.NetQty)
	out = differ(out, "price_per_"+unit, s.PerUnit, sh.PerUnit)
	out = compareLines(out, s.Lines, sh.Lines, "")
	out = differ(out, "value_usd", s.Value, sh.Value)
	out = differ(out, "checkoff_usd", s.Checkoff, sh.Checkoff)
	out = compareLines(out, s.ChargeLines, sh.Charges, "charge ")
	return differ(out, "net_usd", s.Net, sh.Net)
}

func differ[T interface {
	comparable
	fmt.Stringer
}](out []Figure, name string, ours T, theirs *T) []Figure {
	if theirs == nil || *theirs == ours {
		return out
	}
	return append(out, Figure{name, ours.String(), (*theirs).String()})
}

// compareLines compares what each factor takes, tiers added up.
func compareLines(out []Figure, ours []Line, theirs []SheetLine, prefix string) []Figure {
	for i := range theirs {
		l := &theirs[i]
		if l.Name == "rounding" || listedBefore(theirs[:i], l.Name) {
			continue
		}
		var lb, theirLb trade.Pounds
		var usd, theirUSD trade.Amount
		weighed, paid := false, false
		for _, o := range ours {
			if o.Name() == l.Name {
				lb += o.Pounds
				usd += o.Dollars
			}
		}
		for _, o := range theirs[i:] {
			if o.Name != l.Name {
				continue
			}
			if o.Pounds != nil {
				theirLb, weighed = theirLb+*o.Pounds, true
			}
			if o.Dollars != nil {
				theirUSD, paid = theirUSD+*o.Dollars, true
			}
		}
		if weighed {
			out = differ(out, prefix+l.Name+" lb", lb, &theirLb)
		}
		if paid {
			out = differ(out, prefix+l.Name+" usd", usd, &theirUSD)
		}
	}
	return out
}

func listedBefore(lines []SheetLine, name string) bool {
	for _, l := range lines {
		if l.Name == name {
			return true
		}
	}
	return false
}

// sum returns what the sheet's own figures add up to, where it prints all of them.
func (sh *Sheet) sum() (trade.Amount, bool) {
	if sh.Value == nil || sh.Checkoff == nil || sh.Net == nil || sh.Charges == nil {
		return 0, false
	}
	total := *sh.Value - *sh.Checkoff
	for _, l := range sh.Charges {
		if l.Dollars == nil {
			return 0, false
		}
		total += *l.Dollars
	}
	return total, true
}
