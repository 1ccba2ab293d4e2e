package loss

// A SproutRisk is how likely ripe wheat has begun to sprout. It warns; nobody can tell seconds of falling number
// from weather, and sprouting can cut it with nothing to see [ndsu-ransom-2020], [penn-state-roth].
type SproutRisk string

// The classes of sprout risk.
const (
	SproutLow   SproutRisk = "low"
	SproutWatch SproutRisk = "watch" // grain above 18 % for 12 hours on end
	SproutHigh  SproutRisk = "high"  // above 20 % for 36 hours, or three wet mild days, or white wheat at watch
)

// Say returns what to tell the person; empty when there is nothing to say.
func (r SproutRisk) Say() string {
	switch r {
	case SproutWatch:
		return "The grain was wet long enough to begin sprouting. Ask for a falling-number test before mixing this load."
	case SproutHigh:
		return "Sprouting is likely even if nothing shows. Ask for a falling-number test before mixing this load; under 300 seconds is usually discounted."
	default:
		return ""
	}
}

// SproutRules are the limits of the classes. A falling number fell in trials mainly where grain stayed moist
// long [ndsu-ransom-2020]; the hours and degrees are ours. [judgement]
type SproutRules struct {
	DampPct, DampHours float64 // % wet basis and hours on end that make a watch
	WetPct, WetHours   float64 // % wet basis and hours on end that make it high
	WetDays            int     // wet days in a row that make it high, if each is mild
	MildFromC, MildToC float64 // mean of the day, °C
	WettingMM          float64 // mm of rain that make a day wet
}

// DefaultSproutRules returns 18 % for 12 h, 20 % for 36 h, three days of 50 to 75 °F. [judgement]
func DefaultSproutRules() SproutRules {
	return SproutRules{
		DampPct: 18, DampHours: 12, WetPct: 20, WetHours: 36,
		WetDays: 3, MildFromC: 10, MildToC: 215.0 / 9, WettingMM: 1.27,
	}
}

// A SproutWatchdog follows one stratum of ripe wheat. Give it the hours from ripeness on. The zero value has
// seen nothing; a class once reached stays.
type SproutWatchdog struct {
	damp, wet      int // hours on end
	watch, high    bool
	daysInRow      int
	dayWet         bool
	dayRain        float64
	daySum, dayLen float64
}

// Step takes the watchdog through one hour with air at tempC.
func (s *SproutWatchdog) Step(r *SproutRules, h Hour, tempC float64) {
	if h.NewDay {
		s.closeDay(r)
	}
	s.damp, s.wet = longer(s.damp, h.MoisturePct > r.DampPct), longer(s.wet, h.MoisturePct > r.WetPct)
	s.watch = s.watch || float64(s.damp) >= r.DampHours
	s.high = s.high || float64(s.wet) >= r.WetHours
	s.dayRain += h.RainMM
	s.dayWet = s.dayWet || s.dayRain >= r.WettingMM || h.MoisturePct > r.DampPct
	s.daySum += tempC
	s.dayLen++
}

// closeDay judges the day that has ended.
func (s *SproutWatchdog) closeDay(r *SproutRules) {
	if s.dayLen > 0 {
		mean := s.daySum / s.dayLen
		s.daysInRow = longer(s.daysInRow, s.dayWet && mean >= r.MildFromC && mean <= r.MildToC)
		s.high = s.high || s.daysInRow >= r.WetDays
	}
	s.dayWet, s.dayRain, s.daySum, s.dayLen = false, 0, 0, 0
}

// Risk returns the class so far; white wheat goes one class up, for it sprouts sooner. [judgement]
func (s *SproutWatchdog) Risk(white bool) SproutRisk {
	switch {
	case s.high || (s.watch && white):
		return SproutHigh
	case s.watch:
		return SproutWatch
	default:
		return SproutLow
	}
}

func longer(run int, on bool) int {
	if on {
		return run + 1
	}
	return 0
}
