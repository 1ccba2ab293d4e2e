package app

import (
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/planner"
	"threshday/internal/core/problem"
	"threshday/internal/core/worth"
)

// sheet turns the plan into the morning's answer.
func (mo *morning) sheet(p *planner.Plan) *DaySheet {
	t := mo.build.Table
	s := &DaySheet{
		Farm: mo.season.Farm.Name, Place: mo.season.Farm.Place, AsOf: mo.now, Seed: mo.seed, Members: t.Members,
		Weather: mo.weatherState(), Bids: mo.bidState(), Window: mo.window(), NotUsed: mo.file.NotUsed,
		OrdersFor: mo.build.Span.DayOf(0), Cautions: mo.cautions(p),
	}
	found := mo.file.Findings
	if mo.season.Farm.AsOf == nil {
		found = append(slices.Clone(found), farm.CheckDates(mo.season, mo.now, mo.zone)...)
	}
	found = slices.Concat(found, mo.doubts, mo.ahead.doubts)
	for _, f := range found {
		if f.Severity != problem.Note {
			s.Findings = append(s.Findings, f)
		}
	}
	for _, a := range append(mo.notes, mo.build.Assumed...) {
		s.Assumed = append(s.Assumed, Assumption(a))
	}
	s.Assumed = append(s.Assumed, mo.recordAssumed()...)
	s.Stale = mo.stale()
	for f := range t.Fields {
		s.Fields = append(s.Fields, mo.advice(p, f))
	}
	s.Orders, s.Against = mo.orders(p), mo.against(p)
	s.Assumed = append(s.Assumed, mo.orderAssumed(p)...)
	var noted []worth.Assumed
	s.Hauling, noted = mo.hauling(p)
	for _, a := range noted {
		s.Assumed = append(s.Assumed, Assumption(a))
	}
	s.Season = mo.outcome(p)
	return s
}

func (mo *morning) weatherState() WeatherState {
	w := WeatherState{Ensemble: mo.ensemble.Note, Sources: mo.ahead.sources, Credit: mo.credit()}
	for _, s := range w.Sources {
		w.Ahead = append(w.Ahead, s.sentence(mo.now))
		if !s.Own {
			continue
		}
		w.Days += len(s.Days)
		if s.Made != nil && (w.Outlook == nil || s.Made.After(*w.Outlook)) {
			w.Outlook = s.Made
		}
	}
	w.Observed = mo.observedUntil()
	return w
}

func (mo *morning) bidState() BidState {
	var b BidState
	for _, bid := range mo.season.Bids {
		if bid.Taken.IsZero() {
			continue
		}
		if b.Oldest == nil || bid.Taken.Before(*b.Oldest) {
			b.Oldest = &bid.Taken
		}
		if b.Newest == nil || bid.Taken.After(*b.Newest) {
			b.Newest = &bid.Taken
		}
	}
	return b
}

// window says when any field can be cut on the first day.
func (mo *morning) window() DayWindow {
	t := mo.build.Table
	w := DayWindow{Day: mo.build.Span.DayOf(0)}
	var opens, closes []float64
	for m := range t.Members {
		first, last := math.Inf(1), math.Inf(-1)
		for h := range t.Hours {
			if t.Day[h] > 0 {
				break
			}
			for f := range t.Fields {
				if t.Workable[t.At(m, h, f)] {
					at := (t.Start + calendar.Hour(h)).Start().In(mo.zone)
					clock := float64(at.Hour()) + float64(at.Minute())/60
					first, last = min(first, clock), max(last, clock+1)
				}
			}
		}
		if last > first {
			opens, closes = append(opens, first), append(closes, last)
		}
	}
	w.OpenOdds = odds(len(opens), t.Members)
	if 2*len(opens) >= t.Members {
		w.Opens, w.Closes = tenFiftyNinety(opens), tenFiftyNinety(closes)
	}
	return w
}

func tenFiftyNinety(x []float64) *[3]float64 {
	slices.Sort(x)
	return &[3]float64{worth.Quantile(x, 0.1), worth.Quantile(x, 0.5), worth.Quantile(x, 0.9)}
}

