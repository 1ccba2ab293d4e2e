package app

import (
	"context"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"threshday/internal/core/journal"
	"threshday/internal/store"
)

// A Held is a data file that is open for the life of a process. While it is held, every use case that names its path works
// on it, several at a time, in the place of opening the file anew.
type Held struct {
	app   *App
	store *store.Store
	path  string

	mu     sync.Mutex
	farm   string // empty: nothing was entered yet
	text   string // the season file as it was last parsed, and what came of it
	parsed *SeasonFile
	stands *standing // the season as it stood at seq; nil: not known
	seq    int64
	tally  *store.Tally // of farm; nil: nobody asked yet
	// restores is how often the book was continued from a backup, which does not happen while it is held; nil: not counted yet.
	restores *int64
}

// Hold opens the data file at path, begins one where there is none, and holds it until Release. what introduces this process
// to a second one that finds the file in use.
func (a *App) Hold(ctx context.Context, path, what string) (*Held, error) {
	st, err := store.Open(ctx, path, store.Options{Now: a.Now, Program: a.Program, What: what, Wait: bookWait})
	if err != nil {
		return nil, troubled(err)
	}
	h := &Held{app: a, store: st, path: filepath.Clean(path)}
	a.held.Store(h)
	return h, nil
}

// Release lets go of the file. What was acknowledged is on the disk already.
func (h *Held) Release() error {
	h.app.held.CompareAndSwap(h, nil)
	return troubled(h.store.Close())
}

// ReadOnly returns why no entries are taken; nil when they are.
func (h *Held) ReadOnly() error { return troubled(h.store.ReadOnly()) }

// Unclean reports whether the file had not been closed properly when it was opened.
func (h *Held) Unclean() bool { return h.store.Unclean() }

// Maintain makes a backup when one is due and deletes those that are spare. It returns the backup, nil when none was due.
func (h *Held) Maintain(ctx context.Context) (*Copy, error) {
	made, _, err := h.store.Maintain(ctx)
	if err != nil || made == nil {
		return nil, troubled(err)
	}
	dir, _, err := store.BackupsOf(h.path)
	one := copyOf(dir, *made)
	return &one, troubled(err)
}

// Maintenance is how often a server asks whether a backup is due.
const Maintenance = 5 * time.Minute // [judgement]

// lend returns the held file as a book, whose Close leaves it open.
func (h *Held) lend(ctx context.Context) (*Book, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.farm == "" {
		farms, err := h.store.Farms(ctx)
		if err != nil {
			return nil, troubled(err)
		}
		if len(farms) > 1 {
			return nil, manyFarms(farms)
		}
		if len(farms) == 1 {
			h.farm = farms[0]
		}
	}
	b := &Book{store: h.store, Farm: noFarm, Path: h.store.Path(), held: h}
	if h.farm != "" {
		b.Farm = h.farm
	}
	return b, nil
}

// tallyOf returns what adds up the loads of the held farm; nil for another.
func (h *Held) tallyOf(farm string) *store.Tally {
	h.mu.Lock()
	defer h.mu.Unlock()
	if farm != h.farm || farm == "" {
		return nil
	}
	if h.tally == nil {
		h.tally = h.store.Tally(farm)
	}
	return h.tally
}

// continued returns how often the book was continued from a backup.
func (b *Book) continued(ctx context.Context) (int64, error) {
	if b.held == nil || b.Farm == noFarm {
		n, err := b.store.Restores(ctx, b.Farm)
		return n, troubled(err)
	}
	b.held.mu.Lock()
	defer b.held.mu.Unlock()
	if b.held.restores == nil {
		n, err := b.store.Restores(ctx, b.Farm)
		if err != nil {
			return 0, troubled(err)
		}
		b.held.restores = &n
	}
	return *b.held.restores, nil
}

// standing returns the season of the book as it stands. It is made anew only when something other than a load was entered
// since; it is shared, and nobody may change it.
func (h *Held) standing(ctx context.Context, b *Book) (*standing, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	head, _, err := h.store.Head(ctx, b.Farm)
	if err != nil {
		return nil, troubled(err)
	}
	if h.stands != nil {
		other, err := h.store.OthersSince(ctx, b.Farm, h.seq, journal.LoadSubject)
		if err != nil {
			return nil, troubled(err)
		}
		if !other {
			h.seq = head
			return h.stands, nil
		}
	}
	text, err := h.app.seasonText(ctx, b)
	if err != nil {
		return nil, err
	}
	if h.parsed == nil || h.text != text {
		if h.parsed, err = h.app.ParseSeason("the season in "+b.Path, []byte(text)); err != nil {
			return nil, err
		}
		h.text = text
	}
	st, err := h.app.stand(ctx, b, ownLines(h.parsed), text)
	if err != nil {
		return nil, err
	}
	h.stands, h.seq = st, head
	return st, nil
}

// ownLines returns a copy of f whose lines that entries may take the place of are its own.
func ownLines(f *SeasonFile) *SeasonFile {
	s := *f.Season
	s.Readings, s.Stages, s.Bids, s.Outlook = slices.Clone(s.Readings), slices.Clone(s.Stages), slices.Clone(s.Bids), slices.Clone(s.Outlook)
	return &SeasonFile{Season: &s, Findings: f.Findings, NotUsed: f.NotUsed}
}

// CopyDemo puts the invented farm into a new data file in folder, with everything it names, and returns the file's path.
func (a *App) CopyDemo(ctx context.Context, folder string) (string, error) {
	files, season, err := a.Demo()
	if err != nil {
		return "", err
	}
	err = fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		return a.Place(filepath.Join(folder, filepath.FromSlash(name)), text)
	})
	if err != nil {
		return "", fmt.Errorf("copy the invented farm: %w", err)
	}
	data := filepath.Join(folder, "demo.db")
	_, err = a.Import(ctx, filepath.Join(folder, filepath.FromSlash(season)), data, "")
	return data, err
}
