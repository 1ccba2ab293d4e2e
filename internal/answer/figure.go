// Package answer holds the JSON documents in which the program answers, whoever asks: the command line with --json and the
// server of the pages print the same ones. It converts by hand from what the use cases return, computes nothing, and says
// entries of the book in sentences.
//
// Keys end in their unit. Modelled figures are numbers, what is printed on paper is text. What is not known is null or left
// out.
package answer

import (
	"math"
	"time"

	"threshday/internal/document"
)

// A Figure is a modelled number in JSON.
type Figure = document.Figure

// Stamp writes an instant as scripts read it, with the farm's offset.
func Stamp(t time.Time) string { return t.Format(time.RFC3339) }

// Known returns nil for what is not Known.
func Known(x float64) *Figure {
	if math.IsNaN(x) {
		return nil
	}
	f := Figure(x)
	return &f
}

// List returns an empty List, never null.
func List(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
