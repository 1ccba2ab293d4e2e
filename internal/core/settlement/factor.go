package settlement

import (
	"slices"

	"threshday/internal/core/crop"
	"threshday/internal/core/trade"
)

// A Factor is something a grader measures or notes on a load. The zero Factor is none.
type Factor uint8

// The factors. Those from OdourMusty on are flags: noted or not, never measured.
const (
	NoFactor Factor = iota
	Moisture
	TestWeight
	ForeignMaterial
	Dockage
	DamageTotal
	HeatDamage
	Splits
	BCFM // broken corn and foreign material
	Broken
	ShrunkenBroken
	Green
	Protein
	Oil
	Vomitoxin
	Aflatoxin
	FallingNumber
	Temperature
	OtherColors
	ContrastingClasses
	OtherClasses
	Ergot
	Sclerotinia
	Stones
	AdmixtureConspicuous
	AdmixtureInconspicuous
	Dehulled
	AnimalFilth
	OdourMusty
	OdourSour
	OdourOther
	Infested
	Heating
	Garlicky
	TreatedSeed
	Glass
	Filth
	EveryLoad // true of every load: fees that ask for no measurement
	factorCount
)

// factorInfo is what is known of a factor. Figures are hundredths of its unit.
type factorInfo struct {
	name      string // in files
	words     string // for people
	unit      string
	precision trade.Percent // step in which it is recorded
	low, high trade.Percent // physical range; beyond it the ticket is misread
	crops     []crop.Kind   // measured for these only; nil: any crop
}

// Recorded to 0.1: splits [fr-1994-soy], wheat moisture [purdue-ay-243], test weight of corn [fr-1995-corn] and soybeans
// [fr-2006-soy]; the others recalled [settlement-recalled]. Physical ranges are [judgement], wide of any
// load that reaches a scale.
var factors = [factorCount]factorInfo{
	Moisture:               {"moisture", "moisture", "%", 10, 5_00, 45_00, nil},
	TestWeight:             {"test_weight", "test weight", "lb/bu", 10, 30_00, 70_00, nil},
	ForeignMaterial:        {"foreign_material", "foreign material", "%", 10, 0, 50_00, nil},
	Dockage:                {"dockage", "dockage", "%", 10, 0, 100_00, nil},
	DamageTotal:            {"damage_total", "total damage", "%", 10, 0, 100_00, nil},
	HeatDamage:             {"heat_damage", "heat damage", "%", 10, 0, 100_00, nil},
	Splits:                 {"splits", "splits", "%", 10, 0, 100_00, []crop.Kind{crop.Soybean}},
	BCFM:                   {"bcfm", "broken corn and foreign material", "%", 10, 0, 100_00, []crop.Kind{crop.Corn}},
	Broken:                 {"broken", "broken kernels", "%", 10, 0, 100_00, nil},
	ShrunkenBroken:         {"shrunken_broken", "shrunken and broken kernels", "%", 10, 0, 100_00, []crop.Kind{crop.Wheat}},
	Green:                  {"green", "green seed", "%", 10, 0, 100_00, []crop.Kind{crop.Soybean, crop.Canola}},
	Protein:                {"protein", "protein", "%", 10, 0, 60_00, nil},
	Oil:                    {"oil", "oil", "%", 10, 0, 70_00, nil},
	Vomitoxin:              {"vomitoxin_ppm", "vomitoxin", "ppm", 10, 0, 100_00, nil},
	Aflatoxin:              {"aflatoxin_ppb", "aflatoxin", "ppb", 100, 0, 5000_00, nil},
	FallingNumber:          {"falling_number", "falling number", "s", 100, 60_00, 900_00, []crop.Kind{crop.Wheat, crop.Barley}},
	Temperature:            {"temperature", "grain temperature", "°F", 10, 0, 160_00, nil},
	OtherColors:            {"other_colors", "soybeans of other colors", "%", 10, 0, 100_00, []crop.Kind{crop.Soybean}},
	ContrastingClasses:     {"contrasting_classes", "contrasting classes", "%", 10, 0, 100_00, []crop.Kind{crop.Wheat}},
	OtherClasses:           {"other_classes", "wheat of other classes", "%", 10, 0, 100_00, []crop.Kind{crop.Wheat}},
	Ergot:                  {"ergot", "ergot", "%", 1, 0, 100_00, nil},
	Sclerotinia:            {"sclerotinia", "sclerotinia", "%", 1, 0, 100_00, []crop.Kind{crop.Canola}},
	Stones:                 {"stones", "stones by weight", "%", 1, 0, 100_00, nil},
	AdmixtureConspicuous:   {"admixture_conspicuous", "conspicuous admixture", "%", 10, 0, 100_00, []crop.Kind{crop.Canola}},
	AdmixtureInconspicuous: {"admixture_inconspicuous", "inconspicuous admixture", "%", 10, 0, 100_00, []crop.Kind{crop.Canola}},
	Dehulled:               {"dehulled", "dehulled seed", "%", 10, 0, 100_00, []crop.Kind{crop.Sunflower}},
	AnimalFilth:            {"animal_filth", "animal filth by weight", "%", 1, 0, 100_00, []crop.Kind{crop.Corn}},
	OdourMusty:             {name: "odour_musty", words: "musty odour"},
	OdourSour:              {name: "odour_sour", words: "sour odour"},
	OdourOther:             {name: "odour_other", words: "objectionable odour"},
	Infested:               {name: "infested", words: "live insects"},
	Heating:                {name: "heating", words: "heating"},
	Garlicky:               {name: "garlicky", words: "garlic"},
	TreatedSeed:            {name: "treated_seed", words: "treated seed"},
	Glass:                  {name: "glass", words: "glass"},
	Filth:                  {name: "filth", words: "animal filth"},
	EveryLoad:              {name: "every_load", words: "every load"},
}

