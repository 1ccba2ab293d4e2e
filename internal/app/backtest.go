package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/planner"
	"threshday/internal/core/settlement"
	"threshday/internal/core/weather"
	"threshday/internal/core/worth"
)

// A BacktestRequest asks what the plan would have earned in recorded autumns.
type BacktestRequest struct {
	PlanRequest
	Years []int         // of the record; empty: every year that is whole
	From  *calendar.Day // month and date on which each season starts; nil: that of the plan's own morning
}

// A Backtest is what plan, rules of thumb and perfect foresight earned year by year.
type Backtest struct {
	From    string // month and date
	Years   []BacktestYear
	Skipped []string
	Total   BacktestYear // sums; Year is 0
	Members int          // other weathers the rule was learned on
	Draws   int          // draws of what is not known of the fields, over which each year is the mean
}

// A BacktestYear is one autumn. Bound is what perfect knowledge could earn at most.
type BacktestYear struct {
	Year             int
	Plan, Bound      float64
	Rules            []RuleOutcome // Less is the plan's advantage
	RainDays, RainMM float64       // in the ninety days from the start, to know the year by
	BestRule         string
	LeadOnBestRule   float64
	SharedCutPct     float64
}

// replayDraws is how many draws of yield, maturity and losses each year is averaged over: the weather is the year's own in all.
const replayDraws = 12

// Backtest replays recorded autumns. In each the season starts without readings and without a forecast; the rule is learned on
// the other years alone and then meets the year hour by hour.
func (a *App) Backtest(ctx context.Context, r BacktestRequest, progress func(done, of int)) (*Backtest, error) {
	mo, err := a.opened(ctx, r.PlanRequest)
	if err != nil {
		return nil, err
	}
	if mo.record == nil {
		return nil, &NoAnswer{
			Rule: "weather.none", Say: "No weather record is loaded, so there is no autumn to replay.",
			Next: "Name an hourly station record of a few years under [farm.weather] record.",
		}
	}
	if mo.terms, err = anyYear(mo.terms); err != nil {
		return nil, err
	}
	first := calendar.DayOf(mo.now, mo.zone)
	if r.From != nil {
		first = *r.From
	}
	years := r.Years
	if len(years) == 0 {
		years = wholeYears(mo, first)
	}
	out := &Backtest{From: fmt.Sprintf("%02d-%02d", int(first.Month), first.Date), Draws: replayDraws}
	for i, year := range years {
		if progress != nil {
			progress(i, len(years))
		}
		one, members, err := a.replay(ctx, mo, first.InYear(year), year)
		switch {
		case ctx.Err() != nil:
			return nil, ctx.Err()
		case err != nil:
			out.Skipped = append(out.Skipped, fmt.Sprintf("%d: %v", year, err))
			continue
		}
		out.Members = members
		out.Years = append(out.Years, *one)
	}
	if len(out.Years) == 0 {
		return nil, &NoAnswer{Rule: "backtest.none", Say: "No year of the record can be replayed: " + fmt.Sprint(out.Skipped), Next: "Load a longer record or name other years."}
	}
	out.Total = total(out.Years)
	return out, nil
}

// anyYear returns the terms without their dates: today's schedules are taken to hold in every year that is replayed.
func anyYear(terms map[worth.TermsKey]*settlement.Terms) (map[worth.TermsKey]*settlement.Terms, error) {
	out := map[worth.TermsKey]*settlement.Terms{}
	for key, t := range terms {
		s := t.Schedule()
		s.ValidFrom, s.ValidTo = nil, nil
		undated, _, err := settlement.Prepare(s)
		if err != nil {
			return nil, err
		}
		out[key] = undated
	}
	return out, nil
}

// wholeYears lists the years whose season from that month and date lies in the record.
func wholeYears(mo *morning, first calendar.Day) []int {
	var out []int
	record := mo.record.Series
	for y := calendar.DayOf(record.Start.Start(), mo.zone).Year; y <= calendar.DayOf(record.End().Start(), mo.zone).Year; y++ {
		start, end := seasonOf(inYear(mo.season, y), first.InYear(y), mo.zone)
		if start >= record.Start && end <= record.End() {
			out = append(out, y)
		}
	}
	return out
}

// seasonOf returns the hours of a season that starts at six in the morning of first.
func seasonOf(s *farm.Season, first calendar.Day, zone *time.Location) (start, end calendar.Hour) {
	last := s.Prefer.SeasonEnd
	if last.IsZero() || last.DaysSince(first) > longestSeason {
		last = first.AddDays(longestSeason)
	}
	_, end = last.Hours(zone)
	return calendar.HourOf(first.Start(zone).Add(6 * time.Hour)), end
}

// replay plans one year's season on the other years and runs it through the year's own weather.
func (a *App) replay(ctx context.Context, mo *morning, first calendar.Day, year int) (*BacktestYear, int, error) {
	season := inYear(mo.season, year)
	start, end := seasonOf(season, first, mo.zone)
	record := mo.record.Series
	if start < record.Start || end > record.End() {
		return nil, 0, fmt.Errorf("the record does not hold its whole season")
	}
	members := mo.members
	from, err := mo.climate(year)
	if err != nil {
		return nil, 0, err
	}
	others, err := from.climate.Generate(weather.GenerateOptions{Start: start, Hours: int(end - start), Members: members, At: from.at},
		weather.LeadIn{Now: start, Zone: mo.zone, Observed: record, Root: mo.root})
	if err != nil {
		return nil, 0, err
	}
	ensemble, err := withYear(others, record, replayDraws, fmt.Sprint(year))
	if err != nil {
		return nil, 0, err
	}
	build, err := worth.New(worth.Inputs{
		Season: season, Terms: mo.terms, Record: record, Ensemble: ensemble, Now: start, Zone: mo.zone, Root: mo.root, Workers: a.workers(),
	})
	if err != nil {
		return nil, 0, err
	}
	p, err := planner.Make(ctx, build.Table, planner.Settings{Workers: a.workers(), Apart: replayDraws, Brief: true})
	if err != nil {
		return nil, 0, err
	}
	return outcomeOf(p, build, record, start, year), members, nil
}

