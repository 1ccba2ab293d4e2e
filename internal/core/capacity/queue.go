package capacity

import (
	"fmt"

	"threshday/internal/core/problem"
)

// An UnboundedQueueError says that a line has no steady length: more arrive than are served.
type UnboundedQueueError struct {
	ArrivalsPerHour, ServedPerHour float64 // served by all pits together
}

// Error says so, and what would change it.
func (e *UnboundedQueueError) Error() string {
	return fmt.Sprintf("%.4g trucks an hour come and %.4g can be dumped: the line grows without end. "+
		"Fewer trucks or more pits give it an end; for a few busy hours use the rush-hour sum.", e.ArrivalsPerHour, e.ServedPerHour)
}

// A Line is the trucks that come to an outlet and its pits.
type Line struct {
	ArrivalsPerHour float64
	ServedPerHour   float64 // by one pit
	Pits            int
}

// A Queue is the steady state of a line.
type Queue struct {
	Utilisation float64 // of the pits, 0 to below 1
	Empty       float64 // probability that nobody is there
	MustWait    float64 // probability that a truck waits
	InLine      float64 // trucks waiting
	AtOutlet    float64 // trucks waiting or dumping
	WaitMin     float64 // mean wait before the pit
}

// Steady returns the queue when trucks come and are served at random (M/M/c). Waits at harvest are a peak
// effect: the day's mean arrivals give too short a line, see [Rush]. [queue-theory]
func (l Line) Steady() (Queue, error) {
	if err := l.check(); err != nil {
		return Queue{}, err
	}
	offered := l.ArrivalsPerHour / l.ServedPerHour
	c := float64(l.Pits)
	rho := offered / c
	if rho >= 1 {
		return Queue{}, &UnboundedQueueError{l.ArrivalsPerHour, c * l.ServedPerHour}
	}
	// blocked is Erlang's loss formula by its recursion, sum the terms of 1/P0; neither needs a factorial.
	blocked, term, sum := 1.0, 1.0, 0.0
	for k := 1; k <= l.Pits; k++ {
		sum += term
		term *= offered / float64(k)
		blocked = offered * blocked / (float64(k) + offered*blocked)
	}
	wait := blocked / (1 - rho*(1-blocked))
	q := Queue{
		Utilisation: rho,
		Empty:       1 / (sum + term/(1-rho)),
		MustWait:    wait,
		InLine:      wait * rho / (1 - rho),
	}
	q.AtOutlet = q.InLine + offered
	q.WaitMin = 60 * wait / (c*l.ServedPerHour - l.ArrivalsPerHour) // also right when nobody comes
	return q, nil
}

// DumpSpread is the coefficient of variation of the time at the pit: dumping is regular, 0.3 to 0.5.
// [judgement]
const DumpSpread = 0.4

// SpreadWaitMin returns the mean wait when the time between arrivals has the coefficient of variation
// arrivals and the time at the pit has served: for one pit and random arrivals (1) it is exact
// (Pollaczek-Khinchine), else the Allen-Cunneen approximation. [queue-theory]
func (l Line) SpreadWaitMin(arrivals, served float64) (float64, error) {
	q, err := l.Steady()
	if err != nil {
		return 0, err
	}
	return q.WaitMin * (arrivals*arrivals + served*served) / 2, nil
}

func (l Line) check() error {
	var bad problem.InputErrors
	need := func(ok bool, label string, got any, want string) {
		if !ok {
			bad = append(bad, &problem.InputError{Rule: "queue.range", Label: label, Got: fmt.Sprint(got), Want: want})
		}
	}
	const most = 1e6
	need(l.ArrivalsPerHour >= 0 && l.ArrivalsPerHour <= most, "arrivals an hour", l.ArrivalsPerHour, "0 to 1,000,000")
	need(l.ServedPerHour > 0 && l.ServedPerHour <= most, "served an hour by one pit", l.ServedPerHour, "more than 0 to 1,000,000")
	need(l.Pits >= 1 && l.Pits <= 1000, "pits", l.Pits, "1 to 1000")
	return bad.Or()
}

// A Rush is a few hours in which more trucks come than the pits take, and what comes after.
type Rush struct {
	ArrivalsPerHour float64 // in the rush
	Hours           float64 // it lasts
	AfterPerHour    float64 // arrivals after it
	ServedPerHour   float64 // by all pits together
}

// A RushLine is how the line of a rush grows and goes.
type RushLine struct {
	PeakTrucks float64
	LongestMin float64
	MeanMin    float64 // over all trucks that meet the line
	ClearHours float64 // from the end of the rush
}

// Line returns the line of the rush taken as a flow; nothing where the pits keep up. A flow afterwards that
// fills the pits leaves the line standing: an UnboundedQueueError.
func (r Rush) Line() (RushLine, error) {
	if r.ArrivalsPerHour <= r.ServedPerHour {
		return RushLine{}, nil
	}
	if r.AfterPerHour >= r.ServedPerHour {
		return RushLine{}, &UnboundedQueueError{r.AfterPerHour, r.ServedPerHour}
	}
	peak := (r.ArrivalsPerHour - r.ServedPerHour) * r.Hours
	clear := peak / (r.ServedPerHour - r.AfterPerHour)
	trucks := r.ArrivalsPerHour*r.Hours + r.AfterPerHour*clear
	return RushLine{
		PeakTrucks: peak,
		LongestMin: 60 * peak / r.ServedPerHour,
		MeanMin:    60 * peak * (r.Hours + clear) / 2 / trucks,
		ClearHours: clear,
	}, nil
}

// An OwnFleet is trucks that share one pit with nobody else, as at a bin of the farm.
type OwnFleet struct {
	Trucks  int
	AwayMin float64 // mean time from leaving the pit to coming back
	DumpMin float64 // mean time at the pit once it is free
}

// Steady returns the odds that the pit stands idle, the loads an hour, and the minutes a truck spends at the
// pit, waiting and dumping, when both times are exponential (M/M/1//N). It has an end for any number of
// trucks. Panics unless all three are positive. [queue-theory]
func (f OwnFleet) Steady() (idle, loadsPerHour, atPitMin float64) {
	if f.Trucks < 1 || !(f.AwayMin > 0) || !(f.DumpMin > 0) {
		panic("capacity: a fleet without trucks or times")
	}
	// Mean value recursion: a truck that comes finds the line the others would make without it.
	var line, rate float64
	for n := 1; n <= f.Trucks; n++ {
		atPitMin = f.DumpMin * (1 + line)
		rate = float64(n) / (f.AwayMin + atPitMin)
		line = rate * atPitMin
	}
	return 1 - rate*f.DumpMin, 60 * rate, atPitMin
}
