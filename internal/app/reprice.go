package app

import (
	"context"
	"fmt"

	"threshday/internal/core/market"
	"threshday/internal/core/planner"
	"threshday/internal/core/trade"
	"threshday/internal/core/worth"
)

// bidReach is how far off today's bid a flip is looked for, as a share of it: a week's move of a grain price is seldom
// more. [judgement]
const bidReach = 0.2

// A repricing is the table as it would be with one bid lower by bidReach.
type repricing struct {
	bid   int // of the season
	cash  trade.Price
	table *worth.Table
}

// plan searches the season's plan, with what waiting is worth at other bids.
func (mo *morning) plan(ctx context.Context, workers int) (*planner.Plan, error) {
	set := planner.Settings{Workers: workers, Before: mo.before(), ChangeUSD: planner.ChangeUSD}
	mo.repriced = nil
	for i, bid := range mo.season.Bids {
		cash, ok := market.CashOf(bid.Cash, bid.Futures, bid.Basis)
		if !ok || bid.Outlet == "" {
			continue
		}
		table, err := mo.build.AtBid(i, trade.Price((1-bidReach)*float64(cash)))
		if err != nil {
			return nil, fmt.Errorf("bid %q at another price: %w", bid.ID, err)
		}
		mo.repriced = append(mo.repriced, repricing{i, cash, table})
		set.Repriced = append(set.Repriced, table)
	}
	return planner.Make(ctx, mo.build.Table, set)
}
