package web

import (
	"fmt"
	"slices"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/words"
)

// sheetTruck is one driver's part of the day sheet.
type sheetTruck struct {
	Name  string
	Loads []sheetLoad
	Notes []string // ways in, roads, what to tell the scale house
}

type sheetLoad struct{ Number, Leaves, From, To, Weight, Scale, Back string }

// driverSheets lays the loads of the day out truck by truck, in the order in which each truck leaves first.
func driverSheets(h *answer.Hauling) []sheetTruck {
	if h == nil {
		return nil
	}
	var out []sheetTruck
	for _, l := range h.Loads {
		n := slices.IndexFunc(out, func(t sheetTruck) bool { return t.Name == l.TruckName })
		if n < 0 {
			n = len(out)
			out = append(out, sheetTruck{Name: l.TruckName})
		}
		t := &out[n]
		one := sheetLoad{
			Number: fmt.Sprint(l.Number), From: l.FieldName, To: l.ToName,
			Weight: fmt.Sprintf("%s bu, %s lb", words.Digits(float64(l.Bushels), 0), words.Digits(float64(l.Pounds), 0)),
		}
		if l.Overnight {
			one.Leaves, one.Scale, one.Back = "stays overnight", "–", "–"
		} else {
			one.Leaves, one.Scale, one.Back = about(l.Leaves, l.LeavesP10, l.LeavesP90), about(l.AtScale, l.AtScaleP10, l.AtScaleP90), clockWords(l.Back, "15:04")
		}
		t.Loads = append(t.Loads, one)
		note := func(text string) {
			if text != "" && !slices.Contains(t.Notes, text) {
				t.Notes = append(t.Notes, text)
			}
		}
		if l.Entrance != "" {
			note(strings.TrimSpace(l.FieldName + ": in by " + l.Entrance + ". " + l.Road))
		}
		if l.Tell != "" {
			note(l.ToName + ": " + l.Tell)
		}
	}
	return out
}

// about says a clock time with its middle eight tenths, where they differ.
func about(at, low, high string) string {
	text, from, to := clockWords(at, "15:04"), clockWords(low, "15:04"), clockWords(high, "15:04")
	if from == text && to == text {
		return text
	}
	return fmt.Sprintf("%s (%s to %s)", text, from, to)
}
