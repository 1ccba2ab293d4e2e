package market

import (
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// Tenth is the step in which moisture is printed.
const Tenth = trade.Percent(10)

// A Row is one moisture of a price table: what the same truckload nets at every offer.
type Row struct {
	Moisture trade.Percent
	Cells    []Cell
}

// A Cell is one offer at one moisture. Without an answer Why says why, and Delivered is empty.
type Cell struct {
	Delivered
	Why error
}

// OK reports whether the offer takes the load.
func (c Cell) OK() bool { return c.Why == nil }

// Best returns the index of the offer that nets most, the first of equals; false when none takes the load.
func (r Row) Best() (int, bool) {
	best := -1
	for i, c := range r.Cells {
		if c.OK() && (best < 0 || c.Net > r.Cells[best].Net) {
			best = i
		}
	}
	return best, best >= 0
}

// Grid returns a row for every tenth of a percent from low to high, both included: the load as it is but for its
// moisture. The error is that of an offer whose entries cannot be used; a refused load is an answer.
func Grid(offers []Offer, l settlement.Load, low, high trade.Percent) ([]Row, error) {
	low, high = low.Round(Tenth, trade.Ceiling), high.Round(Tenth, trade.Floor)
	var rows []Row
	for m := low; m <= high; m += Tenth {
		row := Row{Moisture: m, Cells: make([]Cell, len(offers))}
		at := l
		at.Readings = l.Readings.With(settlement.Moisture, m)
		for i, o := range offers {
			d, err := o.Deliver(at)
			if err != nil && !refusal(err) {
				return nil, err
			}
			row.Cells[i] = Cell{d, err}
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// A Stretch is a run of printed moistures, both ends included.
type Stretch struct{ From, To trade.Percent }

// Ahead returns the stretches of rows over which offer i nets at least as much as offer j; an offer that refuses is
// behind one that takes. Step schedules cross more than once, so there may be several. The last To is the break-even
// moisture: how wet the load may be and still pay to haul to i.
func Ahead(rows []Row, i, j int) []Stretch {
	var out []Stretch
	open := false
	for _, r := range rows {
		a, b := r.Cells[i], r.Cells[j]
		if !a.OK() || b.OK() && a.Net < b.Net {
			open = false
			continue
		}
		if !open {
			out = append(out, Stretch{From: r.Moisture})
			open = true
		}
		out[len(out)-1].To = r.Moisture
	}
	return out
}

// BreakEvenPrice returns the lowest cash price, to a hundredth of a cent, at which the outlet nets the load at least
// rival: how far its bid may fall, or must rise. False when no price up to $1,000 does, or the load has no price there.
func (o Outlet) BreakEvenPrice(l settlement.Load, rival trade.Amount) (trade.Price, bool) {
	const finest, most = trade.Price(10), trade.Price(1000_00000)
	nets := func(p trade.Price) bool {
		o.Prices.Cash = p
		d, err := o.Deliver(l)
		return err == nil && d.Net >= rival
	}
	low, high := trade.Price(0), most // low does not, high does
	if !nets(high) {
		return 0, false
	}
	for high-low > finest {
		middle := ((low + high) / 2) / finest * finest
		if nets(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return high, true
}
