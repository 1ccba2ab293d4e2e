package ground

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"threshday/internal/core/calendar"
)

// What is believed of a field's limit before anybody tried, as standard deviations of wetness, and how a note is read.
// [judgement]
const (
	fieldSD    = 0.035 // one field against its texture
	farmSD     = 0.02  // all fields of a farm together: its machines, its nerve. Both make 0.04
	noteSD     = 0.03  // of the wetness the balance gives for the place and hour of a note
	misread    = 0.03  // share of notes that say the opposite of what was so, or another field
	doubtfulAt = 0.10  // odds under which a note is doubted aloud
)

// How machines move the limit. [judgement]
const (
	tracksShift = +0.03 // every combine on tracks
	cartShift   = -0.03 // a full cart on wheels beside it
)

// Shift returns by how much the machines of a farm move every limit.
func Shift(allOnTracks, cart bool) float64 {
	by := 0.0
	if allOnTracks {
		by += tracksShift
	}
	if cart {
		by += cartShift
	}
	return by
}

// A Note is what somebody found on the ground of a field.
type Note struct {
	ID      string
	Field   int
	At      calendar.Hour
	Carried bool    // it carried; else it was too soft
	Wetness float64 // what the balance gives for then
}

// A Lesson is what one note taught about its field's limit.
type Lesson struct {
	ID            string
	Field         int
	At            calendar.Hour
	Carried       bool
	Wetness       float64
	Before, After Limit
	Expected      float64 // odds that were given to what was found
	Say           string  // doubt; may be empty
}

// A Limit is the wettest at which a field bears, and how sure that is.
type Limit struct{ Mean, SD float64 }

// Odds returns the chance that ground of a wetness bears.
func (l Limit) Odds(wetness float64) float64 { return normalBelow((l.Mean - wetness) / l.SD) }

// Learn returns what is believed of the limits of a farm's fields, which start at table, after the notes, taken in the order
// of time and then of ID; lessons come in that order. A note moves its own field most and the others by what a farm's
// fields share. Each note cuts the normal belief on one side; what is left is replaced by the normal of its mean and
// spread [ep-probit].
func Learn(table []float64, notes []Note) ([]Limit, []Lesson) {
	n := len(table)
	mean := slices.Clone(table)
	cov := make([][]float64, n)
	for i := range cov {
		cov[i] = make([]float64, n)
		for j := range cov[i] {
			cov[i][j] = farmSD * farmSD
		}
		cov[i][i] += fieldSD * fieldSD
	}
	at := func(i int) Limit { return Limit{mean[i], math.Sqrt(cov[i][i])} }
	sorted := slices.Clone(notes)
	slices.SortStableFunc(sorted, func(a, b Note) int {
		if a.At != b.At {
			return int(a.At - b.At)
		}
		return strings.Compare(a.ID, b.ID)
	})
	var lessons []Lesson
	for _, note := range sorted {
		i := note.Field
		l := Lesson{ID: note.ID, Field: i, At: note.At, Carried: note.Carried, Wetness: note.Wetness, Before: at(i)}
		side := -1.0
		if note.Carried {
			side = 1
		}
		spread := math.Sqrt(cov[i][i] + noteSD*noteSD)
		z := side * (mean[i] - note.Wetness) / spread
		l.Expected = misread + float64((1-2*misread)*normalBelow(z))
		pull := (1 - 2*misread) * math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) / l.Expected
		along := slices.Clone(cov[i])
		for j := range mean {
			mean[j] += side * along[j] * pull / spread
			for k := range cov[j] {
				cov[j][k] -= along[j] * along[k] * pull * (z + pull) / (spread * spread)
			}
		}
		if l.Expected < doubtfulAt {
			l.Say = fmt.Sprintf("The balance gave that %.0f chances in a hundred: look at the field and the date again, or at its soil.", 100*l.Expected)
		}
		l.After = at(i)
		lessons = append(lessons, l)
	}
	limits := make([]Limit, n)
	for i := range limits {
		limits[i] = at(i)
	}
	return limits, lessons
}

func normalBelow(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }
