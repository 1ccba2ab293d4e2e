package app

import (
	"fmt"
	"math"
	"strings"

	"threshday/internal/core/lookahead"
	"threshday/internal/core/planner"
)

// A LookedAhead is what waiting is worth by a linear program over the days ahead, beside what the plan's own rule says when it is
// run again; dollars over the whole season, with the range over batches of the weathers.
type LookedAhead struct{ USD, LowUSD, HighUSD float64 }

// besideRule puts the program's values beside the rule's, and widens every range to hold both. Where the two disagree about what to do
// beyond their errors, it is a toss-up. It says so, and where the program knows an answer that the rule does not.
func (mo *morning) besideRule(a *FieldAdvice, p *planner.Plan, f int) {
	for i := range a.Choices {
		c := &a.Choices[i]
		c.LowUSD, c.HighUSD = c.USD-sureBy*c.SEUSD, c.USD+sureBy*c.SEUSD
	}
	if p.Ahead == nil || p.Ahead.Waits[f] == nil {
		return
	}
	ahead := p.Ahead.Waits[f]
	usd := make([][]float64, len(ahead))
	for i, w := range ahead {
		c := &a.Choices[i+1]
		c.Ahead = &LookedAhead{w.USD, w.Low, w.High}
		c.LowUSD, c.HighUSD = min(c.LowUSD, w.Low), max(c.HighUSD, w.High)
		usd[i] = p.Waits[f][i+1].USD
	}
	if a.Advice == Cannot || mo.build.Fields[f].Under[0] < hopeless && !p.Cuts(f) {
		return
	}
	a.sayBeside(usd, ahead)
}

// sayBeside compares what the rule and the program make of the delays. Knowing each weather from tomorrow on, the program leans
// towards waiting.
func (a *FieldAdvice) sayBeside(usd [][]float64, ahead []lookahead.Wait) {
	rule, _ := judge(usd, a.AcresLeft, sureBy)
	program, best := judgeAhead(ahead, a.AcresLeft)
	w := ahead[best]
	switch {
	case program == level || program == rule:
		return
	case rule != level:
		a.TossUp = true
		a.Beside = fmt.Sprintf("Looked ahead day by day it is the other way round, so take it as a toss-up: %s.", a.aheadWords(w))
	case program == waitingPays:
		a.Beside = fmt.Sprintf("Looked ahead day by day, which leans towards waiting, %s.", a.aheadWords(w))
	default:
		a.Beside = fmt.Sprintf("Looked ahead day by day it is clearer: %s.", a.aheadWords(w))
	}
}

// judgeAhead says what the best delay is worth by the program and what that means.
func judgeAhead(ahead []lookahead.Wait, acres float64) (v verdict, best int) {
	for i, w := range ahead {
		if w.USD > ahead[best].USD {
			best = i
		}
	}
	w := ahead[best]
	switch {
	case w.Low <= 0 && w.High >= 0 || math.Abs(w.USD) <= leastGain*acres:
		return level, best
	case w.USD > 0:
		return waitingPays, best
	default:
		return cutPays, best
	}
}

// aheadWords says what a delay is worth by the program, between its ends.
func (a *FieldAdvice) aheadWords(w lookahead.Wait) string {
	verb, low, high := "is worth", w.Low, w.High
	if w.USD < 0 {
		verb, low, high = "costs", -w.High, -w.Low
	}
	per := func(usd float64) string { return trim(math.Round(usd / a.AcresLeft)) }
	return fmt.Sprintf("waiting %s %s $%s an acre (%s to %s)", days(w.Days), verb, per(math.Abs(w.USD)), per(low), per(high))
}

// A Margin is what one more of something that is short would earn over the season, by the duals of the program: the mean over the
// weathers drawn, and what it lies under in one of ten and nine of ten.
type Margin struct {
	Of            MarginOf
	At            string // machine, or outlet or bin; empty: all trucks
	Name          string
	Contract      string
	When          string // "today", "week": on a day of the six after, "season": in all
	USD, P10, P90 float64
}

