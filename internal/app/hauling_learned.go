package app

import (
	"context"
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/hauling"
	"threshday/internal/store"
)

// A stay is how long a load was between the two weighings at a place.
type stay struct {
	day calendar.Day
	min float64
}

// Tickets that a stay is learned from.
const (
	newestStays = 500           // loads looked at, the newest first
	longestStay = 6 * time.Hour // longer ones are slips of a clock or a night at the outlet. [judgement]
)

// stays returns, by outlet, how long the newest loads of the season were between the scales, the newest day first. A book without
// loads has none.
func (a *App) stays(ctx context.Context, path string, cropYear int) (map[string][]stay, error) {
	b, err := a.book(ctx, path, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	rows, _, _, err := b.store.Loads(ctx, store.LoadQuery{Farm: b.Farm, CropYear: cropYear, Limit: newestStays})
	if err != nil {
		return nil, troubled(err)
	}
	out := map[string][]stay{}
	for i := range rows {
		l := &rows[i].Load
		if !rows[i].Counted || l.In == nil || l.Out == nil {
			continue
		}
		if d := l.Out.Sub(*l.In); d > 0 && d <= longestStay {
			out[l.Outlet] = append(out[l.Outlet], stay{l.Day, d.Minutes()})
		}
	}
	return out, nil
}

// The spread of the time between the scales about its usual value, of a load and of the part a day shares: dumping is
// regular, lines inside the gate are not. [judgement]
const (
	stayGSD    = 1.5
	stayDayGSD = 1.2
)

// learnStay draws the minutes of a place towards what the farm's own tickets say of the time between its scales.
func (h *haulDay) learnStay(s *hauling.Site, id, name string) {
	var days [][]float64
	var last calendar.Day
	n := 0
	for _, one := range h.mo.stays[id] {
		if one.day != last || days == nil {
			days, last = append(days, nil), one.day
		}
		days[len(days)-1] = append(days[len(days)-1], one.min)
		n++
	}
	usual := capacity.Wait{MedianMin: s.ScaleMin + s.DumpMin + s.TicketMin, GSD: stayGSD, DayGSD: stayDayGSD}
	learned, weight := usual.Learned(days)
	if n == 0 || usual.MedianMin <= 0 {
		return
	}
	by := learned.MedianMin / usual.MedianMin
	s.ScaleMin, s.DumpMin, s.TicketMin = s.ScaleMin*by, s.DumpMin*by, s.TicketMin*by
	h.assume(name+": time between the scales", fmt.Sprintf("%.0f min", learned.MedianMin),
		fmt.Sprintf("%d of your own tickets for %.0f %%, your usual %.0f min for the rest", n, 100*weight, usual.MedianMin))
}
