package answer

import (
	"threshday/internal/app"
	"threshday/internal/core/journal"
)

// Loads are a page of loads with the sums of all that match.
type Loads struct {
	Loads []LoadLine `json:"loads"`
	More  bool       `json:"more"`
	By    string     `json:"by"`
	Sums  []LoadSum  `json:"sums"`
	All   LoadSum    `json:"all"`
}

// A LoadLine is a load in a list.
type LoadLine struct {
	ID       string   `json:"id"`
	Day      string   `json:"day"`
	Ticket   string   `json:"ticket"`
	Outlet   string   `json:"outlet"`
	Crop     string   `json:"crop"`
	Fields   []string `json:"fields"`
	NetLb    *int64   `json:"net_lb"`
	NetKg    *int64   `json:"net_kg"`
	Moisture string   `json:"moisture_pct,omitempty"`
	Counted  bool     `json:"counted"`
	Void     bool     `json:"void"`
	Like     string   `json:"like,omitempty"`
	Waits    []string `json:"waits"`
}

// A LoadSum is what loads add up to, each unit of a scale by itself.
type LoadSum struct {
	Key   string `json:"key,omitempty"`
	Loads int64  `json:"loads"`
	NetLb int64  `json:"net_lb"`
	NetKg int64  `json:"net_kg"`
}

// OfLoads returns the document of a page of loads.
func OfLoads(l *app.Loads, by string) Loads {
	out := Loads{Loads: []LoadLine{}, More: l.More, By: by, Sums: []LoadSum{}, All: LoadSum(l.All)}
	for _, r := range l.Rows {
		one := LoadLine{
			ID: r.ID, Day: r.Load.Day.String(), Ticket: r.Load.Ticket, Outlet: r.Load.Outlet, Crop: r.Load.Crop.String(), Fields: []string{},
			Counted: r.Counted, Void: r.Void, Like: r.Like, Waits: List(r.Waits),
		}
		if net, ok := r.Load.Weights.Carried(); ok && r.Load.Weights.Unit == journal.Pounds {
			one.NetLb = &net
		} else if ok {
			one.NetKg = &net
		}
		if r.Load.Moisture != nil {
			one.Moisture = r.Load.Moisture.String()
		}
		for _, part := range r.Load.From {
			one.Fields = append(one.Fields, part.Field)
		}
		out.Loads = append(out.Loads, one)
	}
	for _, sum := range l.By {
		out.Sums = append(out.Sums, LoadSum(sum))
	}
	return out
}

// A History is what was entered, or everything said of one record and how it stands.
type History struct {
	State   string `json:"state,omitempty"`
	Body    string `json:"body,omitempty"`
	Entries []Line `json:"entries"`
}

// A Line is one entry of the book.
type Line struct {
	Seq     int64    `json:"seq"`
	At      string   `json:"at"`
	By      string   `json:"by,omitempty"`
	Kind    string   `json:"kind"`
	ID      string   `json:"id"`
	Of      string   `json:"of,omitempty"`
	Review  bool     `json:"review"`
	Body    string   `json:"body,omitempty"`
	Reason  string   `json:"reason,omitempty"`
	Changes []Change `json:"changes,omitempty"`
}

// A Change is what a correction changed; both sides are canonical JSON.
type Change struct {
	Key string `json:"key"`
	Old string `json:"old"`
	New string `json:"new"`
}

// OfHistory returns the document of a history.
func OfHistory(h *app.RecordHistory) History {
	out := History{State: h.State, Body: h.Body, Entries: []Line{}}
	for _, l := range h.Lines {
		one := Line{Seq: l.Seq, At: Stamp(l.At), By: l.By, Kind: l.Kind, ID: l.ID, Of: l.Of, Review: l.Review, Body: l.Body, Reason: l.Reason}
		for _, ch := range l.Changes {
			one.Changes = append(one.Changes, Change(ch))
		}
		out.Entries = append(out.Entries, one)
	}
	return out
}

// A Wait is a record that a person should look at.
type Wait struct {
	ID   string   `json:"id"`
	Kind string   `json:"kind"`
	Why  []string `json:"why"`
	Like string   `json:"like,omitempty"`
	Body string   `json:"body"`
}

// A Waiting lists what waits for a person.
type Waiting struct {
	Waiting []Wait `json:"waiting"`
}

// OfWaiting returns the document of what waits.
func OfWaiting(all []app.Wait) Waiting {
	out := Waiting{Waiting: []Wait{}}
	for _, w := range all {
		out.Waiting = append(out.Waiting, Wait{w.ID, w.Kind, List(w.Why), w.Like, w.Body})
	}
	return out
}

// An Entered is the answer to one entry.
type Entered struct {
	ID     string      `json:"id"`
	Status string      `json:"status"` // stored; already: was there before; review: in the book and waiting for a person
	Data   string      `json:"data"`
	Doubts []Complaint `json:"doubts"`
}

// OfEntered returns the document of one entry.
func OfEntered(e *app.Entered) Entered {
	out := Entered{ID: e.ID, Status: "stored", Data: e.Data, Doubts: []Complaint{}}
	switch {
	case e.Review:
		out.Status = "review"
	case e.Again:
		out.Status = "already"
	}
	for _, f := range e.Doubts {
		out.Doubts = append(out.Doubts, OfFinding(f))
	}
	return out
}
