package storage

import "math"

// A Hold is grain kept for a later price, dollars per bushel.
type Hold struct {
	PriceUSD    float64 // today
	Days        float64
	InterestPct float64 // a year
	YearDays    float64 // 365, or 360 if the lender says so
	StorageUSD  float64 // on the farm only what varies: aeration, handling; a bin's own cost is sunk [isu-a2-33]
	DryingUSD   float64 // beyond what selling today needs
	ShrinkPct   float64 // extra weight lost
	QualityUSD  float64
	HandlingUSD float64 // in and out
}

// A Carry is what holding costs, dollars per bushel.
type Carry struct{ Interest, Storage, Drying, Shrink, Quality, Handling float64 }

// Carry returns the cost of holding. Panics unless YearDays is positive.
func (h Hold) Carry() Carry {
	if !(h.YearDays > 0) {
		panic("storage: a year without days")
	}
	return Carry{
		Interest: h.PriceUSD * h.InterestPct / 100 * h.Days / h.YearDays,
		Storage:  h.StorageUSD,
		Drying:   h.DryingUSD,
		Shrink:   h.PriceUSD * h.ShrinkPct / 100,
		Quality:  h.QualityUSD,
		Handling: h.HandlingUSD,
	}
}

// Total returns the sum; today's price plus it is the later price that breaks even.
func (c Carry) Total() float64 {
	return c.Interest + c.Storage + c.Drying + c.Shrink + c.Quality + c.Handling
}

// Commercial is what a warehouse charges for storage, dollars per bushel.
type Commercial struct {
	FlatUSD     float64 // for the months that are free of the monthly charge
	FreeMonths  float64
	PerMonthUSD float64
	Whole       bool // a month begun is a month charged
}

// PerBu returns the charge for so many months.
func (c Commercial) PerBu(months float64) float64 {
	charged := max(0, months-c.FreeMonths)
	if c.Whole {
		charged = math.Ceil(charged)
	}
	return c.FlatUSD + c.PerMonthUSD*charged
}
