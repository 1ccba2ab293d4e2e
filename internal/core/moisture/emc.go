package moisture

import (
	"math"

	"threshday/internal/core/units"
)

// A Form is one of the four equilibrium equations of ASAE D245, each solved for the moisture.
type Form uint8

// The forms, M in percent dry basis, T in °C, h relative humidity as a fraction. [asae-d245]
const (
	Halsey     Form = iota + 1 // modified Halsey: M = [exp(A+B·T) / (−ln h)]^(1/C)
	Henderson                  // modified Henderson: M = [−ln(1−h) / (A·(T+C))]^(1/B)
	ChungPfost                 // modified Chung-Pfost: M = −(1/B)·ln[−(T+C)·ln h / A]
	Oswin                      // modified Oswin: M = (A+B·T)·[h/(1−h)]^(1/C)
)

var formNames = [...]string{"", "modified Halsey", "modified Henderson", "modified Chung-Pfost", "modified Oswin"}

// String returns the name in full, "modified Halsey".
func (f Form) String() string {
	if int(f) >= len(formNames) {
		return ""
	}
	return formNames[f]
}

// Where the equations are held. [judgement]
const (
	minHumidity = 0.01 // a typed 0 % would ask for ln 0
	maxHumidity = 0.99 // a typed 100 % likewise, and three of the forms run to infinity
	minCelsius  = -25  // Henderson and Chung-Pfost have no answer at T = −C, for corn −31.7 °C
	maxCelsius  = 100  // Oswin for corn turns negative at 150 °C; no grain is that hot
	minDryPct   = 0.5  // Chung-Pfost turns negative in very dry air
)

// An Isotherm gives the moisture at which one grain neither gains nor loses water, for each air. The zero
// Isotherm has no form; asking it panics.
type Isotherm struct {
	Form    Form
	A, B, C float64
	Key     string // of the source, in docs/sources/moisture.md
	Note    string // what to know before believing it; may be empty
}

// DryBasisPct returns the equilibrium moisture in percent dry basis for air of t °C and relative humidity rh
// as a fraction. It is the fast path of the hourly model: plain numbers, no allocation, no check but the
// holds: t is held in −25 to 100 °C, rh in 0.01 to 0.99, the answer at 0.5 or more. NaN in gives NaN out.
// Near saturation the forms run away (soybean 27.8 % wet at 90 %): cap rh before the call where the grain
// stands in fog or rain. See [Isotherm.Equilibrium] for the checked form.
func (i Isotherm) DryBasisPct(t, rh float64) float64 {
	t = min(max(t, minCelsius), maxCelsius)
	rh = min(max(rh, minHumidity), maxHumidity)
	var m float64
	switch i.Form { // [asae-d245]; powers as exp of a logarithm, a third of the time of math.Pow
	case Halsey:
		m = math.Exp((i.A + i.B*t - math.Log(-math.Log(rh))) / i.C)
	case Henderson:
		m = math.Exp(math.Log(-math.Log1p(-rh)/(i.A*(t+i.C))) / i.B)
	case ChungPfost:
		m = -math.Log(-(t+i.C)*math.Log(rh)/i.A) / i.B
	case Oswin:
		m = (i.A + i.B*t) * math.Exp(math.Log(rh/(1-rh))/i.C)
	default:
		panic("moisture: isotherm without a form")
	}
	return max(m, minDryPct)
}

// Equilibrium returns where grain settles in air of temperature t and relative humidity rh, a fraction.
// Panics unless rh lies in 0 to 1, so that a percent does not pass for a fraction. t is held in −25 to
// 100 °C and rh in 0.01 to 0.99.
func (i Isotherm) Equilibrium(t units.Temperature, rh float64) Content {
	if !(rh >= 0 && rh <= 1) {
		panic("moisture: relative humidity outside 0 to 1")
	}
	return DryBasis(i.DryBasisPct(t.Celsius(), rh))
}

// Humidity returns the relative humidity, a fraction, of air at rest with grain of content m at temperature t,
// as between the kernels of a bin: the inverse of Equilibrium. t is held in −25 to 100 °C.
// Panics unless m lies in 0 to below 100 % wet basis.
func (i Isotherm) Humidity(t units.Temperature, m Content) float64 {
	m.mustBeGrain()
	tc := min(max(t.Celsius(), minCelsius), maxCelsius)
	dry := m.DryBasisPct()
	switch i.Form { // [asae-d245]
	case Halsey:
		return math.Exp(-math.Exp(i.A+i.B*tc) * math.Pow(dry, -i.C))
	case Henderson:
		return -math.Expm1(-i.A * (tc + i.C) * math.Pow(dry, i.B))
	case ChungPfost:
		return math.Exp(-i.A / (tc + i.C) * math.Exp(-i.B*dry))
	case Oswin:
		return 1 / (1 + math.Pow((i.A+i.B*tc)/dry, i.C))
	default:
		panic("moisture: isotherm without a form")
	}
}
