package quantity

import (
	"math"
	"strings"
	"time"

	"threshday/internal/core/problem"
	"threshday/internal/core/units"
)

// ParseTemperature reads "77F", "25C" or "-3.5°C".
func ParseTemperature(label, s string) (units.Temperature, error) {
	e := &problem.InputError{Rule: "number.form", Label: label, Got: shorten(s), Want: "a temperature with its unit, as 77F or 25C"}
	number, unit := cut(s)
	if number == "" {
		return units.Temperature{}, e
	}
	x, hint, ok := decimal(number)
	if !ok {
		e.Next = hint
		return units.Temperature{}, e
	}
	var t units.Temperature
	switch strings.ToUpper(strings.TrimPrefix(unit, "°")) {
	case "F":
		t = units.Fahrenheit(x)
	case "C":
		t = units.Celsius(x)
	case "":
		e.Rule = "unit.missing"
		e.Next = "Write the unit after the number: " + shorten(number) + "F or " + shorten(number) + "C."
		return units.Temperature{}, e
	default:
		e.Rule = "unit.unknown"
		return units.Temperature{}, e
	}
	if t.Celsius() < absoluteZeroC {
		e.Rule, e.Want = "number.range", "a temperature above absolute zero, as 77F or 25C"
		return units.Temperature{}, e
	}
	return t, nil
}

// absoluteZeroC is where the Celsius scale ends, by definition of the kelvin.
const absoluteZeroC = -273.15

// FormatTemperature returns t as ParseTemperature reads it, "77F".
func FormatTemperature(t units.Temperature) string {
	c, _ := exact(t.Celsius(), func(x float64) bool { return units.Celsius(x) == t })
	f, ok := exact(t.Fahrenheit(), func(x float64) bool { return units.Fahrenheit(x) == t })
	if ok && len(f) <= len(c) {
		return f + "F"
	}
	return c + "C"
}

// A Yield is crop per area as stated: bushels an acre, or a weight per area that a crop's bushel turns into them.
type Yield struct {
	value float64 // bu/ac, or kg/m²
	bu    bool
}

// Weights per area, in kg/m².
var yields = kind{"a yield", []unit{
	{"t/ha", 0.1, nil, false},
	{"lb/ac", float64(units.Pound) / float64(units.Acre), nil, false},
	{"kg/ha", 1e-4, nil, false},
}, "55bu/ac or 3.7t/ha"}

// ParseYield reads "55bu/ac", "3.7t/ha", "3300lb/ac" or "3700kg/ha". It is not below 0.
func ParseYield(label, s string) (Yield, error) {
	number, unit := cut(s)
	if number != "" && (strings.EqualFold(unit, "bu/ac") || strings.EqualFold(unit, "bu/acre")) {
		x, hint, ok := decimal(number)
		if !ok {
			e := yields.wrong(label, s)
			e.Next = hint
			return Yield{}, e
		}
		if x < 0 {
			return Yield{}, yields.negative(label, s)
		}
		return Yield{value: x, bu: true}, nil
	}
	if number != "" && unit == "" {
		e := yields.bare(label, s)
		e.Next = "Write the unit after the number: " + shorten(number) + "bu/ac or " + shorten(number) + "t/ha."
		return Yield{}, e
	}
	v, err := yields.parse(label, s)
	return Yield{value: v}, err
}

// InBushels reports whether y was stated in bushels, so that it needs no weight of a bushel.
func (y Yield) InBushels() bool { return y.bu }

// BushelsPerAcre returns y in bushels of the given weight.
func (y Yield) BushelsPerAcre(bushel units.Mass) float64 {
	if y.bu {
		return y.value
	}
	return y.value * float64(units.Acre) / float64(bushel)
}

// FormatYield returns bushels of the given weight per acre as [ParseYield] reads them: "55bu/ac", or "3.7t/ha" where
// that needs fewer digits. Without a weight of a bushel, 0, it is always in bushels.
func FormatYield(buPerAcre float64, bushel units.Mass) string {
	text, _ := exact(buPerAcre, func(x float64) bool { return x == buPerAcre })
	best := text + "bu/ac"
	if bushel <= 0 {
		return best
	}
	t := yields.units[0]
	number, ok := exact(buPerAcre*float64(bushel)/float64(units.Acre)/t.factor, func(x float64) bool {
		return Yield{value: x * t.factor}.BushelsPerAcre(bushel) == buPerAcre
	})
	if ok && len(number) < len(text) {
		return number + t.name
	}
	return best
}

// The units of time, in nanoseconds.
var durations = kind{"a time", []unit{
	{"min", float64(time.Minute), []string{"minute", "minutes"}, false},
	{"h", float64(time.Hour), []string{"hr", "hour", "hours"}, false},
	{"s", float64(time.Second), []string{"sec", "second", "seconds"}, false},
}, "12min, 1.5h or 45s"}

// ParseDuration reads "12min", "1.5h", "45s" or "1h30min", to the nanosecond. It is not below 0 and at most a year.
func ParseDuration(label, s string) (time.Duration, error) {
	whole := 0.0
	rest := strings.ToLower(s)
	if hours, minutes, ok := strings.Cut(rest, "h"); ok && strings.HasSuffix(strings.TrimSpace(minutes), "min") {
		v, err := durations.parse(label, hours+"h")
		if err != nil {
			return 0, durations.wrong(label, s)
		}
		whole, rest = v, minutes
	}
	v, err := durations.parse(label, rest)
	if err != nil {
		if whole != 0 {
			return 0, durations.wrong(label, s)
		}
		return 0, err
	}
	const year = 366 * 24 * time.Hour
	if whole+v > float64(year) {
		return 0, &problem.InputError{Rule: "number.range", Label: label, Got: shorten(s), Want: "a time of at most a year, as 12min or 1.5h"}
	}
	return time.Duration(math.Round(whole + v)), nil
}

// FormatDuration returns d as ParseDuration reads it, "12min".
func FormatDuration(d time.Duration) string {
	return durations.shortest(float64(d), func(x float64) bool { return time.Duration(math.Round(x)) == d })
}

// ParseMinutes reads a time like "12min", "1.5h" or "45s" and returns it in minutes, exactly as typed in min.
// It is not below 0.
func ParseMinutes(label, s string) (float64, error) {
	k := durations.in(float64(time.Minute))
	return k.parse(label, s)
}

// FormatMinutes returns minutes as [ParseMinutes] reads them, "12min".
func FormatMinutes(minutes float64) string {
	k := durations.in(float64(time.Minute))
	return k.format(minutes)
}
