package app

import (
	"context"
	"errors"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
	"threshday/internal/store"
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

// A RecordHistory is everything said of one record and how it stands.
type RecordHistory struct {
	Lines []Line
	State string // "live", "void", "waiting"
	Body  string // as it stands, canonical JSON
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

// Recent returns the newest entries of the book, oldest first; limit bounds their number.
func (a *App) Recent(ctx context.Context, data string, limit int) ([]Line, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	last, _, err := b.store.Head(ctx, b.Farm)
	if err != nil {
		return nil, troubled(err)
	}
	var out []Line
	err = b.store.Entries(ctx, b.Farm, max(0, last-int64(limit)), func(e journal.Entry) error {
		out = append(out, lineOf(e))
		return nil
	})
	return out, troubled(err)
}

// History returns everything said of a record.
func (a *App) History(ctx context.Context, data, id string) (*RecordHistory, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	steps, record, err := b.store.History(ctx, b.Farm, journal.ID(id))
	if errors.Is(err, store.ErrNotFound) {
		return nil, unknownID(id)
	}
	if err != nil {
		return nil, troubled(err)
	}
	out := &RecordHistory{State: string(record.State), Body: string(record.Body)}
	for _, s := range steps {
		l := lineOf(s.Entry)
		l.Reason, l.Changes = s.Reason, s.Changes
		out.Lines = append(out.Lines, l)
	}
	return out, nil
}

// A LoadLine is a load as lists show it.
type LoadLine struct {
	ID      string
	Counted bool
	Void    bool
	Waits   []string // why a person should look
	Load    journal.Load
}

// A LoadSum is what loads add up to.
type LoadSum struct {
	Key          string
	Loads        int64
	NetLb, NetKg int64
}

// Loads are a page of loads with the sums of all that match.
type Loads struct {
	Rows []LoadLine
	More bool
	By   []LoadSum // by day
	All  LoadSum
}

// A LoadFilter chooses loads; empty parts choose all.
type LoadFilter struct {
	Outlet, Field, Contract, Crop string
	From, Until                   calendar.Day
	Limit                         int
}

func loadQuery(farmID string) store.LoadQuery { return store.LoadQuery{Farm: farmID} }

// Loads lists the loads of the book, the newest day first.
func (a *App) Loads(ctx context.Context, data string, f LoadFilter) (*Loads, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	q := store.LoadQuery{
		Farm: b.Farm, Outlet: f.Outlet, Field: f.Field, Contract: f.Contract, Crop: f.Crop, From: f.From, Until: f.Until, Limit: f.Limit,
	}
	rows, _, more, err := b.store.Loads(ctx, q)
	if err != nil {
		return nil, troubled(err)
	}
	out := &Loads{More: more}
	for _, r := range rows {
		out.Rows = append(out.Rows, LoadLine{ID: string(r.ID), Counted: r.Counted, Void: r.State == journal.Void, Waits: r.Waits, Load: r.Load})
	}
	days, err := b.store.LoadTotals(ctx, "day", q)
	if err != nil {
		return nil, troubled(err)
	}
	for _, s := range days {
		out.By = append(out.By, LoadSum(s))
		out.All.Loads += s.Loads
		out.All.NetLb += s.NetLb
		out.All.NetKg += s.NetKg
	}
	return out, nil
}
