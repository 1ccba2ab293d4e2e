package moisture

import "threshday/internal/core/crop"

// Isotherms returns every published curve kept for a crop, the one the program uses first where it
// recommends one (see [Recommended]), then the alternatives. Wheat of no class gets the hard wheats'.
// The slice is the caller's own; it is empty for crop.Unknown.
func Isotherms(k crop.Kind, class crop.WheatClass) []Isotherm {
	switch k {
	case crop.Soybean:
		return []Isotherm{
			{Form: Halsey, A: 2.87, B: -0.0054, C: 1.38, Key: "asae-d245", Note: "cultivar Essex; reproduces every published value tried"},
			{Form: Henderson, A: 30.5327e-5, B: 1.2164, C: 134.136, Key: "emc-sensor-henderson", Note: "older; not to be mixed with the Halsey curve"},
		}
	case crop.Corn:
		return []Isotherm{
			{Form: ChungPfost, A: 374.34, B: 0.18662, C: 31.696, Key: "emc-recalled", Note: "yellow dent; gives the 16.1 % quoted from extension tables at 60 °F, 80 %"},
			{Form: Henderson, A: 8.6541e-5, B: 1.8634, C: 49.810, Key: "emc-sensor-henderson", Note: "yellow dent; the curve behind the tables printed for bin fans"},
			{Form: ChungPfost, A: 312.40, B: 0.16958, C: 30.205, Key: "emc-sensor-decimal", Note: "yellow dent, older; rewritten from its decimal form"},
			{Form: Oswin, A: 15.303, B: -0.10184, C: 3.0358, Key: "asae-d245", Note: "shelled; the wettest of the four in damp air"},
		}
	case crop.Wheat:
		return wheatIsotherms(class)
	case crop.Sorghum:
		return []Isotherm{
			{Form: ChungPfost, A: 797.33, B: 0.18159, C: 52.238, Key: "emc-recalled", Note: "reproduces a printed table to 0.05 point"},
		}
	case crop.Canola:
		// Another set goes round under the standard's name, A 0.000103, B 1.6129, C 89.99; it puts canola at
		// 15.3 % where every account has about 9, and is left out.
		return []Isotherm{
			{Form: Henderson, A: 0.000505, B: 1.5702, C: 40.1205, Key: "emc-recalled", Note: "plausible; one study of rapeseed found the Halsey form to fit better"},
		}
	case crop.Sunflower:
		return []Isotherm{
			{Form: Henderson, A: 3.10e-4, B: 1.7459, C: 66.603, Key: "emc-recalled", Note: "oil type; not checked against any table"},
		}
	case crop.Barley:
		const apart = "the two published sets for barley lie 2 points apart at 20 °C, 70 %; neither is recommended"
		return []Isotherm{
			{Form: ChungPfost, A: 475.12, B: 0.14843, C: 71.996, Key: "asae-d245", Note: apart + "; this is the wetter"},
			{Form: Henderson, A: 2.2919e-5, B: 2.0123, C: 195.267, Key: "emc-arkansas", Note: apart + "; this is the drier"},
		}
	case crop.Oats:
		return []Isotherm{
			{Form: ChungPfost, A: 442.85, B: 0.21228, C: 35.803, Key: "asae-d245", Note: "fitted at 25–65 °C; field air extrapolates"},
		}
	default:
		return nil
	}
}

func wheatIsotherms(class crop.WheatClass) []Isotherm {
	switch class.Kernel() {
	case crop.SoftKernel:
		return []Isotherm{
			{Form: Henderson, A: 1.2299e-5, B: 2.5558, C: 64.346, Key: "emc-recalled", Note: "soft red winter"},
		}
	case crop.DurumKernel:
		return []Isotherm{
			{Form: Oswin, A: 13.101, B: -0.052626, C: 2.9987, Key: "asae-d245", Note: "cultivar Wakooma; reproduces a printed table to 0.05 point"},
		}
	default:
		return hardWheatIsotherms(class)
	}
}

func hardWheatIsotherms(class crop.WheatClass) []Isotherm {
	hard := []Isotherm{
		{Form: ChungPfost, A: 610.34, B: 0.15526, C: 93.213, Key: "cereal-storage-5", Note: "hard wheat"},
		{Form: Henderson, A: 4.3295e-5, B: 2.1119, C: 41.565, Key: "asae-d245", Note: "hard red spring"},
		{Form: Henderson, A: 2.3008e-5, B: 2.2857, C: 55.815, Key: "emc-arkansas", Note: "hard, older; within 0.5 point of the first at 50–80 %"},
	}
	if class == crop.AnyWheat {
		hard[0].Note = "hard wheat, assumed because no class is said"
	}
	return hard
}

// Recommended returns the curve the program uses for a crop unless told otherwise. It is false where the
// published curves disagree by more than any of them can be trusted, as for barley, and for no crop: then
// somebody must choose among [Isotherms] and say so.
func Recommended(k crop.Kind, class crop.WheatClass) (Isotherm, bool) {
	all := Isotherms(k, class)
	if len(all) == 0 || k == crop.Barley {
		return Isotherm{}, false
	}
	return all[0], true
}
