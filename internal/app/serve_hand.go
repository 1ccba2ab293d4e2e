package app

import (
	"context"
	"errors"
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/store"
)

// A Handed is one entry that a device hands in: one of Reading, Stage, Bid, Outlook, Load, Cheque, Sheet, Remark, Setting, Post and
// Season is set. Handed in again with the same id and content it counts once and is answered alike.
type Handed struct {
	Sign    Signed // with ID and From
	Reading *farm.Reading
	Stage   *farm.Sighting
	Bid     *farm.Bid
	Outlook *farm.OutlookDay
	Load    *journal.Load
	Cheque  *journal.Cheque // with no party: of the owner
	Sheet   *journal.Sheet
	Typed   journal.Typed // of Reading, Stage, Bid and Outlook
	Remark  *Remark
	Setting *Settings
	Post    *NewSchedule
	Season  *string // a whole season file
}

// A Remark is something said of a record.
type Remark struct {
	Of, Saw string // Saw: the version that the person had before them; empty: the one that stands
	Act     journal.Act
	Into    string // Merged
	Reason  string
	Change  func(journal.Subject, []byte) ([]byte, error) // Correct
}

// HandIn enters what a device hands in. What cannot be an entry is a [*Refused] or an input error.
func (a *App) HandIn(ctx context.Context, data string, h Handed) (*Entered, error) {
	day := calendar.Day{}
	record := func(subject journal.Subject, body []byte) (*Entered, error) {
		return a.add(ctx, data, subject, h.Sign, day, func(*farm.Season) ([]byte, error) { return body, nil })
	}
	switch {
	case h.Reading != nil:
		return record(journal.ReadingSubject, journal.ReadingBody(*h.Reading, h.Typed))
	case h.Stage != nil:
		day = h.Stage.On
		return record(journal.StageSubject, journal.StageBody(*h.Stage, h.Typed))
	case h.Bid != nil:
		return record(journal.BidSubject, journal.BidBody(*h.Bid, h.Typed))
	case h.Outlook != nil:
		day = h.Outlook.On
		return record(journal.OutlookSubject, journal.OutlookBody(*h.Outlook, h.Typed))
	case h.Load != nil:
		return a.handLoad(ctx, data, *h.Load, h.Sign)
	case h.Cheque != nil:
		return a.handCheque(ctx, data, *h.Cheque, h.Sign)
	case h.Sheet != nil:
		return a.handSheet(ctx, data, *h.Sheet, h.Sign)
	case h.Remark != nil:
		return a.handRemark(ctx, data, *h.Remark, h.Sign)
	case h.Setting != nil:
		return a.handSeason(ctx, data, h.Sign, func(text string) (string, error) { return a.withSettings(text, *h.Setting) }, nil)
	case h.Post != nil:
		return a.handSchedule(ctx, data, h.Sign, *h.Post)
	case h.Season != nil:
		return a.handSeason(ctx, data, h.Sign, func(string) (string, error) { return *h.Season, nil }, nil)
	}
	panic("app: nothing is handed in")
}

// handLoad enters a load. What the season told of one that is in the book already, it is not asked again.
func (a *App) handLoad(ctx context.Context, data string, l journal.Load, sign Signed) (*Entered, error) {
	before, ok, err := a.entered(ctx, data, sign.ID)
	if err != nil {
		return nil, err
	}
	if first, e := journal.ReadLoad(before.Body); ok && e == nil {
		l.CropYear = first.CropYear
		if l.Crop == crop.Unknown {
			l.Crop = first.Crop
		}
	}
	e, _, err := a.AddLoad(ctx, data, l, sign)
	return e, err
}

// handCheque enters a cheque. What the season told of one that is in the book already, it is not asked again.
func (a *App) handCheque(ctx context.Context, data string, c journal.Cheque, sign Signed) (*Entered, error) {
	owner, err := a.OwnerOf(ctx, data)
	if err != nil {
		return nil, err
	}
	before, there, err := a.entered(ctx, data, sign.ID)
	if err != nil {
		return nil, err
	}
	first, err := journal.ReadCheque(before.Body)
	switch known := there && err == nil; {
	case known && c.Party == "":
		c.Party, c.CropYear = first.Party, first.CropYear
	case known:
		c.CropYear = first.CropYear
	case c.Party == "":
		c.Party = owner
	}
	e, _, err := a.AddCheque(ctx, data, c, sign)
	return e, err
}

// handSheet enters a settlement sheet.
func (a *App) handSheet(ctx context.Context, data string, p journal.Sheet, sign Signed) (*Entered, error) {
	before, there, err := a.entered(ctx, data, sign.ID)
	if err != nil {
		return nil, err
	}
	if first, e := journal.ReadSheet(before.Body); there && e == nil {
		p.CropYear = first.CropYear
	}
	e, _, err := a.AddSheet(ctx, data, p, sign)
	return e, err
}

// entered returns the entry of an id that is in the book at data already.
func (a *App) entered(ctx context.Context, data, id string) (journal.Entry, bool, error) {
	b, err := a.book(ctx, data, write)
	if err != nil {
		return journal.Entry{}, false, err
	}
	defer func() { _ = b.Close() }() // nothing was written
	return b.before(ctx, id)
}

