// Package ground says hour by hour whether a field bears a loaded combine and cart: a water balance of the top
// ten centimetres above a root zone, driven by rain and by what crop and soil evaporate, and a limit of wetness
// that depends on texture and is corrected by what people found.
//
// It leaves out slopes, water that runs on from other land, ponding, ruts, snow cover, the crop while it is still
// green, and each machine's own tyres: one limit stands for combine and cart together.
//
// Units: mm of water, days, °C, m/s at 2 m, MJ/m². Wetness is water in the top ten centimetres as a part of what
// they hold at field capacity: 1 is field capacity. A value of hour h is the state at the end of cell h.
//
// Validity: cohesive soils on level land from late summer to freezing. The balance has the form of FAO-56
// [fao-56-soil]; that wet ground drains at a rate instead of at once, and every number tagged so, is [judgement].
// Nobody publishes measured days fit for combines field by field: the limit is a published range [devine-2022]
// spread over textures by judgement. See docs/model/ground.md.
package ground

import (
	"fmt"
	"math"
	"strings"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
)

// A Soil is the topsoil of one texture. Water contents are volumes per volume.
type Soil struct {
	FieldCapacity float64
	WiltingPoint  float64
	Saturation    float64
	ReadilyMM     float64 // evaporated at the full rate (REW)
	EvaporableMM  float64 // evaporated at all (TEW)
	DrainPerDay   float64 // part of the water above field capacity that leaves in a day, without tile
	Carries       float64 // wettest that bears a loaded combine and cart
}

// textures are mid-range values of [fao-56-soil] table 19; saturation is porosity by texture [swmm-soils]; loamy sand is
// recalled [fao-56-recalled]. What drains in a day: a drained loam sheds nine tenths of its excess [wofost-workday] and
// covered plots reach field capacity in 50 h on sandy loam, 450 h on clay loam [jabro-2009]; between them and for the
// limit within 0.85 to 0.95 [devine-2022]: more clay, slower and lower. [judgement]
var textures = []struct {
	name string
	soil Soil
}{
	{"sand", Soil{0.12, 0.045, 0.46, 4.5, 9, 0.90, 0.95}},
	{"loamy sand", Soil{0.15, 0.065, 0.45, 6, 11.5, 0.85, 0.95}},
	{"sandy loam", Soil{0.23, 0.11, 0.45, 8, 17.5, 0.75, 0.95}},
	{"loam", Soil{0.25, 0.12, 0.46, 9, 19, 0.50, 0.92}},
	{"silt loam", Soil{0.29, 0.15, 0.48, 9.5, 21.5, 0.35, 0.92}},
	{"silty clay loam", Soil{0.335, 0.205, 0.51, 9.5, 24.5, 0.15, 0.88}},
	{"clay loam", Soil{0.335, 0.205, 0.51, 9.5, 24.5, 0.15, 0.88}},
	{"silty clay", Soil{0.36, 0.225, 0.52, 10, 25, 0.10, 0.85}},
	{"clay", Soil{0.36, 0.225, 0.52, 10, 25, 0.10, 0.85}},
}

// DefaultTexture is taken where nobody named one; say so. [judgement]
const DefaultTexture = "silt loam"

// Textured returns the soil of a texture, "silt loam". The error is a *problem.InputError that lists them.
func Textured(name string) (Soil, error) {
	var names []string
	for _, t := range textures {
		if t.name == name {
			return t.soil, nil
		}
		names = append(names, t.name)
	}
	return Soil{}, &problem.InputError{Rule: "ground.texture", Label: "Texture of the topsoil", Got: name, Want: strings.Join(names, ", ")}
}

// A Cover is the ripe crop over the soil.
type Cover struct {
	Kcb       float64 // basal crop coefficient of the ripe stand
	Depletion float64 // part of the root zone's water it takes without stress (p)
	RootM     float64 // depth of its roots, m
	HeightM   float64
}

// RipeCover returns the cover of a ripe crop; false for one that is not known: [fao-56-soil] tables 17 (end), 12 and 22,
// mid-range; heights of table 12 are recalled [fao-56-recalled].
func RipeCover(k crop.Kind) (Cover, bool) {
	switch k {
	case crop.Soybean:
		return Cover{0.30, 0.50, 0.95, 0.75}, true
	case crop.Corn:
		return Cover{0.15, 0.55, 1.35, 2.0}, true
	case crop.Wheat:
		return Cover{0.15, 0.55, 1.40, 1.0}, true
	case crop.Sorghum:
		return Cover{0.35, 0.55, 1.50, 1.5}, true
	case crop.Canola:
		return Cover{0.25, 0.60, 1.25, 0.6}, true
	case crop.Sunflower:
		return Cover{0.25, 0.45, 1.15, 2.0}, true
	default:
		return Cover{}, false
	}
}

// Below says how wet the subsoil is when the balance begins.
type Below string

// The states of the subsoil; the empty one is NormalBelow, assumed.
const (
	DryBelow    Below = "dry"
	NormalBelow Below = "normal"
	WetBelow    Below = "wet"
)

// deficit returns what the root zone is short of field capacity, mm. [judgement]
func (b Below) deficit() float64 {
	switch b {
	case DryBelow:
		return 60
	case NormalBelow, "":
		return 25
	case WetBelow:
		return 0
	default:
		panic(fmt.Sprintf("ground: subsoil %q", string(b)))
	}
}

// A Site says what ground a field has.
type Site struct {
	Soil  Soil
	Cover Cover
	Tiled bool
	Poor  bool // no outlet, or a high water table
}

// A Field is ground ready to be run. Read-only once made.
type Field struct {
	site  Site
	drain float64 // part of the excess that leaves in a day
	hour  pace    // of an hourly step
}

// How drainage changes. [judgement]
const (
	tilePower = 2.5 // of the part that stays a day without tile
	poorBy    = 0.5
)

// New returns the ground of a site.
func New(s Site) *Field {
	f := &Field{site: s, drain: s.Soil.DrainPerDay}
	if s.Tiled {
		f.drain = 1 - math.Pow(1-f.drain, tilePower)
	}
	if s.Poor {
		f.drain *= poorBy
	}
	f.hour = f.pace(1.0 / 24)
	return f
}

// Limit returns the wettest at which the texture is taken to bear, before anybody has tried.
func (f *Field) Limit() float64 { return f.site.Soil.Carries }
