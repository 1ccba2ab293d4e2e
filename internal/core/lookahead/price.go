package lookahead

import (
	"math"
	"slices"

	"threshday/internal/core/worth"
)

// A Price is what one more of something would earn over the season: the mean over the members drawn, and what it lies under in
// one of ten and nine of ten of them. Another unit earns no more than the one before.
type Price struct{ Mean, P10, P90 float64 }

// Prices are the duals of the program, $.
type Prices struct {
	CombineToday []Price // per combine: one more hour on it today
	CombineWeek  []Price // per combine: one more hour on a day of the six after, whichever, in the mean of those days
	TruckToday   Price   // one more truck hour today
	TruckWeek    Price
	SiteToday    []Price // per site: a bushel more received today
	SiteWeek     []Price
	Room         []Price // per destination: a bushel more of room, contract or window in all
	DryerToday   []Price // per destination: a point-bushel more dried today
	DryerWeek    []Price
}

// weekDays are the days of a week, today with them.
const weekDays = 7

// Prices returns what one more of everything that is short would earn.
func (p *Program) Prices() Prices {
	m, t := p.main, p.t
	week := min(weekDays, len(m.spans.days))
	price := func(of func(b *block) float64) Price {
		x := make([]float64, len(m.blocks))
		for i := range m.blocks {
			x[i] = of(&m.blocks[i])
		}
		return priceOf(x)
	}
	// dual is what a unit more in one member earns there.
	dual := func(row int) float64 {
		if row < 0 {
			return 0
		}
		return max(0, m.best.RowDual[row]) * float64(len(m.blocks))
	}
	today := func(rows func(b *block) []int) Price {
		return price(func(b *block) float64 { return dual(rows(b)[0]) })
	}
	ahead := func(rows func(b *block) []int) Price {
		return price(func(b *block) float64 {
			sum := 0.0
			for _, row := range rows(b)[1:week] {
				sum += dual(row) / float64(max(1, week-1))
			}
			return sum
		})
	}
	out := Prices{
		TruckToday: today(func(b *block) []int { return b.trucks }), TruckWeek: ahead(func(b *block) []int { return b.trucks }),
	}
	for k := range t.Combines {
		rows := func(b *block) []int { return b.hours[k] }
		out.CombineToday, out.CombineWeek = append(out.CombineToday, today(rows)), append(out.CombineWeek, ahead(rows))
	}
	for i := range t.Sites {
		rows := func(b *block) []int { return b.sites[i] }
		out.SiteToday, out.SiteWeek = append(out.SiteToday, today(rows)), append(out.SiteWeek, ahead(rows))
	}
	for d := range t.Destinations {
		rows := func(b *block) []int { return b.dryers[d] }
		out.DryerToday, out.DryerWeek = append(out.DryerToday, today(rows)), append(out.DryerWeek, ahead(rows))
		out.Room = append(out.Room, price(func(b *block) float64 { return dual(b.rooms[d]) }))
	}
	return out
}

func priceOf(x []float64) Price {
	slices.Sort(x)
	p := Price{P10: worth.Quantile(x, 0.1), P90: worth.Quantile(x, 0.9)}
	for _, v := range x {
		p.Mean += v / float64(len(x))
	}
	p.Mean = math.Abs(p.Mean) // never minus nothing
	return p
}
