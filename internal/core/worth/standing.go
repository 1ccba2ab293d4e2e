package worth

import (
	"threshday/internal/core/calendar"
	"threshday/internal/core/drydown"
	"threshday/internal/core/loss"
)

// A Standing is what one field brings to the table besides its moisture.
type Standing struct {
	Model    loss.Model
	Rules    loss.Rules
	Lodged   float64        // percent of plants
	Green    float64        // percent of plants still green-stemmed
	Before   []loss.Tracker // per stratum, earliest first: what it has lived through at the table's start
	Factor   []float64      // per member: k of the loss model
	Yield    []float64      // per member: crop at maturity as a multiple of what is expected
	LimitPct float64        // wettest field mean that is cut, % wet basis
}

// Stand fills field f's part of the table from its moisture in every member. track must hold the mean, the strata and the
// clear hours over the table's hours, and may hold closed ones; rain holds each member's rain in mm and film its free water, in the track's
// layout. runs marks the hours in which any combine may work: in the others nothing is asked.
func (t *Table) Stand(f int, s Standing, track *drydown.Track, rain, film func(member int, h calendar.Hour) float64, runs []bool) {
	strata := len(track.Strata) / (track.Hours * track.Members)
	trackers := make([]loss.Tracker, strata)
	parts := make([]loss.Stratum, strata)
	for m := range t.Members {
		copy(trackers, s.Before)
		for i := len(s.Before); i < strata; i++ {
			trackers[i] = loss.Tracker{}
		}
		t.Crop[m*len(t.Fields)+f] = float32(s.Yield[m])
		day := -1
		for h := range t.Hours {
			cell := t.Start + calendar.Hour(h)
			at := track.At(m, cell)
			hour := loss.Hour{RainMM: rain(m, cell), FreeMM: film(m, cell), NewDay: t.Day[h] != day}
			day = t.Day[h]
			wb := track.Strata[at*strata : (at+1)*strata]
			for i := range trackers {
				hour.MoisturePct = float64(wb[i])
				trackers[i].Step(&s.Rules, hour)
			}
			i := t.At(m, h, f)
			mean := float64(track.MeanWB[at])
			t.Moisture[i] = GridIndex(mean)
			t.Wet[i] = !track.Clear[at] || (track.Closed != nil && track.Closed[at])
			if !runs[h] || t.Wet[i] || mean > s.LimitPct {
				continue
			}
			t.Workable[i] = true
			t.Keep[i] = float32(s.kept(trackers, parts, wb, m))
		}
	}
}

// kept returns the share of the crop that reaches the tank, each stratum at its own moisture and history.
func (s *Standing) kept(trackers []loss.Tracker, parts []loss.Stratum, wb []float32, m int) float64 {
	for i := range trackers {
		stand := trackers[i].Stand(float64(wb[i]))
		stand.LodgedPct, stand.GreenPct = s.Lodged, s.Green
		parts[i] = loss.Stratum{Weight: 1, MoisturePct: float64(wb[i]), Parts: s.Model.At(stand, s.Factor[m])}
	}
	shares, _ := loss.Mix(parts)
	return shares.Tank
}
