package weather

import (
	"math"

	"threshday/internal/core/calendar"
)

// From a rain total to hours: the number of wet hours is drawn, then one or two spells of them, then how the
// total is shared among them. Fitted to three autumns of hourly rain at a Midwest airport; the shares and the
// spells are judgement.
const (
	wetHoursFactor   = 2.0  // mean wet hours of a day with 1 mm [isd-lite-725300]
	wetHoursPower    = 0.55 // how they grow with the total [isd-lite-725300]
	wetHoursShape    = 2    // gamma shape of their number [judgement]
	oneSpell         = 0.65 // probability that they are one spell [judgement]
	hourShareShape   = 0.8  // gamma shape of an hour's share [judgement]
	smallestHour     = 0.1  // mm, the least of a wet hour, as gauges print tenths
	placementsTried  = 3    // spells drawn where humidity can choose among them: mean humidity as in hours it fell [isd-lite-725300]
	dampHour         = 0.2  // mm from which an hour's air is held damp [isd-lite-725300]
	rhFirstWetHour   = 0.85 // least relative humidity of a wet hour [judgement]
	rhLaterWetHour   = 0.95 // after two wet hours [judgement]
	fewestMillimetre = 1e-6 // below it there is nothing to spread
)

// SpreadRain returns total mm as hourly amounts over n hours that add up to it. Spells begin in hours
// [from, to) and may run past to, not past n; a part of the day (to−from below n) holds a single spell. All
// chance comes from s. Panics unless 0 ≤ from < to ≤ n.
func SpreadRain(total float64, n, from, to int, s *Stream) []float64 {
	if from < 0 || from >= to || to > n {
		panic("weather: no hours to rain in")
	}
	if total < fewestMillimetre {
		return make([]float64, n)
	}
	wet := drawWetHours(total, n, s)
	return shareOut(total, n, drawSpells(wet, n, from, to, s), s)
}

// spreadWhereDamp is SpreadRain over all hours where their humidity is known and chooses: of a few placements
// drawn the dampest wins, so that rain does not fall into the dry air of a fine afternoon.
func spreadWhereDamp(total float64, humidity []float64, s *Stream) []float64 {
	n := len(humidity)
	if total < fewestMillimetre {
		return make([]float64, n)
	}
	wet := drawWetHours(total, n, s)
	var best []int
	most := math.Inf(-1)
	for range placementsTried {
		hours, damp := drawSpells(wet, n, 0, n, s), 0.0
		for _, h := range hours {
			damp += humidity[h]
		}
		if damp > most {
			best, most = hours, damp
		}
	}
	return shareOut(total, n, best, s)
}

// drawWetHours returns how many hours are wet: at least one, no more than the total fills.
func drawWetHours(total float64, n int, s *Stream) int {
	mean := wetHoursFactor * math.Pow(total, wetHoursPower)
	drawn := int(math.Round(s.Gamma(wetHoursShape) * mean / wetHoursShape))
	return max(1, min(drawn, n, int(total/smallestHour)))
}

// drawSpells returns the wet hours, in order.
func drawSpells(wet, n, from, to int, s *Stream) []int {
	if s.Uniform() < oneSpell || wet < 2 || to-from < n || n-wet < 1 {
		return appendSpell(nil, min(from+s.Below(to-from), n-wet), wet)
	}
	return twoSpells(wet, n, s)
}

// shareOut divides total among the wet hours: each gets the least a gauge prints, the rest is shared by gamma
// numbers. Without the least, hours that round to nothing would make fewer wet hours than were drawn.
func shareOut(total float64, n int, hours []int, s *Stream) []float64 {
	share := make([]float64, len(hours))
	sum := 0.0
	for i := range share {
		share[i] = s.Gamma(hourShareShape)
		sum += share[i]
	}
	least := min(smallestHour, total/float64(len(hours)))
	rest := total - least*float64(len(hours))
	out := make([]float64, n)
	for i, h := range hours {
		out[h] = least + rest*share[i]/sum
	}
	return out
}

func appendSpell(hours []int, start, length int) []int {
	for h := start; h < start+length; h++ {
		hours = append(hours, h)
	}
	return hours
}

// twoSpells returns wet hours in two spells with at least one dry hour between, anywhere in n hours.
func twoSpells(wet, n int, s *Stream) []int {
	first := 1 + s.Below(wet-1)
	free := n - wet - 1 // dry hours besides the one between
	a, b := s.Below(free+1), s.Below(free+1)
	a, b = min(a, b), max(a, b)
	return appendSpell(appendSpell(nil, a, first), b+first+1, wet-first)
}

// rain stores hourly rain and spreads daily totals.
func (f *filler) rain() {
	f.copyColumn(RainMM, f.m.Rain, 1)
	f.bridge(RainMM)
	if f.m.DayRain != nil {
		f.spreadDays()
	}
	if f.m.Rain == nil && f.m.DayRain == nil {
		n := f.fillRest(RainMM, func(int) (float64, bool) { return 0, true })
		f.note(RainMM, n, true, "none", "rain was not measured: none in any hour")
	}
}

func (f *filler) spreadDays() {
	spread := 0
	for i := 0; i < f.m.Hours; {
		day := f.st.day(f.m.Start + calendar.Hour(i))
		end, total, known := i, 0.0, true
		for end < f.m.Hours && f.st.day(f.m.Start+calendar.Hour(end)) == day {
			known = known && !math.IsNaN(f.m.DayRain[end])
			total += f.m.DayRain[end]
			end++
		}
		if known {
			stream := NewStream(f.st.Root, 0, day, rainHours)
			for k, mm := range spreadWhereDamp(total, f.humidity(i, end), &stream) {
				if f.s.From[RainMM][i+k] == Missing {
					f.put(RainMM, i+k, mm, Filled)
				}
			}
			spread += end - i
		}
		i = end
	}
	f.note(RainMM, spread, true, "spread", "daily rain totals of %d hours spread to hours by spells drawn at random, totals kept", spread)
}

// humidity returns the measured relative humidity of hours [first, end), 0 where it is not known.
func (f *filler) humidity(first, end int) []float64 {
	out := make([]float64, end-first)
	for k := range out {
		i := first + k
		switch {
		case f.m.RH != nil && !math.IsNaN(f.m.RH[i]):
			out[k] = f.m.RH[i]
		case f.m.Dew != nil && !math.IsNaN(f.m.Dew[i]) && !math.IsNaN(f.m.Temp[i]):
			out[k] = RelativeHumidity(f.m.Temp[i], f.m.Dew[i])
		}
	}
	return out
}

// dampen raises the dew point of hours with rain so that relative humidity is at least 0.85, and 0.95 from
// the third wet hour on. It returns how many hours it raised. Rows are float32 with one value an hour.
func dampen(temp, dew, rain []float32) int {
	raised, run := 0, 0
	for i, mm := range rain {
		if !(mm >= dampHour) { // also where rain is missing
			run = 0
			continue
		}
		run++
		least := rhFirstWetHour
		if run > 2 {
			least = rhLaterWetHour
		}
		t := float64(temp[i])
		if RelativeHumidity(t, float64(dew[i])) < least {
			dew[i] = float32(min(t, DewPointC(VaporKPa(t, least))))
			raised++
		}
	}
	return raised
}
