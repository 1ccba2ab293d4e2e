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

// A fill adds to what is said of a record what the act needs beside record, version and reason. r is the record as the
// person saw it.
type fill func(s *journal.Saying, r journal.Record) error

// Void takes a record out of what counts; it stays readable, with the reason.
func (a *App) Void(ctx context.Context, data, id, reason, by string) (*Entered, error) {
	return a.say(ctx, data, remark{of: id, act: journal.Voided, reason: reason, sign: Signed{By: by}})
}

// Correct puts a new version in the place of the one that stands. change is given the kind of record and its body and
// returns the whole new body.
func (a *App) Correct(ctx context.Context, data, id, reason, by string, change func(journal.Subject, []byte) ([]byte, error)) (*Entered, error) {
	return a.say(ctx, data, remark{of: id, act: journal.Correct, reason: reason, sign: Signed{By: by}, fill: correction(change)})
}

// Keep lets a record that waits for a person stand as it is: not doubtful, and no double of any other.
func (a *App) Keep(ctx context.Context, data, id, reason, by string) (*Entered, error) {
	return a.say(ctx, data, remark{of: id, act: journal.Kept, reason: reason, sign: Signed{By: by}})
}

// Merge says that a load is the same truckload as another, which stands for both.
func (a *App) Merge(ctx context.Context, data, id, into, reason, by string) (*Entered, error) {
	return a.say(ctx, data, remark{of: id, act: journal.Merged, reason: reason, sign: Signed{By: by}, fill: merging(id, into)})
}

// Undo takes back one correction, void, merge or keep; id is that entry's own.
func (a *App) Undo(ctx context.Context, data, id, reason, by string) (*Entered, error) {
	return a.say(ctx, data, remark{of: id, act: journal.SetAside, reason: reason, sign: Signed{By: by}, fill: takingBack(id)})
}

func correction(change func(journal.Subject, []byte) ([]byte, error)) fill {
	return func(s *journal.Saying, r journal.Record) (err error) {
		if r.State != journal.Live {
			return &NoAnswer{Rule: "entry.void", Say: "That record is void; there is no version to correct.", Next: "Enter it anew, or take the void back with threshday undo."}
		}
		s.To, err = change(r.Subject, r.Body)
		if err == nil && bytes.Equal(s.To, r.Body) {
			return &problem.InputError{Rule: "correct.same", Label: "correction", Got: "no change", Want: "a value that differs from the one that stands"}
		}
		return err
	}
}

func merging(id, into string) fill {
	return func(s *journal.Saying, r journal.Record) error {
		if r.Subject != journal.LoadSubject {
			return &problem.InputError{Rule: "merge.kind", Label: "entry", Got: id, Want: "a load", Next: "Void the one that is too many."}
		}
		s.Into = journal.ID(into)
		return nil
	}
}

func takingBack(id string) fill {
	return func(s *journal.Saying, r journal.Record) error {
		if r.ID == journal.ID(id) {
			return &problem.InputError{
				Rule: "undo.entry", Label: "entry", Got: id, Want: "the id of a correction, void, merge or keep",
				Next: "threshday history ID lists what was said of a record. To take the record itself out, void it.",
			}
		}
		s.Events = []journal.ID{journal.ID(id)}
		return nil
	}
}

// A remark is something said of a record.
type remark struct {
	of     string // the record, or anything said of it
	saw    string // the version that the person had before them; empty: the one that stands
	act    journal.Act
	reason string
	sign   Signed
	fill   fill // nil: the act needs nothing more
}

// say enters a remark. One that is in the book already is said again just as it was, so that it is known as the same.
func (a *App) say(ctx context.Context, data string, m remark) (*Entered, error) {
	if m.reason == "" {
		return nil, &problem.InputError{Rule: "entry.reason", Label: "--why", Want: "the reason, in your own words", Next: "Somebody will ask in spring."}
	}
	b, err := a.book(ctx, data, write)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	steps, record, err := b.record(ctx, m.of)
	if err != nil {
		return nil, err
	}
	asSeen(&record, steps, m)
	saying := journal.Saying{Of: record.ID, Saw: record.Version, Reason: m.reason}
	if m.fill != nil {
		if err := m.fill(&saying, record); err != nil {
			return nil, err
		}
	}
	st, err := a.season(ctx, b)
	if err != nil {
		return nil, err
	}
	return a.enter(ctx, b, st, event{journal.Of(record.Subject, m.act), journal.SayingBody(m.act, saying), m.sign, calendar.Day{}})
}

// asSeen turns record into the version that the person had before them: the one the remark names, or the one that it was
// said of when it was entered the first time.
func asSeen(record *journal.Record, steps []store.Step, m remark) {
	saw := journal.ID(m.saw)
	bodies := map[journal.ID][]byte{}
	for _, s := range steps {
		bodies[s.Entry.ID] = s.Entry.Body
		said, err := journal.ReadSaying(s.Entry.Event)
		if err != nil {
			continue // it begins the record
		}
		if said.To != nil {
			bodies[s.Entry.ID] = said.To
		}
		if m.sign.ID == string(s.Entry.ID) {
			saw = said.Saw
		}
	}
	if body, ok := bodies[saw]; ok && saw != "" {
		record.Version, record.Body, record.State = saw, body, journal.Live
	}
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
