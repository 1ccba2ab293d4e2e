package app

import (
	"context"
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/problem"
	"threshday/internal/core/weather"
)

// A WeatherScore says how forecasts did against what came.
type WeatherScore struct {
	Farm     string
	AsOf     time.Time
	Climate  string     // what they are held against
	Loud     []string   // what a person must know of that
	Observed *time.Time // end of what was observed
	Sources  []SourceScore
	Errors   weather.ErrorTable // as plans use it
	Learned  [4]int             // of temperature, dew point, wind and rain: lead days that the archive taught
	Findings []problem.Finding
}

// A SourceScore is how one source did.
type SourceScore struct {
	Name     string
	Issues   int // dates with a forecast
	From, To calendar.Day
	Leads    [weather.LongestLead]LeadScore
}

// A LeadScore is how forecasts of one lead day did, and how members drawn around them did.
type LeadScore struct {
	Said    weather.LeadScore
	Members weather.MemberLead
}

// scoreMembers are drawn for each forecast that is scored.
const scoreMembers = 79

// ScoreWeather holds what was forecast against what came. Forecasts are those of the data file, or of the folder they were
// fetched into; what came is the season's record and what was imported.
func (a *App) ScoreWeather(ctx context.Context, r PlanRequest, progress func(done, of int)) (*WeatherScore, error) {
	mo, err := a.settled(ctx, &r)
	if err != nil {
		return nil, err
	}
	if err := a.readWeather(ctx, r, mo); err != nil {
		return nil, err
	}
	out := &WeatherScore{Farm: mo.season.Farm.Name, AsOf: mo.now}
	if r.Book == "" && r.Kept != "" {
		if err := a.folderArchive(r.Kept, mo, out); err != nil {
			return nil, err
		}
	}
	said, err := mo.saidBySource()
	if err != nil {
		return nil, err
	}
	if err := mo.canScore(said); err != nil {
		return nil, err
	}
	observed := mo.observed.Until(calendar.HourOf(mo.now))
	var years []int
	for _, s := range said {
		for y := s.From.Year; y <= s.To.Year; y++ {
			years = append(years, y)
		}
	}
	if mo.from, err = mo.climate(years...); err != nil {
		return nil, err
	}
	out.Loud, out.Climate, out.Observed = mo.from.loud, mo.from.climate.Described(), mo.observedUntil()
	out.Errors, out.Learned = mo.from.errors, mo.from.learned
	total, before := 0, 0
	for _, s := range said {
		total += s.Issues
	}
	scored := 0
	for _, s := range said {
		one, err := mo.score(ctx, s, observed, func(done int) {
			if progress != nil {
				progress(before+done, total)
			}
		})
		if err != nil {
			return nil, err
		}
		before += s.Issues
		for _, l := range one.Leads {
			scored += l.Said.High.N + l.Said.Low.N + len(l.Said.Rain.Chances)
		}
		out.Sources = append(out.Sources, *one)
	}
	if scored == 0 {
		return nil, &NoAnswer{
			Rule: "weather.unobserved", Say: fmt.Sprintf("None of the days that were forecast, %s to %s, was observed whole.", said[0].From, said[0].To),
			Next: "Import what the station measured since: threshday weather import FILE.",
		}
	}
	return out, ctx.Err()
}

// folderArchive takes the forecasts of a folder for archive.
func (a *App) folderArchive(folder string, mo *morning, out *WeatherScore) error {
	kept, doubts, err := a.AllForecasts(folder)
	if err != nil {
		return err
	}
	out.Findings = append(out.Findings, doubts...)
	for _, k := range kept {
		if mo.season.Farm.At != nil && sameSpot(*mo.season.Farm.At, k.At) && !k.Issued.After(mo.now) {
			k.Days = saidDays(k.Days.Ahead(calendar.HourOf(k.Received), mo.zone))
			mo.archive = append(mo.archive, k)
		}
	}
	return nil
}

// A saidBy is what one source said.
type saidBy struct {
	SourceScore
	issues []weather.Issue
}

// saidBySource parts what was said by who said it: services first, then the farm's own entries, of which the last of each day
// is known.
func (mo *morning) saidBySource() ([]saidBy, error) {
	var out []saidBy
	for _, name := range []string{NationalService, EnsembleService} {
		var of []KeptForecast
		for _, k := range mo.archive {
			if k.Service == name {
				of = append(of, k)
			}
		}
		if issues := issuesOf(of); len(issues) > 0 {
			out = append(out, mo.saidBy(name, issues))
		}
	}
	own, err := ownIssues(mo.season.Outlook, mo.now)
	if len(own) > 0 {
		out = append(out, mo.saidBy(OwnForecast, own))
	}
	return out, err
}

// ownIssues returns the farm's own entries that say when they were made.
func ownIssues(days []farm.OutlookDay, now time.Time) ([]weather.Issue, error) {
	var out []weather.Issue
	for _, d := range days {
		if d.Entered == nil || d.Entered.After(now) {
			continue
		}
		ahead, err := manualDay(d).Ahead()
		if err != nil {
			return nil, err
		}
		at := calendar.HourOf(*d.Entered)
		if n := len(out); n > 0 && out[n-1].At == at {
			out[n-1].Days = append(out[n-1].Days, ahead)
		} else {
			out = append(out, weather.Issue{At: at, Days: []weather.Ahead{ahead}})
		}
	}
	return out, nil
}

func (mo *morning) saidBy(name string, issues []weather.Issue) saidBy {
	s := saidBy{SourceScore{Name: name}, issues}
	dates := map[calendar.Day]bool{}
	for _, i := range issues {
		on := calendar.DayOf(i.At.Start(), mo.zone)
		if len(dates) == 0 || on.Before(s.From) {
			s.From = on
		}
		if len(dates) == 0 || s.To.Before(on) {
			s.To = on
		}
		dates[on] = true
	}
	s.Issues = len(dates)
	return s
}

// canScore says what is missing for a score.
func (mo *morning) canScore(said []saidBy) error {
	switch {
	case len(said) == 0:
		return &NoAnswer{
			Rule: "weather.no-forecasts", Say: "No forecast has been kept yet, so there is nothing to hold against what came.",
			Next: "Fetch one each morning with threshday weather fetch; after some days, import what the station measured and ask again.",
		}
	case mo.observed == nil:
		return &NoAnswer{
			Rule: "weather.unobserved", Say: "What came was not recorded, so nothing can be held against it.",
			Next: "Import what the station measured: threshday weather import FILE.",
		}
	}
	return nil
}

// score holds one source against what came.
func (mo *morning) score(ctx context.Context, s saidBy, observed *weather.Series, done func(int)) (*SourceScore, error) {
	out := s.SourceScore
	said := weather.Verify(s.issues, observed, mo.from.climate, mo.zone)
	members, err := weather.VerifyMembers(s.issues, observed, weather.MemberTrial{
		Climate: mo.from.climate, Errors: &mo.from.errors, At: mo.from.at, Zone: mo.zone, Root: mo.root, Members: scoreMembers,
		Done: func(n, _ int) { done(n) }, Stop: func() bool { return ctx.Err() != nil },
	})
	if err != nil {
		return nil, err
	}
	for l := range out.Leads {
		out.Leads[l] = LeadScore{said.Lead[l], members[l]}
	}
	return &out, nil
}
