package cli

import (
	"time"

	"threshday/internal/answer"
	"threshday/internal/core/units"
	"threshday/internal/words"
)

// digits returns x with that many decimals and commas that part the thousands: "1,934.55".
func digits(x float64, decimals int) string { return words.Digits(x, decimals) }

// short returns x with at most that many decimals, zeros at the end left off: "4.5", "12".
func short(x float64, decimals int) string { return words.Short(x, decimals) }

// twoDigits returns x with two significant digits.
func twoDigits(x float64) string { return words.Two(x) }

// plural returns "1 load", "1,204 loads".
func plural(n int64, one string) string { return words.Plural(n, one) }

// oneOf returns "a, b or c".
func oneOf(names []string) string { return words.OneOf(names) }

// stamp writes an instant as scripts read it, with the farm's offset.
func stamp(t time.Time) string { return answer.Stamp(t) }

// list returns an empty list, never null.
func list(s []string) []string { return answer.List(s) }

// momentLayout is how a moment is written in a sentence.
const momentLayout = answer.MomentLayout

// both returns a US and a metric form, the one the person asked for first and the other in parentheses.
func (s *session) both(us, metric string) string {
	if s.metric {
		us, metric = metric, us
	}
	return us + " (" + metric + ")"
}

func (s *session) temperature(t units.Temperature) string {
	return s.both(short(t.Fahrenheit(), 1)+" °F", short(t.Celsius(), 1)+" °C")
}

func (s *session) length(l units.Length) string {
	return s.both(short(l.Feet(), 2)+" ft", short(l.Meters(), 2)+" m")
}

func (s *session) mass(m units.Mass) string {
	return s.both(short(m.Pounds(), 0)+" lb", short(m.Kilograms(), 0)+" kg")
}

func (s *session) speed(v units.Speed) string {
	return s.both(short(v.MilesPerHour(), 2)+" mph", short(v.KilometersPerHour(), 2)+" km/h")
}
