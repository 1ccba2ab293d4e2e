package app

import (
	"cmp"
	"io/fs"
	"path"
	"slices"
	"strings"

	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/ledger"
	"threshday/internal/core/settlement"
)

// mostNeighbours is how many other schedules an audit tries; each multiplies what it tries beside. [judgement]
const mostNeighbours = 12

// Neighbours returns the other schedules of a crop that lie in the folder of the file of one: last year's, another date's, another
// outlet's, under one of which a buyer may have settled by mistake. They bear the names of their files where they have none of their own.
// What is no schedule of the crop is passed over.
func (a *App) Neighbours(file string, k crop.Kind) []settlement.Schedule {
	files, name, err := a.Files(file)
	if err != nil {
		return nil // the schedule itself was read; there is just nothing beside it to try
	}
	return a.neighbours(files, k, []string{name})
}

// neighbours returns the schedules of a crop beside those that are named, the first of which is left out: the others that are named,
// and what lies in their folders.
func (a *App) neighbours(files fs.FS, k crop.Kind, named []string) []settlement.Schedule {
	var names []string
	for _, name := range named {
		names = append(names, path.Clean(name))
		beside, err := fs.ReadDir(files, path.Dir(path.Clean(name)))
		if err != nil {
			continue // a folder that cannot be listed has nothing to try
		}
		for _, e := range beside {
			if ext := path.Ext(e.Name()); !e.IsDir() && (ext == ".json" || ext == ".toml") {
				names = append(names, path.Join(path.Dir(path.Clean(name)), e.Name()))
			}
		}
	}
	var out []settlement.Schedule
	tried := map[string]bool{path.Clean(named[0]): true}
	for _, name := range names {
		if tried[name] || len(out) == mostNeighbours {
			continue
		}
		tried[name] = true
		s, err := a.Schedule(files, name)
		if err != nil || s.Crop != k {
			continue // some other file
		}
		s.ID = cmp.Or(s.ID, path.Base(name))
		out = append(out, *s)
	}
	return out
}

// besides returns the neighbours of every schedule of a season: those of the crop that its other outlets post, and what lies beside.
func (a *App) besides(files fs.FS, s *farm.Season) map[ledger.TermsKey][]settlement.Schedule {
	out := map[ledger.TermsKey][]settlement.Schedule{}
	for _, o := range s.Outlets {
		for kind, name := range o.Schedules {
			named := []string{name}
			for _, other := range s.Outlets {
				if file := other.Schedules[kind]; file != "" && file != name {
					named = append(named, file)
				}
			}
			slices.SortStableFunc(named[1:], strings.Compare)
			out[ledger.TermsKey{Outlet: o.ID, Crop: kind}] = a.neighbours(files, kind, named)
		}
	}
	return out
}
