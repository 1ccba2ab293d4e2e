package app

import (
	"context"
	"fmt"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// ticketsOf reads a file of tickets as entries of the book. One that the file takes back itself is passed over with its reason: it
// never was in the book.
func (a *App) ticketsOf(path string, st *standing) ([]paper, error) {
	entries, err := readWith(a, nil, path, func(name string, data []byte) ([]ledger.Entry, error) { return a.ReadLoads(name, data, st.zone) })
	if err != nil {
		return nil, err
	}
	back := map[string]bool{}
	for _, e := range entries {
		if e.Ticket == nil {
			back[e.Back] = true
		}
	}
	var out []paper
	var bad problem.InputErrors
	for _, e := range entries {
		if e.Ticket == nil || back[e.Ticket.ID] {
			continue
		}
		l, err := enteredLoad(e.Ticket, st.file.Season)
		if err != nil {
			err.Where = e.Where
			bad = append(bad, err)
			continue
		}
		out = append(out, paper{journal.LoadSubject, journal.LoadBody(l), e.Where})
	}
	return out, bad.Or()
}

// enteredLoad returns a ticket as an entry of the data file, or what of it the data file has no place for.
func enteredLoad(t *ledger.Ticket, s *farm.Season) (journal.Load, *problem.InputError) {
	gross, tare := int64(t.Load.Gross), int64(t.Load.Tare)
	net := gross - tare
	l := journal.Load{
		Ticket: t.Number, Outlet: t.Place, Crop: t.Load.Crop, CropYear: s.Farm.Year, Contract: t.Contract, Truck: t.Truck, Day: t.Day,
		Weights: journal.Weights{Unit: journal.Pounds, Gross: &gross, Tare: &tare, Net: &net},
	}
	no := func(column, got string) *problem.InputError {
		return &problem.InputError{
			Rule: "load.no-place", Label: column, Got: got, Want: "nothing: a load of the data file has no place for it",
			Next: "Take it out of the row, or read the file beside the books with --loads.",
		}
	}
	if !t.Weighed.Arrival.IsZero() {
		return l, no("arrived", t.Weighed.Arrival.Format("15:04"))
	}
	if at := t.Weighed.Gross; !at.IsZero() {
		l.In = &at
	}
	if at := t.Weighed.Tare; !at.IsZero() {
		l.Out = &at
	}
	for _, from := range t.From {
		name := from.Field
		if from.Bin != "" {
			name = from.Bin
		}
		l.From = append(l.From, journal.Part{Field: name, Share: from.Part})
		for _, f := range s.Fields {
			if f.ID == from.Field && t.Load.Class != "" && f.Class != t.Load.Class {
				return l, no("class", t.Load.Class)
			}
		}
	}
	for _, f := range settlement.Factors() {
		x, read := t.Load.Readings.Of(f)
		switch {
		case f == settlement.EveryLoad:
		case f.IsFlag() && t.Load.Readings.Noted(f):
			return l, no("flags", f.String())
		case f.IsFlag() || !read:
		case f == settlement.Moisture:
			l.Moisture = &x
		case !grade(&l.Quality, f, x):
			return l, no(f.String(), x.String())
		}
	}
	return l, nil
}

// grade puts a reading in its place; false: there is none.
func grade(q *farm.Quality, f settlement.Factor, x trade.Percent) bool {
	switch f {
	case settlement.TestWeight:
		q.TestWeight = &x
	case settlement.ForeignMaterial:
		q.ForeignMaterial = &x
	case settlement.DamageTotal:
		q.Damage = &x
	case settlement.HeatDamage:
		q.Heat = &x
	case settlement.Splits:
		q.Splits = &x
	case settlement.BCFM:
		q.BCFM = &x
	case settlement.Dockage:
		q.Dockage = &x
	case settlement.Protein:
		q.Protein = &x
	default:
		return false
	}
	return true
}

// loadBodies returns the bodies of the loads of a crop year that are in the book, void ones left out and without what a person
// remarked, so that a ticket that is there already is known again.
func (b *Book) loadBodies(ctx context.Context, year int) (map[string]bool, error) {
	rows, err := b.store.AllLoads(ctx, b.Farm, year)
	if err != nil {
		return nil, troubled(err)
	}
	out := map[string]bool{}
	for _, r := range rows {
		if r.State == journal.Void {
			continue
		}
		l := r.Load
		l.Note, l.Driver, l.Typed = "", "", nil
		out[string(journal.LoadBody(l))] = true
	}
	return out, nil
}

// eventsOf returns the events of what is not in the book yet, and counts what is.
func (a *App) eventsOf(ctx context.Context, b *Book, st *standing, by string, all []paper, out *ImportedPapers) (events []journal.Event, from []paper, err error) {
	there, err := b.papers(ctx)
	if err != nil {
		return nil, nil, err
	}
	loads, err := b.loadBodies(ctx, st.file.Season.Farm.Year)
	if err != nil {
		return nil, nil, err
	}
	for _, p := range all {
		if p.subject == journal.LoadSubject && loads[string(p.body)] || p.subject != journal.LoadSubject && string(there[journal.PaperKey(p.subject, p.body)]) == string(p.body) {
			out.Again++
			continue
		}
		day := calendar.Day{}
		switch p.subject {
		case journal.LoadSubject:
			out.Loads++
			l, err := journal.ReadLoad(p.body)
			if err != nil {
				return nil, nil, fmt.Errorf("read an entry just made: %w", err)
			}
			day = l.Day
		case journal.ChequeSubject:
			out.Cheques++
		default:
			out.Sheets++
		}
		ev := a.eventOf(b, st, event{journal.Of(p.subject, journal.Recorded), p.body, Signed{By: by}, day})
		ev.Origin = journal.Import
		events, from = append(events, ev), append(from, p)
	}
	return events, from, nil
}
