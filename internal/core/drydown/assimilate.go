package drydown

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
)

// A Case is everything known about one field when its forecast begins.
type Case struct {
	Field     *Field
	Ripe      *Ripening     // nil: not known, then a reading starts the field
	Record    *Drivers      // the weather that has been, one member; the forecast goes on where it ends. nil: nobody recorded it
	Now       calendar.Hour // evidence from later is not used
	Readings  []Reading
	Sightings []Sighting
	LodgedPct float64 // plants lying, percent: flat corn dries behind standing corn
}

// A Ripening is when the median plant of a field matures.
type Ripening struct {
	Hour   calendar.Hour
	SDDays float64
}

// A Sighting is a stage somebody saw in a field.
type Sighting struct {
	ID    string
	At    calendar.Hour // about when
	Stage Stage
	Pct   *float64 // plants at the stage, percent; nil: half, or nobody counted
}

// An Estimate is a mean and its standard deviation, % wet basis.
type Estimate struct{ WB, SDWB float64 }

// A Lesson is what one piece of evidence taught.
type Lesson struct {
	ID            string
	At            calendar.Hour
	Used          bool
	Say           string   // why it is not used, or what is doubtful about it; may be empty
	Before, After Estimate // field mean at that hour
	ExpectedWB    float64  // what the device should have read; 0 for a sighting
	Gain          float64  // how much of the miss the field mean was moved by, 0 to 1; 0 for a sighting
	Sure          float64  // how far it counts and is no blunder, 0 to 1
	Moved         Chances  // what it moved: maturity, drying rate, equilibrium, level
	BiasWB        float64  // what it taught about its device: reads that much more than the truth, points
}

// The unknowns of a field, by their place in the belief; the biases of devices follow.
const (
	atShift = iota
	atKappa
	atEMC
	atLevel
	unknowns
)

// openLevelSD is the spread of a field's moisture before its first reading where no maturity is known,
// points. [judgement]
const openLevelSD = 15

// Flat corn. [licht-2020] finds 18 % where standing corn has 15; the spread is [judgement].
const (
	lodgedWetterWB = 3.0
	lodgedSDWB     = 2.0
)

// Assimilate works out what is believed about a field from its maturity, the weather that has been and its
// evidence, in the order of time. The lessons come in that order too. Readings pull the maturity date, the
// drying rate, the equilibrium and the present level, each as far as it is uncertain and would explain the
// miss; a reading far from anything expected is taken for a probable blunder and hardly moves the field.
//
// It is an extended Kalman filter whose slopes are taken over a standard deviation to either side; 0.4, 1.0 or
// 0.6 points of error grow in a day [judgement]. The error is a *problem.InputError that says what is missing.
func Assimilate(c Case) (*Posterior, []Lesson, error) {
	a := assimilation{Case: c, devices: map[string]int{}}
	if err := a.begin(); err != nil {
		return nil, nil, err
	}
	var lessons []Lesson
	for _, e := range a.evidence() {
		if e.reading != nil {
			lessons = append(lessons, a.read(*e.reading))
		} else {
			lessons = append(lessons, a.see(*e.sighting))
		}
	}
	a.advance(a.last)
	return a.posterior(), lessons, nil
}

// An assimilation is a Case being worked through.
type assimilation struct {
	Case
	belief  belief
	devices map[string]int // place of a device's bias in the belief
	at      calendar.Hour  // the belief holds at the beginning of this cell
	last    calendar.Hour  // and goes no further than this one
	base    calendar.Hour  // the field's run begins here
	baseWB  float64        // with this mean, where no maturity is known; 0: it is
	learned bool           // a reading has been used
}

// begin decides where the field's run starts: from its maturity through recorded weather, else from a reading.
func (a *assimilation) begin() error {
	p := &a.Field.Params
	a.belief = newBelief(0, p.KappaSD, p.EMCSDWB, p.MatureSDWB)
	if share := a.LodgedPct / 100; share > 0 && p.DentWB > 0 {
		a.belief.mean[atEMC] = share * lodgedWetterWB
		a.belief.cov[atEMC][atEMC] += share * share * lodgedSDWB * lodgedSDWB
	}
	a.last = a.Now
	if a.Record != nil {
		a.last = min(a.Now, a.Record.End())
	}
	if a.Ripe != nil && a.fromMaturity() {
		a.belief.cov[atShift][atShift] = a.Ripe.SDDays * a.Ripe.SDDays
		a.at = a.base
		return nil
	}
	return a.fromReading()
}

