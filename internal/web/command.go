package web

import (
	"context"
	"encoding/json"
	"net/http"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
)

// A command is one entry as a device hands it in.
type command struct {
	ID      string          `json:"id"`
	Device  string          `json:"device"`
	Seq     int64           `json:"seq"`
	Time    string          `json:"device_time"`
	Type    string          `json:"type"`
	By      string          `json:"by"`
	BasedOn int64           `json:"based_on"`
	Body    json.RawMessage `json:"body"`
}

type commandsDoc struct {
	Commands []command `json:"commands"`
}

type answersDoc struct {
	Answers []answerDoc `json:"answers"`
	Head    headDoc     `json:"head"`
	Epoch   int64       `json:"epoch"`
	At      string      `json:"at"`
}

type answerDoc struct {
	ID       string             `json:"id"`
	Status   string             `json:"status"` // new, same, doubt or refused
	Record   string             `json:"record,omitempty"`
	Seq      int64              `json:"seq,omitempty"`
	Say      string             `json:"say,omitempty"`
	Findings []answer.Complaint `json:"findings"`
	Error    *answer.Complaint  `json:"error"`
}

// commands enters what a device hands in, in its order, and answers each by itself.
func (s *Server) commands(w http.ResponseWriter, r *http.Request) error {
	var in commandsDoc
	if err := readDoc(w, r, mostSent, &in); err != nil {
		return err
	}
	if len(in.Commands) == 0 || len(in.Commands) > mostEntries {
		return &problem.InputError{Rule: "commands.count", Label: "commands", Got: number64(int64(len(in.Commands))), Want: "1 to 100 at once"}
	}
	// What has begun is finished though whoever asked goes away: their next sending finds it in the book.
	ctx := context.WithoutCancel(r.Context())
	clock, err := s.set.App.Clock(ctx, s.set.Data)
	if err != nil {
		return err
	}
	out := answersDoc{Answers: make([]answerDoc, len(in.Commands))}
	for i, c := range in.Commands {
		if out.Answers[i], err = s.enter(ctx, c, clock); err != nil {
			return err
		}
	}
	head, err := s.set.App.HeadOf(ctx, s.set.Data)
	if err != nil {
		return err
	}
	out.Head = headDoc(head)
	if out.Epoch, err = s.set.App.Restores(ctx, s.set.Data); err != nil {
		return err
	}
	out.At = answer.Stamp(s.set.App.Now().In(clock.Zone))
	return ok(w, out)
}

// enter enters one command. An error is of the data file; what is wrong with the command is in the answer.
func (s *Server) enter(ctx context.Context, c command, clock app.Clock) (answerDoc, error) {
	no := func(err error) (answerDoc, error) {
		status, what := judged(err)
		if status >= http.StatusInternalServerError {
			return answerDoc{}, err
		}
		return answerDoc{ID: c.ID, Status: "refused", Error: &what[0], Findings: what}, nil
	}
	at, err := time.Parse(time.RFC3339, c.Time)
	switch {
	case !journal.ID(c.ID).Valid():
		return no(&problem.InputError{Rule: "entry.id", Label: "Entry ID", Got: shortened(c.ID), Want: "a UUID in lower case"})
	case err != nil:
		return no(&problem.InputError{Rule: "entry.time", Label: "Time of entry", Got: shortened(c.Time), Want: "a time with its offset, as 2031-09-14T06:10:31-05:00"})
	}
	h, err := handed(c, at, clock)
	if err != nil {
		return no(err)
	}
	e, err := s.set.App.HandIn(ctx, s.set.Data, h)
	if err != nil {
		return no(err)
	}
	return answered(e, clock.Zone), nil
}

// answered says what became of an entry that is in the book.
func answered(e *app.Entered, zone *time.Location) answerDoc {
	out := answerDoc{ID: e.ID, Status: "new", Record: e.Of, Seq: e.Seq, Findings: []answer.Complaint{}}
	asks := e.Review
	for _, f := range e.Doubts {
		out.Findings = append(out.Findings, onForm(answer.OfFinding(f)))
		asks = asks || f.Severity != problem.Note
	}
	switch {
	case e.Again:
		out.Status = "same"
	case asks:
		out.Status = "doubt"
	}
	subject, act, _ := journal.Kind(e.Kind).Split()
	switch act {
	case journal.Recorded:
		out.Say = answer.BodySaid(subject, e.Body, zone)
	default:
		out.Say = answer.ActSaid(e.Kind)
	}
	return out
}

// rawText returns one text of a document just as it is.
func rawText(body json.RawMessage, key string) string {
	var in map[string]json.RawMessage
	var out string
	if json.Unmarshal(body, &in) != nil || json.Unmarshal(in[key], &out) != nil {
		return ""
	}
	return out
}
