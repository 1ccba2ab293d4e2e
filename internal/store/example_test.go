package store_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/journal"
	"threshday/internal/store"
)

// A load is entered, sent again by a phone that heard no answer, and corrected.
func ExampleStore_Append() {
	dir, err := os.MkdirTemp("", "example-")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	noon := time.Date(2031, 9, 14, 17, 0, 0, 0, time.UTC)
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(dir, "book.db"), store.Options{Now: func() time.Time { return noon }})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()

	gross, tare := int64(78_240), int64(27_140)
	l := journal.Load{
		Ticket: "004512", Outlet: "river", Crop: crop.Corn, CropYear: 2031, Day: calendar.MustDay("2031-09-14"),
		From:    []journal.Part{{Field: "north-40", Share: 1}},
		Weights: journal.Weights{Unit: journal.Pounds, Gross: &gross, Tare: &tare},
		Typed:   journal.Typed{"gross_lb": "78,240"},
	}
	entered := journal.Event{
		Farm: "home", ID: s.NewID(), Kind: journal.Of(journal.LoadSubject, journal.Recorded), Body: journal.LoadBody(l),
		Origin: journal.Outbox, Device: "truck-2", Counter: 1, At: noon, Offset: -300, Day: l.Day, By: "driver",
	}
	right := int64(78_420)
	l.Weights.Gross, l.Typed = &right, journal.Typed{"gross_lb": "78,420"}
	correction := journal.Event{
		Farm: "home", ID: s.NewID(), Kind: journal.Of(journal.LoadSubject, journal.Correct), Origin: journal.Form, At: noon, By: "owner",
		Body: journal.SayingBody(journal.Correct, journal.Saying{Of: entered.ID, Saw: entered.ID, Reason: "digits swapped", To: journal.LoadBody(l)}),
	}
	for _, e := range []journal.Event{entered, entered, correction} {
		answers, err := s.Append(ctx, e)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(e.Kind, answers[0].Status)
	}
	sums, err := s.LoadTotals(ctx, "field", store.LoadQuery{Farm: "home"})
	fmt.Println(sums, err)
	steps, _, err := s.History(ctx, "home", entered.ID)
	fmt.Println(steps[1].Changes, steps[1].Reason, err)
	// Output:
	// load.recorded stored
	// load.recorded already
	// load.corrected stored
	// [{north-40 1 51280 0}] <nil>
	// [{gross_lb 78240 78420} {typed {"gross_lb":"78,240"} {"gross_lb":"78,420"}}] digits swapped <nil>
}
