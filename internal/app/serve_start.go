package app

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/store"
)

// A BeginOrder is a farm to begin in a data file that has none.
type BeginOrder struct {
	Sign   Signed // with an id: ordered again it is the same farm
	Season *farm.Season
	Files  []NewFile // schedules of its outlets
}

// A NewFile is the schedule of an outlet for one crop, to be written beside the data file.
type NewFile struct {
	Outlet int // its place in the season
	Crop   crop.Kind
	Text   []byte
}

// A Begun says what was begun.
type Begun struct {
	Entered
	Farm     string
	Files    []string // written beside the data file
	Findings []problem.Finding
}

// Begin begins a farm in the held data file. Where one is there already it is refused, unless it was begun by this order.
func (a *App) Begin(ctx context.Context, data string, o BeginOrder) (*Begun, error) {
	a.placing.Lock()
	defer a.placing.Unlock()
	b, err := a.book(ctx, data, begin)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	set, entry, err := b.store.Season(ctx, b.Farm)
	switch {
	case err == nil && string(entry.ID) == o.Sign.ID:
		return a.begunAlready(b, set, entry)
	case err == nil:
		return nil, &FarmThere{}
	case !errors.Is(err, store.ErrNotFound):
		return nil, troubled(err)
	}
	out := &Begun{Farm: o.Season.Farm.ID}
	if out.Files, err = a.place(data, o); err != nil {
		return nil, err
	}
	text := a.WriteSeason(o.Season)
	file, err := a.ParseSeason("the first steps", text)
	if err != nil {
		return nil, err
	}
	b.Farm = o.Season.Farm.ID
	st, err := a.stand(ctx, b, file, string(text))
	if err != nil {
		return nil, err
	}
	body := journal.SeasonBody(journal.Season{Text: string(text), Names: journal.SeasonNames(*file.Season)})
	e, err := a.enter(ctx, b, st, event{journal.Of(journal.SeasonSubject, journal.Set), body, o.Sign, calendar.Day{}})
	if err != nil {
		return nil, err
	}
	out.Entered, out.Findings = *e, file.Findings
	return out, nil
}

// FarmThere says that a data file has a farm already.
type FarmThere struct{}

func (*FarmThere) Error() string { return "There is a farm in this data file already." }

func (a *App) begunAlready(b *Book, set journal.Season, entry journal.Entry) (*Begun, error) {
	file, err := a.ParseSeason("the season in "+b.Path, []byte(set.Text))
	if err != nil {
		return nil, err
	}
	out := &Begun{Entered: Entered{ID: string(entry.ID), Data: b.Path, Again: true}, Farm: file.Season.Farm.ID, Findings: file.Findings}
	for _, o := range file.Season.Outlets {
		for _, k := range crop.Kinds() {
			if name, ok := o.Schedules[k]; ok {
				out.Files = append(out.Files, name)
			}
		}
	}
	return out, nil
}

// mostNames is how many names are tried for a file whose name is taken.
const mostNames = 100

// place writes the files of an order beside the data file and names them in its season. A file that is there stays; one that
// holds the same text is used.
func (a *App) place(data string, o BeginOrder) ([]string, error) {
	files, _, err := a.Files(data)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, f := range o.Files {
		outlet := &o.Season.Outlets[f.Outlet]
		name, fresh, err := scheduleName(files, outlet.ID, f.Crop, f.Text)
		if err == nil && fresh {
			err = a.Place(filepath.Join(filepath.Dir(data), filepath.FromSlash(name)), f.Text)
		}
		if err != nil {
			return nil, err
		}
		outlet.Schedules[f.Crop] = name
		out = append(out, name)
	}
	return out, nil
}

// scheduleName returns the name beside the data file of a schedule of that text; fresh says that no file is there yet.
func scheduleName(files fs.FS, outlet string, k crop.Kind, text []byte) (name string, fresh bool, err error) {
	stem, ending := fmt.Sprintf("schedules/%s-%s", outlet, k), ".toml"
	if bytes.HasPrefix(bytes.TrimSpace(text), []byte("{")) {
		ending = ".json"
	}
	for n := 1; n <= mostNames; n++ {
		name := stem + ending
		if n > 1 {
			name = fmt.Sprintf("%s-%d%s", stem, n, ending)
		}
		there, err := fs.ReadFile(files, name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return name, true, nil
		case err != nil:
			return "", false, err
		case string(there) == string(text):
			return name, false, nil
		}
	}
	return "", false, &NoAnswer{Rule: "start.names", Say: "Every name for " + stem + ending + " is taken.", Next: "Move schedules that no season names any more out of the folder."}
}
