package drydown

import "threshday/internal/core/calendar"

// A Track receives what a field does over hours and members. Value i = m*Hours + (h − Start) is that of member m
// at the end of cell h. A nil slice is not wanted; the others hold Members*Hours values, Strata that times the
// number of strata. Different members may be written by different goroutines.
type Track struct {
	Start   calendar.Hour
	Hours   int
	Members int

	MeanWB    []float32 // at the scale, % wet basis
	SDWB      []float32 // between strata, points; the spread within them (FloorSDWB) comes on top
	DriestWB  []float32 // stratum, % wet basis
	WettestWB []float32 // stratum, % wet basis
	Green     []float32 // share not yet mature
	Clear     []bool    // no rain in the hour and nothing free on the plant at its end
	Strata    []float32 // % wet basis, earliest first, all strata of an hour together
	Closed    []bool    // given, not written: closed from outside whatever the crop does, as by soft ground

	Limits []float64   // % wet basis
	Over   [][]float32 // per limit: share of the mass above it
}

// NewTrack returns a track of the mean, the spread and the clear hours, which is what a plan needs.
func NewTrack(start calendar.Hour, hours, members int) *Track {
	n := hours * members
	return &Track{
		Start: start, Hours: hours, Members: members,
		MeanWB: make([]float32, n), SDWB: make([]float32, n), Clear: make([]bool, n),
	}
}

// At returns the index of the end of cell h in member m.
func (t *Track) At(m int, h calendar.Hour) int { return m*t.Hours + int(h-t.Start) }

// Workable reports whether the crop can be cut in cell h of member m: no rain in that hour, nothing free on the
// plant at its end, a mean at or under limit, the wettest moisture the owner cuts at, and nothing else that closes the hour.
func (t *Track) Workable(m int, h calendar.Hour, limitWB float64) bool {
	i := t.At(m, h)
	return t.Clear[i] && float64(t.MeanWB[i]) <= limitWB && (t.Closed == nil || !t.Closed[i])
}

// write stores the state s, at the end of the cell before s.At.
func (t *Track) write(f *Field, s *State, m int, clear bool) {
	h := int(s.At-1) - int(t.Start)
	if h < 0 || h >= t.Hours {
		return
	}
	i := m*t.Hours + h
	if t.MeanWB != nil {
		t.MeanWB[i] = float32(f.MeanWB(s))
	}
	if t.SDWB != nil {
		_, sd := s.Moments()
		t.SDWB[i] = float32(sd)
	}
	if t.Clear != nil {
		t.Clear[i] = clear
	}
	if t.DriestWB != nil || t.WettestWB != nil {
		lo, hi := s.extremes()
		if t.DriestWB != nil {
			t.DriestWB[i] = float32(WetBasis(lo))
		}
		if t.WettestWB != nil {
			t.WettestWB[i] = float32(WetBasis(hi))
		}
	}
	if t.Green != nil {
		t.Green[i] = float32(f.GreenShare(s))
	}
	if t.Strata != nil {
		for k, db := range s.db[:s.n] {
			t.Strata[i*s.n+k] = float32(WetBasis(db))
		}
	}
	for k, limit := range t.Limits {
		t.Over[k][i] = float32(f.ShareOver(s, limit))
	}
}

// extremes returns the driest and the wettest stratum, % dry basis.
func (s *State) extremes() (lo, hi float64) {
	lo, hi = s.db[0], s.db[0]
	for _, db := range s.db[1:s.n] {
		lo, hi = min(lo, db), max(hi, db)
	}
	return lo, hi
}
