// Package quantity reads amounts that people type with their unit, "35ft", "77F", "-35c", "55bu/ac", and writes
// them back, for the season file and the command line alike.
//
// A bare number is refused where two units are in common use (length, weight, speed, temperature, yield, money,
// distance, volume, time) and accepted where only one is (percent, bushels). Numbers are strict decimals, see
// [ParseNumber]. Unit names may be upper or lower case and may stand after a space. The hard fences here are those of
// the quantity itself (no negative length, nothing colder than absolute zero); what a machine or a field allows is
// the caller's to check.
//
// Every error is a [*problem.InputError] that carries the label handed in and no place; the caller adds the place.
// Every Format function returns text that its Parse function reads back to the same value, bit for bit, in the unit
// that needs the fewest digits.
package quantity

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"threshday/internal/core/problem"
	"threshday/internal/core/units"
)

// A unit of measurement as people write it, and how many base units it holds.
type unit struct {
	name   string // written form
	factor float64
	also   []string // other spellings, lower case
	seldom bool     // written only where no other unit is exact
}

// A kind of quantity: its units in the order of preference for writing. One of them has factor 1, so that any
// value can be written exactly.
type kind struct {
	noun  string // "a length"
	units []unit
	want  string // examples, "35ft or 10.7m"
}

var lengths = kind{"a length", []unit{
	{"ft", float64(units.Foot), []string{"'", "feet", "foot"}, false},
	{"m", 1, []string{"metre", "metres", "meter", "meters"}, false},
	{"in", float64(units.Inch), []string{"\"", "inch", "inches"}, false},
	{"cm", 0.01, nil, false},
}, "35ft, 10.7m or 30in"}

var distances = kind{"a distance", []unit{
	{"mi", float64(units.Mile), []string{"mile", "miles"}, false},
	{"km", 1000, nil, false},
	{"ft", float64(units.Foot), []string{"feet", "foot"}, false},
	{"m", 1, []string{"metre", "metres", "meter", "meters"}, false},
}, "18mi or 29km"}

var masses = kind{"a weight", []unit{
	{"lb", float64(units.Pound), []string{"lbs"}, false},
	{"kg", 1, nil, false},
	{"t", float64(units.Tonne), []string{"tonne", "tonnes"}, false},
}, "80000lb, 36.3t or 450kg"}

var speeds = kind{"a speed", []unit{
	{"mph", float64(units.MilePerHour), []string{"mi/h"}, false},
	{"km/h", float64(units.KilometerPerHour), []string{"kmh", "kph"}, false},
	{"m/s", 1, nil, true},
}, "4.5mph or 7.2km/h"}

// The US liquid gallon is 231 in³. [nist-44]
var volumes = kind{"a volume", []unit{
	{"gal", 231 * 0.0254 * 0.0254 * 0.0254, []string{"gallon", "gallons"}, false},
	{"L", 0.001, []string{"litre", "litres", "liter", "liters"}, false},
	{"ft3", float64(units.CubicFoot), []string{"ft³", "cuft"}, false},
	{"m3", 1, []string{"m³"}, false},
}, "500gal, 1900L, 320ft3 or 9.1m3"}

// ParseLength reads "35ft", "10.7m", "30in", "75cm" or "13ft6in". It is not below 0.
func ParseLength(label, s string) (units.Length, error) {
	if feet, inches, ok := strings.Cut(strings.ToLower(s), "ft"); ok && strings.TrimSpace(inches) != "" {
		whole, err := lengths.parse(label, feet+"ft")
		if err != nil {
			return 0, lengths.wrong(label, s)
		}
		rest, err := lengths.parse(label, inches)
		if err != nil || rest >= float64(units.Foot) || !strings.HasSuffix(inches, "in") {
			return 0, lengths.wrong(label, s)
		}
		return units.Length(whole + rest), nil
	}
	v, err := lengths.parse(label, s)
	return units.Length(v), err
}

// ParseDistance reads a way on the road, "18mi" or "29km". It is not below 0.
func ParseDistance(label, s string) (units.Length, error) {
	v, err := distances.parse(label, s)
	return units.Length(v), err
}

// ParseMass reads "80000lb", "36.3t" or "450kg". It is not below 0. A t is the metric tonne; the short ton of
// 2000 lb has no spelling here, because both are called ton.
func ParseMass(label, s string) (units.Mass, error) {
	v, err := masses.parse(label, s)
	return units.Mass(v), err
}

// ParseSpeed reads "4.5mph", "7.2km/h" or "2m/s". It is not below 0.
func ParseSpeed(label, s string) (units.Speed, error) {
	v, err := speeds.parse(label, s)
	return units.Speed(v), err
}

// ParseVolume reads "500gal" (US), "1900L", "320ft3" or "9.1m3". It is not below 0.
func ParseVolume(label, s string) (units.Volume, error) {
	v, err := volumes.parse(label, s)
	return units.Volume(v), err
}

// ParseMiles reads a way on the road like [ParseDistance] and returns it in statute miles; miles stay exactly as typed.
func ParseMiles(label, s string) (float64, error) {
	k := distances.in(float64(units.Mile))
	return k.parse(label, s)
}

// FormatMiles returns miles as [ParseMiles] reads them, "18mi".
func FormatMiles(miles float64) string {
	k := distances.in(float64(units.Mile))
	return k.format(miles)
}

