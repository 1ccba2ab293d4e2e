package cli

import (
	"fmt"
	"time"

	"threshday/internal/answer"
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

// Answer returns the JSON form.
func (historyCmd) Answer() any { return answer.History{} }

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
		return s.print(answer.OfHistory(h))
	}
	return s.printHistory(h)
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
		p.line(p.bold(fmt.Sprintf("%5d  %s  %s%s", l.Seq, l.At.Format("2006-01-02 15:04"), answer.ActSaid(l.Kind), who)))
		p.hung("       ", answer.LineSaid(l, h.Zone))
		p.line("       id " + l.ID)
		if l.Reason != "" {
			p.hung("       ", "because "+l.Reason)
		}
		for _, ch := range l.Changes {
			if text := answer.ChangeSaid(ch); text != "" {
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
	said := answer.BodySaid(subject, h.Body, h.Zone)
	if h.State == string(journal.Void) {
		return "void, it counts no more: " + said
	}
	return said
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

// Answer returns the JSON form.
func (waitingCmd) Answer() any { return answer.Waiting{} }

// Run lists what waits.
func (c waitingCmd) Run(s *session) error {
	all, err := s.App.Waiting(s.ctx, c.data())
	if err != nil {
		return err
	}
	if s.json {
		return s.print(answer.OfWaiting(all))
	}
	p := s.printer()
	if len(all) == 0 {
		p.line("Nothing waits for a person.")
	}
	for _, w := range all {
		p.hung("", p.bold(answer.BodySaid(journal.Subject(w.Kind), w.Body, time.UTC)))
		p.line("       id " + w.ID)
		for _, why := range w.Why {
			p.hung("       ", answer.WhySaid(why))
		}
		if w.Like != "" {
			p.line("       like " + w.Like)
		}
	}
	return p.Flush()
}
