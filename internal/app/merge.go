package app

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/store"
)

// entries are what was entered one by one and counts, apart from loads.
type entries struct {
	readings []farm.Reading
	stages   []farm.Sighting
	bids     []farm.Bid
	outlook  []farm.OutlookDay
	void     map[string]bool // ids on lines of the season file whose records are void
}

// entries reads the entries of a book; which lines of s are void is asked for those that bear a record's id.
func (b *Book) entries(ctx context.Context, s *farm.Season) (entries, error) {
	e := entries{void: map[string]bool{}}
	readings, err := b.store.Readings(ctx, b.Farm, "")
	if err != nil {
		return e, err
	}
	stages, err := b.store.Stages(ctx, b.Farm, "")
	if err != nil {
		return e, err
	}
	bids, err := b.store.Bids(ctx, b.Farm, "")
	if err != nil {
		return e, err
	}
	outlook, err := b.store.Outlook(ctx, b.Farm)
	if err != nil {
		return e, err
	}
	e.readings, e.stages, e.bids, e.outlook = values(readings), values(stages), values(bids), values(outlook)
	for _, id := range idsOf(s) {
		if !journal.ID(id).Valid() {
			continue
		}
		_, record, err := b.store.History(ctx, b.Farm, journal.ID(id))
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return e, err
		}
		e.void[id] = err == nil && record.State == journal.Void
	}
	return e, nil
}

func values[T any](items []store.Item[T]) []T {
	out := make([]T, len(items))
	for i, it := range items {
		out[i] = it.Value
	}
	return out
}

// idsOf returns the ids of the lines of s that can also be entered one by one.
func idsOf(s *farm.Season) []string {
	var out []string
	for _, r := range s.Readings {
		out = append(out, r.ID)
	}
	for _, r := range s.Stages {
		out = append(out, r.ID)
	}
	for _, r := range s.Bids {
		out = append(out, r.ID)
	}
	return out
}

// into puts the entries into s and reports whether that changed it. The rule:
//
//   - Only what is of the season's crop year, and of a field or outlet that the season has, counts.
//   - A line of the file that bears the id of an entry is that entry: the book's word stands, and where it is void
//     the line is taken away.
//   - Of two bids for one crop at one outlet, one of them entered, whose delivery overlaps, the one heard last stands.
//   - Of two forecasts for one day, the one made last stands; a line that does not say when it was made is the older.
//
// Every line that gives way, and every entry that the season has no place for, is told.
func (e entries) into(s *farm.Season, zone *time.Location) (changed bool, told []problem.Finding) {
	m := merger{season: s, zone: zone, void: e.void}
	m.readings(e.readings)
	m.stages(e.stages)
	m.bids(e.bids)
	m.outlook(e.outlook)
	return m.changed, m.told
}

type merger struct {
	season  *farm.Season
	zone    *time.Location
	void    map[string]bool
	changed bool
	told    []problem.Finding
}

func (m *merger) tell(rule, record, say, next string) {
	m.told = append(m.told, problem.Finding{Rule: rule, Severity: problem.Note, Where: problem.Place{Path: record}, Label: record, Say: say, Next: next})
}

// turn is the month with which a crop year begins: the corn that stood through the winter is still last year's.
const turn = time.March // [judgement]

// ofSeason reports whether a day belongs to the season's crop year.
func (m *merger) ofSeason(day calendar.Day) bool {
	year := day.Year
	if day.Month < turn {
		year--
	}
	return year == m.season.Farm.Year
}

// placed reports whether the season has the field, and tells what it has no place for.
func (m *merger) placed(record, field string) bool {
	if slices.ContainsFunc(m.season.Fields, func(f farm.Field) bool { return f.ID == field }) {
		return true
	}
	m.tell("season.no-field", record, fmt.Sprintf("It is of field %q, which the season no longer has: it stays in the book and counts in no plan.", field),
		"Put the field back, or void the entry.")
	return false
}

const overruledNext = "Change it with threshday correct; export writes the season file as it stands."

// place puts one into all: in the place of the line of the same id, or at the end. body tells two that say the same.
func place[T any](m *merger, all *[]T, one T, kind, id string, idOf func(T) string, body func(T) []byte) {
	i := slices.IndexFunc(*all, func(t T) bool { return idOf(t) == id })
	switch {
	case i < 0:
		*all = append(*all, one)
	case bytes.Equal(body((*all)[i]), body(one)):
		return
	default:
		(*all)[i] = one
		m.tell("season.overruled", farm.RecordName(kind, id, 0), "The season file says something else than the book; the book's word stands.", overruledNext)
	}
	m.changed = true
}