// fromMaturity reports whether the weather since maturity is known, and sets the base.
func (a *assimilation) fromMaturity() bool {
	first := a.Field.FirstRipe(a.Ripe.Hour)
	switch {
	case a.Record == nil:
		a.base = a.last
		return a.last <= first
	case a.Record.Start <= first:
		early := calendar.Hour(math.Round(24 * 2 * a.Ripe.SDDays))
		a.base = min(max(a.Record.Start, first-early), a.last)
		return true
	default:
		a.base = a.last
		return a.last <= first
	}
}

// fromReading starts the field at the first usable reading inside the record, else at the last of all.
func (a *assimilation) fromReading() error {
	var first *Reading
	for _, e := range a.evidence() {
		if e.reading == nil || TrustIn(e.reading.Device, e.reading.WB).Say != "" {
			continue
		}
		recorded := a.Record != nil && a.Record.Start <= e.reading.At
		if first == nil || !recorded || a.Record.Start > first.At {
			first = e.reading
		}
	}
	if first == nil {
		return a.nothingToStartFrom()
	}
	a.base, a.baseWB = min(first.At, a.last), min(max(first.WB, leastMeanWB), mostMeanWB)
	a.at = a.base
	a.belief.cov[atLevel][atLevel] = openLevelSD * openLevelSD
	return nil
}

func (a *assimilation) nothingToStartFrom() error {
	if a.Ripe == nil {
		return &problem.InputError{
			Rule: "drydown.start", Label: "Maturity date or moisture reading",
			Want: "the day the field is mature, or a reading", Next: "Enter either; planting date and relative maturity also give a date.",
		}
	}
	first := a.Field.FirstRipe(a.Ripe.Hour)
	return &problem.InputError{
		Rule: "drydown.record", Label: "Recorded weather since the first plants were mature on " + first.Start().Format("2006-01-02"),
		Want: "every hour from then to now, or a moisture reading", Next: "Import a station record, or take a reading in the field: the forecast can start from that.",
	}
}

// A fact is a reading or a sighting.
type fact struct {
	at       calendar.Hour
	id       string
	reading  *Reading
	sighting *Sighting
}

// evidence returns the readings and sightings up to now in the order of time, then of ID.
func (a *assimilation) evidence() []fact {
	var out []fact
	for i := range a.Readings {
		if r := &a.Readings[i]; r.At <= a.Now {
			out = append(out, fact{at: r.At, id: r.ID, reading: r})
		}
	}
	for i := range a.Sightings {
		if s := &a.Sightings[i]; s.At <= a.Now {
			out = append(out, fact{at: s.At, id: s.ID, sighting: s})
		}
	}
	slices.SortStableFunc(out, func(x, y fact) int {
		if x.at != y.at {
			return int(x.at - y.at)
		}
		return strings.Compare(x.id, y.id)
	})
	return out
}

// chances returns the unknowns that the model runs with.
func (b *belief) chances() Chances {
	return Chances{ShiftDays: b.mean[atShift], Kappa: b.mean[atKappa], EMCWB: b.mean[atEMC]}
}

// look returns the field at the beginning of cell at under the chances, their level not counted.
func (a *assimilation) look(c Chances, at calendar.Hour) State {
	c.LevelWB = 0
	var s State
	if a.baseWB > 0 {
		s = a.Field.StartAt(a.base, a.baseWB, c)
	} else {
		s = a.Field.Start(a.base, a.Ripe.Hour, c)
	}
	if a.Record == nil {
		s.At = at
		return s
	}
	s.At = max(s.At, min(at, a.Record.Start)) // hours nobody recorded change nothing
	a.Field.Run(a.Record, 0, &s, at, nil)
	return s
}

// advance lets the belief age to the beginning of cell to: the level fades as fast as the field forgets, and
// error grows.
func (a *assimilation) advance(to calendar.Hour) {
	to = min(to, a.last)
	if to <= a.at {
		return
	}
	p := &a.Field.Params
	s := a.look(a.belief.chances(), a.at)
	keep, growth := 1.0, 0.0
	for h := a.at; h < to; h++ {
		ripe := 1 - a.Field.GreenShare(&s)
		wb := a.Field.MeanWB(&s)
		if a.Record != nil && h >= a.Record.Start {
			rate := p.rate(DryBasis(wb)) * float64(a.Record.rate[h-a.Record.Start]) * s.factor
			fade := math.Exp(-ripe * rate)
			keep *= fade
			growth *= fade * fade
			a.Field.Run(a.Record, 0, &s, h+1, nil)
		} else {
			s.At = h + 1
		}
		growth += ripe * p.growthVar(wb) / 24
	}
	a.belief.fade(atLevel, keep, growth)
	days := float64(to-a.at) / 24
	walk := min(days*p.KappaWalk*p.KappaWalk, max(0, p.KappaSD*p.KappaSD-a.belief.cov[atKappa][atKappa]))
	a.belief.fade(atKappa, 1, walk)
	a.at = to
}

