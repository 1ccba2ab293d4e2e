package app

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/core/worth"
	"threshday/internal/store"
)

// seasonLoads are a season with its tickets and every bid that was heard.
type seasonLoads struct {
	season  *farm.Season
	files   fs.FS  // what the season names
	data    string // the data file that the season came from; empty: a season file
	zone    *time.Location
	now     time.Time
	bids    []farm.Bid
	entries []ledger.Entry
	cheques []ledger.Cheque
	sheets  []ledger.Printed
	waiting int
	found   []problem.Finding
}

// withLoads says whether the loads of a data file are read with its season.
type withLoads bool

// tickets reads the season and its loads: those of the data file, unless they are not asked for, and those of a CSV file.
func (a *App) tickets(ctx context.Context, r BooksRequest, with withLoads) (*seasonLoads, error) {
	l := &seasonLoads{files: r.Files}
	var err error
	if r.Book != "" {
		err = a.bookTickets(ctx, r.Book, l, with)
	} else {
		var file *SeasonFile
		if file, err = a.Season(r.Files, r.Season); err == nil {
			l.season, l.bids = file.Season, file.Season.Bids
			l.zone, err = a.zone(file.Season)
		}
	}
	if err != nil {
		return nil, err
	}
	switch {
	case r.Now != nil:
		l.now = r.Now.In(l.zone)
	case l.season.Farm.AsOf != nil:
		l.now = l.season.Farm.AsOf.In(l.zone)
	default:
		l.now = a.Now().In(l.zone)
	}
	if r.Loads != "" {
		more, err := readWith(a, r.Beside, r.Loads, func(name string, data []byte) ([]ledger.Entry, error) { return a.ReadLoads(name, data, l.zone) })
		if err != nil {
			return nil, err
		}
		l.entries = append(l.entries, more...)
	}
	return l, nil
}

func (a *App) zone(s *farm.Season) (*time.Location, error) {
	zone, err := a.Zone(s.Farm.Zone)
	if err != nil {
		return nil, fmt.Errorf("load the zone %q: %w", s.Farm.Zone, err)
	}
	return zone, nil
}

// bookTickets reads the season of a data file as it stands, with its loads and with every bid that was heard: which of two bids
// a load was sold at depends on when each was heard.
func (a *App) bookTickets(ctx context.Context, path string, l *seasonLoads, with withLoads) error {
	b, err := a.book(ctx, path, look)
	if err != nil {
		return err
	}
	defer func() { _ = b.Close() }() // nothing was written
	st, err := a.season(ctx, b)
	if err != nil {
		return err
	}
	l.season, l.zone, l.data = st.file.Season, st.zone, b.Path
	l.bids = l.season.Bids
	heard, err := b.store.Bids(ctx, b.Farm, "")
	if err != nil {
		return troubled(err)
	}
	known := map[string]bool{}
	for _, bid := range l.bids {
		known[bid.ID] = true
	}
	for _, bid := range values(heard) {
		if !known[bid.ID] {
			l.bids = append(l.bids, bid)
		}
	}
	if l.files, _, err = a.Files(path); err != nil {
		return err
	}
	if !with {
		return nil
	}
	rows, err := b.store.AllLoads(ctx, b.Farm, l.season.Farm.Year)
	if err != nil {
		return troubled(err)
	}
	for i := range rows {
		l.take(&rows[i])
	}
	return l.papers(ctx, b)
}

// take turns a load of the data file into entries. One that is void or merged is entered and taken back, so that it stays listed;
// one that waits for a person to say whether it counts is only counted.
func (l *seasonLoads) take(r *store.LoadRow) {
	gone := r.State == journal.Void || r.Merged
	switch {
	case r.Load.Empty:
		return
	case !r.Counted && !gone:
		l.waiting++
		return
	}
	t, doubts := l.ticket(r)
	l.entries = append(l.entries, ledger.Entry{Ticket: t, Where: t.Where})
	if !gone {
		l.found = append(l.found, doubts...)
		return
	}
	reason := "void"
	if r.Merged {
		reason = "the same truckload as another"
	}
	l.entries = append(l.entries, ledger.Entry{Back: t.ID, Reason: reason + "; threshday history " + t.ID + " says why", Where: t.Where})
}

