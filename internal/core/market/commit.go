package market

import (
	"math"

	"threshday/internal/core/trade"
)

// A Yield is what a field is expected to bring, with one standard deviation.
type Yield struct {
	Bushels float64
	SDPct   float64 // of Bushels
}

// p10 is the tenth percentile of the standard normal distribution.
const p10 = -1.2815515655446004

// TenthOf returns the harvest that is exceeded in nine autumns of ten, in whole bushels. Fields of one farm share their weather:
// their deviations are added as if all came together, which gives the smaller figure. [judgement]
func TenthOf(fields []Yield) trade.Bushels {
	sum := 0.0
	for _, f := range fields {
		sum += max(0, f.Bushels*(1+p10*f.SDPct/100))
	}
	return trade.Bushels(math.Floor(sum)) * 1000
}

// Overcommitted returns by how much what is promised exceeds what is delivered already and may be counted on still; 0 when it
// does not.
func Overcommitted(promised, delivered, countedOn trade.Bushels) trade.Bushels {
	return max(0, promised-delivered-countedOn)
}

// A BuyOut is what is owed for bushels that were promised and not delivered.
type BuyOut struct {
	Market trade.Amount // market over contract, or, where both ways count, under it
	Fee    trade.Amount
	Total  trade.Amount
}

// BuyOutOf returns the cost of short bushels under a contract at price when the market stands at market. Where bothWays is
// false a market below the contract pays the seller nothing. The contract's own words decide. [grain-rule-28]
func BuyOutOf(short trade.Bushels, price, market, fee trade.Price, bothWays bool) BuyOut {
	gap := market - price
	if !bothWays {
		gap = max(0, gap)
	}
	b := BuyOut{Market: gap.Times(short, trade.HalfUp), Fee: fee.Times(short, trade.HalfUp)}
	b.Total = b.Market + b.Fee
	return b
}
