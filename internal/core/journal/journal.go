// Package journal says what an entry of the farm's book is: its id, kind and body, how entries are chained,
// and what a record amounts to after all that was said of it.
//
// An [Event] is what somebody entered; an [Entry] is that event once it has a place in the book. Nothing is
// ever changed: a correction, a void, a merge is a further event that names the one it speaks of. [Fold] turns
// the events about one record into its present [Record], and gives the same answer in whatever order they came.
//
// A body is canonical JSON [rfc-8785] of integers, texts, lists and objects; a printed number is an integer
// with its unit in the name of the key (net_lb, moist_hundredth_pct), and the text as entered stands beside it.
// The package stores nothing, reads no clock and makes no random numbers; it leaves Unicode normalisation to
// the edge that takes the text.
package journal

import (
	"encoding/hex"
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
)

// An ID names an event for ever: a UUID in its lower-case text form, made once, at the moment of entry, by
// whoever makes the entry. A record bears the ID of the event that recorded it.
type ID string

// NewID returns the version 7 UUID of instant at and ten random bytes. IDs of later instants sort later. [rfc-9562] 5.7
func NewID(at time.Time, random [10]byte) ID {
	var b [16]byte
	ms := uint64(at.UnixMilli())
	for i := range 6 {
		b[i] = byte(ms >> (40 - 8*i)) //nolint:gosec // within range by construction
	}
	copy(b[6:], random[:])
	b[6] = 0x70 | b[6]&0x0f
	b[8] = 0x80 | b[8]&0x3f
	h := hex.EncodeToString(b[:])
	return ID(h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:])
}

// Valid reports whether id has the form of a UUID in lower case. Any version is taken: an old phone may only
// be able to make random ones.
func (id ID) Valid() bool {
	if len(id) != 36 {
		return false
	}
	for i := range len(id) {
		c := id[i]
		switch i {
		case 8, 13, 18, 23:
			if c != '-' {
				return false
			}
		default:
			if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
				return false
			}
		}
	}
	return true
}

// A Kind is what an event does to what: "load.recorded", "bid.voided".
type Kind string

// A Subject is what a record is about.
type Subject string

// The subjects.
const (
	LoadSubject    Subject = "load"
	ReadingSubject Subject = "reading"
	StageSubject   Subject = "stage"
	BidSubject     Subject = "bid"
	OutlookSubject Subject = "outlook" // one day of the farm's own forecast
	ChequeSubject  Subject = "cheque"  // what a buyer paid
	SheetSubject   Subject = "sheet"   // what a buyer printed of one ticket
	SeasonSubject  Subject = "season"  // the season file, whole
	BookSubject    Subject = "book"    // the book itself: restores
)

// An Act is what an event does.
type Act string

// The acts. Recorded begins a record; every other act names the record it speaks of.
const (
	Recorded Act = "recorded"
	Set      Act = "set"       // season.set: begins a record that replaces the one before
	Restored Act = "restored"  // book.restored: the book continues from a backup
	Correct  Act = "corrected" // another body, in place of the version seen
	Voided   Act = "voided"    // never was; the number stays readable and counts nothing
	Merged   Act = "merged"    // load: is the same truckload as another record
	Kept     Act = "kept"      // stands as it is, however doubtful, and is not the same as any other
	SetAside Act = "set-aside" // named corrections, voids, merges or keeps count no more
)

// kinds lists every pair of subject and act that exists.
var kinds = func() map[Kind]bool {
	m := map[Kind]bool{
		Of(SeasonSubject, Set): true, Of(BookSubject, Restored): true,
		Of(LoadSubject, Merged): true,
	}
	for _, s := range []Subject{LoadSubject, ReadingSubject, StageSubject, BidSubject, OutlookSubject, ChequeSubject, SheetSubject} {
		for _, a := range []Act{Recorded, Correct, Voided, Kept, SetAside} {
			m[Of(s, a)] = true
		}
	}
	return m
}()

// Of returns the kind of act a on subject s.
func Of(s Subject, a Act) Kind { return Kind(string(s) + "." + string(a)) }

// Split returns the subject and act of k; ok is false for a kind that does not exist.
func (k Kind) Split() (s Subject, a Act, ok bool) {
	if !kinds[k] {
		return "", "", false
	}
	for i := range len(k) {
		if k[i] == '.' {
			return Subject(k[:i]), Act(k[i+1:]), true
		}
	}
	return "", "", false
}

// begins reports whether an event of act a starts a record of its own.
func (a Act) begins() bool { return a == Recorded || a == Set || a == Restored }

// An Origin is the way an event came in.
type Origin string

// The origins. What is wrong with an event from a form or an import is told to the person, who mends it. What
// was captured on a phone with no connection cannot be asked again: it is stored and waits for a person.
const (
	Form    Origin = "form"
	Outbox  Origin = "outbox"
	Import  Origin = "import"
	Program Origin = "program" // made by the program itself, as after a restore
)

// An Event is what somebody entered.
type Event struct {
	Farm    string // the farm's ID
	ID      ID
	Kind    Kind
	Body    []byte // canonical JSON of the kind's form
	Origin  Origin
	Device  string // which phone or computer; empty: the office
	Counter int64  // the device's own count of its entries, from 1; 0: none
	// At is the instant of entry by the device's clock; Offset the minutes its zone lay east of UTC.
	At     time.Time
	Offset int
	// Skew is the office clock less the device's when they last met; nil: not measured.
	Skew *time.Duration
	Day  calendar.Day // the farm's day it belongs to; zero: none
	By   string       // who entered it
}

// Record returns the ID of the record that e speaks of: its own when it begins one.
func (e Event) Record() (ID, error) {
	_, act, ok := e.Kind.Split()
	if !ok {
		return "", fmt.Errorf("kind %q does not exist", e.Kind)
	}
	if act.begins() {
		return e.ID, nil
	}
	s, err := ReadSaying(e)
	return s.Of, err
}

// A Status is the answer to one event.
type Status string

// The answers.
const (
	Stored  Status = "stored"  // in the book
	Already Status = "already" // was in the book with this content; the first answer stands
	Review  Status = "review"  // in the book, and waiting for a person
	Refused Status = "refused" // not in the book
)

// An Answer tells what became of one event. It is the same however often the event is sent.
type Answer struct {
	ID       ID
	Status   Status
	First    Status // of an event stored before: the answer it had then
	Seq      int64  // its place in the book, from 1; 0 when refused
	Problems []problem.Finding
}

// InBook reports whether the event is in the book, now or since before.
func (a Answer) InBook() bool { return a.Status != Refused }

// An Entry is an event with its place in the book.
type Entry struct {
	Event
	Seq      int64
	Received time.Time // by the office clock; evidence, not order
	Status   Status    // Stored or Review: the first answer
	Rules    []string  // why it was put to review
	Hash     Hash
}
