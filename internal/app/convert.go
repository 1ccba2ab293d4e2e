package app

import (
	"context"
	"errors"
	"fmt"
	"io"

	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/store"
)

// An Imported says what became of a season file.
type Imported struct {
	Entered
	Farm string
	Fields, Readings, Outlets, Bids,
	Contracts int
	Findings []problem.Finding // doubts about the file itself, and the lines in whose place the book has something else
}

// Import puts a season file into the book, whole or not at all: from now on it is the season, with what was entered one
// by one since the book began. The same file put in twice counts once.
func (a *App) Import(ctx context.Context, season, data, by string) (*Imported, error) {
	files, name, err := a.Files(season)
	if err != nil {
		return nil, err
	}
	text, err := readAll(files, name)
	if err != nil {
		return nil, err
	}
	if len(text) > journal.MaxSeason {
		return nil, &problem.InputError{Rule: "import.size", Label: "season file", Got: fmt.Sprintf("%d bytes", len(text)), Want: fmt.Sprintf("at most %d bytes", journal.MaxSeason)}
	}
	file, err := a.ParseSeason(name, text)
	if err != nil {
		return nil, err
	}
	b, err := a.book(ctx, data, begin)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // everything answered as stored is on the disk already
	s := file.Season
	out := &Imported{Farm: s.Farm.ID, Fields: len(s.Fields), Readings: len(s.Readings), Outlets: len(s.Outlets), Bids: len(s.Bids), Contracts: len(s.Contracts)}
	body := journal.SeasonBody(journal.Season{Text: string(text), Names: journal.SeasonNames(*s)})
	if out.Farm == "" {
		out.Farm = noFarm
	}
	before, entry, err := b.store.Season(ctx, b.Farm)
	switch {
	case err == nil && out.Farm != b.Farm:
		return nil, &problem.InputError{
			Rule: "import.farm", Label: "farm id", Got: out.Farm, Want: fmt.Sprintf("%q, the farm this file belongs to", b.Farm),
			Next: "Use another data file for another farm.",
		}
	case err != nil && !errors.Is(err, store.ErrNotFound):
		return nil, troubled(err)
	}
	b.Farm = out.Farm
	st, e := a.stand(ctx, b, file, string(text))
	if e != nil {
		return nil, e
	}
	if err == nil && before.Text == string(text) {
		out.Entered = Entered{ID: string(entry.ID), Data: b.Path, Again: true}
	} else {
		done, err := a.enter(ctx, b, st, event{journal.Of(journal.SeasonSubject, journal.Set), body, Signed{By: by}, calendar.Day{}})
		if err != nil {
			return nil, err
		}
		out.Entered = *done
	}
	out.Findings = append(file.Findings, st.overruled...)
	return out, nil
}

// Export returns the season of the book as a season file: byte for byte as it was put in where no entry says anything
// else, else the canonical text with the entries in it. Loads stay in the book: a season file has no place for them.
func (a *App) Export(ctx context.Context, data string) (text []byte, loads int64, err error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, 0, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	st, err := a.season(ctx, b)
	if err != nil {
		return nil, 0, err
	}
	sums, err := b.totals(ctx, "", store.LoadQuery{Farm: b.Farm})
	if err != nil {
		return nil, 0, troubled(err)
	}
	for _, s := range sums {
		loads += s.Loads
	}
	if !st.changed {
		return []byte(st.text), loads, nil
	}
	return a.WriteSeason(st.file.Season), loads, nil
}

// Dump writes every entry of the book, one a line: its hash, a space, and the line that it and the hash before it are made
// of. It reads files of later versions too.
func (a *App) Dump(ctx context.Context, data string, w io.Writer) error {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return err
	}
	defer func() { _ = b.Close() }() // nothing was written
	return troubled(b.store.Dump(ctx, w))
}