// withYear appends the year's own weather n times to the members.
func withYear(others *weather.Ensemble, record *weather.Series, n int, year string) (*weather.Ensemble, error) {
	out := weather.NewEnsemble(others.Start, others.Hours, others.Members+n)
	copy(out.Source, others.Source)
	for v := range weather.Var(weather.NVar) {
		for m := range others.Members {
			copy(out.Row(v, m), others.Row(v, m))
		}
		for h := range out.Hours {
			x, ok := record.At(v, out.Start+calendar.Hour(h))
			if !ok && v == weather.SkyFrac {
				x, ok = 0.5, true
			}
			if !ok {
				return nil, fmt.Errorf("its weather lacks %s on %s", v, (out.Start + calendar.Hour(h)).Start().Format(time.DateOnly))
			}
			for m := others.Members; m < out.Members; m++ {
				out.Row(v, m)[h] = float32(x)
			}
		}
	}
	for m := others.Members; m < out.Members; m++ {
		out.Source[m] = year
	}
	return out, nil
}

func outcomeOf(p *planner.Plan, build *worth.Build, record *weather.Series, start calendar.Hour, year int) *BacktestYear {
	apart := func(x []float64) []float64 { return x[len(x)-replayDraws:] }
	plan, _ := planner.Mean(apart(p.USD))
	bound, _ := planner.Mean(p.Foresight.USD)
	y := &BacktestYear{Year: year, Plan: plan - build.Owed, Bound: bound - build.Owed, LeadOnBestRule: math.Inf(1)}
	for _, s := range p.Simple {
		theirs, _ := planner.Mean(apart(s.USD))
		y.Rules = append(y.Rules, RuleOutcome{Rule: s.Name, Expected: theirs - build.Owed, Less: plan - theirs})
		if plan-theirs < y.LeadOnBestRule {
			y.BestRule, y.LeadOnBestRule = s.Name, plan-theirs
		}
	}
	for day := range 90 {
		air := record.Summary(start+calendar.Hour(24*day), start+calendar.Hour(24*day+24))
		y.RainMM += air.Rain
		if air.Wet() {
			y.RainDays++
		}
	}
	return y
}

func total(years []BacktestYear) BacktestYear {
	t := BacktestYear{LeadOnBestRule: math.Inf(1)}
	for _, y := range years {
		t.Plan += y.Plan
		t.Bound += y.Bound
		for i, r := range y.Rules {
			if i == len(t.Rules) {
				t.Rules = append(t.Rules, RuleOutcome{Rule: r.Rule})
			}
			t.Rules[i].Expected += r.Expected
			t.Rules[i].Less += r.Less
		}
	}
	for _, r := range t.Rules {
		if r.Less < t.LeadOnBestRule {
			t.BestRule, t.LeadOnBestRule = r.Rule, r.Less
		}
	}
	return t
}

// inYear returns the season with every date moved to another year, without what was seen of the crop and the weather.
func inYear(s *farm.Season, year int) *farm.Season {
	out := *s
	by := year - s.Farm.Year
	move := func(d *calendar.Day) *calendar.Day {
		if d == nil {
			return nil
		}
		moved := d.InYear(d.Year + by)
		return &moved
	}
	out.Farm.Year, out.Farm.AsOf = year, nil
	out.Readings, out.Stages, out.Grounds, out.Outlook = nil, nil, nil, nil
	out.Prefer.SeasonEnd = *move(&s.Prefer.SeasonEnd)
	if s.Prefer.SeasonEnd.IsZero() {
		out.Prefer.SeasonEnd = calendar.Day{}
	}
	out.Fields = slices.Clone(s.Fields)
	for i := range out.Fields {
		f := &out.Fields[i]
		f.Planted, f.Mature, f.CutAcres = move(f.Planted), move(f.Mature), 0
	}
	out.Anchors = slices.Clone(s.Anchors)
	for i := range out.Anchors {
		out.Anchors[i].Planted, out.Anchors[i].Mature = *move(&s.Anchors[i].Planted), *move(&s.Anchors[i].Mature)
	}
	out.Combines = slices.Clone(s.Combines)
	for i := range out.Combines {
		out.Combines[i].OutUntil = move(out.Combines[i].OutUntil)
	}
	out.Outlets = slices.Clone(s.Outlets)
	for i := range out.Outlets {
		out.Outlets[i].Closed = nil
		for _, d := range s.Outlets[i].Closed {
			out.Outlets[i].Closed = append(out.Outlets[i].Closed, *move(&d))
		}
	}
	out.Bids = slices.Clone(s.Bids)
	for i := range out.Bids {
		out.Bids[i].From, out.Bids[i].Until = move(out.Bids[i].From), move(out.Bids[i].Until)
	}
	out.Premiums = slices.Clone(s.Premiums)
	for i := range out.Premiums {
		out.Premiums[i].From, out.Premiums[i].Until = move(out.Premiums[i].From), *move(&out.Premiums[i].Until)
	}
	out.Contracts = slices.Clone(s.Contracts)
	for i := range out.Contracts {
		out.Contracts[i].From, out.Contracts[i].Until = move(out.Contracts[i].From), *move(&out.Contracts[i].Until)
	}
	return &out
}
