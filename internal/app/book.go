package app

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"time"

	"threshday/internal/core/problem"
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
	held  *Held // the process holds the file open; nil: this book alone does
}

// Close lets go of the file, unless the process holds it.
func (b *Book) Close() error {
	if b.held != nil {
		return nil
	}
	return troubled(b.store.Close())
}

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
	if h := a.held.Load(); h != nil && h.path == filepath.Clean(path) {
		return h.lend(ctx)
	}
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
		return nil, manyFarms(farms)
	}
	return b, nil
}

func manyFarms(farms []string) error {
	return &NoAnswer{
		Rule: "book.farms", Say: fmt.Sprintf("The file holds %d farms: %v.", len(farms), farms), Next: "This program works on files of one farm.",
	}
}

// bookWait is how long a command waits for another process to let go of the file.
const bookWait = 3 * time.Second

// noSeason says that a book has no season yet.
func noSeason(path string) error {
	return &NoAnswer{Rule: "book.no-season", Say: path + " holds no season yet.", Next: "Put one in first: threshday import season.toml --data " + path + "."}
}

// A standing season is a book's season with what was entered one by one in its place.
type standing struct {
	file    *SeasonFile
	zone    *time.Location
	text    string // the season file as it was last put in
	changed bool   // entries made the season another than text
	// overruled are the lines of the file in whose place the book has something else, and the entries that the
	// season has no place for.
	overruled []problem.Finding
}

// season returns the season of the book as it stands: the file as it was last put in, with what was entered one by one.
func (a *App) season(ctx context.Context, b *Book) (*standing, error) {
	if b.held != nil {
		return b.held.standing(ctx, b)
	}
	text, err := a.seasonText(ctx, b)
	if err != nil {
		return nil, err
	}
	file, err := a.ParseSeason("the season in "+b.Path, []byte(text))
	if err != nil {
		return nil, err
	}
	return a.stand(ctx, b, file, text)
}

// seasonText returns the season file as it was last put in.
func (a *App) seasonText(ctx context.Context, b *Book) (string, error) {
	set, _, err := b.store.Season(ctx, b.Farm)
	if errors.Is(err, store.ErrNotFound) {
		return "", noSeason(b.Path)
	}
	return set.Text, troubled(err)
}

// stand puts the entries of the book into a season file.
func (a *App) stand(ctx context.Context, b *Book, file *SeasonFile, text string) (*standing, error) {
	zone, err := a.Zone(file.Season.Farm.Zone)
	if err != nil {
		return nil, fmt.Errorf("load the zone %q: %w", file.Season.Farm.Zone, err)
	}
	st := &standing{file: file, zone: zone, text: text}
	e, err := b.entries(ctx, file.Season)
	if err != nil {
		return nil, troubled(err)
	}
	st.changed, st.overruled = e.into(file.Season, zone)
	return st, nil
}

// bookSeason opens the book a plan is made from and returns its season and the folder its names are relative to.
func (a *App) bookSeason(ctx context.Context, path string) (*SeasonFile, fs.FS, error) {
	b, err := a.book(ctx, path, look)
	if err != nil {
		return nil, nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	st, err := a.season(ctx, b)
	if err != nil {
		return nil, nil, err
	}
	files, _, err := a.Files(path)
	return st.file, files, err
}
