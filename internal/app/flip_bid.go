package app

import (
	"fmt"
	"slices"

	"threshday/internal/core/planner"
)

// bidFlip says at which bid of the outlet that most of the field's grain goes to on its bid the answer would turn, or that it does
// not within bidReach. Every load goes where it is planned to go: the worth of waiting then moves in a straight line with the
// bid, but for cents of rounding.
func (mo *morning) bidFlip(a *FieldAdvice, p *planner.Plan, f int) {
	usd, now, ok := mo.turnable(a, p, f)
	i, name := mo.mainBid(p, f)
	if !ok || i < 0 {
		return
	}
	cash := mo.repriced[i].cash.Float()
	at := func(share float64) [][]float64 { // of bidReach, downwards
		out := make([][]float64, len(usd))
		for w, x := range usd {
			out[w] = slices.Clone(x)
			for m, other := range p.Waits[f][w+1].Repriced[i] {
				out[w][m] += share * (other - x[m])
			}
		}
		return out
	}
	share, found := nearestTurn(now, func(x float64) verdict { v, _ := judge(at(x), a.AcresLeft, sureBy); return v })
	if !found {
		a.Holds = append(a.Holds, fmt.Sprintf("at any bid of %s from $%.2f to $%.2f", name, (1-bidReach)*cash, (1+bidReach)*cash))
		return
	}
	v, best := judge(at(share), a.AcresLeft, sureBy)
	text := "the bid of %s falls to about $%.2f, from $%.2f, and the grain goes there still"
	if share < 0 {
		text = "the bid of %s rises to about $%.2f, from $%.2f"
	}
	a.Flips = append(a.Flips, Flip{
		If:   fmt.Sprintf(text, name, cash*(1-bidReach*share), cash),
		Then: v.then(p.Waits[f][best+1]),
	})
}

// mainBid returns the repricing of the bid on which most of field f's grain is sold, and its outlet's name; -1 where none is.
func (mo *morning) mainBid(p *planner.Plan, f int) (repriced int, name string) {
	t := mo.build.Table
	best, most := -1, 0.0
	for d, share := range p.Share[f] {
		row := &t.Destinations[d]
		if row.Contract != "" || share <= most {
			continue
		}
		for i, r := range mo.repriced {
			bid := &mo.season.Bids[r.bid]
			if bid.Outlet == row.ID && bid.Crop == mo.build.Fields[f].Field.Crop {
				best, most, name = i, share, row.Name
				break
			}
		}
	}
	return best, name
}

// Rules of a turn.
const (
	turnSteps = 20 // either way; a turn there and back within one is not looked for
	bisect    = 12 // halvings of a step: well under a cent of any bid
)

// nearestTurn returns the x nearest to 0, from -1 to 1, beyond which the verdict is no longer the one at 0.
func nearestTurn(now verdict, at func(x float64) verdict) (x float64, found bool) {
	for k := 1; k <= turnSteps; k++ {
		for _, side := range []float64{1, -1} {
			far := side * float64(k) / turnSteps
			if at(far) == now {
				continue
			}
			near := side * float64(k-1) / turnSteps
			for range bisect {
				if mid := (near + far) / 2; at(mid) == now {
					near = mid
				} else {
					far = mid
				}
			}
			return far, true
		}
	}
	return 0, false
}