// A MarginOf is what there is one more of.
type MarginOf string

// What there can be one more of.
const (
	CombineHour MarginOf = "combine_hour"
	TruckHour   MarginOf = "truck_hour"
	PlaceBushel MarginOf = "place_bu"       // received
	RoomBushel  MarginOf = "room_bu"        // of room, contract or window
	DryerPoint  MarginOf = "dryer_point_bu" // a point taken out of a bushel
)

// margins lists what is short, in the order of machines and places; what earns nothing is left out.
func (mo *morning) margins(p *planner.Plan) []Margin {
	if p.Ahead == nil || p.Ahead.Members == 0 {
		return nil
	}
	t, v := mo.build.Table, &p.Ahead.Prices
	var out []Margin
	add := func(m Margin, when string, price lookahead.Price) {
		if price.Mean > leastMargin {
			m.When, m.USD, m.P10, m.P90 = when, price.Mean, price.P10, price.P90
			out = append(out, m)
		}
	}
	for k := range t.Combines {
		m := Margin{Of: CombineHour, At: mo.season.Combines[k].ID, Name: mo.season.Combines[k].Name}
		add(m, "today", v.CombineToday[k])
		add(m, "week", v.CombineWeek[k])
	}
	add(Margin{Of: TruckHour}, "today", v.TruckToday)
	add(Margin{Of: TruckHour}, "week", v.TruckWeek)
	for i := range t.Sites {
		m := Margin{Of: PlaceBushel, At: t.Sites[i].ID, Name: mo.siteName(i)}
		add(m, "today", v.SiteToday[i])
		add(m, "week", v.SiteWeek[i])
	}
	for d := range t.Destinations {
		row := &t.Destinations[d]
		m := Margin{Of: RoomBushel, At: row.ID, Name: row.Name, Contract: row.Contract}
		add(m, "season", v.Room[d])
		m.Of = DryerPoint
		add(m, "today", v.DryerToday[d])
		add(m, "week", v.DryerWeek[d])
	}
	return out
}

// siteName is what people call a place: the name of the first destination there.
func (mo *morning) siteName(site int) string {
	for _, d := range mo.build.Table.Destinations {
		if d.Site == site {
			return d.Name
		}
	}
	return mo.build.Table.Sites[site].ID
}

// leastMargin is the least price that is told, $: less is rounding.
const leastMargin = 0.005

// Less than this is not worth a word on paper, $. [judgement]
const (
	leastHourWords   = 5.0
	leastBushelWords = 0.02
)

// marginWords says of the prices what is worth saying.
func marginWords(all []Margin) string {
	var parts []string
	for _, m := range all {
		least := leastBushelWords
		if m.Of == CombineHour || m.Of == TruckHour {
			least = leastHourWords
		}
		if m.USD < least {
			continue
		}
		say := fmt.Sprintf("%s %s", m.words(), dollars(m.USD))
		if m.P90-m.P10 > least {
			say += fmt.Sprintf(" (8 weathers in 10: %s to %s%s)", dollars(m.P10), dollars(m.P90), either(m.USD > m.P90, ", few far more", ""))
		}
		parts = append(parts, say)
	}
	if len(parts) == 0 {
		return ""
	}
	return "At the margin, looked ahead day by day, one more would earn: " + strings.Join(parts, "; ") + "."
}

func (m *Margin) words() string {
	when := map[string]string{"today": " today", "week": " on a day of the week ahead", "season": ""}[m.When]
	switch m.Of {
	case CombineHour:
		return "an hour of " + m.Name + when
	case TruckHour:
		return "a truck hour" + when
	case PlaceBushel:
		return "a bushel received at " + m.Name + when
	case DryerPoint:
		return "a point-bushel dried at " + m.Name + when
	case RoomBushel:
	}
	return "a bushel more at " + m.Name
}

// dollars says whole dollars, or cents where there are few.
func dollars(usd float64) string {
	if usd > 0 && usd < 5 {
		return fmt.Sprintf("$%.2f", usd)
	}
	return fmt.Sprintf("$%.0f", usd)
}