// before returns the entry of an id that is in the book already.
func (b *Book) before(ctx context.Context, id string) (journal.Entry, bool, error) {
	steps, _, err := b.store.History(ctx, b.Farm, journal.ID(id))
	if errors.Is(err, store.ErrNotFound) {
		return journal.Entry{}, false, nil
	}
	if err != nil {
		return journal.Entry{}, false, troubled(err)
	}
	for _, s := range steps {
		if s.Entry.ID == journal.ID(id) {
			return s.Entry, true, nil
		}
	}
	return journal.Entry{}, false, nil
}

func (a *App) handRemark(ctx context.Context, data string, r Remark, sign Signed) (*Entered, error) {
	m := remark{of: r.Of, saw: r.Saw, act: r.Act, reason: r.Reason, sign: sign}
	switch r.Act {
	case journal.Correct:
		m.fill = correction(r.Change)
	case journal.Merged:
		m.fill = merging(r.Of, r.Into)
	case journal.SetAside:
		m.fill = takingBack(r.Of)
	case journal.Voided, journal.Kept:
	case journal.Recorded, journal.Set, journal.Restored:
		panic("app: that says nothing of a record")
	}
	return a.say(ctx, data, m)
}

// handSeason puts another season file in the place of the one that stands; change makes it of that. place, where there is one, puts
// files that the new one names onto the disk before it is entered; of an entry that is in the book already they are there.
func (a *App) handSeason(ctx context.Context, data string, sign Signed, change func(text string) (string, error), place func() error) (*Entered, error) {
	b, err := a.book(ctx, data, write)
	if err != nil {
		return nil, err
	}
	defer func() { _ = b.Close() }() // what is acknowledged is on the disk already
	text, err := a.seasonText(ctx, b)
	if err != nil {
		return nil, err
	}
	before, there, err := b.before(ctx, sign.ID)
	if err != nil {
		return nil, err
	}
	if first, e := journal.ReadSeason(before.Body); there && e == nil {
		text = first.Text // changing it once more the same way changes nothing
	}
	if text, err = change(text); err != nil {
		return nil, err
	}
	st, err := a.seasonToBe(ctx, b, text)
	if err != nil {
		return nil, err
	}
	if place != nil && !there {
		if err := place(); err != nil {
			return nil, err
		}
	}
	body := journal.SeasonBody(journal.Season{Text: text, Names: journal.SeasonNames(*st.file.Season)})
	e, err := a.enter(ctx, b, st, event{journal.Of(journal.SeasonSubject, journal.Set), body, sign, calendar.Day{}})
	if err != nil {
		return nil, err
	}
	for _, f := range st.file.Findings {
		if f.Severity != problem.Note {
			e.Doubts = append(e.Doubts, f)
		}
	}
	return e, nil
}

// seasonToBe reads a season file that is to stand in the book.
func (a *App) seasonToBe(ctx context.Context, b *Book, text string) (*standing, error) {
	if len(text) > journal.MaxSeason {
		return nil, &problem.InputError{Rule: "import.size", Label: "season file", Got: fmt.Sprintf("%d bytes", len(text)), Want: fmt.Sprintf("at most %d bytes", journal.MaxSeason)}
	}
	file, err := a.ParseSeason("the season file", []byte(text))
	if err != nil {
		return nil, err
	}
	id := file.Season.Farm.ID
	if id == "" {
		id = noFarm
	}
	if id != b.Farm {
		return nil, &problem.InputError{
			Rule: "import.farm", Label: "farm id", Got: id, Want: fmt.Sprintf("%q, the farm this file belongs to", b.Farm),
			Next: "Use another data file for another farm.",
		}
	}
	return a.stand(ctx, b, file, text)
}

// Settings are the owner's own words and limits; what is nil stays as it is.
type Settings struct {
	Name, Place, Contact *string
	Limits               map[crop.Kind]trade.Percent
	SeasonEnd            *calendar.Day
	WorkFrom, WorkUntil  *calendar.Clock
	DaysOff              *[]time.Weekday
}

// withSettings returns a season file with settings in it, in the canonical text.
func (a *App) withSettings(text string, set Settings) (string, error) {
	file, err := a.ParseSeason("the season", []byte(text))
	if err != nil {
		return "", err
	}
	s := file.Season
	put := func(to *string, v *string) {
		if v != nil {
			*to = *v
		}
	}
	put(&s.Farm.Name, set.Name)
	put(&s.Farm.Place, set.Place)
	put(&s.Farm.Weather.Contact, set.Contact)
	for k, limit := range set.Limits {
		if s.Prefer.Limits == nil {
			s.Prefer.Limits = map[crop.Kind]trade.Percent{}
		}
		s.Prefer.Limits[k] = limit
	}
	if set.SeasonEnd != nil {
		s.Prefer.SeasonEnd = *set.SeasonEnd
	}
	if set.WorkFrom != nil {
		s.Prefer.WorkFrom = *set.WorkFrom
	}
	if set.WorkUntil != nil {
		s.Prefer.WorkUntil = *set.WorkUntil
	}
	if set.DaysOff != nil {
		s.Prefer.DaysOff = *set.DaysOff
	}
	return string(a.WriteSeason(s)), nil
}
