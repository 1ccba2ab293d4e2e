package drydown

import (
	"testing"

	record "threshday/test/champaign"
)

// recordedAutumn returns the drivers of a crop in a recorded autumn near Champaign, 25 August to 5 December.
func recordedAutumn(tb testing.TB, p Params, year int) *Drivers {
	tb.Helper()
	s := record.Autumn(tb, year)
	d, _, err := FromRecord(p, s, s.Start, s.End())
	if err != nil {
		tb.Fatal(err)
	}
	return d
}
