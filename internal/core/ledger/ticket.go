package ledger

import (
	"cmp"
	"slices"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A Ticket is one truckload as its ticket tells it.
type Ticket struct {
	ID       string // of the record, its own
	Number   string // as printed; empty: none
	Place    string // outlet or own bin that took it
	Load     settlement.Load
	Day      calendar.Day // at the buyer, of the empty weighing: the day that contracts ask for
	From     []Source
	Contract string // as told by a person; empty: by the rule
	Truck    string
	Weighed  Times
	Where    problem.Place
}

// Times are when a truck came, was weighed full and was weighed empty; zero: not known.
type Times struct{ Arrival, Gross, Tare time.Time }

// A Source says which part of a load came from where. Parts are whole numbers in proportion: cart pounds, or 1 and 1 for half
// and half.
type Source struct {
	Field string // empty: it came out of Bin
	Bin   string
	Part  int64
}

// An Entry is a ticket, or one that takes a ticket back. An entry is never changed.
type Entry struct {
	Ticket *Ticket
	Back   string // ID of the ticket that counts no more
	Reason string
	Where  problem.Place
}

// A TakenBack is a ticket that counts no more, with the reason.
type TakenBack struct {
	Ticket *Ticket
	Reason string
}

// settleEntries parts the tickets that count from those taken back, and puts both in the order in which loads are posted: by
// day, time, number, ID. Of tickets with one ID the first counts.
func settleEntries(entries []Entry) (count []*Ticket, back []TakenBack, found []problem.Finding) {
	reasons := map[string]string{}
	known := make(map[string]bool, len(entries))
	count = make([]*Ticket, 0, len(entries))
	for _, e := range entries {
		if e.Ticket == nil {
			reasons[e.Back] = e.Reason
		}
	}
	for _, e := range entries {
		if e.Ticket == nil {
			continue
		}
		if known[e.Ticket.ID] {
			found = append(found, problem.Finding{
				Rule: "T02", Severity: problem.Error, Where: e.Where, Label: "Ticket", Got: e.Ticket.ID, Want: "an ID of its own",
				Say: "Ticket " + e.Ticket.ID + " stands in the book twice; the first counts.", Next: "Take one of them back.",
			})
			continue
		}
		known[e.Ticket.ID] = true
		if reason, taken := reasons[e.Ticket.ID]; taken {
			back = append(back, TakenBack{e.Ticket, reason})
		} else {
			count = append(count, e.Ticket)
		}
	}
	for _, e := range entries {
		if e.Ticket == nil && !known[e.Back] {
			found = append(found, problem.Finding{
				Rule: "C03", Severity: problem.Error, Where: e.Where, Label: "Taken back", Got: e.Back, Want: "a ticket of this book",
				Say: "Ticket " + e.Back + " is taken back and was never in the book.", Next: "Look at its number again.",
			})
		}
	}
	slices.SortFunc(count, byTime)
	slices.SortFunc(back, func(a, b TakenBack) int { return byTime(a.Ticket, b.Ticket) })
	return count, back, found
}

// byTime is the order of posting. No two tickets are equal in it, for each has an ID of its own.
func byTime(a, b *Ticket) int {
	if a.Day != b.Day {
		return cmp.Or(a.Day.Year-b.Day.Year, int(a.Day.Month-b.Day.Month), a.Day.Date-b.Day.Date)
	}
	return cmp.Or(a.weighedAt().Compare(b.weighedAt()), cmp.Compare(a.Number, b.Number), cmp.Compare(a.ID, b.ID))
}

// weighedAt returns the time a load is put in order by; zero where none is known.
func (t *Ticket) weighedAt() time.Time {
	for _, at := range []time.Time{t.Weighed.Gross, t.Weighed.Tare, t.Weighed.Arrival} {
		if !at.IsZero() {
			return at
		}
	}
	return time.Time{}
}

// moisture returns the reading and whether there is one.
func (t *Ticket) moisture() (trade.Percent, bool) { return t.Load.Readings.Of(settlement.Moisture) }

// name returns how messages call the ticket.
func (t *Ticket) name() string {
	if t.Number != "" {
		return "Ticket " + t.Number
	}
	return "Load " + t.ID
}