// Slopes say how the moisture of a zone depends on each unknown at the hour of the belief.
type slopes struct {
	mid      []float64 // over one standard deviation to either side
	up, down []float64 // over the side that makes it wetter, and drier
}

// slopes returns those of zone z. They reach a standard deviation to either side, so that a maturity date counts
// also while the field still holds.
func (a *assimilation) slopes(z Zone) slopes {
	n := len(a.belief.mean)
	h := slopes{mid: make([]float64, n), up: make([]float64, n), down: make([]float64, n)}
	h.mid[atLevel], h.up[atLevel], h.down[atLevel] = 1, 1, 1
	middle := a.zoneAt(a.belief.chances(), z)
	for i := range atLevel {
		sd := math.Sqrt(max(0, a.belief.cov[i][i]))
		if sd == 0 {
			continue
		}
		if i == atShift {
			sd = max(sd, leastShiftSlope)
		}
		more, less := a.belief.chances(), a.belief.chances()
		more.move(i, sd)
		less.move(i, -sd)
		atMore, atLess := a.zoneAt(more, z), a.zoneAt(less, z)
		h.mid[i] = (atMore - atLess) / (2 * sd)
		h.up[i], h.down[i] = (atMore-middle)/sd, (middle-atLess)/sd
		if h.mid[i] < 0 {
			h.up[i], h.down[i] = h.down[i], h.up[i]
		}
	}
	return h
}

// toward returns the slopes on the side of a miss.
func (h *slopes) toward(miss float64) []float64 {
	if miss > 0 {
		return h.up
	}
	return h.down
}

// bias adds the bias of a device to what the slopes weigh.
func (h *slopes) bias(device int) {
	h.mid[device], h.up[device], h.down[device] = 1, 1, 1
}

// zoneAt returns the moisture of zone z at the hour of the belief under the chances, their level not counted.
func (a *assimilation) zoneAt(c Chances, z Zone) float64 {
	s := a.look(c, a.at)
	return a.Field.zoneWB(&s, z)
}

// leastShiftSlope is the least step of maturity a slope is taken over: strata ripen by whole hours, days.
const leastShiftSlope = 0.5

func (c *Chances) move(i int, by float64) {
	switch i {
	case atShift:
		c.ShiftDays += by
	case atKappa:
		c.Kappa += by
	case atEMC:
		c.EMCWB += by
	case atLevel:
		c.LevelWB += by
	}
}

// estimate returns the field mean the belief stands for, and its spread.
func (a *assimilation) estimate(mean []float64) Estimate {
	return Estimate{
		WB:   a.zoneAt(a.belief.chances(), Whole) + a.belief.mean[atLevel],
		SDWB: math.Sqrt(max(0, a.belief.variance(mean))),
	}
}

// see takes in a sighting of a stage, which speaks of the maturity date alone.
func (a *assimilation) see(s Sighting) Lesson {
	l := Lesson{ID: s.ID, At: s.At, Sure: 1}
	days, sd, err := ToMaturity(a.Field.Params.Crop, s.Stage)
	switch {
	case err != nil:
		l.Say = err.Error()
	case a.baseWB > 0:
		l.Say = "The field's forecast starts from a reading, not from its maturity, so the stage adds nothing."
	}
	if l.Say != "" {
		return l
	}
	a.advance(s.At)
	l.Used, l.Before = true, a.estimate(a.slopes(Whole).mid)
	if s.Pct != nil {
		days += plantsShift(*s.Pct, a.Field.SpreadDays)
	}
	seen := float64(s.At-a.Ripe.Hour)/24 + days
	miss := seen - a.belief.mean[atShift]
	h := make([]float64, len(a.belief.mean))
	h[atShift] = 1
	noise := SightingSDDays*SightingSDDays + sd*sd
	if far := math.Sqrt(a.belief.cov[atShift][atShift] + noise); math.Abs(miss) > doubtfulAt*far {
		l.Say = fmt.Sprintf("%s was expected about %.0f days %s: look again.", s.Stage, math.Abs(miss), earlierOrLater(miss))
	}
	moved := a.belief.learn(h, miss, noise, 1)
	l.Moved, l.After = chancesOf(moved), a.estimate(a.slopes(Whole).mid)
	return l
}

// doubtfulAt is how many standard deviations off a sighting is doubted aloud. [judgement]
const doubtfulAt = 3

func earlierOrLater(miss float64) string {
	if miss > 0 {
		return "earlier"
	}
	return "later"
}

func chancesOf(moved []float64) Chances {
	return Chances{ShiftDays: moved[atShift], Kappa: moved[atKappa], EMCWB: moved[atEMC], LevelWB: moved[atLevel]}
}
