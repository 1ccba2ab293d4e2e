package drydown

import (
	"fmt"
	"strconv"
	"strings"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
)

// A Coefficient is one number of the model as a person may see and change it.
type Coefficient struct {
	Name      string // "kw"
	Unit      string // "1/h"; empty for a pure number
	Says      string // what it is, in a few words
	Value     float64
	Low, High float64 // accepted values
	Source    string  // key in docs/sources; "judgement" where no source stands behind the number
}

// Published reports whether the number stands in a source. The others are judgement.
func (c Coefficient) Published() bool { return c.Source != "judgement" }

// An entry describes one coefficient of the parameters P.
type entry[P any] struct {
	name, unit, says string
	low, high        float64
	source           string // empty: judgement
	at               func(*P) *float64
}

func (e entry[P]) coefficient(p *P) Coefficient {
	source := e.source
	if source == "" {
		source = "judgement"
	}
	return Coefficient{e.name, e.unit, e.says, *e.at(p), e.low, e.high, source}
}

// set stores value under name, or says why it cannot.
func set[P any](entries []entry[P], p *P, of, name string, value float64) error {
	for _, e := range entries {
		if e.name != name {
			continue
		}
		if !(value >= e.low && value <= e.high) {
			return &problem.InputError{
				Rule: "drydown.coefficient.range", Label: of + " " + name, Got: strconv.FormatFloat(value, 'g', -1, 64),
				Want: strings.TrimSpace(fmt.Sprintf("%g to %g %s", e.low, e.high, e.unit)),
			}
		}
		*e.at(p) = value
		return nil
	}
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = e.name
	}
	return &problem.InputError{
		Rule: "drydown.coefficient.name", Label: of + " coefficient", Got: name, Want: "one of " + strings.Join(names, ", "),
	}
}

// matureSources names who published the moisture at maturity that MatureWB is taken from or lies within.
var matureSources = map[crop.Kind]string{
	crop.Soybean:   "unl-specht-2019",     // R7 at 60 % [unl-specht-2019]; 55–65 % in Iowa
	crop.Corn:      "abendroth-2011",      // mean 35 %, 25–35 % typical [abendroth-2011]
	crop.Wheat:     "hrs-cut-study",       // 35–40 % [hrs-cut-study]
	crop.Sorghum:   "ksu-sorghum-drydown", // 25–35 % [ksu-sorghum-drydown]
	crop.Sunflower: "sunflower-desiccant", // 32–40 % [sunflower-desiccant]
}

// Coefficients lists every number of the model with its unit, its accepted range and its source.
func (p Params) Coefficients() []Coefficient {
	out := make([]Coefficient, 0, len(paramEntries))
	for _, e := range paramEntries {
		c := e.coefficient(&p)
		switch e.name {
		case "m0":
			if key, ok := matureSources[p.Crop]; ok {
				c.Source = key
			}
		case "emc-a", "emc-b", "emc-c":
			c.Source = p.EMC.Key
		}
		out = append(out, c)
	}
	return out
}

// With returns p with one coefficient changed. The error is a *problem.InputError that names what is accepted.
func (p Params) With(name string, value float64) (Params, error) {
	err := set(paramEntries, &p, p.Crop.String(), name, value)
	return p, err
}

