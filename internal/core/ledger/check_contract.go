package ledger

import (
	"fmt"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
)

// checkContracts looks over deadlines, open prices and what was applied too much.
func (b *builder) checkContracts() {
	today := calendar.DayOf(b.setup.Now, b.setup.Zone)
	for i := range b.states {
		c := &b.states[i]
		if over := c.Applied + c.Filled - c.Promised; over > c.Tolerance {
			b.find(problem.Finding{
				Rule: "C01", Severity: problem.Error, Label: "Contract " + c.ID, Got: (c.Applied + c.Filled).String() + " bu", Want: "at most " + (c.Promised + c.Tolerance).String() + " bu",
				Say: fmt.Sprintf("Contract %s has %s bu more applied than it is for.", c.ID, over), Next: "Ask the buyer where the excess was applied.",
			})
		}
		if left := c.Left(); left > 0 && left <= c.Tolerance && today.After(c.Until) {
			c.Closed = true // as delivered
		}
		if c.Left() > 0 && today.After(c.Until) {
			b.short(c)
		}
		if by := c.Price.PriceBy(); by != nil && !c.Price.Priced() && !today.After(*by) && by.DaysSince(today) <= priceSoon {
			b.find(problem.Finding{
				Rule: "C02", Severity: problem.Warning, Label: "Contract " + c.ID, Got: strings.Join(c.Price.Open(), " and ") + " open", Want: "priced by " + by.String(),
				Say: fmt.Sprintf("Contract %s is still open in %s, and %s is the last day to fix it.", c.ID, strings.Join(c.Price.Open(), " and "), by), Next: "Fix it, roll it, or ask the buyer what he does on that day.",
			})
		}
		if c.Price.Overdue(today) {
			b.find(problem.Finding{
				Rule: "C02", Severity: problem.Error, Label: "Contract " + c.ID, Got: today.String(), Want: "priced by " + c.Price.PriceBy().String(),
				Say:  fmt.Sprintf("Still open in contract %s: %s. The last day to fix it was %s.", c.ID, strings.Join(c.Price.Open(), " and "), c.Price.PriceBy()),
				Next: "Ask the buyer today how it is priced.",
			})
		}
	}
}

// priceSoon is how many days before its last day an open price is spoken of. [judgement]
const priceSoon = 14

// short says what a contract lacks after its last day.
func (b *builder) short(c *ContractState) {
	f := problem.Finding{
		Rule: "C03", Severity: problem.Error, Label: "Contract " + c.ID, Got: c.Left().String() + " bu short", Want: "delivered by " + c.Until.String() + ", or a record of its buy-out",
		Say:  fmt.Sprintf("Contract %s ended on %s with %s bu not delivered.", c.ID, c.Until, c.Left()),
		Next: "Agree with the buyer: an extension, a roll, a buy-out, or grain from elsewhere.",
	}
	if c.ShortFee != nil {
		f.Say += fmt.Sprintf(" At $%s a bushel that is $%s, before what the market adds.", c.ShortFee, c.ShortFee.Times(c.Left(), trade.HalfUp))
	}
	b.find(f)
}

// checkBins looks over balances, room and what was measured.
func (b *builder) checkBins() {
	for i, bin := range b.bins {
		s := &b.stock[i]
		if s.over > 0 {
			b.find(problem.Finding{
				Rule: "B01", Severity: problem.Error, Label: "Bin " + bin.ID, Got: "less than nothing", Want: "at least what was hauled out",
				Say:  fmt.Sprintf("Bin %s gave %.0f lb of dry matter more than went in.", bin.ID, float64(s.over)/1e4),
				Next: "Look for a load in that was not entered, or a moisture or weight that was misread.",
			})
		}
		if bushels, ok := b.bushelsAtBase(bin.Crop, bin.SaleBase, s.most); ok && bin.HoldsBu > 0 && bushels.Float() > bin.HoldsBu {
			b.find(problem.Finding{
				Rule: "B01", Severity: problem.Warning, Label: "Bin " + bin.ID, Got: bushels.String() + " bu", Want: fmt.Sprintf("at most %.0f bu, what it holds", bin.HoldsBu),
				Say: fmt.Sprintf("Bin %s held %s bu by the tickets, more than its %.0f.", bin.ID, bushels, bin.HoldsBu), Next: "Look whether a load went to another bin.",
			})
		}
		if bin.InBu > 0 && len(s.layers) > 1 {
			b.find(problem.Finding{
				Rule: "bin.old-crop", Severity: problem.Note, Label: "Bin " + bin.ID,
				Say:  fmt.Sprintf("New grain went on %.0f bu that lay in bin %s before.", bin.InBu, bin.ID),
				Next: "For an insurance claim old grain is measured by an adjuster before new grain goes in; ask yours.", // [isu-proving-yields]
			})
		}
	}
	for _, m := range b.setup.Measured {
		b.checkMeasure(m)
	}
}

// checkMeasure compares what was found in a bin with the book. A measure of a bin errs by some percent and never takes the
// place of scale weight.
func (b *builder) checkMeasure(m Measure) {
	i, ok := b.bin[m.Bin]
	if !ok {
		b.find(problem.Finding{Rule: "B01", Severity: problem.Error, Label: "Measured", Got: m.Bin, Want: "a bin of the season", Say: fmt.Sprintf("A measure names the bin %q, which the season does not have.", m.Bin)})
		return
	}
	bin := b.bins[i]
	booked, ok := b.bushelsAtBase(bin.Crop, bin.SaleBase, b.stock[i].now)
	if !ok {
		return
	}
	off := m.Bushels - booked
	if trade.Bushels(storage.MeasureErrorPct)*booked >= 100*max(off, -off) {
		return
	}
	b.find(problem.Finding{
		Rule: "B01", Severity: problem.Warning, Label: "Bin " + bin.ID, Got: m.Bushels.String() + " bu measured", Want: fmt.Sprintf("within %d %% of %s bu booked", storage.MeasureErrorPct, booked),
		Say:  fmt.Sprintf("Bin %s was measured at %s bu; the tickets say %s. Scale weight stands.", bin.ID, m.Bushels, booked),
		Next: "Look for a load that was not entered, then measure again.",
	})
}

// bushelsAtBase returns dry matter as trade bushels at a base moisture, to hundredths.
func (*builder) bushelsAtBase(k crop.Kind, base trade.Percent, dry int64) (trade.Bushels, bool) {
	return bushelsAt(k, base, dry)
}

// bushelsAt returns dry matter, in ten-thousandths of a pound, as trade bushels of k at a base moisture, to hundredths. False
// for a crop without a bushel and a base that is not known.
func bushelsAt(k crop.Kind, base trade.Percent, dry int64) (trade.Bushels, bool) {
	pounds, ok := crop.BushelPounds(k)
	if !ok || base <= 0 || base >= 100_00 {
		return 0, false
	}
	return trade.Bushels(trade.HalfUp.MulDiv(dry, 100, int64(100_00-base)*int64(pounds)) * 10), true
}
