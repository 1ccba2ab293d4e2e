package hauling

import "math"

// A queue is the pits of one place as the farm's own trucks find them: first come, first served.
type queue struct {
	free []float64 // by pit: when it is
}

func (q *queue) reset(pits int) {
	q.free = q.free[:0]
	for range pits {
		q.free = append(q.free, math.Inf(-1))
	}
}

// serve returns when a truck that is ready for the pit begins to dump, and holds the pit for so long. Trucks must come
// in the order of their ready times.
func (q *queue) serve(ready, minutes float64) (begins float64) {
	best := 0
	for i, f := range q.free {
		if f < q.free[best] {
			best = i
		}
	}
	begins = max(ready, q.free[best])
	q.free[best] = begins + minutes
	return begins
}

// A place is the state of one site.
type place struct {
	pits      queue
	lastReady float64 // when the truck before was through the line: nobody overtakes
	sent      int     // trucks that set out for it
	taken     float64 // bushels on their way or dumped, of DayBu
	rooms     []float64
}

// receive passes a truck that arrives now through line, scale and pit. It returns when it is weighed, dumped and ready
// to drive; ok is false where the place closes before it is weighed.
func (r *Runner) receive(site, nth int, bu, until float64) (scaled, dumped, leaves, line float64, ok bool) {
	s, p := &r.day.Sites[site], &r.places[site]
	start := max(r.now, s.Open)
	if w, any := s.wait(start); any {
		line = r.luck.Line(site, nth, w)
	}
	scaled = max(start+line, p.lastReady)
	line = scaled - r.now
	if scaled > min(s.Close, until) {
		return scaled, 0, 0, line, false
	}
	p.lastReady = scaled
	hold := max(s.DumpMin*r.luck.Dump(site, nth), 60*bu/s.BuPerHour)
	dumped = p.pits.serve(scaled+s.ScaleMin, hold) + hold
	return scaled, dumped, dumped + s.TicketMin, line, true
}
