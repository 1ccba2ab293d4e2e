package worth

import (
	"fmt"
	"slices"

	"threshday/internal/core/trade"
)

// AtBid returns the table as it would be with the season's bid at another cash price, everything else the same: it differs
// from b.Table in Value and Posted alone, and shares what does not change. Contracts whose price is still open follow the bid.
// Panics where the season has no such bid.
func (b *Build) AtBid(bid int, cash trade.Price) (*Table, error) {
	from := b.from
	season := *from.in.Season
	if bid < 0 || bid >= len(season.Bids) {
		panic(fmt.Sprintf("worth: no bid %d", bid))
	}
	season.Bids = slices.Clone(season.Bids)
	moved := &season.Bids[bid]
	moved.Cash = &cash
	if moved.Futures != nil {
		basis := cash - *moved.Futures
		moved.Basis = &basis
	}
	t := *b.Table
	t.Sites, t.Destinations = nil, nil
	t.Fields = slices.Clone(t.Fields)
	other := &builder{in: from.in, fleet: from.fleet, runs: from.runs, said: map[string]bool{}}
	other.in.Season = &season
	other.out = &Build{Table: &t, Span: b.Span, Fields: b.Fields, payload: b.payload}
	ways, err := other.ways()
	if err != nil {
		return nil, err
	}
	for i := range ways {
		t.Destinations = append(t.Destinations, ways[i].row)
	}
	t.Value = slices.Clone(t.Value)
	for i := range season.Fields {
		if season.Fields[i].Crop != moved.Crop {
			continue
		}
		if err := other.fieldPrices(i, ways); err != nil {
			return nil, err
		}
	}
	return &t, nil
}
