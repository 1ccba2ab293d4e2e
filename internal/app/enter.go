package app

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/store"
)

// An Entered says what became of one entry. It is told only once the entry is on the disk.
type Entered struct {
	ID     string
	Review bool // in the book, and waiting for a person to look
	Doubts []problem.Finding
}

func entered(a journal.Answer) *Entered {
	return &Entered{ID: string(a.ID), Review: a.Status == journal.Review, Doubts: a.Problems}
}

// readAll reads a file of a folder.
func readAll(files fs.FS, name string) ([]byte, error) {
	data, err := fs.ReadFile(files, name)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	return data, nil
}

// A Clock is the farm's zone and the instant it is now.
type Clock struct {
	Zone *time.Location
	Now  time.Time
}

// Clock returns the clock of the farm whose book is at data, on which times without an offset are meant.
func (a *App) Clock(ctx context.Context, data string) (Clock, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return Clock{}, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	file, _, _, err := a.season(ctx, b)
	if err != nil {
		return Clock{}, err
	}
	zone, err := a.Zone(file.Season.Farm.Zone)
	if err != nil {
		return Clock{}, fmt.Errorf("load the zone %q: %w", file.Season.Farm.Zone, err)
	}
	return Clock{zone, a.Now().In(zone)}, nil
}

// add puts a record into the book at data.
func (a *App) add(ctx context.Context, data string, subject journal.Subject, body []byte, by string, day calendar.Day) (*Entered, error) {
	b, err := a.book(ctx, data, write)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	file, _, _, err := a.season(ctx, b)
	if err != nil {
		return nil, err
	}
	answer, err := a.enter(ctx, b, file.Season, journal.Of(subject, journal.Recorded), body, journal.Form, by, day)
	if err != nil {
		return nil, err
	}
	return entered(answer), nil
}

// AddReading enters a moisture reading.
func (a *App) AddReading(ctx context.Context, data string, r farm.Reading, typed journal.Typed) (*Entered, error) {
	return a.add(ctx, data, journal.ReadingSubject, journal.ReadingBody(r, typed), r.By, calendar.Day{})
}

// AddStage enters a stage that was seen.
func (a *App) AddStage(ctx context.Context, data string, s farm.Sighting, typed journal.Typed) (*Entered, error) {
	return a.add(ctx, data, journal.StageSubject, journal.StageBody(s, typed), s.By, s.On)
}

// AddBid enters a bid.
func (a *App) AddBid(ctx context.Context, data string, bid farm.Bid, typed journal.Typed, by string) (*Entered, error) {
	return a.add(ctx, data, journal.BidSubject, journal.BidBody(bid, typed), by, calendar.Day{})
}

// AddForecast enters a day of the farm's own forecast.
func (a *App) AddForecast(ctx context.Context, data string, d farm.OutlookDay, typed journal.Typed, by string) (*Entered, error) {
	return a.add(ctx, data, journal.OutlookSubject, journal.OutlookBody(d, typed), by, d.On)
}

// AddLoad enters a truckload.
func (a *App) AddLoad(ctx context.Context, data string, l journal.Load, by string) (*Entered, error) {
	return a.add(ctx, data, journal.LoadSubject, journal.LoadBody(l), by, l.Day)
}

// Void takes a record out of what counts; it stays readable, with the reason.
func (a *App) Void(ctx context.Context, data, id, reason, by string) (*Entered, error) {
	return a.say(ctx, data, id, journal.Voided, reason, by, nil)
}

// Correct puts a new version in the place of the one that stands. change is given the kind of record and its body and returns
// the whole new body.
func (a *App) Correct(ctx context.Context, data, id, reason, by string, change func(journal.Subject, []byte) ([]byte, error)) (*Entered, error) {
	return a.say(ctx, data, id, journal.Correct, reason, by, change)
}

func (a *App) say(ctx context.Context, data, id string, act journal.Act, reason, by string, change func(journal.Subject, []byte) ([]byte, error)) (*Entered, error) {
	if reason == "" {
		return nil, &problem.InputError{Rule: "entry.reason", Label: "why", Want: "the reason, in your own words", Next: "Somebody will ask in spring."}
	}
	b, err := a.book(ctx, data, write)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	_, record, err := b.store.History(ctx, b.Farm, journal.ID(id))
	if errors.Is(err, store.ErrNotFound) {
		return nil, unknownID(id)
	}
	if err != nil {
		return nil, troubled(err)
	}
	saying := journal.Saying{Of: record.ID, Saw: record.Version, Reason: reason}
	if change != nil {
		if record.State != journal.Live {
			return nil, &NoAnswer{Rule: "entry.void", Say: "That record is void; there is no version to correct.", Next: "Enter it anew."}
		}
		if saying.To, err = change(record.Subject, record.Body); err != nil {
			return nil, err
		}
	}
	file, _, _, err := a.season(ctx, b)
	if err != nil {
		return nil, err
	}
	answer, err := a.enter(ctx, b, file.Season, journal.Of(record.Subject, act), journal.SayingBody(act, saying), journal.Form, by, calendar.Day{})
	if err != nil {
		return nil, err
	}
	return entered(answer), nil
}

func unknownID(id string) error {
	return &problem.InputError{Rule: "entry.unknown", Label: "entry", Got: id, Want: "the id of an entry in this book", Next: "threshday history lists them."}
}