// strike takes away the lines of the file whose records are void.
func strike[T any](m *merger, all *[]T, kind string, idOf func(T) string) {
	*all = slices.DeleteFunc(*all, func(t T) bool {
		gone := m.void[idOf(t)]
		if gone {
			m.changed = true
			m.tell("season.void", farm.RecordName(kind, idOf(t), 0), "Its line in the season file counts no more: it was voided.", "")
		}
		return gone
	})
}

func (m *merger) readings(all []farm.Reading) {
	idOf := func(r farm.Reading) string { return r.ID }
	strike(m, &m.season.Readings, "reading", idOf)
	for _, r := range all {
		if m.ofSeason(calendar.DayOf(r.At, m.zone)) && m.placed(farm.RecordName("reading", r.ID, 0), r.Field) {
			r.At = r.At.In(m.zone)
			place(m, &m.season.Readings, r, "reading", r.ID, idOf, func(r farm.Reading) []byte { return journal.ReadingBody(r, nil) })
		}
	}
}

func (m *merger) stages(all []farm.Sighting) {
	idOf := func(r farm.Sighting) string { return r.ID }
	strike(m, &m.season.Stages, "stage", idOf)
	for _, r := range all {
		if m.ofSeason(r.On) && m.placed(farm.RecordName("stage", r.ID, 0), r.Field) {
			place(m, &m.season.Stages, r, "stage", r.ID, idOf, func(r farm.Sighting) []byte { return journal.StageBody(r, nil) })
		}
	}
}

func (m *merger) bids(all []farm.Bid) {
	idOf := func(b farm.Bid) string { return b.ID }
	strike(m, &m.season.Bids, "bid", idOf)
	for _, b := range all {
		record := farm.RecordName("bid", b.ID, 0)
		if !m.ofSeason(calendar.DayOf(b.Taken, m.zone)) {
			continue
		}
		if !slices.ContainsFunc(m.season.Outlets, func(o farm.Outlet) bool { return o.ID == b.Outlet }) {
			m.tell("season.no-outlet", record, fmt.Sprintf("It is of outlet %q, which the season no longer has: it stays in the book and counts in no plan.", b.Outlet),
				"Put the outlet back, or void the entry.")
			continue
		}
		rival := func(r farm.Bid) bool {
			return r.ID != b.ID && r.Outlet == b.Outlet && r.Crop == b.Crop && overlap(r, b)
		}
		if slices.ContainsFunc(m.season.Bids, func(r farm.Bid) bool { return rival(r) && heardAfter(r, b) }) {
			m.season.Bids = slices.DeleteFunc(m.season.Bids, func(r farm.Bid) bool {
				m.changed = m.changed || r.ID == b.ID
				return r.ID == b.ID
			})
			continue
		}
		m.season.Bids = slices.DeleteFunc(m.season.Bids, func(r farm.Bid) bool {
			m.changed = m.changed || rival(r)
			return rival(r)
		})
		b.Taken = b.Taken.In(m.zone)
		place(m, &m.season.Bids, b, "bid", b.ID, idOf, func(b farm.Bid) []byte { return journal.BidBody(b, nil) })
	}
}

// heardAfter reports whether a was heard after b; of two heard in one moment the id decides, so that the order of
// lines does not.
func heardAfter(a, b farm.Bid) bool {
	if a.Taken.Equal(b.Taken) {
		return a.ID > b.ID
	}
	return a.Taken.After(b.Taken)
}

// overlap reports whether two bids are for a common day of delivery.
func overlap(a, b farm.Bid) bool {
	apart := func(until, from *calendar.Day) bool { return until != nil && from != nil && until.Before(*from) }
	return !apart(a.Until, b.From) && !apart(b.Until, a.From)
}

func (m *merger) outlook(all []farm.OutlookDay) {
	days := &m.season.Outlook
	for _, d := range all {
		if !m.ofSeason(d.On) {
			continue
		}
		if d.Entered != nil {
			at := d.Entered.In(m.zone)
			d.Entered = &at
		}
		i := slices.IndexFunc(*days, func(o farm.OutlookDay) bool { return o.On == d.On })
		switch {
		case i < 0:
			*days = append(*days, d)
		case made((*days)[i]).After(made(d)), bytes.Equal(journal.OutlookBody((*days)[i], nil), journal.OutlookBody(d, nil)):
			continue
		default:
			m.tell("season.overruled", "forecast for "+d.On.String(), "The season file says something else than what was entered last, which stands.",
				"Enter the day again with threshday add forecast, or give the line in the season file the time it was made.")
			(*days)[i] = d
		}
		m.changed = true
	}
	if m.changed {
		slices.SortStableFunc(*days, func(x, y farm.OutlookDay) int { return x.On.DaysSince(y.On) })
	}
}

// made is when a day of forecast was made; before everything where it does not say.
func made(d farm.OutlookDay) time.Time {
	if d.Entered == nil {
		return time.Time{}
	}
	return *d.Entered
}
