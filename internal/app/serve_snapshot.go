package app

import (
	"context"
	"errors"
	"io/fs"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/store"
)

// A Snapshot is everything that a device may keep to show its pages by itself. Nobody may change what it points to.
type Snapshot struct {
	Program, Data string
	At            time.Time // the clock of this computer
	Now           time.Time // the moment that answers speak of
	Head          Head
	Restores      int64 // how often the book was continued from a backup
	ReadOnly      error // why no entries are taken; nil: they are
	Season        *farm.Season
	Standing      map[string]Standing // of readings, stages and bids that were entered one by one, by id
	Schedules     []Posted
	Loads         *Loads
	Settled       map[string]Settled // by the load's id
	Waiting       []Wait
	WaitMore      int // that wait too
	Bids          BidState
	OutlookAt     *time.Time
	Findings      []problem.Finding
}

// A Head is the newest entry of a book.
type Head struct {
	Seq  int64
	Hash string
}

// A Standing says which entry of a record stands, and why it waits for a person.
type Standing struct {
	Version string
	Waits   []string
}

// A Posted schedule is what an outlet takes for one crop.
type Posted struct {
	Outlet, File string
	Crop         crop.Kind
	Text         []byte // the file; nil: it cannot be read
	Terms        *settlement.Terms
	Price        trade.Price // of the bid that stands, at which Curve is drawn; 0: none does
	Curve        []settlement.CurvePoint
	Trouble      error // why there are no terms
}

// SnapshotLoads is how many loads a snapshot holds.
const SnapshotLoads = 200 // a few days of the busiest farm [judgement]

// HeadOf returns the newest entry of the book at data.
func (a *App) HeadOf(ctx context.Context, data string) (Head, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return Head{}, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	return b.head(ctx)
}

func (b *Book) head(ctx context.Context) (Head, error) {
	seq, hash, err := b.store.Head(ctx, b.Farm)
	if err != nil {
		return Head{}, troubled(err)
	}
	if seq == 0 {
		return Head{}, nil
	}
	return Head{seq, hash.String()}, nil
}

// Restores returns how often the book at data was continued from a backup.
func (a *App) Restores(ctx context.Context, data string) (int64, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return 0, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	return b.continued(ctx)
}

// Snapshot returns the book at data as it stands. With no season yet, Season is nil and the rest is empty.
func (a *App) Snapshot(ctx context.Context, data string) (*Snapshot, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	for range snapshotTries - 1 {
		s, err := a.snapshot(ctx, b)
		if err != nil {
			return nil, err
		}
		if after, err := b.head(ctx); err != nil || after == s.Head {
			return s, err
		}
	}
	return a.snapshot(ctx, b)
}

// snapshotTries is how often a snapshot is begun again because entries came in meanwhile. The last one may hold more than its
// head says, which the device learns with the next.
const snapshotTries = 3

func (a *App) snapshot(ctx context.Context, b *Book) (*Snapshot, error) {
	s := &Snapshot{Program: a.Program, Data: b.Path, At: a.Now(), ReadOnly: troubled(b.store.ReadOnly()), Standing: map[string]Standing{}, Loads: &Loads{}}
	s.Now = s.At
	var err error
	if s.Head, err = b.head(ctx); err != nil {
		return nil, err
	}
	if s.Restores, err = b.continued(ctx); err != nil {
		return nil, err
	}
	st, err := a.season(ctx, b)
	var none *NoAnswer
	if errors.As(err, &none) {
		return s, nil
	}
	if err != nil {
		return nil, err
	}
	s.At, s.Now, s.Season = s.At.In(st.zone), a.meant(st), st.file.Season
	s.Findings = slices.Concat(st.file.Findings, st.overruled)
	if err := s.stands(ctx, b); err != nil {
		return nil, err
	}
	if err := a.posted(b, s); err != nil {
		return nil, err
	}
	for i := range s.Schedules {
		s.Schedules[i].draw(s)
	}
	if err := a.snapshotLoads(ctx, b, s); err != nil {
		return nil, err
	}
	s.Waiting, s.WaitMore, err = a.waiting(ctx, b, SnapshotLoads)
	mo := morning{season: s.Season}
	s.Bids = mo.bidState()
	for _, d := range s.Season.Outlook {
		if d.Entered != nil && (s.OutlookAt == nil || d.Entered.After(*s.OutlookAt)) {
			s.OutlookAt = d.Entered
		}
	}
	return s, err
}

