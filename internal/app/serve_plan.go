package app

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"math"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/worth"
	"threshday/internal/store/planfile"
)

// A MorningRequest asks for a plan with everything that pages show of it.
type MorningRequest struct {
	Data     string // the data file
	Seed     uint64
	Kept     string                        // folder of forecasts that were fetched; empty: none
	Earlier  *EarlierOrders                // of the plan made before; nil: none
	Progress func(percent int, say string) // is told how far it is; not nil
}

// A Morning is a plan with everything that pages show of it.
type Morning struct {
	Head     Head   // of the book it was made from
	Inputs   string // SHA-256 in hex of everything it was made from
	Seed     uint64
	Members  int
	Made     time.Time // on the farm's clock
	At       time.Time // the same on the clock that answers speak of: the season's own moment, where it names one
	Took     time.Duration
	Program  string
	Sheet    *DaySheet
	Outlooks []*FieldOutlook
	Losses   [][]DayLoss // by field, in the order of Outlooks
	Worth    []CropWorth
}

// A DayLoss says what cutting a field on a day loses, and how often it can be cut.
type DayLoss struct {
	Day     calendar.Day
	LossPct float64 // of the crop, in the mean of all weathers; NaN: it can be cut in none
	FitOdds float64
}

// CropWorth is what a standing bushel of one crop nets at each moisture.
type CropWorth struct {
	Crop        crop.Kind
	Field       string // whose test weight and distances it is
	MoisturePct []float64
	Ways        []WayWorth
	Best        []int // per moisture, of Ways; -1: nobody takes it
}

// A WayWorth is a destination with what it nets.
type WayWorth struct {
	To, Name, Contract string
	PostedUSD          float64
	NetUSDPerBu        []float64 // per moisture; NaN: refused
}

// Morning makes a plan of the book at data, and with it the outlook of every field and what a bushel is worth where.
func (a *App) Morning(ctx context.Context, r MorningRequest) (*Morning, error) {
	began := a.Now()
	r.Progress(2, "Reading the book")
	head, err := a.HeadOf(ctx, r.Data)
	if err != nil {
		return nil, err
	}
	out := &Morning{Head: head, Seed: r.Seed, Program: a.Program}
	if out.Inputs, err = a.inputsOf(ctx, r); err != nil {
		return nil, err
	}
	r.Progress(8, "Drawing the weathers and pricing every field in each of them")
	mo, err := a.morning(ctx, PlanRequest{Book: r.Data, Seed: r.Seed, Kept: r.Kept, Earlier: r.Earlier})
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r.Progress(45, "Trying plans over all weathers")
	plan, err := mo.plan(ctx, a.workers())
	if err != nil {
		return nil, err
	}
	out.Sheet, out.Members = mo.sheet(plan), mo.build.Table.Members
	for f := range mo.build.Fields {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		r.Progress(85+10*f/len(mo.build.Fields), "Drawing the fields' days to come")
		out.Outlooks = append(out.Outlooks, mo.outlook(f, outlookHours))
		out.Losses = append(out.Losses, mo.losses(f))
	}
	out.Worth = mo.worth()
	out.Made = a.Now().In(mo.zone)
	out.Took = out.Made.Sub(began)
	if out.At = out.Made; mo.season.Farm.AsOf != nil {
		out.At = mo.season.Farm.AsOf.In(mo.zone)
	}
	r.Progress(98, "Keeping the plan")
	return out, nil
}

// losses says of field f, day by day, what cutting it then loses.
func (mo *morning) losses(f int) []DayLoss {
	facts := &mo.build.Fields[f]
	var out []DayLoss
	for d := range min(len(facts.LossPct), outlookHours/24) {
		one := DayLoss{Day: mo.build.Span.DayOf(0).AddDays(d), LossPct: facts.LossPct[d]}
		if d < len(facts.Under) {
			one.FitOdds = mo.share(facts.Under[d])
		}
		out = append(out, one)
	}
	return out
}

// The moistures at which outlets are compared.
const (
	driestShown, wettestShown, shownStep = 8.0, 30.0, 0.5
)

