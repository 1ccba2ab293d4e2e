package drydown

import (
	"math"

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
	Variety   string  // fields of one share most of what is unknown of them; may be empty
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
	Zone  Zone     // where
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
	OffWB         float64  // of that, what device and load together were taken to be over the field, points
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

// An assimilation is a Case being worked through.
type assimilation struct {
	Case
	t       *together
	place   int           // of the field among those of the farm
	first   int           // of its unknowns in the belief
	base    calendar.Hour // the field's run begins here
	baseWB  float64       // with this mean, where no maturity is known; 0: it is
	last    calendar.Hour // the belief goes no further than the beginning of this cell
	at      calendar.Hour // and holds at that of this one
	learned bool          // a reading has been used
	fan     fan
}

// begin decides where the field's run starts: from its maturity through recorded weather, else from a reading.
func (a *assimilation) begin() error {
	p := &a.Field.Params
	emc := p.EMCSDWB * p.EMCSDWB
	if share := a.LodgedPct / 100; share > 0 && p.DentWB > 0 {
		a.t.belief.mean[a.first+atEMC] = share * lodgedWetterWB
		emc += share * share * lodgedSDWB * lodgedSDWB
	}
	a.start(atKappa, p.KappaSD*p.KappaSD)
	a.start(atEMC, emc)
	a.start(atLevel, p.MatureSDWB*p.MatureSDWB)
	a.last = a.Now
	if a.Record != nil {
		a.last = min(a.Now, a.Record.End())
	}
	if a.Ripe != nil && a.fromMaturity() {
		a.start(atShift, a.Ripe.SDDays*a.Ripe.SDDays)
		return nil
	}
	return a.fromReading()
}

// start sets the variance of one unknown of the field.
func (a *assimilation) start(k int, variance float64) {
	a.t.belief.relate(a.first+k, a.first+k, variance)
}

// mean returns what is believed of one unknown of the field in the middle, variance how unsure that is.
func (a *assimilation) mean(k int) float64     { return a.t.belief.mean[a.first+k] }
func (a *assimilation) variance(k int) float64 { return a.t.belief.cov[a.first+k][a.first+k] }

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
	for _, e := range inOrder(a.evidence()) {
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
	a.start(atLevel, openLevelSD*openLevelSD)
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

// evidence returns the readings and sightings up to now.
func (a *assimilation) evidence() []fact {
	var out []fact
	for i := range a.Readings {
		if r := &a.Readings[i]; r.At <= a.Now {
			out = append(out, fact{field: a.place, at: r.At, id: r.ID, reading: r})
		}
	}
	for i := range a.Sightings {
		if s := &a.Sightings[i]; s.At <= a.Now {
			out = append(out, fact{field: a.place, at: s.At, id: s.ID, sighting: s})
		}
	}
	return out
}

// chances returns the middle of the unknowns that the model runs with.
func (a *assimilation) chances() Chances {
	return Chances{ShiftDays: a.mean(atShift), Kappa: a.mean(atKappa), EMCWB: a.mean(atEMC)}
}

// look returns the field at the beginning of cell at under the chances, their level not counted.
func (a *assimilation) look(c Chances, at calendar.Hour) State {
	s := a.begun(c)
	a.run(&s, at)
	return s
}

// begun returns the field where its run begins.
func (a *assimilation) begun(c Chances) State {
	c.LevelWB = 0
	var s State
	if a.baseWB > 0 {
		s = a.Field.StartAt(a.base, a.baseWB, c)
	} else {
		s = a.Field.Start(a.base, a.Ripe.Hour, c)
	}
	return s
}

// run takes a state to the beginning of cell at; hours nobody recorded change nothing.
func (a *assimilation) run(s *State, at calendar.Hour) { a.runInto(s, at, nil) }

func (a *assimilation) runInto(s *State, at calendar.Hour, out *Track) {
	if a.Record == nil {
		s.At = max(s.At, at)
		return
	}
	s.At = max(s.At, min(at, a.Record.Start))
	a.Field.Run(a.Record, 0, s, at, out)
}

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
