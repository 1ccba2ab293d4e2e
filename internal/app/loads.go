package app

import (
	"context"

	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
	"threshday/internal/store"
)

// A LoadLine is a load as lists show it.
type LoadLine struct {
	ID      string
	Version string // the entry that stands
	Counted bool
	Void    bool
	Like    string   // the load it looks like; empty: none
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
	By   []LoadSum
	All  LoadSum
}

// A LoadFilter chooses loads; empty parts choose all.
type LoadFilter struct {
	Outlet, Field, Contract, Crop string
	CropYear                      int
	From, Until                   calendar.Day
	Waiting                       bool
	By                            string // "day", "field", "outlet", "contract" or "crop"
	Limit                         int
}

// Loads lists the loads of the book, the newest day first, and adds up all that match and count.
func (a *App) Loads(ctx context.Context, data string, f LoadFilter) (*Loads, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	return b.loads(ctx, f)
}

func (b *Book) loads(ctx context.Context, f LoadFilter) (*Loads, error) {
	q := store.LoadQuery{
		Farm: b.Farm, Outlet: f.Outlet, Field: f.Field, Contract: f.Contract, Crop: f.Crop, CropYear: f.CropYear,
		From: f.From, Until: f.Until, Waiting: f.Waiting, Limit: f.Limit,
	}
	rows, _, more, err := b.store.Loads(ctx, q)
	if err != nil {
		return nil, troubled(err)
	}
	out := &Loads{More: more}
	for _, r := range rows {
		out.Rows = append(out.Rows, LoadLine{
			ID: string(r.ID), Version: string(r.Version), Counted: r.Counted, Void: r.State == journal.Void, Like: string(r.DoubleOf), Waits: r.Waits, Load: r.Load,
		})
	}
	groups, err := b.totals(ctx, f.By, q)
	if err != nil {
		return nil, troubled(err)
	}
	for _, s := range groups {
		out.By = append(out.By, LoadSum(s))
	}
	// Not the sum of the groups: by field a load of two fields counts in both.
	all, err := b.totals(ctx, "", q)
	if err != nil {
		return nil, troubled(err)
	}
	for _, s := range all {
		out.All = LoadSum(s)
	}
	return out, nil
}

// totals adds up the loads that a query chooses: of a held file from memory.
func (b *Book) totals(ctx context.Context, by string, q store.LoadQuery) ([]store.Sum, error) {
	if b.held != nil {
		if tally := b.held.tallyOf(q.Farm); tally != nil {
			return tally.Totals(ctx, by, q)
		}
	}
	return b.store.LoadTotals(ctx, by, q)
}