// odds returns the chance behind k of n, never 0 or 1: half a case is added to either side.
func odds(k, n int) float64 { return (float64(k) + 0.5) / (float64(n) + 1) }

// share turns a mean over members into odds.
func (mo *morning) share(x float64) float64 {
	n := mo.build.Table.Members
	return odds(int(math.Round(x*float64(n))), n)
}

// advice fills the row of field f.
func (mo *morning) advice(p *planner.Plan, f int) FieldAdvice {
	facts := &mo.build.Fields[f]
	row := &mo.build.Table.Fields[f]
	a := FieldAdvice{
		ID: facts.Field.ID, Name: facts.Field.Name, Crop: facts.Field.Crop.String(), AcresLeft: row.Acres,
		MoisturePct: Band{facts.Now.Mean, facts.Now.P10, facts.Now.P90}, LimitPct: row.LimitPct, Maturity: facts.Maturity,
	}
	if a.Name == "" {
		a.Name = a.ID
	}
	for _, l := range facts.Lessons {
		a.Readings = append(a.Readings, mo.readingEffect(l))
	}
	if row.Acres <= 0 {
		a.Advice, a.Because = Cannot, "Nothing is left to cut."
		return a
	}
	deadline := mo.build.Span.DayOf(0).AddDays(row.Deadline)
	for _, w := range p.Waits[f] {
		mean, se := planner.Mean(w.USD)
		sorted := slices.Sorted(slices.Values(w.USD))
		onTime := odds(w.OnTime, len(w.USD))
		c := Choice{
			WaitDays: w.Days, USD: mean, USDPerAcre: mean / row.Acres, SEUSD: se,
			P10USD: worth.Quantile(sorted, 0.1), P90USD: worth.Quantile(sorted, 0.9), OddsByDeadline: &onTime, Deadline: &deadline,
		}
		if w.Days < len(facts.Under) {
			c.OddsUnderLimit = mo.share(facts.Under[w.Days])
		}
		a.Choices = append(a.Choices, c)
	}
	a.Goes = mo.goes(p, f)
	mo.decide(&a, f, p)
	mo.besideRule(&a, p, f)
	a.Flips = append(flips(&a, facts, p.Waits[f]), rainFlip(&a, mo.rains(), p.Waits[f], mo.moment)...)
	mo.bidFlip(&a, p, f)
	a.Sample = mo.sample(p, f)
	return a
}

// Rules of the advice.
const (
	hopeless  = 0.2 // fewer members than this open today: it is not a day for the field
	leastGain = 1.0 // dollars an acre: less is no reason to change the day
	sureBy    = 2.0 // standard errors between a gain and a toss-up
)

// decide says cut, wait or cannot, and why.
func (mo *morning) decide(a *FieldAdvice, f int, p *planner.Plan) {
	facts := &mo.build.Fields[f]
	if mo.noMachine(f) {
		a.Advice, a.Because = Cannot, mo.whyNoMachine(facts)
		return
	}
	best := 1
	for i, c := range a.Choices {
		if i > 0 && c.USD > a.Choices[best].USD {
			best = i
		}
	}
	gain := a.Choices[best]
	switch {
	case slices.Max(facts.Under) < hopeless:
		a.Advice, a.Because = Cannot, mo.whyNever(a, facts)
	case facts.Under[0] < hopeless && !p.Cuts(f):
		a.Advice, a.Because = Leave, mo.whyNotToday(a, facts)
	default:
		a.TossUp = math.Abs(gain.USD) <= sureBy*gain.SEUSD || math.Abs(gain.USDPerAcre) <= leastGain
		if p.Cuts(f) {
			a.Advice, a.Because = Cut, mo.whyCut(a, facts, gain)
		} else {
			a.Advice, a.Because = Leave, mo.whyWait(a, facts, gain)
		}
	}
}

func (mo *morning) noMachine(f int) bool {
	for _, c := range mo.build.Table.Combines {
		if c.Rate[f] > 0 {
			return false
		}
	}
	return true
}

