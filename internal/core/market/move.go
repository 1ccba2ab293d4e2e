package market

import (
	"slices"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// FixFutures fixes the futures part of a contract in which it is open.
func (c Contract) FixFutures(p trade.Price, on calendar.Day) (Contract, error) {
	if c.kind != Basis && c.kind != Minimum || c.futures.Fixed || c.cash.Fixed {
		return c, c.cannot("futures", p.String())
	}
	if err := c.inTime("futures", on); err != nil {
		return c, err
	}
	c.futures = FixedAt(p, on)
	return c, nil
}

// FixBasis fixes the basis of a contract in which it is open.
func (c Contract) FixBasis(p trade.Price, on calendar.Day) (Contract, error) {
	if c.kind != HTA || c.basis.Fixed {
		return c, c.cannot("basis", p.String())
	}
	if err := c.inTime("basis", on); err != nil {
		return c, err
	}
	c.basis = FixedAt(p, on)
	return c, nil
}

// FixCash takes the buyer's cash bid of that day for grain delivered without a price.
func (c Contract) FixCash(bid trade.Price, on calendar.Day) (Contract, error) {
	if c.kind != Deferred && c.kind != Storage || c.cash.Fixed {
		return c, c.cannot("price", bid.String())
	}
	if err := c.inTime("price", on); err != nil {
		return c, err
	}
	c.cash = FixedAt(bid, on)
	return c, nil
}

// Sample adds one day's figure to a pool that is still open.
func (c Contract) Sample(p trade.Price) (Contract, error) {
	if c.kind != Pool || c.cash.Fixed {
		return c, c.cannot("sample", p.String())
	}
	c.samples = append(slices.Clone(c.samples), p)
	return c, nil
}

// ClosePool fixes a pool at the mean of its samples, rounded to four decimals, plus its basis.
func (c Contract) ClosePool(on calendar.Day) (Contract, error) {
	if c.kind != Pool || c.cash.Fixed || len(c.samples) == 0 {
		return c, c.cannot("pool", "closed")
	}
	var sum int64
	for _, p := range c.samples {
		sum += int64(p)
	}
	mean := trade.Price(trade.HalfUp.Div(sum, int64(len(c.samples))*10) * 10)
	c.cash = FixedAt(mean+c.basis.Price, on)
	return c, nil
}

// Roll moves the contract to another futures month. Fixed futures move by the spread and pay the fee; a fixed basis against open
// futures moves the other way, for the new month's futures carry the spread already. The latter is common practice, no
// source.
func (c Contract) Roll(r Roll) (Contract, error) {
	switch {
	case c.kind == HTA && !c.basis.Fixed:
		c.futures.Price += r.Spread
	case c.kind == Basis && !c.futures.Fixed:
		c.basis.Price -= r.Spread
	default:
		return c, c.cannot("month", r.To)
	}
	c.fee += r.Fee
	c.month = r.To
	c.rolls = append(slices.Clone(c.rolls), r)
	return c, nil
}

// Overdue reports whether something is open although its last day has gone by.
func (c Contract) Overdue(today calendar.Day) bool {
	return !c.Priced() && c.priceBy != nil && today.After(*c.priceBy)
}

func (c Contract) inTime(part string, on calendar.Day) error {
	if c.priceBy == nil || on.IsZero() || !on.After(*c.priceBy) {
		return nil
	}
	return &problem.InputError{
		Rule: "C02", Label: part, Got: on.String(), Want: "a day up to " + c.priceBy.String() + ", the last on which it can be fixed",
		Next: "Ask the buyer how the contract was priced when the day went by.",
	}
}

func (c Contract) cannot(part, got string) error {
	want := "nothing: the price is complete"
	if open := c.Open(); len(open) > 0 {
		want = "what is open in it: " + strings.Join(open, " and ")
	}
	return &problem.InputError{Rule: "contract." + part, Label: part + " of a contract of kind " + string(c.kind), Got: got, Want: want, Next: "Look at the written contract again."}
}
