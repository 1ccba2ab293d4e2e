package ground

import "math"

// topM is the depth that decides whether a machine is borne, m. [berlin-topsoil]
const topM = 0.10

// mmPerM turns a water content times a depth in metres into mm.
const mmPerM = 1000

// A State is the water of one field at one moment. It is a plain value.
type State struct {
	TopMM     float64 // top ten centimetres above field capacity; negative below it
	DeficitMM float64 // what the root zone lacks to field capacity, 0 or more
	rained    float64 // mm since the day began
}

// Begin returns ground at field capacity above a subsoil as told.
func Begin(b Below) State { return State{DeficitMM: b.deficit()} }

// BeginUnknown returns ground halfway between field capacity and dry, for a field whose rain nobody recorded.
func (f *Field) BeginUnknown(b Below) State {
	return State{TopMM: -f.site.Soil.EvaporableMM / 2, DeficitMM: b.deficit()}
}

// Wetness returns the water in the top ten centimetres as a part of field capacity.
func (f *Field) Wetness(s State) float64 {
	return 1 + s.TopMM/(mmPerM*f.site.Soil.FieldCapacity*topM)
}

// A Turn is what the weather does in one step.
type Turn struct {
	Days     float64 // length of the step
	RainMM   float64
	ET0MM    float64 // reference evapotranspiration in the step
	DayET0MM float64 // of the whole day the step lies in
	KcMax    float64 // most that crop and soil together evaporate, as a multiple of ET0
	NewDay   bool    // it is the first step of a day
}

// The constants of the balance. [judgement]
const (
	mulch        = 0.6  // evaporation under dead leaves and residue, as a part of that of bare soil
	fastShare    = 0.8  // part of the excess that a dry subsoil takes in a day
	runoffFromMM = 25.0 // daily rain from which water runs off
	runoffShare  = 0.5  // part of the rest that does
)

// A pace holds how much of the excess leaves in a step of one length.
type pace struct{ slow, fast float64 }

func (f *Field) pace(days float64) pace {
	return pace{1 - math.Pow(1-f.drain, days), 1 - math.Pow(1-fastShare, days)}
}

// Step returns the water after a step. The order of evaporation, rain, drainage and root uptake and their equations are
// those of [fao-56-soil], eq. 73, 74 and 82 to 84; where FAO-56 drains all excess within the day, it leaves here at the
// field's own rate, or faster into a dry subsoil. [judgement]
func (f *Field) Step(s State, t Turn) State { return f.step(s, t, f.pace(t.Days)) }

func (f *Field) step(s State, t Turn, p pace) State {
	soil, cover := &f.site.Soil, &f.site.Cover
	if t.NewDay {
		s.rained = 0
	}
	before := max(0, s.rained-runoffFromMM)
	s.rained += t.RainMM
	runoff := runoffShare * (max(0, s.rained-runoffFromMM) - before)

	dryness := 1.0 // Kr [fao-56-soil] eq. 74
	if s.TopMM < -soil.ReadilyMM {
		dryness = max(0, (soil.EvaporableMM+s.TopMM)/(soil.EvaporableMM-soil.ReadilyMM))
	}
	s.TopMM += t.RainMM - runoff - float64(mulch*dryness*(t.KcMax-cover.Kcb)*t.ET0MM)
	s.TopMM = min(s.TopMM, mmPerM*(soil.Saturation-soil.FieldCapacity)*topM)

	if s.TopMM > 0 {
		down := max(float64(p.slow*s.TopMM), min(float64(p.fast*s.TopMM), s.DeficitMM))
		s.TopMM -= down
		s.DeficitMM = max(0, s.DeficitMM-down)
	}

	total := mmPerM * (soil.FieldCapacity - soil.WiltingPoint) * cover.RootM                            // TAW [fao-56-soil] eq. 82
	easy := total * min(max(cover.Depletion+float64(0.04*(5-float64(cover.Kcb*t.DayET0MM))), 0.1), 0.8) // RAW [fao-56-soil] eq. 83
	stress := min(max((total-s.DeficitMM)/(total-easy), 0), 1)                                          // Ks [fao-56-soil] eq. 84
	s.DeficitMM = min(total, s.DeficitMM+float64(stress*cover.Kcb*t.ET0MM))
	s.TopMM = max(s.TopMM, -soil.EvaporableMM)
	return s
}
