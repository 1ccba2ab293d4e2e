package store

import (
	"context"
	"slices"
	"strings"

	"threshday/internal/core/journal"
	"threshday/internal/store/fault"
	"threshday/internal/store/proof"
)

// project brings the derived tables along with an event that is now in the book. It looks only at the book, so
// playing the book from the start makes the same tables.
func (s *Store) project(ctx context.Context, e journal.Event) error {
	subject, act, _ := e.Kind.Split()
	if subject == journal.SeasonSubject {
		delete(s.names, e.Farm)
		return nil
	}
	if subject == journal.BookSubject {
		return nil
	}
	id, err := e.Record()
	if err != nil {
		return err
	}
	if fault.Planted("projection-apart") && s.later(e) {
		return nil
	}
	if fault.Planted("correct-in-place") && act == journal.Correct {
		return s.overwrite(ctx, e)
	}
	entries, err := s.entriesOf(ctx, e.Farm, id)
	if err != nil {
		return err
	}
	r := fold(id, entries)
	if r.State == journal.Waiting || r.Subject != subject {
		return nil
	}
	if r.Subject == journal.LoadSubject {
		return s.projectLoad(ctx, e.Farm, r, entries)
	}
	return s.projectRecord(ctx, e.Farm, r, entries)
}

func fold(id journal.ID, entries []journal.Entry) journal.Record {
	events := make([]journal.Event, len(entries))
	for i, e := range entries {
		events[i] = e.Event
	}
	return journal.Fold(id, events)
}

// entriesOf returns the entries about one record, in the order of the book but for the one that records it, which
// is first.
func (s *Store) entriesOf(ctx context.Context, farm string, record journal.ID) ([]journal.Entry, error) {
	base, ok, err := s.entryOf(ctx, farm, record)
	if err != nil {
		return nil, err
	}
	var entries []journal.Entry
	if ok {
		entries = append(entries, base)
	}
	rows, err := s.w.query(ctx, `SELECT `+proof.EntryColumns+` FROM events
		WHERE farm_id = $1 AND record_id = $2 AND record_id <> event_id ORDER BY seq`, farm, string(record))
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		e, err := proof.ScanEntry(rows)
		if err != nil {
			return nil, err
		}
		entries = append(entries, e)
	}
	return entries, rows.Err()
}

// Reasons for which a record waits for a person, beside the rules of the version that stands.
const (
	waitsRivals = "record.rivals" // two corrections of one version
	waitsLoose  = "record.loose"  // a correction of a version that does not stand
	waitsVoid   = "record.void"   // corrected after it was voided
	waitsDouble = "load.double"
	waitsMerge  = "load.merge" // merged with a record that does not count
	waitsWeight = "load.no-weight"
)

// waits returns what a person must look at in r, in order.
func waits(r journal.Record, entries []journal.Entry) []string {
	if r.State == journal.Void {
		if correctedSinceVoid(entries) {
			return []string{waitsVoid}
		}
		return nil
	}
	var out []string
	for _, e := range entries {
		if e.ID != r.Version || r.Kept {
			continue
		}
		for _, rule := range e.Rules {
			// What an entry met on arrival is judged anew from what the book holds now.
			if !strings.HasPrefix(rule, "record.") && rule != waitsDouble {
				out = append(out, rule)
			}
		}
	}
	if len(r.Rivals) > 0 {
		out = append(out, waitsRivals)
	}
	if len(r.Loose) > 0 {
		out = append(out, waitsLoose)
	}
	slices.Sort(out)
	return out
}

// correctedSinceVoid reports whether the newest thing said of a voided record is a correction.
func correctedSinceVoid(entries []journal.Entry) bool {
	for _, e := range slices.Backward(entries) {
		switch _, act, _ := e.Kind.Split(); act {
		case journal.Correct:
			return true
		case journal.Voided:
			return false
		default: // nothing for the others
		}
	}
	return false
}

// projectRecord writes the row of a record that is not a load.
func (s *Store) projectRecord(ctx context.Context, farm string, r journal.Record, entries []journal.Entry) error {
	about, at, err := placeOf(r)
	if err != nil {
		return err
	}
	return s.w.exec(ctx, `INSERT INTO records (farm_id, record_id, subject, about, at, state, version_id, review)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
		ON CONFLICT (farm_id, record_id) DO UPDATE SET about = excluded.about, at = excluded.at, state = excluded.state,
			version_id = excluded.version_id, review = excluded.review`,
		farm, string(r.ID), string(r.Subject), about, at, string(r.State), string(r.Version), strings.Join(waits(r, entries), " "))
}

// placeOf returns what a record is about, a field, an outlet or a paper by its key, and where it stands among those: when it was,
// or a sheet by its ticket.
func placeOf(r journal.Record) (about, at string, err error) {
	switch r.Subject {
	case journal.ReadingSubject:
		v, _, err := journal.ReadReading(r.Body)
		return v.Field, journal.FormatInstant(v.At), err
	case journal.StageSubject:
		v, _, err := journal.ReadStage(r.Body)
		return v.Field, v.On.String(), err
	case journal.BidSubject:
		v, _, err := journal.ReadBid(r.Body)
		return v.Outlet, journal.FormatInstant(v.Taken), err
	case journal.ChequeSubject:
		v, err := journal.ReadCheque(r.Body)
		return journal.PaperKey(r.Subject, r.Body), v.On.String(), err
	case journal.SheetSubject:
		v, err := journal.ReadSheet(r.Body)
		return journal.PaperKey(r.Subject, r.Body), v.Ticket, err
	default: // nothing for the others
	}
	v, _, err := journal.ReadOutlook(r.Body)
	return "", v.On.String(), err
}
