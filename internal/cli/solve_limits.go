package cli

import (
	"fmt"

	"threshday/internal/core/scenario"
)

type solveCareJSON struct {
	Share          figure `json:"share"`
	Proven         bool   `json:"proven"`
	WithoutUSD     figure `json:"without_usd"`
	WithoutP10USD  figure `json:"without_p10_usd"`
	WithoutTailUSD figure `json:"without_tail_usd"`
	CostUSD        figure `json:"cost_usd"`
}

func careAsJSON(c *scenario.Care) *solveCareJSON {
	if c == nil {
		return nil
	}
	return &solveCareJSON{
		Share: figure(c.Share), Proven: c.Proven, WithoutUSD: figure(c.WithoutUSD),
		WithoutP10USD: figure(c.WithoutRisk.P10USD), WithoutTailUSD: figure(c.WithoutRisk.TailUSD), CostUSD: figure(c.CostUSD),
	}
}

// careWords says what care for the worst tenth costs and brings.
func (p *printer) careWords(c *scenario.Care) {
	if c == nil {
		return
	}
	by := "the best of some rounds of the rule"
	if c.Proven {
		by = "no plan does better by this share"
	}
	p.wrapped("", fmt.Sprintf("the worst tenth counts %s, the mean the rest: that costs $%s of the mean; without it the mean is $%s and the worst tenth earns $%s (%s)",
		digits(c.Share, 2), digits(max(0, c.CostUSD), 0), digits(c.WithoutUSD, 0), digits(c.WithoutRisk.TailUSD, 0), by))
}

type solveShadowJSON struct {
	Of                  string          `json:"of"` // "tree" or "today"
	Leaves              int             `json:"leaves"`
	HourTodayUSD        figure          `json:"hour_today_usd"`
	HourEachDayUSD      figure          `json:"hour_each_day_usd"`
	HourEachDayP10USD   figure          `json:"hour_each_day_p10_usd"`
	HourEachDayP90USD   figure          `json:"hour_each_day_p90_usd"`
	TruckTodayUSD       figure          `json:"truck_hour_today_usd"`
	TruckEachDayUSD     figure          `json:"truck_hour_each_day_usd"`
	TruckEachDayP10USD  figure          `json:"truck_hour_each_day_p10_usd"`
	TruckEachDayP90USD  figure          `json:"truck_hour_each_day_p90_usd"`
	PricesOfDestination []solveRoomJSON `json:"destinations"`
}

type solveRoomJSON struct {
	Destination int    `json:"destination"`
	Today       figure `json:"day_today_usd_per_bu"`
	EachDay     figure `json:"each_day_usd_per_bu"`
	EachDayP10  figure `json:"each_day_p10_usd_per_bu"`
	EachDayP90  figure `json:"each_day_p90_usd_per_bu"`
	Total       figure `json:"total_usd_per_bu"`
	TotalP10    figure `json:"total_p10_usd_per_bu"`
	TotalP90    figure `json:"total_p90_usd_per_bu"`
}

func shadowAsJSON(s *scenario.Shadow) *solveShadowJSON {
	if s == nil {
		return nil
	}
	out := &solveShadowJSON{
		Of: "today", Leaves: s.Leaves,
		HourTodayUSD: figure(s.HourToday), HourEachDayUSD: figure(s.HourEachDay.Mean),
		HourEachDayP10USD: figure(s.HourEachDay.P10), HourEachDayP90USD: figure(s.HourEachDay.P90),
		TruckTodayUSD: figure(s.TruckToday), TruckEachDayUSD: figure(s.TruckEachDay.Mean),
		TruckEachDayP10USD: figure(s.TruckEachDay.P10), TruckEachDayP90USD: figure(s.TruckEachDay.P90),
		PricesOfDestination: []solveRoomJSON{},
	}
	if s.Whole {
		out.Of = "tree"
	}
	for d, room := range s.ByDestinations {
		out.PricesOfDestination = append(out.PricesOfDestination, solveRoomJSON{
			Destination: d, Today: figure(room.Today),
			EachDay: figure(room.EachDay.Mean), EachDayP10: figure(room.EachDay.P10), EachDayP90: figure(room.EachDay.P90),
			Total: figure(room.Total.Mean), TotalP10: figure(room.Total.P10), TotalP90: figure(room.Total.P90),
		})
	}
	return out
}

// shadowLines tells the prices that are not nothing: today's, then those of the season with their range over the weathers.
func shadowLines(s *scenario.Shadow) []string {
	if s == nil {
		return nil
	}
	var out []string
	one := func(what string, usd float64, places int) {
		if usd >= leastPrice {
			out = append(out, what+": $"+digits(usd, places))
		}
	}
	spread := func(what string, v scenario.Spread, places int) {
		if v.Mean >= leastPrice {
			line := what + ": $" + digits(v.Mean, places)
			if v.P90-v.P10 >= leastPrice {
				line += fmt.Sprintf(" (8 weathers in 10: %s to %s)", digits(v.P10, places), digits(v.P90, places))
			}
			out = append(out, line)
		}
	}
	one("a combine hour today", s.HourToday, 2)
	spread("a combine hour each day", s.HourEachDay, 2)
	one("a truck hour today", s.TruckToday, 2)
	spread("a truck hour each day", s.TruckEachDay, 2)
	for d, room := range s.ByDestinations {
		one(fmt.Sprintf("a bushel of room today at destination %d", d), room.Today, 4)
		spread(fmt.Sprintf("a bushel of room each day at destination %d", d), room.EachDay, 4)
		spread(fmt.Sprintf("a bushel of room in all at destination %d", d), room.Total, 4)
	}
	switch {
	case len(out) == 0:
		out = append(out, "nothing: what there is of hours, trucks and room is enough")
	case !s.Whole:
		out = append(out, fmt.Sprintf("of today's program on %s, later days known at once: estimates", plural(int64(s.Leaves), "weather")))
	}
	return out
}

// leastPrice is the smallest price that is told to a person, $. [judgement]
const leastPrice = 0.00005
