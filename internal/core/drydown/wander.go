package drydown

import (
	"math"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/weather"
)

// wanderDraw is the purpose of the draws by which a member leaves the model.
const wanderDraw weather.Purpose = 201

// wanderHour is the hour of the UTC day at which a day's error of the model comes in: about local midnight in North
// America, when grain stands still. [judgement]
const wanderHour = 6

// A wander lets one member leave the model a little every day, by as much as the belief about a field grows unsure in a day
// without readings, so that the band of the days to come holds the model's own error too. The zero wander stays.
type wander struct {
	on     bool
	member int32
	root   [32]byte
}

// wanders makes the state that of a member that leaves the model by its own draws.
func (s *State) wanders(root [32]byte, member int) {
	s.astray = wander{true, int32(member), root} //nolint:gosec // members are few
}

// stray moves the ripe strata, all by the same factor, by one day's error.
func (s *State) stray(f *Field) {
	p := &f.Params
	draw := weather.NewStream(s.astray.root, int(s.astray.member), calendar.DayOf(s.At.Start(), time.UTC), wanderDraw)
	was := f.meanDB(s)
	wb := WetBasis(was)
	points := math.Sqrt(p.growthVar(wb)) * draw.Normal()
	by := DryBasis(min(max(wb+points, leastMeanWB), mostMeanWB)) / was
	for k := range s.db[:s.n] {
		if s.At >= s.ripe[k] {
			s.db[k] *= by
		}
	}
	if s.At >= s.dies {
		s.green *= by
	}
}