// worth says for each crop what a standing bushel nets at each destination, by the field with most acres left.
func (mo *morning) worth() []CropWorth {
	t := mo.build.Table
	var out []CropWorth
	for _, kind := range crop.Kinds() {
		f := -1
		for i := range mo.build.Fields {
			if mo.build.Fields[i].Field.Crop == kind && (f < 0 || t.Fields[i].Acres > t.Fields[f].Acres) {
				f = i
			}
		}
		if f < 0 {
			continue
		}
		w := CropWorth{Crop: kind, Field: mo.build.Fields[f].Field.ID}
		for m := driestShown; m <= wettestShown; m += shownStep {
			w.MoisturePct = append(w.MoisturePct, m)
			w.Best = append(w.Best, -1)
		}
		for d := range t.Destinations {
			if way, ok := mo.wayWorth(f, d, w.MoisturePct); ok {
				w.Ways = append(w.Ways, way)
			}
		}
		for i := range w.MoisturePct {
			for k, way := range w.Ways {
				if x := way.NetUSDPerBu[i]; !math.IsNaN(x) && (w.Best[i] < 0 || x > w.Ways[w.Best[i]].NetUSDPerBu[i]) {
					w.Best[i] = k
				}
			}
		}
		out = append(out, w)
	}
	return out
}

// wayWorth prices the grain of field f at destination d; ok is false where it takes none of it.
func (mo *morning) wayWorth(f, d int, moistures []float64) (way WayWorth, ok bool) {
	t := mo.build.Table
	row := &t.Destinations[d]
	way = WayWorth{To: row.ID, Name: row.Name, Contract: row.Contract, PostedUSD: row.Posted}
	for _, m := range moistures {
		at := worth.GridIndex(m)
		net := math.NaN()
		if v := float64(t.Value[f*len(t.Destinations)+d][at]); !math.IsNaN(v) {
			net, ok = v/float64(t.Bushels[f][at]), true
		}
		way.NetUSDPerBu = append(way.NetUSDPerBu, net)
	}
	return way, ok
}

// inputsOf returns a digest of everything a plan of the book is made from.
func (a *App) inputsOf(ctx context.Context, r MorningRequest) (string, error) {
	b, err := a.book(ctx, r.Data, look)
	if err != nil {
		return "", err
	}
	defer func() { _ = b.Close() }() // nothing was written
	st, err := a.season(ctx, b)
	if err != nil {
		return "", err
	}
	files, _, err := a.Files(r.Data)
	if err != nil {
		return "", err
	}
	h := sha256.New()
	part := func(name string, text []byte) { _, _ = fmt.Fprintf(h, "%s %d\n%s\n", name, len(text), text) } // a hash takes everything
	part("program", []byte(a.Program))
	part("seed", fmt.Append(nil, r.Seed, DefaultMembers))
	part("now", []byte(a.meant(st).Format(time.RFC3339)))
	part("season", a.WriteSeason(st.file.Season))
	for _, name := range named(st.file.Season) {
		text, err := fs.ReadFile(files, name)
		if err != nil {
			text = []byte("cannot be read") // whether that matters the plan will say
		}
		part(name, text)
	}
	if r.Kept != "" {
		kept, _, err := a.Forecasts(r.Kept)
		if err != nil {
			kept = nil // the plan says so
		}
		for _, k := range kept {
			part("forecast", []byte(k.Service+k.Form+k.Issued.UTC().Format(time.RFC3339)+k.Received.UTC().Format(time.RFC3339)))
		}
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// named returns the files that a season names, each once, in order.
func named(s *farm.Season) []string {
	all := map[string]bool{}
	if s.Farm.Weather.Record != "" {
		all[s.Farm.Weather.Record] = true
	}
	for _, o := range s.Outlets {
		for _, name := range o.Schedules {
			all[name] = true
		}
	}
	return slices.Sorted(maps.Keys(all))
}

// Since returns the entries of the book at data that came after seq, oldest first, at most limit of them.
func (a *App) Since(ctx context.Context, data string, seq int64, limit int) ([]Line, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	var out []Line
	err = b.store.Entries(ctx, b.Farm, seq, func(e journal.Entry) error {
		out = append(out, lineOf(e))
		if len(out) == limit {
			return io.EOF
		}
		return nil
	})
	if err == io.EOF { //nolint:errorlint // our own, unwrapped
		err = nil
	}
	return out, troubled(err)
}

// KeepPlan keeps a plan beside the data file, as text.
func (a *App) KeepPlan(data string, made time.Time, text []byte) error {
	return planfile.Beside(data).Save(made.UTC().Format("20060102T150405.000Z"), text)
}

// KeptPlans returns the newest plans kept beside the data file, at most n, the newest first.
func (a *App) KeptPlans(data string, n int) ([][]byte, error) { return planfile.Beside(data).Newest(n) }
