package app

import (
	"testing"

	"threshday/internal/core/journal"
	"threshday/internal/core/ledger"
	"threshday/internal/core/trade"
)

// The printed net weight counts, here as in every list of loads; what contradicts it is said. 1 lb is 0.45359237 kg by definition.
func TestTheBooksCountTheNetThatIsPrinted(t *testing.T) {
	n := func(x int64) *int64 { return &x }
	for _, c := range []struct {
		name        string
		weights     journal.Weights
		gross, tare trade.Pounds
		doubts      []string
	}{
		{"gross and tare", journal.Weights{Unit: journal.Pounds, Gross: n(78_460), Tare: n(27_180)}, 78_460, 27_180, nil},
		{"net alone", journal.Weights{Unit: journal.Pounds, Net: n(51_280)}, 51_280, 0, nil},
		{"a net that contradicts them", journal.Weights{Unit: journal.Pounds, Gross: n(78_460), Tare: n(27_180), Net: n(51_000)}, 78_180, 27_180, []string{"T01"}},
		{"kilograms", journal.Weights{Unit: journal.Kilograms, Gross: n(36_287), Tare: n(12_247)}, 52_999 + 27_000, 27_000, []string{"load.kilograms"}},
	} {
		x := &ledger.Ticket{ID: "a", Number: "4711"}
		doubts := weigh(x, c.weights)
		if x.Load.Gross != c.gross || x.Load.Tare != c.tare || len(doubts) != len(c.doubts) {
			t.Errorf("%s: gross %s, tare %s, %d doubts; want %s, %s, %d", c.name, x.Load.Gross, x.Load.Tare, len(doubts), c.gross, c.tare, len(c.doubts))
			continue
		}
		for i, d := range doubts {
			if d.Rule != c.doubts[i] || d.Say == "" || d.Next == "" {
				t.Errorf("%s: %+v", c.name, d)
			}
		}
	}
}
