package app

import (
	"context"
	"time"

	"threshday/internal/core/journal"
)

// A Line of the book: one entry, in the order it came.
type Line struct {
	Seq     int64
	At      time.Time // on the farm's clock as it was
	By      string
	Kind    string // "reading.recorded"
	ID      string // of the entry
	Of      string // of the record it speaks of
	Review  bool
	Body    string // canonical JSON; empty for a season
	Reason  string
	Changes []journal.Change
}

// A RecordHistory is everything said of one record, in the order of the book, and how it stands.
type RecordHistory struct {
	Lines []Line
	Zone  *time.Location // the farm's
	State string         // "live", "void", "waiting"
	Body  string         // as it stands, canonical JSON
}

func lineOf(e journal.Entry) Line {
	l := Line{
		Seq: e.Seq, At: e.At.In(time.FixedZone("", 60*e.Offset)), By: e.By, Kind: string(e.Kind), ID: string(e.ID),
		Review: e.Status == journal.Review,
	}
	if of, err := e.Record(); err == nil {
		l.Of = string(of)
	}
	if subject, _, ok := e.Kind.Split(); ok && subject != journal.SeasonSubject {
		l.Body = string(e.Body)
	}
	return l
}

// Recent returns the newest entries of the book, oldest first; limit bounds their number. They stand for no record, so
// State and Body are empty.
func (a *App) Recent(ctx context.Context, data string, limit int) (*RecordHistory, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	last, _, err := b.store.Head(ctx, b.Farm)
	if err != nil {
		return nil, troubled(err)
	}
	out := &RecordHistory{Zone: a.zoneOf(ctx, b)}
	err = b.store.Entries(ctx, b.Farm, max(0, last-int64(limit)), func(e journal.Entry) error {
		out.Lines = append(out.Lines, lineOf(e))
		return nil
	})
	return out, troubled(err)
}

// zoneOf returns the zone of a book's farm, or UTC while its season cannot say one: a history is shown regardless.
func (a *App) zoneOf(ctx context.Context, b *Book) *time.Location {
	st, err := a.season(ctx, b)
	if err != nil {
		return time.UTC
	}
	return st.zone
}

// History returns everything said of a record; id is the record's, or that of anything said of it.
func (a *App) History(ctx context.Context, data, id string) (*RecordHistory, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	steps, record, err := b.record(ctx, id)
	if err != nil {
		return nil, err
	}
	out := &RecordHistory{Zone: a.zoneOf(ctx, b), State: string(record.State), Body: string(record.Body)}
	for _, s := range steps {
		l := lineOf(s.Entry)
		l.Reason, l.Changes = s.Reason, s.Changes
		out.Lines = append(out.Lines, l)
	}
	return out, nil
}

// A Wait is a record that a person should look at.
type Wait struct {
	ID, Like string // Like: the load it looks like; empty: none
	Kind     string // "load"
	Why      []string
	Body     string // as it stands, canonical JSON
}

// Waiting returns what waits for a person, in the order of entry.
func (a *App) Waiting(ctx context.Context, data string) ([]Wait, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	all, _, err := a.waiting(ctx, b, 0)
	return all, err
}

// waiting returns the first records that wait, at most so many, and how many more there are; 0: all of them.
func (a *App) waiting(ctx context.Context, b *Book, most int) (out []Wait, more int, err error) {
	all, err := b.store.Waiting(ctx, b.Farm)
	if err != nil {
		return nil, 0, troubled(err)
	}
	if most > 0 && len(all) > most {
		all, more = all[:most], len(all)-most
	}
	for _, w := range all {
		_, record, err := b.record(ctx, string(w.ID))
		if err != nil {
			return nil, 0, err
		}
		out = append(out, Wait{ID: string(w.ID), Like: string(w.Like), Kind: string(w.Subject), Why: w.Why, Body: string(record.Body)})
	}
	return out, more, nil
}
