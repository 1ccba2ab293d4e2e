package app

import (
	"bytes"
	"context"
	"errors"

	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/store"
)

// Void takes a record out of what counts; it stays readable, with the reason.
func (a *App) Void(ctx context.Context, data, id, reason, by string) (*Entered, error) {
	return a.say(ctx, data, id, journal.Voided, reason, by, func(*journal.Saying, journal.Record) error { return nil })
}

// Correct puts a new version in the place of the one that stands. change is given the kind of record and its body and
// returns the whole new body.
func (a *App) Correct(ctx context.Context, data, id, reason, by string, change func(journal.Subject, []byte) ([]byte, error)) (*Entered, error) {
	return a.say(ctx, data, id, journal.Correct, reason, by, func(s *journal.Saying, r journal.Record) (err error) {
		if r.State != journal.Live {
			return &NoAnswer{Rule: "entry.void", Say: "That record is void; there is no version to correct.", Next: "Enter it anew, or take the void back with threshday undo."}
		}
		s.To, err = change(r.Subject, r.Body)
		if err == nil && bytes.Equal(s.To, r.Body) {
			return &problem.InputError{Rule: "correct.same", Label: "correction", Got: "no change", Want: "a value that differs from the one that stands"}
		}
		return err
	})
}

// Keep lets a record that waits for a person stand as it is: not doubtful, and no double of any other.
func (a *App) Keep(ctx context.Context, data, id, reason, by string) (*Entered, error) {
	return a.say(ctx, data, id, journal.Kept, reason, by, func(*journal.Saying, journal.Record) error { return nil })
}

// Merge says that a load is the same truckload as another, which stands for both.
func (a *App) Merge(ctx context.Context, data, id, into, reason, by string) (*Entered, error) {
	return a.say(ctx, data, id, journal.Merged, reason, by, func(s *journal.Saying, r journal.Record) error {
		if r.Subject != journal.LoadSubject {
			return &problem.InputError{Rule: "merge.kind", Label: "entry", Got: id, Want: "a load", Next: "Void the one that is too many."}
		}
		s.Into = journal.ID(into)
		return nil
	})
}

// Undo takes back one correction, void, merge or keep; id is that entry's own.
func (a *App) Undo(ctx context.Context, data, id, reason, by string) (*Entered, error) {
	return a.say(ctx, data, id, journal.SetAside, reason, by, func(s *journal.Saying, r journal.Record) error {
		if r.ID == journal.ID(id) {
			return &problem.InputError{
				Rule: "undo.entry", Label: "entry", Got: id, Want: "the id of a correction, void, merge or keep",
				Next: "threshday history ID lists what was said of a record. To take the record itself out, void it.",
			}
		}
		s.Events = []journal.ID{journal.ID(id)}
		return nil
	})
}

// say enters something about a record; fill adds what the act needs beside record, version and reason.
func (a *App) say(ctx context.Context, data, id string, act journal.Act, reason, by string, fill func(*journal.Saying, journal.Record) error) (*Entered, error) {
	if reason == "" {
		return nil, &problem.InputError{Rule: "entry.reason", Label: "--why", Want: "the reason, in your own words", Next: "Somebody will ask in spring."}
	}
	b, err := a.book(ctx, data, write)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	_, record, err := b.record(ctx, id)
	if err != nil {
		return nil, err
	}
	saying := journal.Saying{Of: record.ID, Saw: record.Version, Reason: reason}
	if err := fill(&saying, record); err != nil {
		return nil, err
	}
	st, err := a.season(ctx, b)
	if err != nil {
		return nil, err
	}
	return a.enter(ctx, b, st, event{journal.Of(record.Subject, act), journal.SayingBody(act, saying), Signed{By: by}, calendar.Day{}})
}

// record returns everything said of a record and how it stands; id is the record's, or that of anything said of it.
func (b *Book) record(ctx context.Context, id string) ([]store.Step, journal.Record, error) {
	steps, record, err := b.store.History(ctx, b.Farm, journal.ID(id))
	if err == nil && len(steps) == 1 {
		of, e := steps[0].Entry.Record()
		if e == nil && of != journal.ID(id) {
			steps, record, err = b.store.History(ctx, b.Farm, of)
		}
	}
	switch {
	case errors.Is(err, store.ErrNotFound), err == nil && record.State == journal.Waiting:
		return nil, record, unknownID(id)
	case err != nil:
		return nil, record, troubled(err)
	}
	return steps, record, nil
}

func unknownID(id string) error {
	return &problem.InputError{
		Rule: "entry.unknown", Label: "entry", Got: id, Want: "the id of an entry in this book",
		Next: "threshday history lists them; a line that came with the season file is changed there.",
	}
}
