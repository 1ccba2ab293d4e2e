package cli

import (
	"fmt"
	"strings"

	"threshday/internal/app"
	"threshday/internal/core/journal"
)

type historyCmd struct {
	ID    string `arg:"" optional:"" help:"Id of a record; left out: the newest entries of the book."`
	Limit int    `default:"30" help:"How many entries to show."`
	bookFlags
}

// Explain says what the history shows.
func (historyCmd) Explain() string {
	return "Everything that was ever entered, in the order it came. With an id: all that was said of one record, who said it, what changed and why. " +
		"Nothing is ever overwritten or deleted."
}

type historyJSON struct {
	State   string     `json:"state,omitempty"`
	Body    string     `json:"body,omitempty"`
	Entries []lineJSON `json:"entries"`
}

type lineJSON struct {
	Seq     int64        `json:"seq"`
	At      string       `json:"at"`
	By      string       `json:"by,omitempty"`
	Kind    string       `json:"kind"`
	ID      string       `json:"id"`
	Of      string       `json:"of,omitempty"`
	Review  bool         `json:"review"`
	Body    string       `json:"body,omitempty"`
	Reason  string       `json:"reason,omitempty"`
	Changes []changeJSON `json:"changes,omitempty"`
}

type changeJSON struct {
	Key string `json:"key"`
	Old string `json:"old"`
	New string `json:"new"`
}

// Answer returns the JSON form.
func (historyCmd) Answer() any { return historyJSON{} }

// Run prints the history.
func (c historyCmd) Run(s *session) error {
	out := historyJSON{Entries: []lineJSON{}}
	var lines []app.Line
	if c.ID == "" {
		recent, err := s.App.Recent(s.ctx, c.data(), max(1, c.Limit))
		if err != nil {
			return err
		}
		lines = recent
	} else {
		h, err := s.App.History(s.ctx, c.data(), c.ID)
		if err != nil {
			return err
		}
		lines, out.State, out.Body = h.Lines, h.State, h.Body
	}
	for _, l := range lines {
		one := lineJSON{Seq: l.Seq, At: stamp(l.At), By: l.By, Kind: l.Kind, ID: l.ID, Of: l.Of, Review: l.Review, Body: l.Body, Reason: l.Reason}
		for _, ch := range l.Changes {
			one.Changes = append(one.Changes, changeJSON(ch))
		}
		out.Entries = append(out.Entries, one)
	}
	if s.json {
		return s.print(out)
	}
	return s.printHistory(out, lines)
}

func (s *session) printHistory(out historyJSON, lines []app.Line) error {
	p := s.printer()
	if len(lines) == 0 {
		p.line("Nothing has been entered yet.")
	}
	for _, l := range lines {
		who := ""
		if l.By != "" {
			who = " by " + l.By
		}
		p.line(p.bold(fmt.Sprintf("%5d  %s  %s%s", l.Seq, l.At.Format("2006-01-02 15:04"), l.Kind, who)) + review(l.Review))
		p.hung("       ", lineSaid(l))
		p.line("       id " + l.ID)
		if l.Reason != "" {
			p.hung("       ", "because "+l.Reason)
		}
		for _, ch := range l.Changes {
			p.hung("       ", fmt.Sprintf("%s: %s, was %s", ch.Key, orNothing(ch.New), orNothing(ch.Old)))
		}
	}
	if out.State != "" {
		p.line("")
		p.line("Stands as: " + out.State)
	}
	return p.Flush()
}

func orNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}

func review(waits bool) string {
	if waits {
		return "  waits for a person"
	}
	return ""
}

// lineSaid says an entry's body in words where it has them.
func lineSaid(l app.Line) string {
	subject, act, ok := journal.Kind(l.Kind).Split()
	if !ok || act != journal.Recorded {
		if l.Of != "" && l.Of != l.ID {
			return "of " + l.Of
		}
		return "the season file"
	}
	body := []byte(l.Body)
	switch subject {
	case journal.ReadingSubject:
		if r, _, err := journal.ReadReading(body); err == nil {
			return fmt.Sprintf("%s %% in %s by %s", r.Moisture, r.Field, strings.TrimSpace(r.Device+" "+r.Name))
		}
	case journal.StageSubject:
		if r, _, err := journal.ReadStage(body); err == nil {
			return fmt.Sprintf("%s in %s on %s", r.Stage, r.Field, r.On)
		}
	case journal.BidSubject:
		if b, _, err := journal.ReadBid(body); err == nil {
			return fmt.Sprintf("%s for %s at %s", priceWords(b), b.Crop, b.Outlet)
		}
	case journal.OutlookSubject:
		if d, _, err := journal.ReadOutlook(body); err == nil {
			return "forecast for " + d.On.String()
		}
	case journal.LoadSubject:
		if load, err := journal.ReadLoad(body); err == nil {
			return loadSaid(load)
		}
	case journal.SeasonSubject, journal.BookSubject:
	}
	return l.Body
}

