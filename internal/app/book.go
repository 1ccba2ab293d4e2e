package app

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/store"
	"threshday/internal/store/sqlite"
)

// A Trouble is a mishap of the data file, said for the person in front of it: what happened, what it means for what was
// entered, what to do.
type Trouble struct{ Rule, Say, Next string }

func (e *Trouble) Error() string { return e.Say + " " + e.Next }

// troubled turns the store's mishaps into the app's.
func troubled(err error) error {
	var t *sqlite.Trouble
	if errors.As(err, &t) {
		return &Trouble{t.Rule, t.Say, t.Next}
	}
	return err
}

// A Book is an open data file with the farm that is meant.
type Book struct {
	store *store.Store
	Farm  string
	Path  string
}

// Close lets go of the file.
func (b *Book) Close() error { return troubled(b.store.Close()) }

// noFarm stands for the farm in a book whose season file gives it no id.
const noFarm = "farm"

// A mode of opening a data file.
type mode uint8

const (
	look  mode = iota // without a lock, taking no entries
	write             // the file must be there
	begin             // a new one is made where there is none
)

// book opens the data file at path.
func (a *App) book(ctx context.Context, path string, how mode) (*Book, error) {
	if _, _, err := a.Files(path); how != begin && errors.Is(err, fs.ErrNotExist) {
		return nil, &Trouble{"book.missing", "There is no data file " + path + ".", "Put a season in first: threshday import season.toml --data " + path + "; or name the right file with --data."}
	}
	st, err := store.Open(ctx, path, store.Options{Now: a.Now, Program: a.Program, What: "a command", Wait: bookWait, ReadOnly: how == look})
	if err != nil {
		return nil, troubled(err)
	}
	farms, err := st.Farms(ctx)
	if err != nil {
		_ = st.Close() // the first error is the one to tell
		return nil, troubled(err)
	}
	b := &Book{store: st, Farm: noFarm, Path: st.Path()}
	if len(farms) > 0 {
		b.Farm = farms[0]
	}
	if len(farms) > 1 {
		_ = st.Close() // nothing was entered
		return nil, &NoAnswer{
			Rule: "book.farms", Say: fmt.Sprintf("The file holds %d farms: %v.", len(farms), farms), Next: "The command line works on files of one farm.",
		}
	}
	return b, nil
}

// bookWait is how long a command waits for another process to let go of the file.
const bookWait = 3 * time.Second

// noSeason says that a book has no season yet.
func noSeason(path string) error {
	return &NoAnswer{Rule: "book.no-season", Say: path + " holds no season yet.", Next: "Put one in first: threshday import season.toml --data " + path + "."}
}

// season returns the season of the book as it stands: the file as it was last put in, with what was entered one by one since.
func (a *App) season(ctx context.Context, b *Book) (file *SeasonFile, text string, merged bool, err error) {
	set, _, err := b.store.Season(ctx, b.Farm)
	if errors.Is(err, store.ErrNotFound) {
		return nil, "", false, noSeason(b.Path)
	}
	if err != nil {
		return nil, "", false, troubled(err)
	}
	file, err = a.ParseSeason("the season in "+b.Path, []byte(set.Text))
	if err != nil {
		return nil, "", false, err
	}
	merged, err = b.merge(ctx, file.Season)
	return file, set.Text, merged, troubled(err)
}

// merge puts what was entered one by one into s. An entry stands over the line of the same id; a voided one takes its line
// away. A bid stands in place of earlier ones for the same crop and outlet whose delivery overlaps; a day of forecast in
// place of that day.
func (b *Book) merge(ctx context.Context, s *farm.Season) (merged bool, err error) {
	readings, err := b.store.Readings(ctx, b.Farm, "")
	if err != nil {
		return false, err
	}
	stages, err := b.store.Stages(ctx, b.Farm, "")
	if err != nil {
		return false, err
	}
	bids, err := b.store.Bids(ctx, b.Farm, "")
	if err != nil {
		return false, err
	}
	outlook, err := b.store.Outlook(ctx, b.Farm)
	if err != nil {
		return false, err
	}
	for _, item := range readings {
		item.Value.ID = string(item.ID)
		merged = put(&s.Readings, item.Value, func(r farm.Reading) bool { return r.ID == item.Value.ID }) || merged
	}
	for _, item := range stages {
		item.Value.ID = string(item.ID)
		merged = put(&s.Stages, item.Value, func(r farm.Sighting) bool { return r.ID == item.Value.ID }) || merged
	}
	for _, item := range bids {
		bid := item.Value
		bid.ID = string(item.ID)
		s.Bids = slices.DeleteFunc(s.Bids, func(r farm.Bid) bool {
			return r.ID != bid.ID && r.Outlet == bid.Outlet && r.Crop == bid.Crop && r.Taken.Before(bid.Taken) && overlap(r, bid)
		})
		merged = put(&s.Bids, bid, func(r farm.Bid) bool { return r.ID == bid.ID }) || merged
	}
	for _, item := range outlook {
		day := item.Value
		merged = put(&s.Outlook, day, func(d farm.OutlookDay) bool { return d.On == day.On }) || merged
	}
	voided, err := b.voided(ctx, s)
	if err != nil {
		return false, err
	}
	if len(voided) > 0 {
		merged = true
		s.Readings = slices.DeleteFunc(s.Readings, func(r farm.Reading) bool { return voided[r.ID] })
		s.Stages = slices.DeleteFunc(s.Stages, func(r farm.Sighting) bool { return voided[r.ID] })
		s.Bids = slices.DeleteFunc(s.Bids, func(r farm.Bid) bool { return voided[r.ID] })
	}
	slices.SortStableFunc(s.Outlook, func(x, y farm.OutlookDay) int { return x.On.DaysSince(y.On) })
	return merged, nil
}

// put replaces the record that same finds, or appends; it always reports true.
func put[T any](all *[]T, one T, same func(T) bool) bool {
	if i := slices.IndexFunc(*all, same); i >= 0 {
		(*all)[i] = one
	} else {
		*all = append(*all, one)
	}
	return true
}

// overlap reports whether two bids are for a common day of delivery.
func overlap(a, b farm.Bid) bool {
	apart := func(until, from *calendar.Day) bool { return until != nil && from != nil && until.Before(*from) }
	return !apart(a.Until, b.From) && !apart(b.Until, a.From)
}

// voided returns the ids of s whose records in the book are void.
func (b *Book) voided(ctx context.Context, s *farm.Season) (map[string]bool, error) {
	out := map[string]bool{}
	look := func(id string) error {
		if !journal.ID(id).Valid() {
			return nil
		}
		_, record, err := b.store.History(ctx, b.Farm, journal.ID(id))
		if errors.Is(err, store.ErrNotFound) {
			return nil
		}
		if err == nil && record.State == journal.Void {
			out[id] = true
		}
		return err
	}
	for _, r := range s.Readings {
		if err := look(r.ID); err != nil {
			return nil, err
		}
	}
	for _, r := range s.Stages {
		if err := look(r.ID); err != nil {
			return nil, err
		}
	}
	for _, r := range s.Bids {
		if err := look(r.ID); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// bookSeason opens the book a plan is made from and returns its season and the folder its names are relative to.
func (a *App) bookSeason(ctx context.Context, path string) (*SeasonFile, fs.FS, error) {
	b, err := a.book(ctx, path, look)
	if err != nil {
		return nil, nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	file, _, _, err := a.season(ctx, b)
	if err != nil {
		return nil, nil, err
	}
	files, _, err := a.Files(path)
	return file, files, err
}
