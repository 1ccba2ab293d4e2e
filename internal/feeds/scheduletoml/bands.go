package scheduletoml

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// end turns the bands of the section into rows.
func (p *paster) end() {
	s := p.section
	p.section = nil
	if s == nil || s.factor == settlement.NoFactor {
		return
	}
	if len(s.bands) == 0 && s.limit == nil {
		p.fail(s.line, "paste.section", "the heading", strings.TrimSpace(s.heading), "lines with bands below it")
		return
	}
	slices.SortStableFunc(s.bands, func(a, b band) int {
		if s.below {
			a, b = b, a
		}
		return cmp.Compare(a.low, b.low)
	})
	if !p.follow(s) {
		return
	}
	for len(s.bands) > 0 && s.bands[0].free {
		s.bands = s.bands[1:]
	}
	first := len(p.d.Schedule.Rows)
	if rows, ok := s.steps(); ok {
		p.d.Schedule.Rows = append(p.d.Schedule.Rows, rows...)
	} else {
		p.d.Schedule.Rows = append(p.d.Schedule.Rows, s.flat()...)
	}
	last := len(p.d.Schedule.Rows) - 1
	if s.limit != nil {
		r := settlement.Row{Factor: s.factor, Kind: settlement.RejectRow, Direction: s.direction(), From: s.limit}
		p.d.Schedule.Rows = append(p.d.Schedule.Rows, r)
	} else if last >= first && p.d.Schedule.Rows[last].To != nil {
		p.d.AskRow[last] = append(p.d.AskRow[last], fmt.Sprintf("Past %s the table says nothing, and such a load is not settled. If it is turned away, add a row with refused = true.", p.d.Schedule.Rows[last].To))
	}
	for i := first; i < len(p.d.Schedule.Rows); i++ {
		row := &p.d.Schedule.Rows[i]
		if row.Kind == settlement.PriceRow || row.Kind == settlement.ChargeRow {
			if row.Qty = quantityOf(s.heading); row.Qty == "" {
				p.d.AskRow[i] = append(p.d.AskRow[i], `on = "net"   # or "gross": of which bushels?`)
			}
		}
	}
	for i := range p.d.Schedule.Rows {
		p.d.Schedule.Rows[i].Seq = 10 * (i + 1)
	}
}

func (s *section) direction() settlement.Direction {
	if s.below {
		return settlement.Below
	}
	return settlement.Above
}

// quantityOf returns the bushels a heading speaks of.
func quantityOf(heading string) settlement.Qty {
	switch {
	case strings.Contains(heading, "gross") || strings.Contains(heading, "wet b"):
		return settlement.GrossBu
	case strings.Contains(heading, "net b") || strings.Contains(heading, "net,") || strings.Contains(heading, "dry b") || strings.Contains(heading, "on net"):
		return settlement.NetBu
	}
	return ""
}

// follow checks that the bands follow one another, in the order from harmless to worse.
func (p *paster) follow(s *section) bool {
	step := precision(s.factor)
	for i := 1; i < len(s.bands); i++ {
		a, b := s.bands[i-1], s.bands[i]
		next := a.high + step
		begins := b.low
		if s.below {
			next, begins = a.low-step, b.high
		}
		if a.open || begins != next {
			p.fail(b.line, "paste.gap", "the band", b.low.String()+" - "+b.high.String(), fmt.Sprintf("a band that begins at %s, where the one before ends", next))
			return false
		}
	}
	return true
}

// edges returns the threshold before a band and its end; nil: open.
func (s *section) edges(b band) (from trade.Percent, to *trade.Decimal) {
	step := precision(s.factor)
	if s.below {
		from, to = b.high+step, decimal(b.low)
	} else {
		from, to = b.low-step, decimal(b.high)
	}
	if b.open {
		to = nil
	}
	return from, to
}

// steps makes a row of each run of bands that are equally wide and go up by equal amounts; ok is false where an amount does not go
// up, or the widths do not allow it.
func (s *section) steps() (rows []settlement.Row, ok bool) {
	before := trade.NewFraction(0, 1)
	var width trade.Percent
	for _, b := range s.bands {
		if b.open || b.free || b.amount.unit != s.bands[0].amount.unit {
			return nil, false
		}
		rise, exact := less(b.amount.value, before)
		if !exact || rise.Sign() <= 0 {
			return nil, false
		}
		before = b.amount.value
		from, to := s.edges(b)
		wide := b.high - b.low + precision(s.factor)
		if n := len(rows); n > 0 && wide == width && *rows[n-1].Amount == rise {
			rows[n-1].To = to
			continue
		}
		width = wide
		row := s.rowOf(amount{rise, rise.String(), b.amount.unit})
		row.From, row.To, row.Step, row.StepMode = decimal(from), to, decimal(wide), settlement.OrFraction
		rows = append(rows, row)
	}
	return rows, len(rows) > 0
}

// flat makes a row of each band.
func (s *section) flat() []settlement.Row {
	var rows []settlement.Row
	for _, b := range s.bands {
		if b.free {
			continue
		}
		row := s.rowOf(b.amount)
		from, to := s.edges(b)
		row.From, row.To, row.StepMode = decimal(from), to, settlement.Flat
		rows = append(rows, row)
	}
	return rows
}

func (s *section) rowOf(a amount) settlement.Row {
	row := settlement.Row{Factor: s.factor, Kind: settlement.PriceRow, Direction: s.direction(), Unit: a.unit, Amount: &a.value, Printed: a.printed}
	switch {
	case a.ofWeight():
		row.Kind = settlement.WeightRow
	case strings.Contains(s.heading, "drying") || strings.Contains(s.heading, "charge"):
		row.Kind = settlement.ChargeRow
	case strings.Contains(s.heading, "premium"):
		*row.Amount = trade.NewFraction(-a.value.Num(), a.value.Den())
		row.Printed = "-" + a.printed
	}
	return row
}

// less returns a-b where both are decimals of at most six places.
func less(a, b trade.Fraction) (trade.Fraction, bool) {
	const million = 1_000_000
	if million%a.Den() != 0 || million%b.Den() != 0 {
		return trade.Fraction{}, false
	}
	return trade.NewFraction(a.Num()*(million/a.Den())-b.Num()*(million/b.Den()), million), true
}
