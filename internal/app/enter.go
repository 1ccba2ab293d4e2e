package app

import (
	"context"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
)

// An Entered says what became of one entry. It is told only once the entry is on the disk.
type Entered struct {
	ID     string
	Of     string // the record that it begins or speaks of
	Kind   string // "reading.recorded"
	Body   string // of the entry, canonical JSON; empty for a season
	Seq    int64  // its place in the book
	Data   string // the file it is in
	Again  bool   // was there already, with this content
	Review bool   // in the book, and waiting for a person to look
	Doubts []problem.Finding
}

func (b *Book) entered(a journal.Answer, doubts []problem.Finding) *Entered {
	return &Entered{
		ID: string(a.ID), Seq: a.Seq, Data: b.Path, Again: a.Status == journal.Already,
		Review: a.Status == journal.Review || a.First == journal.Review, Doubts: append(a.Problems, doubts...),
	}
}

// readAll reads a file of a folder.
func readAll(files fs.FS, name string) ([]byte, error) {
	data, err := fs.ReadFile(files, name)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	return data, nil
}

// A Clock is the farm's zone and the moment that is meant by now: the one the season speaks of, where it says one, so
// that what is entered and what is planned are of one day.
type Clock struct {
	Zone   *time.Location
	Now    time.Time
	Stands bool // the season speaks of one moment: what names no time of its own is of that moment
}