// goes lists where the field's acres go over the season, and what a bushel brings there at its moisture now.
func (mo *morning) goes(p *planner.Plan, f int) []Destined {
	t := mo.build.Table
	at := worth.GridIndex(mo.build.Fields[f].Now.Mean)
	var out []Destined
	for d, share := range p.Share[f] {
		if share < 0.02 {
			continue
		}
		one := Destined{To: t.Destinations[d].ID, Contract: t.Destinations[d].Contract, Name: t.Destinations[d].Name, Share: share, NetUSDPerBu: math.NaN()}
		if v := t.Value[f*len(t.Destinations)+d][at]; v == v {
			one.NetUSDPerBu = float64(v) / float64(t.Bushels[f][at])
		}
		out = append(out, one)
	}
	slices.SortStableFunc(out, func(a, b Destined) int {
		switch {
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		default:
			return 0
		}
	})
	return out
}

// orders are the machines' tasks of the first day in clock time.
func (mo *morning) orders(p *planner.Plan) []Order {
	t := mo.build.Table
	at := func(hours float64) time.Time {
		return t.Start.Start().Add(time.Duration(hours * float64(time.Hour))).In(mo.zone).Round(time.Minute)
	}
	var out []Order
	for _, k := range p.Today {
		machine := &mo.season.Combines[k.Combine]
		facts := &mo.build.Fields[k.Field]
		o := Order{
			Machine: machine.ID, MachineName: machine.Name, Field: facts.Field.ID, FieldName: facts.Field.Name,
			From: at(k.From), To: at(k.To), Acres: k.Acres, Bushels: k.Bushels, Entrance: entrance(facts.Field),
			Before: machine.ServiceDue,
		}
		payload := mo.build.PayloadBu(facts.Field.Crop)
		for _, part := range k.Parts {
			row := &t.Destinations[part.Destination]
			net := (part.USD + t.Fields[k.Field].CutCost*k.Acres*part.Bushels/k.Bushels) / part.Bushels
			for left := part.Bushels; left > 0.5; left -= payload {
				o.Loads = append(o.Loads, LoadOrder{To: row.ID, ToName: row.Name, Contract: row.Contract, Bushels: min(left, payload), NetUSDPerBu: net})
			}
		}
		o.Why = mo.whyOrder(p, k)
		out = append(out, o)
	}
	return out
}

// outcome sums the season up.
func (mo *morning) outcome(p *planner.Plan) SeasonOutcome {
	mean, se := planner.Mean(p.USD)
	sorted := slices.Sorted(slices.Values(p.USD))
	owed := mo.build.Owed
	o := SeasonOutcome{
		Expected: mean - owed, SE: se, P10: worth.Quantile(sorted, 0.1) - owed, P90: worth.Quantile(sorted, 0.9) - owed,
		PlanRule: ruleInWords(p.Rule),
	}
	gap, of := p.Foresight.Gap(p.USD)
	o.GapPct, o.GapSEPct = 100*gap, 100*of
	for _, s := range p.Simple {
		theirs, _ := planner.Mean(s.USD)
		gain := make([]float64, len(s.USD))
		for m := range gain {
			gain[m] = p.USD[m] - s.USD[m]
		}
		less, of := planner.Mean(gain)
		o.Rules = append(o.Rules, RuleOutcome{Rule: s.Name, Expected: theirs - owed, Less: less, SE: of})
	}
	for _, m := range p.OneMore {
		usd, of := planner.Mean(m.USD)
		o.OneMore = append(o.OneMore, MoreOutcome{Of: mo.moreOf(m), USD: usd, SE: of})
	}
	o.Margins = mo.margins(p)
	o.MarginsSay = marginWords(o.Margins)
	o.WithLandlords = slices.ContainsFunc(mo.season.Fields, func(f farm.Field) bool { return len(f.Shares) > 1 })
	for f, left := range p.Left {
		if left > leftWorthSaying*mo.build.Table.Fields[f].Acres {
			o.Cannot = append(o.Cannot, mo.whyLeft(p, f))
		}
	}
	return o
}
