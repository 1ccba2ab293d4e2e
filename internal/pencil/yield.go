package pencil

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/estimate"
	"threshday/internal/core/problem"
	"threshday/internal/document"
	"threshday/internal/flags"
	"threshday/internal/words"
)

type yieldCmd struct {
	Crop         crop.Kind     `need:"" help:"The crop: soybean, corn, wheat or sorghum."`
	Ears         *flags.Number `above:"0" high:"100" placeholder:"31" help:"Corn: ears in a thousandth of an acre (17.4 ft of one 30-inch row)."`
	Rows         *flags.Number `above:"0" high:"40" placeholder:"16" help:"Corn: rows of kernels around the ear."`
	Kernels      *flags.Number `above:"0" high:"100" placeholder:"34" help:"Corn: kernels along a row. Wheat: kernels in a head."`
	KernelsPerBu *flags.Number `above:"20000" high:"200000" placeholder:"90000" help:"Corn: kernels in a bushel; 75000 large, 90000 usual rule, 105000 small."`
	Plants       *flags.Number `above:"0" high:"1000" placeholder:"120" help:"Soybean: plants in a thousandth of an acre."`
	Pods         *flags.Number `above:"0" high:"500" placeholder:"38" help:"Soybean: pods on a plant."`
	SeedsPerPod  *flags.Number `above:"0" high:"5" placeholder:"2.5" help:"Soybean: seeds in a pod."`
	SeedsPerLb   *flags.Number `above:"100" high:"100000" placeholder:"2900" help:"Soybean, sorghum: seeds in a pound."`
	HeadsPerSqFt *flags.Number `name:"heads-per-sqft" above:"0" high:"500" placeholder:"45" help:"Wheat: heads on a square foot."`
	TKW          *flags.Number `name:"tkw-g" above:"5" high:"100" placeholder:"32" help:"Wheat: weight of a thousand kernels in grams."`
	Heads        *flags.Number `above:"0" high:"500" placeholder:"45" help:"Sorghum: heads in a thousandth of an acre."`
	Seeds        *flags.Number `above:"0" high:"10000" placeholder:"1500" help:"Sorghum: seeds in a head, counted."`
}

type yieldAnswer struct {
	BuPerAcre document.Figure `json:"bu_per_acre"`
	SDPct     document.Figure `json:"sd_pct"`
	Why
}

// Answer returns the JSON form.
func (yieldCmd) Answer() any { return yieldAnswer{} }

// Examples returns command lines to try.
func (yieldCmd) Examples() []string {
	return []string{
		"pencil yield --crop corn --ears 31 --rows 16 --kernels 34 --kernels-per-bu 90000",
		"pencil yield --crop soybean --plants 120 --pods 38 --seeds-per-pod 2.5 --seeds-per-lb 2900",
		"pencil yield --crop wheat --heads-per-sqft 45 --kernels 30 --tkw-g 32",
		"pencil yield --crop sorghum --heads 45 --seeds 1500 --seeds-per-lb 15000",
	}
}

// Explain says how to count.
func (yieldCmd) Explain() string {
	return "Count five to ten places that you did not choose by eye, away from headlands, and give the means. " +
		"A thousandth of an acre is 17.4 ft of one 30-inch row, 26.1 ft of 20-inch, 34.8 ft of 15-inch, 69.7 ft of 7.5-inch rows."
}

// onlyFor lists the flags that speak of some crops alone.
func (c *yieldCmd) onlyFor() []ofCrop {
	corn, soybean, wheat, sorghum := []crop.Kind{crop.Corn}, []crop.Kind{crop.Soybean}, []crop.Kind{crop.Wheat}, []crop.Kind{crop.Sorghum}
	return []ofCrop{
		{label: "--ears", given: c.Ears != nil, crops: corn},
		{label: "--rows", given: c.Rows != nil, crops: corn},
		{label: "--kernels", given: c.Kernels != nil, crops: []crop.Kind{crop.Corn, crop.Wheat}},
		{label: "--kernels-per-bu", given: c.KernelsPerBu != nil, crops: corn},
		{label: "--plants", given: c.Plants != nil, crops: soybean},
		{label: "--pods", given: c.Pods != nil, crops: soybean},
		{label: "--seeds-per-pod", given: c.SeedsPerPod != nil, crops: soybean},
		{label: "--seeds-per-lb", given: c.SeedsPerLb != nil, crops: []crop.Kind{crop.Soybean, crop.Sorghum}},
		{label: "--heads-per-sqft", given: c.HeadsPerSqFt != nil, crops: wheat},
		{label: "--tkw-g", given: c.TKW != nil, crops: wheat},
		{label: "--heads", given: c.Heads != nil, crops: sorghum},
		{label: "--seeds", given: c.Seeds != nil, crops: sorghum},
	}
}

// A tally collects what a yield is made from.
type tally struct {
	lacking problem.InputErrors
	assumed []string
	keys    []string
}

// counted returns a count that must have been made.
func (t *tally) counted(label string, given *flags.Number, what string) float64 {
	if given == nil {
		t.lacking = append(t.lacking, &problem.InputError{Rule: "flag.missing", Label: label, Want: what})
		return 0
	}
	return float64(*given)
}

// sized returns a seed size, or the usual one, and says so.
func (t *tally) sized(label string, given *flags.Number, usual float64, say, key string) float64 {
	if given == nil {
		t.assumed = append(t.assumed, fmt.Sprintf("%s %s: %s sets your own.", words.Short(usual, 1), say, label))
		t.keys = append(t.keys, key)
		return usual
	}
	return float64(*given)
}

