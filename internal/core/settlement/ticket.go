package settlement

import (
	"fmt"
	"math/bits"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// CheckLoad returns why a ticket cannot be settled under any terms, or nil: weights that leave nothing (T01),
// a reading no load can have (T03). It allocates only to refuse.
func CheckLoad(l Load) error { return checkLoad(&l) }

func checkLoad(l *Load) error {
	if l.Gross > maxPounds || l.Tare < 0 {
		return &problem.InputError{
			Rule: "T01", Label: "Weight", Got: fmt.Sprintf("%d lb gross, %d lb tare", l.Gross, l.Tare),
			Want: fmt.Sprintf("a tare of 0 or more and at most %d lb gross", maxPounds),
		}
	}
	if l.Gross <= l.Tare {
		return &problem.InputError{
			Rule: "T01", Label: "Gross", Got: fmt.Sprintf("%d lb", l.Gross),
			Want: fmt.Sprintf("more than the tare of %d lb", l.Tare), Next: "Look whether gross and tare are swapped on the ticket.",
		}
	}
	for have := l.Readings.have & (1<<OdourMusty - 1); have != 0; have &= have - 1 {
		f := Factor(bits.TrailingZeros64(have)) //nolint:gosec // at most 63
		x := trade.Percent(l.Readings.x[f])
		if low, high := f.Range(l.Crop); x < low || x > high {
			return &problem.InputError{
				Rule: "T03", Label: f.Words(), Got: x.String(),
				Want: fmt.Sprintf("%s to %s %s", low, high, f.Unit()), Next: "Read the ticket again.",
			}
		}
	}
	heat, measured := l.Readings.Of(HeatDamage)
	total, both := l.Readings.Of(DamageTotal)
	if measured && both && heat > total {
		return &problem.InputError{
			Rule: "T03", Label: "heat damage", Got: heat.String(),
			Want: fmt.Sprintf("at most the total damage of %s %%, of which it is part", total), Next: "Read the ticket again.",
		}
	}
	return nil
}

// check returns why this load cannot be settled under these terms, or nil. It allocates only to refuse.
func (t *Terms) check(l *Load, p *Prices) error {
	if err := checkLoad(l); err != nil {
		return err
	}
	if err := t.inForce(l); err != nil {
		return err
	}
	if missing := t.needs &^ l.Readings.have; missing != 0 {
		return unread(missing)
	}
	if p.Cash <= 0 || p.Cash > maxPrice {
		return priceError("Price", p.Cash, p.Cash == 0)
	}
	if magnitude(int64(p.Premium)) > int64(maxPrice) {
		return priceError("Premium", p.Premium, false)
	}
	if t.schedule.PctBase == FuturesPrice {
		if p.Futures == nil {
			return priceError("Futures price", 0, true)
		}
		if *p.Futures <= 0 || *p.Futures > maxPrice {
			return priceError("Futures price", *p.Futures, false)
		}
	}
	return nil
}

// unread refuses a ticket that lacks readings, one error for each.
func unread(missing uint64) error {
	var errs problem.InputErrors
	for ; missing != 0; missing &= missing - 1 {
		f := Factor(bits.TrailingZeros64(missing)) //nolint:gosec // at most 63
		errs = append(errs, &problem.InputError{
			Rule: "T06", Label: f.Words(), Want: "a reading, because the schedule has a row for it",
			Next: "Look on the ticket, or ask the buyer; a missing reading is never taken as zero or as dry.",
		})
	}
	if len(errs) == 1 {
		return errs[0]
	}
	return errs
}

func priceError(label string, p trade.Price, missing bool) error {
	e := &problem.InputError{Rule: "S10", Label: label, Want: "a price above 0 and up to $10,000"}
	if label == "Premium" {
		e.Want = "at most $10,000 either way"
	}
	if !missing {
		e.Got = p.String()
	}
	return e
}

// inForce checks crop, class and day (T04). A load without a day is not asked for it.
func (t *Terms) inForce(l *Load) error {
	s := &t.schedule
	if l.Crop != s.Crop {
		return &problem.InputError{Rule: "T04", Label: "Crop", Got: l.Crop.String(), Want: s.Crop.String() + ", the crop of the schedule"}
	}
	if s.Class != "" && l.Class != "" && s.Class != l.Class {
		return &problem.InputError{Rule: "T04", Label: "Class", Got: l.Class, Want: s.Class + ", the class of the schedule"}
	}
	if l.Day.IsZero() || InForce(*s, l.Day) {
		return nil
	}
	return &problem.InputError{
		Rule: "T04", Label: "Date", Got: l.Day.String(), Want: span(s) + ", when the schedule is in force",
		Next: "Settle under the schedule in force on that day.",
	}
}

// InForce reports whether a schedule speaks for that day; both its ends are inclusive.
func InForce(s Schedule, day calendar.Day) bool {
	return (s.ValidFrom == nil || !day.Before(*s.ValidFrom)) && (s.ValidTo == nil || !day.After(*s.ValidTo))
}

func span(s *Schedule) string {
	switch {
	case s.ValidFrom == nil && s.ValidTo == nil:
		return "any day"
	case s.ValidFrom == nil:
		return "up to " + s.ValidTo.String()
	case s.ValidTo == nil:
		return "from " + s.ValidFrom.String()
	}
	return s.ValidFrom.String() + " to " + s.ValidTo.String()
}

func nothingLeft(net, settled trade.Pounds) error {
	return &problem.InputError{
		Rule: "S06", Label: "Weight taken", Got: fmt.Sprintf("%d of %d lb", net-settled, net),
		Want: "less than the load weighs", Next: "Read the ticket and the schedule again.",
	}
}
