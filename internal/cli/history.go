package cli

import (
	"fmt"
	"strings"
	"time"

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
	var h *app.RecordHistory
	var err error
	if c.ID == "" {
		h, err = s.App.Recent(s.ctx, c.data(), max(1, c.Limit))
	} else {
		h, err = s.App.History(s.ctx, c.data(), c.ID)
	}
	if err != nil {
		return err
	}
	if s.json {
		return s.print(historyAsJSON(h))
	}
	return s.printHistory(h)
}

func historyAsJSON(h *app.RecordHistory) historyJSON {
	out := historyJSON{State: h.State, Body: h.Body, Entries: []lineJSON{}}
	for _, l := range h.Lines {
		one := lineJSON{Seq: l.Seq, At: stamp(l.At), By: l.By, Kind: l.Kind, ID: l.ID, Of: l.Of, Review: l.Review, Body: l.Body, Reason: l.Reason}
		for _, ch := range l.Changes {
			one.Changes = append(one.Changes, changeJSON(ch))
		}
		out.Entries = append(out.Entries, one)
	}
	return out
}

func (s *session) printHistory(h *app.RecordHistory) error {
	p := s.printer()
	if len(h.Lines) == 0 {
		p.line("Nothing has been entered yet.")
	}
	for _, l := range h.Lines {
		who := ""
		if l.By != "" {
			who = " by " + l.By
		}
		if l.Review {
			who += "  waits for a person"
		}
		p.line(p.bold(fmt.Sprintf("%5d  %s  %s%s", l.Seq, l.At.Format("2006-01-02 15:04"), actSaid(l.Kind), who)))
		p.hung("       ", lineSaid(l, h.Zone))
		p.line("       id " + l.ID)
		if l.Reason != "" {
			p.hung("       ", "because "+l.Reason)
		}
		for _, ch := range l.Changes {
			if text := changeSaid(ch); text != "" {
				p.hung("       ", text)
			}
		}
	}
	if h.State != "" {
		p.line("")
		p.section("Stands", []string{standsSaid(h)})
	}
	return p.Flush()
}

// standsSaid says how a record stands after all that was said of it.
func standsSaid(h *app.RecordHistory) string {
	subject, _, _ := journal.Kind(h.Lines[0].Kind).Split()
	said := bodySaid(subject, h.Body, h.Zone)
	if h.State == string(journal.Void) {
		return "void, it counts no more: " + said
	}
	return said
}

// actSaid says what an entry is, "Reading" or "Reading corrected".
func actSaid(kind string) string {
	subject, act, ok := journal.Kind(kind).Split()
	if !ok {
		return kind
	}
	what := map[journal.Subject]string{journal.OutlookSubject: "Forecast", journal.BookSubject: "Data file"}[subject]
	if what == "" {
		what = strings.ToUpper(string(subject[:1])) + string(subject[1:])
	}
	switch act {
	case journal.Recorded:
		return what
	case journal.Set:
		return what + " put in"
	case journal.SetAside:
		return what + ", taken back"
	default:
		return what + " " + string(act)
	}
}

// lineSaid says one entry in a line.
func lineSaid(l app.Line, zone *time.Location) string {
	subject, act, ok := journal.Kind(l.Kind).Split()
	if ok && (act == journal.Recorded || act == journal.Set || act == journal.Restored) {
		return bodySaid(subject, l.Body, zone)
	}
	return "of " + l.Of
}

type waitingCmd struct {
	bookFlags
}

// Explain says what waits.
func (waitingCmd) Explain() string {
	return "What is in the book and doubtful: a load that looks like another, two corrections of one version, a figure that cannot be true. " +
		"A load that looks like another counts once until somebody says which it is: keep it, where it is another truckload; merge it, where it is the same; " +
		"correct or void it, where it is wrong."
}

type waitJSON struct {
	ID   string   `json:"id"`
	Kind string   `json:"kind"`
	Why  []string `json:"why"`
	Like string   `json:"like,omitempty"`
	Body string   `json:"body"`
}

type waitingJSON struct {
	Waiting []waitJSON `json:"waiting"`
}

// Answer returns the JSON form.
func (waitingCmd) Answer() any { return waitingJSON{} }

// whySaid are the reasons to wait that the book knows, for people.
var whySaid = map[string]string{
	"load.double": "looks like a load that counts already, so it does not count", "load.merge": "was merged with a load that does not count",
	"load.no-weight": "has no weight", "load.net": "has a net that is not gross less tare",
	"record.rivals": "was corrected twice from one version; undo one of the two", "record.loose": "has a correction of a version that does not stand",
	"record.void": "was corrected after it was voided",
}

// Run lists what waits.
func (c waitingCmd) Run(s *session) error {
	all, err := s.App.Waiting(s.ctx, c.data())
	if err != nil {
		return err
	}
	out := waitingJSON{Waiting: []waitJSON{}}
	for _, w := range all {
		out.Waiting = append(out.Waiting, waitJSON{w.ID, w.Kind, list(w.Why), w.Like, w.Body})
	}
	if s.json {
		return s.print(out)
	}
	p := s.printer()
	if len(all) == 0 {
		p.line("Nothing waits for a person.")
	}
	for _, w := range all {
		p.hung("", p.bold(bodySaid(journal.Subject(w.Kind), w.Body, time.UTC)))
		p.line("       id " + w.ID)
		for _, why := range w.Why {
			text := whySaid[why]
			if text == "" {
				text = why
			}
			p.hung("       ", text)
		}
		if w.Like != "" {
			p.line("       like " + w.Like)
		}
	}
	return p.Flush()
}
