package loss

// An Hour is what one stratum went through in one hour.
type Hour struct {
	MoisturePct float64 // grain or pod at the end of the hour, percent wet basis
	RainMM      float64 // in the hour
	FreeMM      float64 // water standing on the plant at the end of the hour, mm
	NewDay      bool    // the first hour of a local day
}

// Rules say when a stratum is ripe and what counts as a wetting. All but the ripe moisture are ours: the
// literature counts rains, not hours. [judgement]
type Rules struct {
	RipePct    float64 // days start when the grain first touches it, % wet basis
	RainRise   float64 // points of rise that make a cycle a whole one, with RainMM of rain
	RainMM     float64 // mm, 0.1 in
	DewRise    float64 // points of rise that make a part of a cycle, with the plant wet
	DewMM      float64 // mm of free water that say heavy dew or fog
	DewPart    float64 // cycles a dew counts
	Back       float64 // points above the low at which the grain is dry again
	CyclesADay float64 // most that count in one local day
	WetPct     float64 // grain above it has been wetted, % wet basis
	DryPct     float64 // grain below it is ready for the next wetting, % wet basis
	WettingMM  float64 // mm of rain in one spell that wet ripe grain, 0.05 in
}

// DefaultRules returns the rules for a stratum that is ripe at ripeAtPct, see [Model].RipeAtPct. [judgement]
func DefaultRules(ripeAtPct float64) Rules {
	return Rules{
		RipePct:  ripeAtPct,
		RainRise: 3, RainMM: 2.54, DewRise: 1.5, DewMM: 0.1, DewPart: 0.25, Back: 0.5, CyclesADay: 1.5,
		WetPct: 18, DryPct: 15, WettingMM: 1.27,
	}
}

// A Tracker follows one stratum hour by hour and counts days ripe, wet-dry cycles and wettings. It is a small
// value: copy it to branch into another weather. The zero Tracker has not ripened.
//
// A wet-dry cycle is a rise above a low and the way back to within Rules.Back of it. Weather does not always go
// all the way back: when the grain turns up again from a higher low, the cycle before closes there and counts
// by its fall, so a spell of damp weather counts each wetting once and never stalls.
//
// Days are hours over 24 since the first touch, not midnights, so that loss moves by the hour.
type Tracker struct {
	low, top, dip   float64 // moisture: the low a rise started from, the highest since, the lowest since the top
	rainUp, rainDip float64 // rain since low, and since dip, mm
	dew, dewDip     bool    // heavy free water was seen since low, since dip
	cycles, today   float64
	spell           float64 // rain in the present wet spell, mm
	hours, wettings int
	ripe, wetted    bool
}

// Since returns a tracker of a stratum that has been ripe for so long, for a field whose past is told rather
// than followed. It is dry at moisturePct now.
func Since(daysRipe, cycles float64, wettings int, moisturePct float64) Tracker {
	return Tracker{
		low: moisturePct, top: moisturePct, dip: moisturePct,
		cycles: cycles, wettings: wettings, hours: int(24*daysRipe + 0.5), ripe: true,
	}
}

// Ripe reports whether the ripe moisture has been reached.
func (t *Tracker) Ripe() bool { return t.ripe }

// DaysRipe returns the days since the ripe moisture was first reached.
func (t *Tracker) DaysRipe() float64 { return float64(t.hours) / 24 }

// Cycles returns the wet-dry cycles since ripe.
func (t *Tracker) Cycles() float64 { return t.cycles }

// Wettings returns the wetting events since ripe.
func (t *Tracker) Wettings() int { return t.wettings }

// Stand returns the stand at moisturePct; what the weather does not tell (lodging, green plants, events) is the
// caller's to add.
func (t *Tracker) Stand(moisturePct float64) Stand {
	return Stand{DaysRipe: t.DaysRipe(), Cycles: t.cycles, Wettings: float64(t.wettings), MoisturePct: moisturePct}
}

// Step takes the tracker through one hour under r.
func (t *Tracker) Step(r *Rules, h Hour) {
	if !t.ripe {
		if h.MoisturePct > r.RipePct {
			return
		}
		t.ripe = true
		t.restart(r, h)
		t.wetted = h.MoisturePct >= r.DryPct
		return
	}
	t.hours++
	if h.NewDay {
		t.today = 0
	}
	t.cycle(r, h)
	t.wetting(r, h)
}

// restart makes the grain of this hour the low that the next rise starts from.
func (t *Tracker) restart(r *Rules, h Hour) {
	t.low, t.top, t.dip = h.MoisturePct, h.MoisturePct, h.MoisturePct
	t.rainUp, t.rainDip = h.RainMM, h.RainMM
	t.dew = h.FreeMM >= r.DewMM
	t.dewDip = t.dew
}

func (t *Tracker) cycle(r *Rules, h Hour) {
	m, heavy := h.MoisturePct, h.FreeMM >= r.DewMM
	t.rainUp += h.RainMM
	t.rainDip += h.RainMM
	t.dew = t.dew || heavy
	t.dewDip = t.dewDip || heavy
	if m >= t.top || m < t.dip {
		t.top, t.dip = max(t.top, m), m
		t.rainDip, t.dewDip = h.RainMM, heavy
	}
	rise := t.top - t.low
	switch {
	case rise < r.DewRise:
		if m < t.low {
			t.restart(r, h)
		}
	case m <= t.low+r.Back:
		t.count(r, rise)
		t.restart(r, h)
	case m >= t.dip+r.DewRise: // up again from a higher low
		t.count(r, t.top-t.dip)
		t.low, t.rainUp, t.dew = t.dip, t.rainDip, t.dewDip
		t.top, t.dip = m, m
		t.rainDip, t.dewDip = h.RainMM, heavy
	}
}

// count adds a cycle of so many points, by what lifted it.
func (t *Tracker) count(r *Rules, points float64) {
	var c float64
	switch {
	case points >= r.RainRise && t.rainUp >= r.RainMM:
		c = 1
	case points >= r.DewRise && (t.dew || t.rainUp > 0):
		c = r.DewPart
	}
	c = min(c, r.CyclesADay-t.today)
	if c > 0 {
		t.cycles += c
		t.today += c
	}
}

func (t *Tracker) wetting(r *Rules, h Hour) {
	t.spell += h.RainMM
	soaked := t.spell >= r.WettingMM || h.MoisturePct > r.WetPct
	if soaked && !t.wetted {
		t.wettings++
		t.wetted = true
	}
	if h.RainMM == 0 && h.FreeMM == 0 { // the spell is over when the plant is dry outside
		t.spell = 0
		if h.MoisturePct < r.DryPct {
			t.wetted = false
		}
	}
}
