package market

import (
	"math"

	"threshday/internal/core/capacity"
	"threshday/internal/core/trade"
)

// A Freight is what bringing a load to an outlet costs. Its parts add up; the zero Freight is free.
type Freight struct {
	PerLoad trade.Amount // an own truck's round, see [OwnTruck]
	PerUnit trade.Price  // hired, on the gross bushel or hundredweight
	PerTon  trade.Price  // hired, on 2,000 lb of scale weight
}

// OwnTruck returns the freight of a round in one's own truck, to the cent. The hours that a combine stands for want of
// the truck are not in it.
func OwnTruck(rate capacity.HaulRate, trip capacity.Trip) Freight {
	return Freight{PerLoad: cents(rate.LoadUSD(trip.Distance, trip.CycleMin()))}
}

// Of returns the freight of a load of that scale weight and gross quantity; each part is rounded to the cent.
func (f Freight) Of(weight trade.Pounds, gross trade.Bushels) trade.Amount {
	perTon := trade.Amount(trade.HalfUp.MulDiv(int64(weight), int64(f.PerTon), 2000*1000))
	return f.PerLoad + f.PerUnit.Times(gross, trade.HalfUp) + perTon
}

// cents returns modelled dollars as an amount, a half cent or more going away from zero.
func cents(usd float64) trade.Amount { return trade.Amount(math.Round(usd * 100)) }