// Run answers.
func (c *yieldCmd) Run(s *Desk) error {
	for _, f := range c.onlyFor() {
		if err := f.check(c.Crop); err != nil {
			return err
		}
	}
	var t tally
	yield, formula, err := c.sum(&t)
	if len(t.lacking) > 0 {
		return t.lacking
	}
	if err != nil {
		return err
	}
	a := yieldAnswer{BuPerAcre: document.Figure(yield)}
	sd, _ := estimate.CountedSDPct(c.Crop)
	a.SDPct = document.Figure(sd)
	a.Formula = []string{fmt.Sprintf("%s = %.2f bu/ac", formula, yield)}
	a.Assumed = t.assumed
	a.Sources = s.sources(t.keys...)
	a.Cautions = []string{"What the combine leaves on the ground is not taken off: multiply by what reaches the tank.", "Such estimates seldom agree with the scale; seed size is a guess until the crop is ripe."}
	if stage, ok := estimate.Earliest(c.Crop); ok {
		a.Cautions = append(a.Cautions, "Before "+stage+" a count says little.")
	}
	return s.answer(a, fmt.Sprintf("%.0f bushels an acre", yield),
		fmt.Sprintf("standing; counts are off by about %.0f %%, so in 2 of 3 fields %.0f to %.0f", sd, yield*(1-sd/100), yield*(1+sd/100)))
}

// sum computes the yield of the crop and writes its formula.
func (c *yieldCmd) sum(t *tally) (buPerAcre float64, formula string, err error) {
	size, _ := estimate.DefaultSize(c.Crop)
	switch c.Crop {
	case crop.Corn:
		t.keys = []string{"purdue-nielsen-2021"} // [purdue-nielsen-2021]
		n := estimate.Corn{
			Ears: t.counted("--ears", c.Ears, "ears in a thousandth of an acre"), Rows: t.counted("--rows", c.Rows, "rows of kernels around the ear"),
			Kernels:      t.counted("--kernels", c.Kernels, "kernels along a row"),
			KernelsPerBu: t.sized("--kernels-per-bu", c.KernelsPerBu, estimate.DefaultKernelsPerBu, "kernels in a bushel", "purdue-nielsen-2021"),
		}
		buPerAcre, err = n.BuPerAcre()
		return buPerAcre, fmt.Sprintf("%s ears × 1000 × %s rows × %s kernels ÷ %s", words.Short(n.Ears, 2), words.Short(n.Rows, 2), words.Short(n.Kernels, 2), words.Digits(n.KernelsPerBu, 0)), err
	case crop.Soybean:
		t.keys = []string{"soybean-research-yield"} // [soybean-research-yield]
		n := estimate.Soybean{
			Plants: t.counted("--plants", c.Plants, "plants in a thousandth of an acre"), PodsPer: t.counted("--pods", c.Pods, "pods on a plant"),
			SeedsPerPod: t.sized("--seeds-per-pod", c.SeedsPerPod, estimate.DefaultSeedsPerPod, "seeds in a pod", "purdue-casteel"),
			SeedsPerLb:  t.sized("--seeds-per-lb", c.SeedsPerLb, size.PerPound, "seeds in a pound", size.Key),
		}
		buPerAcre, err = n.BuPerAcre()
		return buPerAcre, fmt.Sprintf("%s plants × 1000 × %s pods × %s seeds ÷ (%s × 60)", words.Short(n.Plants, 2), words.Short(n.PodsPer, 2), words.Short(n.SeedsPerPod, 2), words.Digits(n.SeedsPerLb, 0)), err
	case crop.Wheat:
		t.keys = []string{"omafra-yield-2017"}    // [omafra-yield-2017]
		usual := estimate.PerPound(size.PerPound) // the same conversion both ways
		n := estimate.Wheat{
			HeadsPerSqFt: t.counted("--heads-per-sqft", c.HeadsPerSqFt, "heads on a square foot"), Kernels: t.counted("--kernels", c.Kernels, "kernels in a head"),
			ThousandGrams: t.sized("--tkw-g", c.TKW, usual, "g a thousand kernels", size.Key),
		}
		buPerAcre, err = n.BuPerAcre()
		return buPerAcre, fmt.Sprintf("%s heads × %s kernels × %s g × 0.001600556", words.Short(n.HeadsPerSqFt, 2), words.Short(n.Kernels, 2), words.Short(n.ThousandGrams, 2)), err
	case crop.Sorghum:
		t.keys = []string{"ksu-sorghum-yield"} // [ksu-sorghum-yield]
		n := estimate.Sorghum{
			Heads: t.counted("--heads", c.Heads, "heads in a thousandth of an acre"), Seeds: t.counted("--seeds", c.Seeds, "seeds in a head"),
			SeedsPerLb: t.sized("--seeds-per-lb", c.SeedsPerLb, size.PerPound, "seeds in a pound", size.Key),
		}
		buPerAcre, err = n.BuPerAcre()
		return buPerAcre, fmt.Sprintf("%s heads × 1000 × %s seeds ÷ (%s × 56)", words.Short(n.Heads, 2), words.Short(n.Seeds, 2), words.Digits(n.SeedsPerLb, 0)), err
	default:
		return 0, "", &problem.NoAnswer{
			Rule: "yield.no-method", Say: fmt.Sprintf("No published way to estimate %s from counts is known here.", c.Crop),
			Next: "It is known for soybean, corn, wheat and sorghum; else cut and weigh a strip.",
		}
	}
}