// Clock returns the clock of the farm whose book is at data, on which times without an offset are meant.
func (a *App) Clock(ctx context.Context, data string) (Clock, error) {
	b, err := a.book(ctx, data, look)
	if err != nil {
		return Clock{}, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	st, err := a.season(ctx, b)
	if err != nil {
		return Clock{}, err
	}
	return Clock{st.zone, a.meant(st), st.file.Season.Farm.AsOf != nil}, nil
}

// meant returns the moment that now means in a season.
func (a *App) meant(st *standing) time.Time {
	if at := st.file.Season.Farm.AsOf; at != nil {
		return at.In(st.zone)
	}
	return a.Now().In(st.zone)
}

// A Signed says who enters something, and under which id. An id that the caller made lets it send the entry again after
// a failure it knows nothing of: it counts once. Empty: a new one is made.
type Signed struct {
	By, ID string
	From   *Device // what hands it in, where it keeps entries until they are acknowledged; nil: the person at this program
}

// A Device says where and when an entry was made.
type Device struct {
	Name    string
	Counter int64 // the device's own number of the entry
	At      time.Time
}

// add puts a record into the book at data; body is made once the season is known.
func (a *App) add(ctx context.Context, data string, subject journal.Subject, sign Signed, day calendar.Day, body func(*farm.Season) ([]byte, error)) (*Entered, error) {
	b, err := a.book(ctx, data, write)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	st, err := a.season(ctx, b)
	if err != nil {
		return nil, err
	}
	text, err := body(st.file.Season)
	if err != nil {
		return nil, err
	}
	return a.enter(ctx, b, st, event{journal.Of(subject, journal.Recorded), text, sign, day})
}

// AddReading enters a moisture reading.
func (a *App) AddReading(ctx context.Context, data string, r farm.Reading, typed journal.Typed, id string) (*Entered, error) {
	return a.add(ctx, data, journal.ReadingSubject, Signed{By: r.By, ID: id}, calendar.Day{}, func(*farm.Season) ([]byte, error) {
		return journal.ReadingBody(r, typed), nil
	})
}

// AddStage enters a stage that was seen.
func (a *App) AddStage(ctx context.Context, data string, s farm.Sighting, typed journal.Typed, id string) (*Entered, error) {
	return a.add(ctx, data, journal.StageSubject, Signed{By: s.By, ID: id}, s.On, func(*farm.Season) ([]byte, error) {
		return journal.StageBody(s, typed), nil
	})
}

// AddBid enters a bid.
func (a *App) AddBid(ctx context.Context, data string, bid farm.Bid, typed journal.Typed, sign Signed) (*Entered, error) {
	return a.add(ctx, data, journal.BidSubject, sign, calendar.Day{}, func(*farm.Season) ([]byte, error) {
		return journal.BidBody(bid, typed), nil
	})
}

// AddForecast enters a day of the farm's own forecast.
func (a *App) AddForecast(ctx context.Context, data string, d farm.OutlookDay, typed journal.Typed, sign Signed) (*Entered, error) {
	return a.add(ctx, data, journal.OutlookSubject, sign, d.On, func(*farm.Season) ([]byte, error) {
		return journal.OutlookBody(d, typed), nil
	})
}

// AddLoad enters a truckload and returns it as it was understood: of the season's crop year, and, where its crop is not
// named, of the crop that its fields grow.
func (a *App) AddLoad(ctx context.Context, data string, l journal.Load, sign Signed) (*Entered, journal.Load, error) {
	e, err := a.add(ctx, data, journal.LoadSubject, sign, l.Day, func(s *farm.Season) ([]byte, error) {
		if l.CropYear == 0 {
			l.CropYear = s.Farm.Year
		}
		if l.Crop == crop.Unknown {
			var err error
			if l.Crop, err = cropOf(s, l.From); err != nil {
				return nil, err
			}
		}
		return journal.LoadBody(l), nil
	})
	return e, l, err
}

// cropOf returns the one crop that fields grow, or an own bin is for.
func cropOf(s *farm.Season, from []journal.Part) (crop.Kind, error) {
	kind := crop.Unknown
	for _, p := range from {
		for _, b := range s.Bins {
			if b.ID == p.Field && kind == crop.Unknown {
				kind = b.Crop
			}
		}
		for _, f := range s.Fields {
			if f.ID == p.Field && kind != crop.Unknown && f.Crop != kind {
				return 0, &problem.InputError{Rule: "load.crops", Label: "crop", Want: fmt.Sprintf("said, for the fields grow %s and %s", kind, f.Crop)}
			} else if f.ID == p.Field {
				kind = f.Crop
			}
		}
	}
	if kind == crop.Unknown {
		return 0, &problem.InputError{Rule: "load.crop", Label: "crop", Want: "said, for no field of the season tells it", Next: "Name the crop, or a field of the season."}
	}
	return kind, nil
}

// An event is one thing to enter.
type event struct {
	kind journal.Kind
	body []byte
	sign Signed
	day  calendar.Day // zero: today
}

// eventOf returns the event of one thing to enter, dated now on the farm's clock.
func (a *App) eventOf(b *Book, st *standing, e event) journal.Event {
	now := a.Now().In(st.zone)
	var from Device
	if e.sign.From != nil {
		from = *e.sign.From
		now = from.At.In(st.zone)
	}
	_, seconds := now.Zone()
	if e.day.IsZero() {
		e.day = calendar.DayOf(now, st.zone)
	}
	id := journal.ID(e.sign.ID)
	if id == "" {
		id = b.store.NewID()
	}
	origin := journal.Form
	if subject, _, _ := e.kind.Split(); subject == journal.SeasonSubject {
		origin = journal.Import
	}
	return journal.Event{
		Farm: b.Farm, ID: id, Kind: e.kind, Body: e.body, Origin: origin, At: now, Offset: seconds / 60, Day: e.day, By: e.sign.By,
		Device: from.Name, Counter: from.Counter,
	}
}

// enter puts one thing into the book and says what is doubtful in it.
func (a *App) enter(ctx context.Context, b *Book, st *standing, e event) (*Entered, error) {
	ev := a.eventOf(b, st, e)
	answers, err := b.store.Append(ctx, ev)
	if err != nil {
		return nil, troubled(err)
	}
	switch {
	case answers[0].Status != journal.Refused:
	case e.sign.From != nil:
		return nil, &Refused{answers[0].Problems}
	default:
		return nil, refusedBy(answers[0])
	}
	out := b.entered(answers[0], a.doubts(st, e))
	out.Kind = string(e.kind)
	if ev.Origin == journal.Form {
		out.Body = string(e.body)
	}
	if of, err := ev.Record(); err == nil {
		out.Of = string(of)
	}
	return out, nil
}

// A Refused entry is not in the book; each finding says why in a sentence of its own.
type Refused struct{ Findings []problem.Finding }

func (e *Refused) Error() string {
	var b strings.Builder
	for i, f := range e.Findings {
		if i > 0 {
			b.WriteString("\n")
		}
		b.WriteString(strings.TrimSpace(f.Say + " " + f.Next))
	}
	return b.String()
}

// refusedBy turns the findings of a refused entry into what the edges say of bad input.
func refusedBy(a journal.Answer) error {
	var all problem.InputErrors
	for _, f := range a.Problems {
		if f.Severity == problem.Error {
			all = append(all, &problem.InputError{Rule: f.Rule, Label: f.Label, Got: f.Got, Want: f.Want, Where: f.Where, Next: f.Next})
		}
	}
	return all.Or()
}