type voidCmd struct {
	ID  string `arg:"" help:"Id of the record."`
	Why string `help:"The reason, in your own words. Must be given."`
	By  string `placeholder:"Ada" help:"Who voids it."`
	bookFlags
}

// Explain says what a void does.
func (voidCmd) Explain() string {
	return "Takes a record out of what counts. It stays readable, with who voided it, when and why."
}

// Answer returns the JSON form.
func (voidCmd) Answer() any { return enteredJSON{} }

// Run voids the record.
func (c voidCmd) Run(s *session) error {
	e, err := s.App.Void(s.ctx, c.data(), c.ID, c.Why, c.By)
	if err != nil {
		return err
	}
	return s.tell(e, c.ID+" counts no more")
}

type correctCmd struct {
	Reading correctReadingCmd `cmd:"" help:"Correct a moisture reading."`
	Stage   correctStageCmd   `cmd:"" help:"Correct a stage."`
	Bid     correctBidCmd     `cmd:"" help:"Correct a bid."`
	Load    correctLoadCmd    `cmd:"" help:"Correct a load."`
}

// correctFlags name what is corrected and why.
type correctFlags struct {
	ID  string `arg:"" help:"Id of the record."`
	Why string `help:"The reason, in your own words. Must be given."`
	By  string `placeholder:"Ada" help:"Who corrects it."`
	bookFlags
}

// correct puts the new version in, made by change from the one that stands.
func (f *correctFlags) correct(s *session, subject journal.Subject, change func([]byte) ([]byte, error)) error {
	e, err := s.App.Correct(s.ctx, f.data(), f.ID, f.Why, f.By, func(is journal.Subject, body []byte) ([]byte, error) {
		if is != subject {
			return nil, refuse("correct.kind", "ID", fmt.Sprintf("%s is a %s, not a %s.", f.ID, is, subject), "threshday correct "+string(is)+" is the command.")
		}
		return change(body)
	})
	if err != nil {
		return err
	}
	return s.tell(e, "the correction of "+f.ID+"; what it was before stays in the history")
}

type correctReadingCmd struct {
	correctFlags
	readingFlags
}

// Answer returns the JSON form.
func (correctReadingCmd) Answer() any { return enteredJSON{} }

// Run corrects a reading.
func (c correctReadingCmd) Run(s *session) error {
	return c.correct(s, journal.ReadingSubject, func(body []byte) ([]byte, error) {
		r, t, err := journal.ReadReading(body)
		if err != nil {
			return nil, err
		}
		if err := c.onto(&r); err != nil {
			return nil, err
		}
		if c.Moisture != nil {
			t = typed("moist_hundredth_pct", r.Moisture.String())
		}
		return journal.ReadingBody(r, t), nil
	})
}

type correctStageCmd struct {
	correctFlags
	stageFlags
}

// Answer returns the JSON form.
func (correctStageCmd) Answer() any { return enteredJSON{} }

// Run corrects a stage.
func (c correctStageCmd) Run(s *session) error {
	return c.correct(s, journal.StageSubject, func(body []byte) ([]byte, error) {
		r, t, err := journal.ReadStage(body)
		if err != nil {
			return nil, err
		}
		if err := c.onto(&r); err != nil {
			return nil, err
		}
		return journal.StageBody(r, t), nil
	})
}

type correctBidCmd struct {
	correctFlags
	bidFlags
}

// Answer returns the JSON form.
func (correctBidCmd) Answer() any { return enteredJSON{} }

// Run corrects a bid.
func (c correctBidCmd) Run(s *session) error {
	return c.correct(s, journal.BidSubject, func(body []byte) ([]byte, error) {
		b, t, err := journal.ReadBid(body)
		if err != nil {
			return nil, err
		}
		if err := c.onto(&b); err != nil {
			return nil, err
		}
		return journal.BidBody(b, t), nil
	})
}

type correctLoadCmd struct {
	correctFlags
	loadFlags
}

// Answer returns the JSON form.
func (correctLoadCmd) Answer() any { return enteredJSON{} }

// Run corrects a load.
func (c correctLoadCmd) Run(s *session) error {
	return c.correct(s, journal.LoadSubject, func(body []byte) ([]byte, error) {
		l, err := journal.ReadLoad(body)
		if err != nil {
			return nil, err
		}
		if err := c.onto(&l); err != nil {
			return nil, err
		}
		return journal.LoadBody(l), nil
	})
}