// stands tells of each record that was entered one by one which entry of it stands.
func (s *Snapshot) stands(ctx context.Context, b *Book) error {
	readings, err := b.store.Readings(ctx, b.Farm, "")
	if err != nil {
		return troubled(err)
	}
	stages, err := b.store.Stages(ctx, b.Farm, "")
	if err != nil {
		return troubled(err)
	}
	bids, err := b.store.Bids(ctx, b.Farm, "")
	if err != nil {
		return troubled(err)
	}
	standings(s, readings)
	standings(s, stages)
	standings(s, bids)
	return nil
}

func standings[T any](s *Snapshot, items []store.Item[T]) {
	for _, it := range items {
		s.Standing[string(it.ID)] = Standing{string(it.Version), it.Waits}
	}
}

// posted reads every schedule that the season names. One that cannot be read is told, and no reason to have no pages.
func (a *App) posted(b *Book, s *Snapshot) error {
	files, _, err := a.Files(b.Path)
	if err != nil {
		return err
	}
	for _, o := range s.Season.Outlets {
		for _, kind := range crop.Kinds() {
			name, ok := o.Schedules[kind]
			if !ok {
				continue
			}
			p := Posted{Outlet: o.ID, Crop: kind, File: name}
			if p.Text, p.Trouble = fs.ReadFile(files, name); p.Trouble == nil {
				p.Terms, p.Trouble = a.termsOf(files, name)
			}
			s.Schedules = append(s.Schedules, p)
		}
	}
	return nil
}

// draw works out what the schedule pays by moisture at the bid that stands.
func (p *Posted) draw(s *Snapshot) {
	today := calendar.DayOf(s.Now, s.Now.Location())
	var last *farm.Bid
	for i := range s.Season.Bids {
		b := &s.Season.Bids[i]
		if b.Outlet == p.Outlet && b.Crop == p.Crop && market.StandingOn(today, b.From, b.Until) == market.Current && (last == nil || b.Taken.After(last.Taken)) {
			last = b
		}
	}
	if last == nil || p.Trouble != nil {
		return
	}
	cash, ok := market.CashOf(last.Cash, last.Futures, last.Basis)
	if !ok || cash <= 0 {
		return
	}
	low, high := p.Terms.Span(settlement.Moisture)
	p.Price, p.Curve = cash, p.Terms.Curve(settlement.Moisture, settlement.Prices{Cash: cash, Futures: last.Futures}, low, high)
}

func (a *App) termsOf(files fs.FS, name string) (*settlement.Terms, error) {
	schedule, err := a.Schedule(files, name)
	if err != nil {
		return nil, err
	}
	terms, _, err := settlement.Prepare(*schedule)
	if err != nil {
		return nil, inFile(err, name)
	}
	return terms, nil
}

func (a *App) snapshotLoads(ctx context.Context, b *Book, s *Snapshot) error {
	var err error
	if s.Loads, err = b.loads(ctx, LoadFilter{By: "day", Limit: SnapshotLoads, CropYear: s.Season.Farm.Year}); err != nil {
		return err
	}
	c, err := b.counter(ctx, s)
	if err != nil {
		return err
	}
	s.Settled = c.settled(s.Loads.Rows)
	return nil
}

// counter returns what settles the loads of a snapshot: every bid that was ever heard, and the schedules.
func (b *Book) counter(ctx context.Context, s *Snapshot) (counter, error) {
	heard, err := b.store.Bids(ctx, b.Farm, "")
	if err != nil {
		return counter{}, troubled(err)
	}
	return counter{season: s.Season, posted: s.Schedules, bids: slices.Concat(s.Season.Bids, values(heard)), zone: s.Now.Location()}, nil
}

// Settle settles rows of the book at data, each by itself, by its outlet's posted schedule.
func (a *App) Settle(ctx context.Context, data string, rows []LoadLine) (map[string]Settled, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	st, err := a.season(ctx, b)
	if err != nil {
		return nil, err
	}
	s := &Snapshot{Season: st.file.Season, Now: a.meant(st)}
	if err := a.posted(b, s); err != nil {
		return nil, err
	}
	c, err := b.counter(ctx, s)
	if err != nil {
		return nil, err
	}
	return c.settled(rows), nil
}
