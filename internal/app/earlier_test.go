package app_test

import (
	"strings"
	"testing"
	"time"

	"threshday/internal/app"
)

// The demo is planned, then again with weathers drawn anew, as a plan made at noon or after a reading would be.
func TestAPlanMadeAgainSaysWhatBecameOfTheEarlierOrders(t *testing.T) {
	first := demoRequest()
	first.Members = 30
	morning := plan(t, first)
	if morning.Against != nil {
		t.Fatalf("without an earlier plan it says %q", morning.Against.Say)
	}
	earlier := &app.EarlierOrders{AsOf: morning.AsOf}
	for _, o := range morning.Orders {
		earlier.Orders = append(earlier.Orders, app.EarlierOrder{Machine: o.Machine, Field: o.Field, To: o.To})
	}
	again := first
	again.Seed, again.Earlier = 2, earlier
	got := plan(t, again).Against
	if got == nil || !got.AsOf.Equal(morning.AsOf) {
		t.Fatalf("made again it says %+v", got)
	}
	switch {
	case len(got.Changes) == 0:
		if !strings.HasPrefix(got.Say, "Same orders as at 06:00") && !strings.HasPrefix(got.Say, "Orders of 06:00 stand") {
			t.Errorf("the orders stand, and it says %q", got.Say)
		}
	case got.GainUSD != nil && *got.GainUSD < 2**got.SEUSD:
		t.Errorf("orders change for %.0f dollars, error %.0f: %s", *got.GainUSD, *got.SEUSD, got.Say)
	}

	// Orders that no weather lets stand: every combine was to go to a field that is far from ripe.
	for i := range earlier.Orders {
		earlier.Orders[i].Field = "long-bottom"
	}
	got = plan(t, again).Against
	if len(got.Changes) == 0 || !strings.Contains(got.Say, "not to Long Bottom") {
		t.Errorf("unripe crop stays ordered: %q", got.Say)
	}

	for name, moved := range map[string]time.Duration{"yesterday": -24 * time.Hour, "later today": time.Hour} {
		other := *earlier
		other.AsOf = morning.AsOf.Add(moved)
		again.Earlier, again.Members = &other, 10
		if got := plan(t, again).Against; got != nil {
			t.Errorf("a plan of %s counts: %q", name, got.Say)
		}
	}
}