// ticket turns a load of the data file into a ticket. The day at the buyer is that of the empty weighing, where it is known.
func (l *seasonLoads) ticket(r *store.LoadRow) (*ledger.Ticket, []problem.Finding) {
	in := &r.Load
	t := &ledger.Ticket{
		ID: string(r.ID), Number: in.Ticket, Place: in.Outlet, Day: in.Day, Contract: in.Contract, Truck: in.Truck,
		Where: problem.Place{Path: "load " + string(r.ID)},
	}
	if in.In != nil {
		t.Weighed.Gross = *in.In
	}
	if in.Out != nil {
		t.Weighed.Tare = *in.Out
		t.Day = calendar.DayOf(*in.Out, l.zone)
	}
	t.Load = settlement.Load{Crop: in.Crop, Day: t.Day}
	doubts := weigh(t, in.Weights)
	if in.Moisture != nil {
		t.Load.Readings = t.Load.Readings.With(settlement.Moisture, *in.Moisture)
	}
	for _, f := range settlement.Factors() {
		if x := worth.QualityOf(&in.Quality, f); x != nil {
			t.Load.Readings = t.Load.Readings.With(f, *x)
		}
	}
	for _, part := range in.From {
		s := ledger.Source{Field: part.Field, Part: part.Share}
		if l.isBin(part.Field) {
			s.Field, s.Bin = "", part.Field
		}
		t.From = append(t.From, s)
		for _, f := range l.season.Fields {
			if f.ID == part.Field && f.Crop == in.Crop {
				t.Load.Class = f.Class
			}
		}
	}
	return t, doubts
}

// isBin reports whether grain that came from id came out of an own bin.
func (l *seasonLoads) isBin(id string) bool {
	for _, f := range l.season.Fields {
		if f.ID == id {
			return false
		}
	}
	for _, b := range l.season.Bins {
		if b.ID == id {
			return true
		}
	}
	return false
}

// weigh puts the scale's figures onto a ticket in pounds. The printed net weight is the one that counts, here as in every list of
// loads; where gross less tare is another, that is said.
func weigh(t *ledger.Ticket, w journal.Weights) []problem.Finding {
	var out []problem.Finding
	doubt := func(rule, label, got, want, say, next string) {
		out = append(out, problem.Finding{Rule: rule, Severity: problem.Warning, Where: t.Where, Label: label, Got: got, Want: want, Say: say, Next: next})
	}
	name := "Load " + t.ID
	if t.Number != "" {
		name = "Ticket " + t.Number
	}
	net, _ := w.Carried()
	tare := int64(0)
	if w.Tare != nil {
		tare = *w.Tare
	}
	if w.Net != nil && w.Gross != nil && w.Tare != nil && *w.Gross-*w.Tare != net {
		doubt("T01", "Net", fmt.Sprintf("%d %s", net, w.Unit), fmt.Sprintf("%d %s, gross less tare", *w.Gross-*w.Tare, w.Unit),
			fmt.Sprintf("%s prints a net weight of %d %s and gross less tare is %d; the printed net counts.", name, net, w.Unit, *w.Gross-*w.Tare), "Read the three weights on the ticket again.")
	}
	if w.Unit == journal.Kilograms {
		lb := func(kg int64) int64 { return int64(trade.Kilograms(kg)) }
		doubt("load.kilograms", "Net", fmt.Sprintf("%d kg", net), "pounds", fmt.Sprintf("%s was weighed in kilograms; its %d kg count as %d lb.", name, net, lb(net)),
			"The posted terms speak of pounds; the buyer's own conversion decides.")
		net, tare = lb(net), lb(tare)
	}
	t.Load.Gross, t.Load.Tare = trade.Pounds(net+tare), trade.Pounds(tare)
	return out
}

// missingSchedule is the rule of a schedule that the season names and that is not there.
const missingSchedule = "schedule.missing"

func noSchedule(outlet string, k crop.Kind, name string) *Trouble {
	return &Trouble{
		missingSchedule, fmt.Sprintf("The schedule of %s for %s, %s, is not there.", outlet, k, name),
		"Names in a season are looked for beside the season file, and of a data file in its folder: put the file there, or take it out of the outlet.",
	}
}

// terms returns the posted terms of a season; of one that is missing it says in which folder it was looked for.
func (l *seasonLoads) terms(a *App) (map[worth.TermsKey]*settlement.Terms, error) {
	terms, err := a.terms(l.files, l.season)
	var gone *Trouble
	if errors.As(err, &gone) && gone.Rule == missingSchedule && l.data != "" {
		folder := filepath.Dir(l.data)
		return nil, &Trouble{
			missingSchedule, strings.TrimSuffix(gone.Say, "there.") + "in " + folder + ", the folder of the data file " + filepath.Base(l.data) + ".",
			"Put the schedules there, or keep the data file beside them; take a schedule that you do not have out of the outlet.",
		}
	}
	return terms, err
}
