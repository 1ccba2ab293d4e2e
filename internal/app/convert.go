package app

import (
	"context"
	"fmt"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
)

// An Imported says what became of a season file.
type Imported struct {
	Answer journal.Answer
	Farm   string
	Fields, Readings, Outlets, Bids,
	Contracts int
	Findings []problem.Finding
}

// Import puts a season file into the book, whole or not at all: from now on it is the season, with what was entered one by one
// since the book began.
func (a *App) Import(ctx context.Context, season, data, by string) (*Imported, error) {
	files, name, err := a.Files(season)
	if err != nil {
		return nil, err
	}
	text, err := readAll(files, name)
	if err != nil {
		return nil, err
	}
	file, err := a.ParseSeason(name, text)
	if err != nil {
		return nil, err
	}
	s := file.Season
	b, err := a.book(ctx, data, begin)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // everything answered as stored is on the disk already
	id := s.Farm.ID
	if id == "" {
		id = noFarm
	}
	if seq, _, err := b.store.Head(ctx, b.Farm); err == nil && seq > 0 && id != b.Farm {
		return nil, &problem.InputError{
			Rule: "import.farm", Label: "farm id", Got: id, Want: fmt.Sprintf("%q, the farm this file belongs to", b.Farm),
			Next: "Use another data file for another farm.",
		}
	}
	b.Farm = id
	if len(text) > journal.MaxSeason {
		return nil, &problem.InputError{Rule: "import.size", Label: "season file", Got: fmt.Sprintf("%d bytes", len(text)), Want: fmt.Sprintf("at most %d bytes", journal.MaxSeason)}
	}
	body := journal.SeasonBody(journal.Season{Text: string(text), Names: journal.SeasonNames(*s)})
	answer, err := a.enter(ctx, b, s, journal.Of(journal.SeasonSubject, journal.Set), body, journal.Import, by, calendar.Day{})
	if err != nil {
		return nil, err
	}
	return &Imported{
		Answer: answer, Farm: id, Fields: len(s.Fields), Readings: len(s.Readings), Outlets: len(s.Outlets), Bids: len(s.Bids),
		Contracts: len(s.Contracts), Findings: file.Findings,
	}, nil
}

// Export returns the season of the book as a season file: byte for byte as it was put in where nothing was entered since, else
// the canonical text with the entries in it. Loads stay in the book: a season file has no place for them.
func (a *App) Export(ctx context.Context, data string) (text []byte, loads int64, err error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, 0, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	file, original, merged, err := a.season(ctx, b)
	if err != nil {
		return nil, 0, err
	}
	sums, err := b.store.LoadTotals(ctx, "", loadQuery(b.Farm))
	if err != nil {
		return nil, 0, troubled(err)
	}
	for _, s := range sums {
		loads += s.Loads
	}
	if !merged {
		return []byte(original), loads, nil
	}
	return a.WriteSeason(file.Season), loads, nil
}

// enter puts one event into the book, dated now on the farm's clock.
func (a *App) enter(ctx context.Context, b *Book, s *farm.Season, kind journal.Kind, body []byte, origin journal.Origin, by string, day calendar.Day) (journal.Answer, error) {
	zone, err := a.Zone(s.Farm.Zone)
	if err != nil {
		return journal.Answer{}, fmt.Errorf("load the zone %q: %w", s.Farm.Zone, err)
	}
	now := a.Now()
	_, seconds := now.In(zone).Zone()
	if day.IsZero() {
		day = calendar.DayOf(now, zone)
	}
	answers, err := b.store.Append(ctx, journal.Event{
		Farm: b.Farm, ID: b.store.NewID(), Kind: kind, Body: body, Origin: origin, At: now, Offset: seconds / 60, Day: day, By: by,
	})
	if err != nil {
		return journal.Answer{}, troubled(err)
	}
	if answers[0].Status == journal.Refused {
		return answers[0], refusedBy(answers[0])
	}
	return answers[0], nil
}

// refusedBy turns the findings of a refused entry into what the edges say of bad input.
func refusedBy(a journal.Answer) error {
	var all problem.InputErrors
	for _, f := range a.Problems {
		if f.Severity == problem.Error {
			all = append(all, &problem.InputError{Rule: f.Rule, Label: f.Label, Got: f.Got, Want: f.Want, Where: f.Where, Next: f.Next})
		}
	}
	return all.Or()
}
