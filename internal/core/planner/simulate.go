package planner

import (
	"math"
	"slices"

	"threshday/internal/core/worth"
)

// A work is what one combine does in one hour at one place: acres of a field, and where the grain goes.
type work struct {
	Combine, Field, Destination int
	Hour                        int
	From                        float64 // hours into the hour at which it starts
	Acres, Bushels, USD         float64
}

// leastAcres is the smallest piece worth driving to.
const leastAcres = 0.01

// queueShare is how much of the work in line is expected to come before a field left now gets its next turn. [judgement]
const queueShare = 0.5

// A state is one member's season in progress; it is reused from member to member.
type state struct {
	t       *worth.Table
	acres   []float64 // per field: left to cut
	stand   []int     // fields with acres left, in order
	best    []int16   // this hour, per field: destination that nets most, -1: none
	net     []float32 // what it nets, $/acre
	sent    []int     // per field: day on which a combine was first sent there, -1 not yet
	begun   []int     // per field: day of the first cut, -1 not yet
	finish  []int     // per field: day finished, -1 not yet
	today   []float64 // per field: acres cut on day 0
	room    []float64 // per destination: bushels it still takes
	points  []float64 // per destination: dryer point-bushels left today
	dayRoom []float64 // per site: bushels left today
	hour    []float64 // per site: bushels left this hour
	at      []int     // per combine: field it stands in; len(fields): the yard
	owes    []float64 // per combine: hours of moving still to do
	wait    []float64 // per field: worth of leaving it today, $/acre
	led     []int     // per combine: how far down its lead of today it is
	out     []shift   // per combine: its day 0
	cutIn   []int     // per combine: field it cut last in this hour of day 0, -1: none
	apart   float64   // hours of day 0 for which the fields cut at once outnumber the carts
	through int       // the last day that is run
	fold    int       // members of this fold are not known to the expectations used
	cut     []float64 // per field and day: acres cut; nil: nobody asks
	earned  []float64 // per field and day: dollars
	// repriced holds, per repriced table of the evaluator, what the season earns more at its prices.
	repriced []float64
}

// A shift is one combine's day 0: when it first and last cuts, in hours after the table's start, and for how long in between.
type shift struct{ from, to, cuts float64 }

func (s *shift) add(at, hours float64) {
	if s.cuts == 0 {
		s.from = at
	}
	s.to = at + hours
	s.cuts += hours
}

func (e *evaluator) state(worker int) *state {
	if s := e.pool[worker]; s != nil {
		return s
	}
	t := e.t
	s := &state{
		t: t, acres: make([]float64, len(t.Fields)), sent: make([]int, len(t.Fields)), begun: make([]int, len(t.Fields)), finish: make([]int, len(t.Fields)),
		today: make([]float64, len(t.Fields)),
		room:  make([]float64, len(t.Destinations)), points: make([]float64, len(t.Destinations)),
		dayRoom: make([]float64, len(t.Sites)), hour: make([]float64, len(t.Sites)),
		at: make([]int, len(t.Combines)), owes: make([]float64, len(t.Combines)), wait: make([]float64, len(t.Fields)),
		led: make([]int, len(t.Combines)), out: make([]shift, len(t.Combines)), cutIn: make([]int, len(t.Combines)), through: math.MaxInt,
	}
	e.pool[worker] = s
	return s
}

func (s *state) reset() {
	s.stand = s.stand[:0]
	for f, row := range s.t.Fields {
		s.sent[f] = -1
		s.acres[f], s.begun[f], s.finish[f], s.today[f] = row.Acres, -1, -1, 0
		if row.Acres <= leastAcres {
			s.finish[f] = 0
		} else {
			s.stand = append(s.stand, f)
		}
	}
	for d, row := range s.t.Destinations {
		s.room[d] = row.Room
	}
	s.apart = 0
	for k, row := range s.t.Combines {
		s.cutIn[k] = -1
		s.at[k], s.owes[k] = row.StartIn, 0
		s.led[k], s.out[k] = 0, shift{}
		if row.StartIn < 0 {
			s.at[k] = len(s.t.Fields)
		}
	}
}

// season runs one member from the first hour to the last and returns the dollars it earns. A decision uses the morning's
// crop, the weather of the running day, and the expectation learned from other members; nothing of this member's
// later days.
func (e *evaluator) season(s *state, m int, rule Rule, bend bends, log func(int, work)) float64 {
	t := e.t
	s.reset()
	s.repriced = slices.Grow(s.repriced[:0], len(e.repriced))[:len(e.repriced)]
	clear(s.repriced)
	usd := 0.0
	day := -1
	fields := len(t.Fields)
	for i, h := range e.live[m] {
		s.best, s.net = e.best[m][i*fields:(i+1)*fields], e.net[m][i*fields:(i+1)*fields]
		if t.Day[h] != day {
			day = t.Day[h]
			if day > s.through || !e.morning(s, m, day, rule) {
				break
			}
		}
		for i := range t.Sites {
			s.hour[i] = t.Sites[i].PerHour
		}
		trucks := t.TruckHours
		for k := range t.Combines {
			if !t.Combines[k].Runs[h] {
				continue
			}
			usd += e.drive(s, m, h, day, k, &trucks, rule, bend, log)
		}
		if day == 0 {
			s.countApart()
		}
	}
	s.through = math.MaxInt
	return usd
}

