package journal

import (
	"slices"
)

// A State of a record.
type State string

// The states.
const (
	Live    State = "live"
	Void    State = "void"    // counts nothing; stays readable
	Waiting State = "waiting" // something was said of it, and the event that records it has not come yet
)

// A Record is one thing entered, as it stands after everything said of it.
type Record struct {
	ID      ID
	Subject Subject
	State   State
	Version ID     // the event whose body stands
	Body    []byte // nil while Waiting
	Into    []ID   // records it was declared the same truckload as, in order of ID
	Kept    bool   // a person looked and let it stand as it is
	// Rivals are corrections of the version that stands, more than one, between which a person must choose.
	Rivals []ID
	// Loose are corrections of a version that is not in the book or counts no more.
	Loose []ID
}

// Fold returns the record that events are about. They must all speak of record id; their order does not matter.
//
//   - An event of another subject than the record's is passed over: nobody voids a load as a reading.
//   - A void holds whatever else is said, until it is set aside.
//   - A correction takes the place of the version it saw. Two corrections of one version leave that version
//     standing until one of them is set aside.
//   - What is set aside by anybody counts no more; so two people who set aside each other's choice leave the
//     last version on which there was no dispute.
//
// Events whose body cannot be read are passed over: they are never in the book.
func Fold(id ID, events []Event) Record {
	r := Record{ID: id, State: Waiting}
	if i := slices.IndexFunc(events, func(e Event) bool { return e.ID == id }); i >= 0 {
		r.Subject, _, _ = events[i].Kind.Split()
		events = slices.DeleteFunc(slices.Clone(events), func(e Event) bool {
			subject, _, _ := e.Kind.Split()
			return subject != r.Subject
		})
	}
	aside := map[ID]bool{}
	heirs := map[ID][]Event{} // corrections by the version they saw
	said := make([]Saying, len(events))
	for i, e := range events {
		_, act, _ := e.Kind.Split()
		if act.begins() {
			continue
		}
		s, err := ReadSaying(e)
		if err != nil {
			continue
		}
		said[i] = s
		if act == SetAside {
			for _, x := range s.Events {
				aside[x] = true
			}
		}
	}
	voided := false
	for i, e := range events {
		_, act, _ := e.Kind.Split()
		switch {
		case e.ID == id:
			r.State, r.Version, r.Body = Live, e.ID, e.Body
		case aside[e.ID]:
		case act == Correct:
			heirs[said[i].Saw] = append(heirs[said[i].Saw], e)
		case act == Voided:
			voided = true
		case act == Merged:
			r.Into = append(r.Into, said[i].Into)
		case act == Kept:
			r.Kept = true
		}
	}
	slices.Sort(r.Into)
	r.Into = slices.Compact(r.Into)
	if r.State == Live {
		r.follow(heirs)
		if voided {
			r.State = Void
		}
	}
	for _, list := range heirs {
		for _, e := range list {
			r.Loose = append(r.Loose, e.ID)
		}
	}
	slices.Sort(r.Loose)
	return r
}

// follow moves r along the corrections from version to version, and takes those it passes out of heirs.
func (r *Record) follow(heirs map[ID][]Event) {
	for len(heirs[r.Version]) == 1 {
		next := heirs[r.Version][0]
		s, err := ReadSaying(next)
		if err != nil {
			return
		}
		delete(heirs, r.Version)
		r.Version, r.Body = next.ID, s.To
	}
	for _, e := range heirs[r.Version] {
		r.Rivals = append(r.Rivals, e.ID)
	}
	delete(heirs, r.Version)
	slices.Sort(r.Rivals)
}

// A Change is one key of a body that differs between two versions. An absent side is empty.
type Change struct {
	Key      string
	Old, New string // canonical JSON
}

// Diff returns what differs between two bodies, by key.
func Diff(before, after []byte) []Change {
	// A body that cannot be read is never in the book; of one, every key of the other differs.
	a, _ := parseObject(before)
	b, _ := parseObject(after)
	var keys []string
	for k := range a {
		keys = append(keys, k)
	}
	for k := range b {
		if _, both := a[k]; !both {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	side := func(m map[string]any, k string) string {
		if v, ok := m[k]; ok {
			return string(appendValue(nil, v))
		}
		return ""
	}
	var out []Change
	for _, k := range keys {
		if c := (Change{k, side(a, k), side(b, k)}); c.Old != c.New {
			out = append(out, c)
		}
	}
	return out
}