// paramEntries lists the coefficients in the order people read them. Every number of a default that carries no
// source here is [judgement].
var paramEntries = []entry[Params]{
	{"emc-a", "", "equilibrium curve, A", 0, 1000, "", func(p *Params) *float64 { return &p.EMC.A }},
	{"emc-b", "", "equilibrium curve, B", -1, 5, "", func(p *Params) *float64 { return &p.EMC.B }},
	{"emc-c", "", "equilibrium curve, C", 0, 300, "", func(p *Params) *float64 { return &p.EMC.C }},
	{"m0", "% wet basis", "moisture at maturity", 15, 80, "", func(p *Params) *float64 { return &p.MatureWB }},
	{"m0-sd", "points", "spread of the moisture at maturity between fields and years", 0, 15, "", func(p *Params) *float64 { return &p.MatureSDWB }},
	{"kw", "1/h", "drying rate of wet grain at 20 °C", 0.0001, 0.5, "", func(p *Params) *float64 { return &p.Slow }},
	{"kd", "1/h", "rate added as grain gets dry", 0, 2, "", func(p *Params) *float64 { return &p.Quick }},
	{"ms", "% dry basis", "moisture over which the added rate falls to a third", 1, 100, "", func(p *Params) *float64 { return &p.QuickScale }},
	{"qt", "", "power of saturation vapor pressure in the rate", 0, 2, "", func(p *Params) *float64 { return &p.WarmthPower }},
	{"rc", "", "highest relative humidity of the equilibrium curve", 0.5, 0.98, "", func(p *Params) *float64 { return &p.DampCap }},
	{"ra", "", "rate of gaining water as a share of the drying rate", 0, 2, "", func(p *Params) *float64 { return &p.WetRate }},
	{"delta", "% dry basis", "gap between drying and wetting equilibrium", 0, 6, "", func(p *Params) *float64 { return &p.DeadBand }},
	{"as", "K m²/W", "warming by sun in still air", 0, 0.05, "", func(p *Params) *float64 { return &p.SunWarming }},
	{"al", "K", "chill of a clear still night", 0, 8, "", func(p *Params) *float64 { return &p.NightChill }},
	{"wind", "s/m", "how wind brings the surface to air temperature", 0, 5, "", func(p *Params) *float64 { return &p.WindCooling }},
	{"ci", "mm/mm", "rain caught on pods, ears or heads", 0, 1, "", func(p *Params) *float64 { return &p.Catch }},
	{"fm", "mm", "most free water the plant holds", 0, 3, "", func(p *Params) *float64 { return &p.FilmMax }},
	{"dew", "mm/h", "dew that falls at the dew point", 0, 0.5, "", func(p *Params) *float64 { return &p.DewPerHour }},
	{"film", "mm/(h kPa)", "free water that evaporates in still air", 0.001, 2, "", func(p *Params) *float64 { return &p.FilmDrying }},
	{"rain", "mm", "rain in an hour that wets the crop", 0.01, 5, "", func(p *Params) *float64 { return &p.RainWets }},
	{"uw", "% dry basis/h", "water taken up under a film of rain", 0, 10, "", func(p *Params) *float64 { return &p.Uptake }},
	{"mx", "% dry basis", "moisture at which that ends", 5, 200, "", func(p *Params) *float64 { return &p.UptakeMax }},
	{"pod", "days", "spread of maturity at one spot", 0, 15, "", func(p *Params) *float64 { return &p.PodDays }},
	{"area-even", "days", "spread of maturity across an even field", 0, 15, "", func(p *Params) *float64 { return &p.AreaEven }},
	{"area-some", "days", "spread across a field with some unevenness", 0, 15, "", func(p *Params) *float64 { return &p.AreaSome }},
	{"area-uneven", "days", "spread across an uneven field", 0, 15, "", func(p *Params) *float64 { return &p.AreaUneven }},
	{"floor", "points", "spread left when all of the field is equally ripe", 0.01, 5, "", func(p *Params) *float64 { return &p.FloorSDWB }},
	{"green", "", "part of the weight that will not ripen with the rest", 0, 0.5, "", func(p *Params) *float64 { return &p.ImmatureShare }},
	{"green-wb", "% wet basis", "its moisture until it dies", 15, 80, "", func(p *Params) *float64 { return &p.ImmatureWB }},
	{"green-days", "days", "from maturity until it dies", 0, 60, "", func(p *Params) *float64 { return &p.ImmatureDays }},
	{"dent-wb", "% wet basis", "moisture at dent", 0, 80, "abendroth-2011", func(p *Params) *float64 { return &p.DentWB }},
	{"dent-heat", "heat units °F", "heat from dent to black layer", 0, 2000, "", func(p *Params) *float64 { return &p.DentHeat }},
	{"kappa-sd", "", "spread of the log drying rate between fields", 0, 1, "", func(p *Params) *float64 { return &p.KappaSD }},
	{"kappa-walk", "", "wander of the log drying rate in a day", 0, 0.3, "", func(p *Params) *float64 { return &p.KappaWalk }},
	{"emc-sd", "points", "spread of the equilibrium between varieties", 0, 4, "", func(p *Params) *float64 { return &p.EMCSDWB }},
	{"grow-wet", "points", "error gained in a day while wet", 0, 5, "", func(p *Params) *float64 { return &p.GrowthWet }},
	{"grow-dry", "points", "error gained in a day when dry", 0, 5, "", func(p *Params) *float64 { return &p.GrowthDry }},
	{"grow-split", "% wet basis", "moisture between wet and dry", 5, 60, "", func(p *Params) *float64 { return &p.GrowthSplit }},
	{"spot", "points", "spread between samples of dry grain", 0, 5, "", func(p *Params) *float64 { return &p.SpotSDWB }},
	{"spot-dry", "% wet basis", "moisture below which that holds", 5, 24, "", func(p *Params) *float64 { return &p.SpotDryWB }},
	{"spot-mid", "points", "spread between samples at 25 %", 0, 8, "", func(p *Params) *float64 { return &p.SpotSDMidWB }},
	{"spot-wet", "points", "spread between samples at 45 % and above", 0, 12, "", func(p *Params) *float64 { return &p.SpotSDWetWB }},
	{"spot-uneven", "", "factor on the spread in an uneven field", 1, 5, "", func(p *Params) *float64 { return &p.SpotUnevenBy }},
}