// ParseMilesPerHour reads a speed like [ParseSpeed] and returns it in miles per hour, exactly as typed in mph.
func ParseMilesPerHour(label, s string) (float64, error) {
	k := speeds.in(float64(units.MilePerHour))
	return k.parse(label, s)
}

// FormatMilesPerHour returns mph as [ParseMilesPerHour] reads them, "45mph".
func FormatMilesPerHour(mph float64) string {
	k := speeds.in(float64(units.MilePerHour))
	return k.format(mph)
}

// FormatLength returns l as ParseLength reads it, "35ft".
func FormatLength(l units.Length) string { return lengths.format(float64(l)) }

// FormatDistance returns l as ParseDistance reads it, "18mi".
func FormatDistance(l units.Length) string { return distances.format(float64(l)) }

// FormatMass returns m as ParseMass reads it, "80000lb".
func FormatMass(m units.Mass) string { return masses.format(float64(m)) }

// FormatSpeed returns v as ParseSpeed reads it, "4.5mph".
func FormatSpeed(v units.Speed) string { return speeds.format(float64(v)) }

// FormatVolume returns v as ParseVolume reads it, "500gal".
func FormatVolume(v units.Volume) string { return volumes.format(float64(v)) }

// in returns k with another base: each factor counted in units of the given one, which itself becomes exactly 1.
func (k *kind) in(base float64) kind {
	out := *k
	out.units = make([]unit, len(k.units))
	for i, u := range k.units {
		u.factor /= base
		out.units[i] = u
	}
	return out
}

// parse returns the value of s in base units.
func (k *kind) parse(label, s string) (float64, error) {
	number, u, err := k.split(label, s)
	if err != nil {
		return 0, err
	}
	x, hint, ok := decimal(number)
	if !ok {
		e := k.wrong(label, s)
		e.Next = hint
		return 0, e
	}
	if x < 0 {
		return 0, k.negative(label, s)
	}
	return x * u.factor, nil
}

// split returns the number and the unit of s.
func (k *kind) split(label, s string) (number string, u unit, err error) {
	number, name := cut(s)
	if number == "" {
		return "", unit{}, k.wrong(label, s)
	}
	if name == "" {
		return "", unit{}, k.bare(label, s)
	}
	for _, u := range k.units {
		if strings.EqualFold(name, u.name) {
			return number, u, nil
		}
		for _, other := range u.also {
			if strings.EqualFold(name, other) {
				return number, u, nil
			}
		}
	}
	return "", unit{}, &problem.InputError{
		Rule: "unit.unknown", Label: label, Got: shorten(s),
		Want: fmt.Sprintf("%s in %s, as %s", k.noun, k.list(), k.want),
	}
}

// bare refuses a number without a unit and names what to add.
func (k *kind) bare(label, s string) *problem.InputError {
	number := strings.TrimSpace(s)
	return &problem.InputError{
		Rule: "unit.missing", Label: label, Got: shorten(s),
		Want: fmt.Sprintf("%s with its unit, as %s", k.noun, k.want),
		Next: fmt.Sprintf("Write the unit after the number: %s or %s.", shorten(number)+k.units[0].name, shorten(number)+k.units[1].name),
	}
}

// wrong refuses what is no quantity at all.
func (k *kind) wrong(label, s string) *problem.InputError {
	return &problem.InputError{
		Rule: "number.form", Label: label, Got: shorten(s),
		Want: fmt.Sprintf("%s with its unit, as %s", k.noun, k.want),
	}
}

// negative refuses a quantity below 0.
func (k *kind) negative(label, s string) *problem.InputError {
	return &problem.InputError{Rule: "number.range", Label: label, Got: shorten(s), Want: k.noun + " of 0 or more, as " + k.want}
}

// list returns "ft, m, in or cm".
func (k *kind) list() string {
	names := make([]string, len(k.units))
	for i, u := range k.units {
		names[i] = u.name
	}
	return oneOf(names)
}

// format returns base units in the unit that needs the fewest digits; among equals the first of the kind.
func (k *kind) format(base float64) string {
	return k.shortest(base, func(x float64) bool { return x == base })
}

// shortest returns base units as a number and a unit for which same holds once they are multiplied out.
func (k *kind) shortest(base float64, same func(float64) bool) string {
	best, fewest := "", math.MaxInt
	for _, u := range k.units {
		number, ok := exact(base/u.factor, func(x float64) bool { return same(x * u.factor) })
		digits := len(strings.Replace(number, ".", "", 1))
		if ok && digits < fewest && (!u.seldom || best == "") {
			best, fewest = number+u.name, digits
		}
	}
	return best
}

// cut separates the leading number from what follows, both trimmed.
func cut(s string) (number, rest string) {
	s = strings.TrimSpace(s)
	end := 0
	for i, r := range s {
		if !unicode.IsDigit(r) && !strings.ContainsRune("+-−.,", r) {
			break
		}
		end = i + utf8.RuneLen(r)
	}
	return s[:end], strings.TrimSpace(s[end:])
}

// oneOf returns "a, b or c".
func oneOf(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// maxGot is how much of what was typed a message repeats, in characters.
const maxGot = 60

// shorten returns s cut to what a message repeats.
func shorten(s string) string {
	if r := []rune(s); len(r) > maxGot {
		return string(r[:maxGot-1]) + "…"
	}
	return s
}
