package weatherfile

import (
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/units"
)

// A quantity is what a column of numbers measures.
type quantity uint8

const (
	temperature quantity = iota
	dewPoint
	humidity
	windSpeed
	rain
	sky
	solar
	photons
	dayRain
	quantities
)

// A columnKind is a column that the format knows: how to turn its figures into °C, fraction, m/s, mm or W/m²,
// and which of them can be.
type columnKind struct {
	name     string
	of       quantity
	scale    float64 // SI = (figure − zero) × scale
	zero     float64
	low      float64 // as figures of the column
	high     float64
	accepted string // for messages
}

// columnKinds are the columns of the plain CSV. The limits are what the network of stations could measure
// anywhere on Earth, a little widened: they catch a wrong unit or a slipped digit, not bad weather.
var columnKinds = []columnKind{
	{"temp_c", temperature, 1, 0, -60, 60, "-60 to 60 °C"},
	{"temp_f", temperature, 1 / 1.8, 32, -76, 140, "-76 to 140 °F"},
	{"dew_c", dewPoint, 1, 0, -80, 45, "-80 to 45 °C"},
	{"dew_f", dewPoint, 1 / 1.8, 32, -112, 113, "-112 to 113 °F"},
	{"rh_pct", humidity, 0.01, 0, 0, 102, "0 to 102 %"},
	{"rh_frac", humidity, 1, 0, 0, 1.02, "0 to 1.02, a fraction"},
	{"wind_ms", windSpeed, 1, 0, 0, 75, "0 to 75 m/s"},
	{"wind_mph", windSpeed, float64(units.MilePerHour), 0, 0, 168, "0 to 168 mph"},
	{"wind_kmh", windSpeed, float64(units.KilometerPerHour), 0, 0, 270, "0 to 270 km/h"},
	{"rain_mm", rain, 1, 0, 0, 305, "0 to 305 mm in the hour"},
	{"rain_in", rain, 25.4, 0, 0, 12, "0 to 12 inches in the hour"},
	{"sky_pct", sky, 0.01, 0, 0, 100, "0 to 100 % covered"},
	{"solar_wm2", solar, 1, 0, -30, 1500, "-30 to 1500 W/m²"},
	{"ppfd_umol", photons, 1, 0, -60, 3200, "-60 to 3200 µmol/(m²·s)"},
	{"precip_rate_mm_h_daily_mean", dayRain, 1, 0, 0, 80, "0 to 80 mm/h, the day's total divided by its hours"},
}

// Columns of time.
const (
	timeUTC      = "time_utc"
	timeLocal    = "time_local"
	timeStandard = "time_lst"
	offsetColumn = "utc_offset_h"
)

func kindNamed(name string) (columnKind, bool) {
	i := slices.IndexFunc(columnKinds, func(k columnKind) bool { return k.name == name })
	if i < 0 {
		return columnKind{}, false
	}
	return columnKinds[i], true
}

// sameStem returns the known columns that begin with the same word: temp_k is meant as a temperature.
func sameStem(name string) []string {
	stem, _, _ := strings.Cut(name, "_")
	var out []string
	for _, k := range columnKinds {
		if known, _, _ := strings.Cut(k.name, "_"); known == stem {
			out = append(out, k.name)
		}
	}
	return out
}

func (q quantity) columns() []string {
	var out []string
	for _, k := range columnKinds {
		if k.of == q {
			out = append(out, k.name)
		}
	}
	return out
}

func oneOf(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return fmt.Sprintf("%s or %s", strings.Join(names[:len(names)-1], ", "), names[len(names)-1])
}