// morning refreshes what a new day brings; it reports false when nothing is left to cut.
func (e *evaluator) morning(s *state, m, day int, rule Rule) bool {
	t := e.t
	hours := 0.0
	for _, f := range s.stand {
		rate := 0.0
		for k := range t.Combines {
			rate += t.Combines[k].Rate[f]
		}
		if rate > 0 {
			hours += s.acres[f] / rate
		}
	}
	if hours == 0 {
		return false
	}
	for i := range t.Sites {
		s.dayRoom[i] = t.Sites[i].PerDay
	}
	for d := range t.Destinations {
		s.points[d] = t.Destinations[d].PointDay
	}
	if rule.Order == ByLoss {
		exp := e.exp[rule.Round]
		least := 1 + int(queueShare*hours/e.fitH[s.fold])
		for _, f := range s.stand {
			s.wait[f] = exp.waiting(s.fold, m, f, day, least)
		}
	}
	return true
}

// drive spends combine k's hour h: it moves, cuts, moves on, until the hour is used or nothing is worth cutting.
func (e *evaluator) drive(s *state, m, h, day, k int, trucks *float64, rule Rule, bend bends, log func(int, work)) float64 {
	t := e.t
	usd := 0.0
	clock := 0.0
	for range 8 { // more fields than that in one hour is driving, not cutting
		if *trucks <= 1e-9 && e.hauled {
			break
		}
		if s.owes[k] > 0 {
			step := min(s.owes[k], 1-clock)
			s.owes[k] -= step
			clock += step
		}
		if clock >= 1-1e-9 {
			break
		}
		f, d := e.pick(s, m, h, day, k, *trucks, rule, bend)
		if f < 0 {
			break
		}
		if s.sent[f] < 0 {
			s.sent[f] = day
		}
		if s.at[k] != f {
			s.owes[k] = t.MoveHours[k][s.at[k]][f]
			s.at[k] = f
			if s.owes[k] > 0 {
				continue
			}
		}
		i := t.At(m, h, f)
		bu := s.bushels(m, f, i)
		acres := min(s.acres[f], t.Combines[k].Rate[f]*(1-clock), s.takes(f, d, t.Moisture[i], bu, *trucks))
		if acres <= leastAcres && acres < s.acres[f] {
			break
		}
		net, _ := t.Net(m, h, f, d)
		s.haul(m, h, f, d, bu*acres, trucks)
		if s.begun[f] < 0 {
			s.begun[f] = day
		}
		if day == 0 {
			s.today[f] += acres
		}
		s.acres[f] -= acres
		if s.acres[f] <= leastAcres {
			s.acres[f] = 0
			s.finish[f] = day
			at, _ := slices.BinarySearch(s.stand, f)
			s.stand = slices.Delete(s.stand, at, at+1)
		}
		if s.cut != nil {
			s.cut[f*t.Days()+day] += acres
			s.earned[f*t.Days()+day] += net * acres // of the expected crop: nobody knows another when deciding
		}
		earned := t.Earned(m, f, net) * acres
		s.reprice(e, m, f, d, i, acres)
		if log != nil {
			log(m, work{Combine: k, Field: f, Destination: d, Hour: h, From: clock, Acres: acres, Bushels: bu * acres, USD: earned})
		}
		usd += earned
		hours := acres / t.Combines[k].Rate[f]
		if day == 0 {
			s.out[k].add(float64(h)+clock, hours)
			s.cutIn[k] = f
		}
		clock += hours
	}
	return usd
}

// reprice adds up what acres of field f cut in cell i of member m and hauled to d earn more at other prices.
func (s *state) reprice(e *evaluator, m, f, d, i int, acres float64) {
	t := s.t
	curve, at := f*len(t.Destinations)+d, t.Moisture[i]
	for k, other := range e.repriced {
		if more := other.Value[curve][at] - t.Value[curve][at]; more != 0 {
			s.repriced[k] += acres * float64(t.Crop[m*len(t.Fields)+f]) * float64(t.Keep[i]) * float64(more)
		}
	}
}

