package settlement

import (
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// checkBands checks rows against one another: S02, S11, S12, and that each has a number of its own.
func checkBands(s Schedule) []problem.Finding {
	c := &checker{s: &s}
	sound := make([]int, 0, len(s.Rows)) // rows with a whole band
	for i := range s.Rows {
		row := &s.Rows[i]
		for j := range s.Rows[:i] {
			if s.Rows[j].Seq == row.Seq {
				c.row("schedule.seq", i, "seq", fmt.Sprint(row.Seq), "a number no other row has", "")
				break
			}
		}
		if row.Direction != Flagged && row.From != nil && (row.To == nil || row.From.Cmp(*row.To) != 0) {
			sound = append(sound, i)
		}
	}
	c.consecutive(sound)
	c.rejectLimits(sound)
	c.twice(sound)
	c.heat()
	return c.out
}

// consecutive finds gaps and overlaps between bands of one factor, kind and direction; flat rows and stepped
// rows are looked at apart, an entry charge over step rows being no overlap.
func (c *checker) consecutive(sound []int) {
	type family struct {
		factor    Factor
		kind      Kind
		direction Direction
		flat      bool
	}
	families := map[family][]int{}
	var order []family
	for _, i := range sound {
		row := &c.s.Rows[i]
		if row.Kind == RejectRow || row.Kind == WarnRow {
			continue
		}
		f := family{row.Factor, row.Kind, row.Direction, row.StepMode == Flat}
		if families[f] == nil {
			order = append(order, f)
		}
		families[f] = append(families[f], i)
	}
	for _, f := range order {
		bands := families[f]
		slices.SortStableFunc(bands, func(a, b int) int {
			cmp := c.s.Rows[a].From.Cmp(*c.s.Rows[b].From)
			if f.direction == Below {
				return -cmp
			}
			return cmp
		})
		for n, i := range bands[1:] {
			before, row := &c.s.Rows[bands[n]], &c.s.Rows[i]
			if before.To == nil {
				c.row("S02", i, "from", row.From.String(), fmt.Sprintf("nothing behind row %d, whose band has no end", before.Seq), "End the band before where this one begins.")
				continue
			}
			cmp := row.From.Cmp(*before.To)
			if cmp == 0 {
				continue
			}
			what := "the bands overlap"
			if (cmp > 0) == (f.direction == Above) {
				what = "this leaves a gap"
			}
			c.row("S02", i, "from", row.From.String(), fmt.Sprintf("%s, where row %d ends; %s", before.To, before.Seq, what), "")
		}
	}
}

// rejectLimits finds paid bands no accepted load reaches (S12), and readings between the last band and the
// limit for which nothing is stated (S02, a warning).
func (c *checker) rejectLimits(sound []int) {
	for _, i := range sound {
		limit := &c.s.Rows[i]
		if limit.Kind != RejectRow {
			continue
		}
		beyond := func(d *trade.Decimal) int { // 1: d lies beyond the limit, as it counts
			if limit.Direction == Below {
				return limit.From.Cmp(*d)
			}
			return d.Cmp(*limit.From)
		}
		var last *Row
		ended := true
		for _, j := range sound {
			row := &c.s.Rows[j]
			if row.Factor != limit.Factor || row.Direction != limit.Direction || row.Kind == RejectRow || row.Kind == WarnRow {
				continue
			}
			if beyond(row.From) >= 0 {
				c.doubt("S12", j, "from", row.From.String(), fmt.Sprintf("a threshold before %s", limit.From),
					fmt.Sprintf("begins at %s and is never reached: row %d refuses the load beyond %s", row.From, limit.Seq, limit.From), "Read the schedule again.")
			}
			if row.To == nil || beyond(row.To) >= 0 {
				ended = false
			}
			if row.To != nil && (last == nil || beyondOf(limit.Direction, row.To, last.To)) {
				last = row
			}
		}
		if last != nil && ended {
			c.doubt("S02", i, "from", limit.From.String(), "a limit where the last band ends, "+last.To.String(),
				fmt.Sprintf("refuses beyond %s, but the last band, row %d, ends at %s: between them the schedule does not say what a load pays, and such a load is not settled",
					limit.From, last.Seq, last.To), "Ask the buyer.")
		}
	}
}

// beyondOf reports whether a lies farther out than b.
func beyondOf(d Direction, a, b *trade.Decimal) bool {
	if d == Below {
		return a.Cmp(*b) < 0
	}
	return a.Cmp(*b) > 0
}

// twice finds a factor that takes weight and price from the same threshold (S11).
func (c *checker) twice(sound []int) {
	for _, i := range sound {
		row := &c.s.Rows[i]
		if row.Kind != PriceRow || row.Amount == nil || row.Amount.Sign() <= 0 {
			continue
		}
		for _, j := range sound {
			other := &c.s.Rows[j]
			if other.Kind == WeightRow && other.Factor == row.Factor && other.Direction == row.Direction && other.From.Cmp(*row.From) == 0 {
				c.doubt("S11", i, "from", row.From.String(), "a threshold of its own",
					fmt.Sprintf("lowers the price from %s on, and row %d takes weight from there already", row.From, other.Seq), "Ask the buyer whether both apply.")
				break
			}
		}
	}
}

// heat finds heat damage charged beside total damage, of which it is part, with no group to take the larger (S11).
func (c *checker) heat() {
	for i := range c.s.Rows {
		row := &c.s.Rows[i]
		if row.Kind != PriceRow || row.Factor != HeatDamage {
			continue
		}
		for j := range c.s.Rows {
			other := &c.s.Rows[j]
			if other.Kind == PriceRow && other.Factor == DamageTotal && (other.Group != row.Group || !strings.HasPrefix(row.Group, "max")) {
				c.doubt("S11", i, "group", row.Group, fmt.Sprintf("a max group shared with row %d", other.Seq),
					fmt.Sprintf("is charged beside row %d, total damage, of which heat is part", other.Seq), "Ask the buyer whether both apply.")
				return
			}
		}
	}
}

// CheckSet finds schedules of one buyer, location, crop and scope that speak of the same day (S01).
func CheckSet(set []Schedule) []problem.Finding {
	var out []problem.Finding
	for i := range set {
		for j := range set[:i] {
			a, b := &set[j], &set[i]
			if a.Buyer != b.Buyer || a.Location != b.Location || a.Crop != b.Crop || !sameClass(a, b) || !sameScope(a, b) || !overlap(a, b) {
				continue
			}
			e := problem.InputError{
				Label: fmt.Sprintf("Schedule %q of %s", b.ID, b.Buyer), Got: span(b),
				Want: fmt.Sprintf("days that schedule %q, %s, does not cover", a.ID, span(a)),
			}
			out = append(out, problem.Finding{
				Rule: "S01", Severity: problem.Error, Where: problem.Place{Path: b.ID}, Label: e.Label,
				Got: e.Got, Want: e.Want, Say: e.Error(), Next: "End the older one the day before the newer begins.",
			})
		}
	}
	return out
}

func sameClass(a, b *Schedule) bool { return a.Class == "" || b.Class == "" || a.Class == b.Class }

func sameScope(a, b *Schedule) bool {
	return len(a.AppliesTo) == 0 || len(b.AppliesTo) == 0 ||
		slices.ContainsFunc(a.AppliesTo, func(x string) bool { return slices.Contains(b.AppliesTo, x) })
}

func overlap(a, b *Schedule) bool {
	startsLate := func(x, y *Schedule) bool {
		return x.ValidFrom != nil && y.ValidTo != nil && x.ValidFrom.After(*y.ValidTo)
	}
	return !startsLate(a, b) && !startsLate(b, a)
}
