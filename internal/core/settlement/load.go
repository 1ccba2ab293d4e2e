package settlement

import (
	"math/bits"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/trade"
)

// A Load is a truckload as its ticket shows it.
type Load struct {
	Crop     crop.Kind
	Class    string // of wheat; empty: not stated
	Day      calendar.Day
	Gross    trade.Pounds
	Tare     trade.Pounds
	Readings Readings
}

// Net returns gross less tare.
func (l Load) Net() trade.Pounds { return l.Gross - l.Tare }

// Readings are the grade factors of a ticket: what was measured, in hundredths of each factor's unit, and
// which flags were noted. A factor that was not measured is absent, never zero. The zero Readings has none.
type Readings struct {
	have uint64 // bit f is set when factor f was measured or noted
	x    [OdourMusty]int32
}

// With returns r with factor f read as x. Panics for a flag and for a figure no instrument prints.
func (r Readings) With(f Factor, x trade.Percent) Readings {
	if f == NoFactor || f >= OdourMusty || x < -1<<30 || x > 1<<30 {
		panic("settlement: not a reading of a measured factor")
	}
	r.have |= 1 << f
	r.x[f] = int32(x)
	return r
}

// WithFlag returns r with flag f noted.
func (r Readings) WithFlag(f Factor) Readings {
	if !f.IsFlag() {
		panic("settlement: not a flag")
	}
	r.have |= 1 << f
	return r
}

// Of returns the reading of f and whether it was measured.
func (r Readings) Of(f Factor) (trade.Percent, bool) {
	if f == NoFactor || f >= OdourMusty || r.have>>f&1 == 0 {
		return 0, false
	}
	return trade.Percent(r.x[f]), true
}

// Noted reports whether flag f was noted.
func (r Readings) Noted(f Factor) bool {
	return f.IsFlag() && (f == EveryLoad || r.have>>f&1 == 1)
}

// All calls yield for every factor measured or noted, in order, with its reading (0 for a flag).
func (r Readings) All(yield func(Factor, trade.Percent) bool) {
	for have := r.have; have != 0; have &= have - 1 {
		f := Factor(bits.TrailingZeros64(have)) //nolint:gosec // at most 63
		var x trade.Percent
		if f < OdourMusty {
			x = trade.Percent(r.x[f])
		}
		if !yield(f, x) {
			return
		}
	}
}

// Average returns the readings of several loads of one crop settled together: of each factor that every load
// measured, the mean weighted by net pounds, rounded half-up once to the precision it is recorded in; of the
// flags, those noted on any load. The second result lists factors that some loads lack.
func Average(loads []Load) (Readings, []Factor) {
	var out Readings
	var missing []Factor
	for f := Moisture; f < factorCount; f++ {
		var sum, weight int64
		found := 0
		for _, l := range loads {
			if l.Readings.have>>f&1 == 0 {
				continue
			}
			found++
			if !f.IsFlag() {
				sum += int64(l.Net()) * int64(l.Readings.x[f])
			}
			weight += int64(l.Net())
		}
		switch {
		case found == 0:
		case f.IsFlag():
			out = out.WithFlag(f)
		case found < len(loads) || weight <= 0:
			missing = append(missing, f)
		default:
			step := int64(f.info().precision)
			out = out.With(f, trade.Percent(trade.HalfUp.Div(sum, weight*step)*step))
		}
	}
	return out, missing
}