// pick returns the field combine k should work in now and where its grain goes, or -1 when it should stand. A field whose
// score would not win even at its best destination is not looked at closer.
func (e *evaluator) pick(s *state, m, h, day, k int, trucks float64, rule Rule, bend bends) (field, destination int) {
	t := e.t
	field, destination = -1, -1
	var barred []int
	if day == 0 {
		if f, d, ok := e.led(s, m, h, k, trucks, rule, bend); ok {
			return f, d
		}
		barred = bend.bars(k)
	}
	top := math.Inf(-1)
	rates, hour := t.Combines[k].Rate, t.At(m, h, 0)
	for _, f := range s.stand {
		if s.best[f] < 0 || rates[f] <= 0 || day < bend.notBefore(f) || slices.Contains(barred, f) {
			continue
		}
		i := hour + f
		turn := plainTurn
		if day == 0 {
			turn = bend.turnOf(f)
		}
		if score, ok := e.score(s, rule, k, f, i, float64(s.net[f]), turn); !ok || score <= top {
			continue
		}
		d, net := e.destination(s, m, h, f, trucks, rule.Haul)
		if d < 0 || net <= 0 {
			continue
		}
		if score, ok := e.score(s, rule, k, f, i, net, turn); ok && score > top {
			top, field, destination = score, f, d
		}
	}
	return field, destination
}

// score ranks field f for combine k when an acre nets net; ok is false where leaving it is worth more. It never falls as net
// rises.
func (e *evaluator) score(s *state, rule Rule, k, f, i int, net float64, turn turn) (score float64, ok bool) {
	t := e.t
	switch turn {
	case firstTurn:
		return math.Inf(1), net > 0
	case nextTurn:
		return math.MaxFloat64, net > 0
	case plainTurn:
	}
	rate := t.Combines[k].Rate[f]
	switch rule.Order {
	case ByLoss:
		if net < (1-rule.Margin)*s.wait[f] {
			return 0, false
		}
		score = (net - s.wait[f]) * rate
	case ByList:
		return -float64(f), true
	case ByDry:
		return -worth.GridPct(int(t.Moisture[i])), true
	case ByWorth:
		score = net * rate
	}
	if s.at[k] != f && score > 0 {
		stay := min(s.acres[f]/rate, usualStay)
		score *= stay / (stay + t.MoveHours[k][s.at[k]][f])
	}
	return score, true
}

// usualStay is how many hours a combine stays in a field at most before something else may come up: a working day. [judgement]
const usualStay = 8

// destination returns where a load of field f goes now under the haul, and what an acre nets there.
func (e *evaluator) destination(s *state, m, h, f int, trucks float64, haul Haul) (int, float64) {
	t := e.t
	i := t.At(m, h, f)
	at, keep := t.Moisture[i], float64(t.Keep[i])
	bu := s.bushels(m, f, i)
	if haul == HaulBest {
		if d := int(s.best[f]); s.takes(f, d, at, bu, trucks) > leastAcres {
			return d, float64(s.net[f])
		}
	}
	best, net := -1, 0.0
	top := math.Inf(-1)
	for _, d := range e.sells[f] {
		v := float64(t.Value[f*len(t.Destinations)+d][at])
		if v != v || !t.Destinations[d].Open[h] {
			continue
		}
		v = keep*v - t.Fields[f].CutCost
		score := v
		switch haul {
		case HaulNearest:
			score = -t.Fields[f].TruckBu[d]
		case HaulPosted:
			score = t.Destinations[d].Posted
		case HaulBest:
		}
		if score > top && s.takes(f, d, at, bu, trucks) > leastAcres {
			top, best, net = score, d, v
		}
	}
	return best, net
}

// takes returns how many acres of field f at grid moisture at, with bu bushels each, destination d and the trucks can take in
// this hour.
func (s *state) takes(f, d int, at uint16, bu, trucks float64) float64 {
	t := s.t
	row := &t.Destinations[d]
	room := min(s.room[d], s.dayRoom[row.Site], s.hour[row.Site])
	if row.Points != nil {
		if p := float64(row.Points[at]); p > 0 {
			room = min(room, s.points[d]/p)
		}
	}
	if per := t.Fields[f].TruckBu[d]; per > 0 {
		room = min(room, trucks/per)
	}
	if bu <= 0 {
		return 0
	}
	return room / bu
}

// bushels returns wet bushels an acre of field f really yields in cell i of member m.
func (s *state) bushels(m, f, i int) float64 {
	t := s.t
	return float64(t.Bushels[f][t.Moisture[i]]) * float64(t.Keep[i]) * float64(t.Crop[m*len(t.Fields)+f])
}

// haul takes bu bushels of field f out of everything that carries or receives them.
func (s *state) haul(m, h, f, d int, bu float64, trucks *float64) {
	t := s.t
	row := &t.Destinations[d]
	s.room[d] -= bu
	s.dayRoom[row.Site] -= bu
	s.hour[row.Site] -= bu
	if row.Points != nil {
		s.points[d] -= bu * float64(row.Points[t.Moisture[t.At(m, h, f)]])
	}
	*trucks -= bu * t.Fields[f].TruckBu[d]
}
