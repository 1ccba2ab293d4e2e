package gridpoint

import (
	"slices"
	"strings"

	"threshday/internal/core/units"
)

// A quantity is what one layer of a forecast holds.
type quantity uint8

const (
	temperature quantity = iota // °C
	dewPoint                    // °C
	humidity                    // fraction
	wind                        // m/s at 10 m
	cloud                       // fraction
	chance                      // fraction
	amount                      // mm in the interval
	quantities
)

// A layerKind says what a layer of the raw grid holds, in which units it may come and what can be.
type layerKind struct {
	name      string
	units     []string
	low, high float64 // in our own unit
	accepted  string
}

// layerKinds are the layers that are used. The limits are what can be anywhere the service speaks of; a figure beyond
// them is a fault of the service, which has happened. [nws-api] for names and units, [judgement] for limits
var layerKinds = [quantities]layerKind{
	temperature: {"temperature", []string{"degC", "degF", "K"}, -60, 60, "-60 to 60 °C"},
	dewPoint:    {"dewpoint", []string{"degC", "degF", "K"}, -80, 45, "-80 to 45 °C"},
	humidity:    {"relativeHumidity", []string{"percent"}, 0, 1.02, "0 to 102 %"},
	wind:        {"windSpeed", []string{"km_h-1", "m_s-1", "kt"}, 0, 75, "0 to 75 m/s"},
	cloud:       {"skyCover", []string{"percent"}, 0, 1, "0 to 100 %"},
	chance:      {"probabilityOfPrecipitation", []string{"percent"}, 0, 1, "0 to 100 %"},
	amount:      {"quantitativePrecipitation", []string{"mm", "m"}, 0, 300, "0 to 300 mm in six hours"},
}

// bareUnit returns a unit without the namespace before its colon: "wmoUnit:degC", "unit:degC" and "degC" are one.
func bareUnit(s string) string { return s[strings.LastIndexByte(s, ':')+1:] }

// toOwn returns what turns a layer's figures into our unit; ok is false for a unit that the layer may not have.
func (k layerKind) toOwn(unit string) (convert func(float64) float64, ok bool) {
	unit = bareUnit(unit)
	if !slices.Contains(k.units, unit) {
		return nil, false
	}
	scale := func(by float64) func(float64) float64 { return func(x float64) float64 { return x * by } }
	switch unit {
	case "degC", "mm", "m_s-1":
		return scale(1), true
	case "degF":
		return func(x float64) float64 { return units.Fahrenheit(x).Celsius() }, true
	case "K":
		return func(x float64) float64 { return x - 273.15 }, true
	case "percent":
		return func(x float64) float64 { return x / 100 }, true
	case "km_h-1":
		return scale(float64(units.KilometerPerHour)), true
	case "kt":
		return scale(1.852 * float64(units.KilometerPerHour)), true // the nautical mile is 1852 m
	case "m":
		return scale(1000), true
	}
	return nil, false
}
