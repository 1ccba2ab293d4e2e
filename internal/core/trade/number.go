// Package trade holds numbers as they are printed on tickets, bids, contracts and statements: integers in
// their printed step, compared with ==, rounded only where a named rule says so.
package trade

// A Percent in hundredths of a percent: 15.6 % is 1560.
type Percent int64

// Pounds as a scale prints them, whole.
type Pounds int64

// Bushels (or hundredweight, where a price is per cwt) in thousandths.
type Bushels int64

// A Price in hundred-thousandths of a dollar per unit: $9.8725 is 987250. The fifth decimal exists because
// the small futures contract ticks by $0.00125.
type Price int64

// An Amount of money in cents.
type Amount int64

// Float returns p in percent.
func (p Percent) Float() float64 { return float64(p) / 100 }

// Float returns w in pounds.
func (w Pounds) Float() float64 { return float64(w) }

// Kilograms returns what a scale that prints whole kilograms weighed, in whole pounds, halves up. A pound is 0.45359237 kg exactly
// [nist-44]; which rounding a buyer uses is the buyer's.
func Kilograms(kg int64) Pounds { return Pounds(HalfUp.MulDiv(kg, 1e8, 45_359_237)) }

// Float returns b in bushels.
func (b Bushels) Float() float64 { return float64(b) / 1000 }

// Float returns p in dollars per unit.
func (p Price) Float() float64 { return float64(p) / 100000 }

// Float returns a in dollars.
func (a Amount) Float() float64 { return float64(a) / 100 }
