package cli

import (
	"strconv"
	"strings"

	"threshday/internal/core/units"
)

// digits returns x with that many decimals and commas that part the thousands: "1,934.55".
func digits(x float64, decimals int) string {
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	whole, fraction, point := strings.Cut(strings.TrimPrefix(text, "-"), ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if point {
		whole += "." + fraction
	}
	if strings.HasPrefix(text, "-") && strings.Trim(whole, "0.,") != "" {
		whole = "-" + whole
	}
	return whole
}

// short returns x with at most that many decimals, zeros at the end left off: "4.5", "12".
func short(x float64, decimals int) string {
	text := digits(x, decimals)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// twoDigits returns x with two significant digits, which is all that a forecast of losses deserves: "7.0", "0.64", "15".
func twoDigits(x float64) string {
	switch {
	case x >= 9.95:
		return digits(x, 0)
	case x >= 0.995:
		return digits(x, 1)
	}
	return digits(x, 2)
}

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
