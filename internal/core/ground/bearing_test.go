package ground

import (
	"fmt"
	"math"
	"testing"
)

// One note cuts a normal belief: its mean and spread are those of the belief times the chance of the note, summed here on a
// fine grid.
func TestANoteCutsTheBeliefAsAnIntegralDoes(t *testing.T) {
	for _, note := range []Note{{Carried: true, Wetness: 0.90}, {Carried: true, Wetness: 0.99}, {Wetness: 0.95}, {Wetness: 0.84}} {
		limits, lessons := Learn([]float64{0.92}, []Note{note})
		prior := math.Sqrt(fieldSD*fieldSD + farmSD*farmSD)
		var mass, sum, squares float64
		const step = 1e-5
		for c := 0.6; c < 1.3; c += step {
			p := normalBelow((c - note.Wetness) / noteSD)
			if !note.Carried {
				p = 1 - p
			}
			w := (misread + (1-2*misread)*p) * math.Exp(-0.5*(c-0.92)*(c-0.92)/(prior*prior))
			mass, sum, squares = mass+w, sum+w*c, squares+w*c*c
		}
		mean := sum / mass
		sd := math.Sqrt(squares/mass - mean*mean)
		if got := limits[0]; math.Abs(got.Mean-mean) > 1e-5 || math.Abs(got.SD-sd) > 1e-5 {
			t.Errorf("%+v: %+v, want %.5f ± %.5f", note, got, mean, sd)
		}
		if got := lessons[0].Expected; math.Abs(got-mass*step/(prior*math.Sqrt(2*math.Pi))) > 1e-5 {
			t.Errorf("%+v: expected with %v", note, got)
		}
	}
}

func TestANoteMovesItsOwnFieldMost(t *testing.T) {
	limits, lessons := Learn([]float64{0.92, 0.88}, []Note{{ID: "n", Field: 0, Carried: true, Wetness: 0.97}})
	own, other := limits[0].Mean-0.92, limits[1].Mean-0.88
	if !(own > 0.01 && other > 0 && other < own/2) {
		t.Errorf("moved by %v, its neighbour by %v", own, other)
	}
	if l := lessons[0]; l.After.Odds(0.97) <= l.Before.Odds(0.97) {
		t.Errorf("odds went from %v to %v", l.Before.Odds(0.97), l.After.Odds(0.97))
	}
}

func TestANoteAgainstAllOddsIsDoubted(t *testing.T) {
	_, lessons := Learn([]float64{0.92}, []Note{{ID: "n", Carried: true, Wetness: 1.2}})
	if lessons[0].Say == "" || lessons[0].After.Mean > 0.97 {
		t.Errorf("carried at soaking: %+v", lessons[0])
	}
}

// The limits of forty fields, spread as believed, are found by ten notes each.
func TestLimitsAreLearnedFromNotes(t *testing.T) {
	const fields = 40
	table := make([]float64, fields)
	truth := make([]float64, fields)
	var notes []Note
	for i := range table {
		table[i] = 0.92
		truth[i] = 0.92 + 0.04*math.Sqrt2*math.Erfinv(2*(float64(i)+0.5)/fields-1)
		for k := range 10 {
			wet := 0.82 + 0.02*float64(k)
			notes = append(notes, Note{ID: fmt.Sprint(i, k), Field: i, Carried: wet <= truth[i], Wetness: wet})
		}
	}
	limits, _ := Learn(table, notes)
	var squares float64
	for i, l := range limits {
		squares += (l.Mean - truth[i]) * (l.Mean - truth[i]) / fields
		if l.SD >= 0.04 {
			t.Errorf("field %d is as unsure as before: %v", i, l.SD)
		}
	}
	if rmse := math.Sqrt(squares); rmse > 0.02 {
		t.Errorf("limits are off by %.3f, 0.04 before", rmse)
	}
}
