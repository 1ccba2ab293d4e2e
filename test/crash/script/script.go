// Package script is the harvest day that the crash tests play: which entry is made n-th, and what any set of
// those entries must add up to. The second is worked out here from the script alone, by rules simple enough to
// check by eye, and never by the code under test.
package script

import (
	"fmt"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/farm"
	"threshday/internal/core/journal"
	"threshday/internal/store/proof"
)

// Farm is the farm of the script.
const Farm = "home"

// Start is when the day begins.
var start = time.Date(2031, 9, 14, 12, 0, 0, 0, time.UTC)

// Now is the office clock of the script: the end of the day.
func Now() time.Time { return start.Add(24 * time.Hour) }

// ID returns the ID of entry n, the same each time it is sent.
func ID(n int) journal.ID { return journal.ID(fmt.Sprintf("%08x-0000-7000-8000-000000000000", n)) }

// What entry n is: of every ten, the fourth corrects the one before it, the seventh voids the one before it, the
// ninth is a reading; all others are loads.
func act(n int) journal.Kind {
	switch n % 10 {
	case 4:
		return "load.corrected"
	case 7:
		return "load.voided"
	case 9:
		return "reading.recorded"
	}
	return "load.recorded"
}

// Net is the weight of load n, and corrected that of its correction.
func net(n int) int64       { return 30_000 + int64(n*7919%20_011) }
func corrected(n int) int64 { return net(n) + 500 }

func body(n int, weight int64) []byte {
	gross, tare := weight+27_000, int64(27_000)
	at := start.Add(time.Duration(n) * time.Minute)
	return journal.LoadBody(journal.Load{
		Ticket: fmt.Sprintf("%06d", n), Outlet: []string{"river", "mill", "bin"}[n%3], Crop: crop.Corn, CropYear: 2031,
		Day: calendar.MustDay("2031-09-14"), Truck: fmt.Sprint("truck-", n%4), In: &at,
		From:    []journal.Part{{Field: fmt.Sprint("field-", n%5), Share: 2}, {Field: fmt.Sprint("field-", n%5+1), Share: 1}},
		Weights: journal.Weights{Unit: journal.Pounds, Gross: &gross, Tare: &tare},
	})
}

// Event returns entry n, from 1.
func Event(n int) journal.Event {
	e := journal.Event{
		Farm: Farm, ID: ID(n), Kind: act(n), Origin: journal.Outbox, Device: fmt.Sprint("phone-", n%4), Counter: int64(n/4 + 1),
		At: start.Add(time.Duration(n) * time.Second), Offset: -300, Day: calendar.MustDay("2031-09-14"),
	}
	said := journal.Saying{Of: ID(n - 1), Saw: ID(n - 1), Reason: "misread"}
	switch e.Kind {
	case "load.corrected":
		said.To = body(n-1, corrected(n-1))
		e.Body = journal.SayingBody(journal.Correct, said)
	case "load.voided":
		e.Body = journal.SayingBody(journal.Voided, said)
	case "reading.recorded":
		e.Body = journal.ReadingBody(farm.Reading{Field: "field-1", At: e.At, Moisture: 15_60, Device: "meter"}, nil)
	default:
		e.Body = body(n, net(n))
	}
	return e
}

// Totals returns what the entries of a set add up to, whatever order they came in.
func Totals(set map[int]bool) proof.Totals {
	t := proof.Totals{Entries: int64(len(set))}
	for n := range set {
		switch act(n) {
		case "reading.recorded":
			t.Records++
		case "load.recorded":
			t.Loads++
			switch {
			case act(n+1) == "load.voided" && set[n+1]:
				continue
			case act(n+1) == "load.corrected" && set[n+1]:
				t.NetLb += corrected(n)
			default:
				t.NetLb += net(n)
			}
			t.Counted++
		}
	}
	return t
}