// Factors returns every factor, measured ones first.
func Factors() []Factor {
	out := make([]Factor, 0, factorCount-1)
	for f := Moisture; f < factorCount; f++ {
		out = append(out, f)
	}
	return out
}

// ParseFactor returns the factor of that exact name in files, "foreign_material".
func ParseFactor(s string) (Factor, bool) {
	for f := Moisture; f < factorCount; f++ {
		if factors[f].name == s {
			return f, true
		}
	}
	return NoFactor, false
}

// String returns the name used in files.
func (f Factor) String() string { return f.info().name }

// Words returns the name used in sentences, "foreign material".
func (f Factor) Words() string { return f.info().words }

// Unit returns the unit of a reading, "%" or "lb/bu"; empty for a flag.
func (f Factor) Unit() string { return f.info().unit }

// IsFlag reports whether f is noted or not, never measured.
func (f Factor) IsFlag() bool { return f >= OdourMusty && f < factorCount }

// Range returns the lowest and highest reading that can be a reading at all of crop k.
func (f Factor) Range(k crop.Kind) (low, high trade.Percent) {
	info := f.info()
	if f == TestWeight && (k == crop.Oats || k == crop.Sunflower) {
		return 15_00, 55_00 // hulled seed is light: 32 and 25 lb are ordinary. [judgement]
	}
	return info.low, info.high
}

// MeasuredFor reports whether f is measured on crop k.
func (f Factor) MeasuredFor(k crop.Kind) bool {
	crops := f.info().crops
	return crops == nil || slices.Contains(crops, k)
}

// Recorded returns x rounded half-up to the precision in which f is recorded.
func (f Factor) Recorded(x trade.Percent) trade.Percent {
	if step := f.info().precision; step > 1 && x%step != 0 {
		return x.Round(step, trade.HalfUp) // [cfr-868-308]
	}
	return x
}

func (f Factor) info() *factorInfo {
	if f >= factorCount {
		f = NoFactor
	}
	return &factors[f]
}
