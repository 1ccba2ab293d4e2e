package market

import (
	"math"

	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
)

// A Later says what keeping grain for a later price is worth, per bushel, to the hundredth of a cent.
type Later struct {
	Interest, Storage, Shrink trade.Price // and nothing below a hundredth of a cent
	Other                     trade.Price // further drying, quality, handling
	Carry                     trade.Price // all of it
	BreakEven                 trade.Price // the later price that pays for it
	Gain                      trade.Price // expected price less the break-even; negative: sell
}

// Keep weighs a price expected later against selling at hold's price today. The expected price is the owner's view of the
// market and as good as that. Storage on the farm is what varies with the grain; a bin's own cost is sunk [isu-a2-33].
func Keep(hold storage.Hold, expected trade.Price) Later {
	c := hold.Carry()
	l := Later{Interest: fourth(c.Interest), Storage: fourth(c.Storage), Shrink: fourth(c.Shrink), Other: fourth(c.Drying + c.Quality + c.Handling)}
	l.Carry = fourth(c.Total())
	l.BreakEven = fourth(hold.PriceUSD) + l.Carry
	l.Gain = expected - l.BreakEven
	return l
}

// fourth returns modelled dollars per unit with four decimals.
func fourth(usd float64) trade.Price { return trade.Price(math.Round(usd*1e4)) * 10 }

// A Service is what a buyer charges for grain that lies there unpriced or stored, per unit.
type Service struct {
	Flat       trade.Price // once
	FreeDays   int
	PerDay     trade.Price // on every day after the free ones
	PerMonth   trade.Price // on every thirty days after the free ones
	MonthBegun bool        // a month begun is a month charged; else it is charged by the day
	Least      trade.Price // charged once anything is
}

// Charge returns what so many days cost, to four decimals of a dollar. Nothing is charged inside the free days but the flat
// part.
func (s Service) Charge(days int) trade.Price {
	charged := int64(max(0, days-s.FreeDays))
	total := int64(s.Flat) + int64(s.PerDay)*charged
	if s.MonthBegun {
		total += int64(s.PerMonth) * ((charged + 29) / 30)
	} else {
		total += trade.HalfUp.MulDiv(int64(s.PerMonth), charged, 300) * 10
	}
	if total == 0 {
		return 0
	}
	return max(s.Least, trade.Price(total))
}
