package pencil

import (
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/crop"
	"threshday/internal/core/loss"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
	"threshday/internal/document"
	"threshday/internal/flags"
	"threshday/internal/words"
)

type lossfieldCmd struct {
	Crop      crop.Kind     `need:"" help:"The crop."`
	Seeds     *flags.Number `name:"seeds-per-sqft" low:"0" high:"100000" placeholder:"12" help:"Seeds on a square foot; this alone, or the five flags of a full count."`
	TSW       *flags.Number `name:"tsw-g" above:"0" high:"1000" placeholder:"156" help:"Weight of a thousand seeds in grams; without it the usual seed is taken, and said so."`
	Before    *flags.Number `low:"0" high:"100000" placeholder:"1" help:"Full count: seeds a square foot ahead of the machine, in the standing crop."`
	Header    *flags.Number `low:"0" high:"100000" placeholder:"9" help:"Full count: seeds a square foot behind the header, under the machine."`
	Behind    *flags.Number `low:"0" high:"100000" placeholder:"21" help:"Full count: seeds a square foot in the band behind the machine."`
	Width     *units.Length `name:"header-width" above:"0ft" high:"100ft" placeholder:"30ft" help:"Full count: width of the header."`
	Discharge *units.Length `name:"discharge-width" above:"0ft" high:"100ft" placeholder:"5ft" help:"Full count: width over which the residue falls; that of the header for a full-width spreader."`
}

type lossfieldAnswer struct {
	BuPerAcre        *document.Figure `json:"bu_per_acre,omitempty"`
	CwtPerAcre       *document.Figure `json:"cwt_per_acre,omitempty"`
	PreHarvest       *document.Figure `json:"preharvest_bu_per_acre,omitempty"`
	AtHeader         *document.Figure `json:"header_bu_per_acre,omitempty"`
	InMachine        *document.Figure `json:"machine_bu_per_acre,omitempty"`
	PreHarvestCwt    *document.Figure `json:"preharvest_cwt_per_acre,omitempty"`
	AtHeaderCwt      *document.Figure `json:"header_cwt_per_acre,omitempty"`
	InMachineCwt     *document.Figure `json:"machine_cwt_per_acre,omitempty"`
	SeedsPerSqFtBu   *document.Figure `json:"seeds_per_sqft_per_bu,omitempty"`
	SeedsPerSqFtCwt  *document.Figure `json:"seeds_per_sqft_per_cwt,omitempty"`
	SeedsPerPoundLbs document.Figure  `json:"seeds_per_lb"`
	Why
}

// Answer returns the JSON form.
func (lossfieldCmd) Answer() any { return lossfieldAnswer{} }

// Examples returns command lines to try.
func (lossfieldCmd) Examples() []string {
	return []string{
		"pencil lossfield --crop soybean --seeds-per-sqft 12 --tsw-g 156",
		"pencil lossfield --crop soybean --before 1 --header 9 --behind 21 --header-width 30ft --discharge-width 5ft",
	}
}

// Explain says how to count.
func (lossfieldCmd) Explain() string {
	return "Throw a frame of one square foot or more at three places or more each and take the mean: ahead of the machine, " +
		"behind the header after backing up, and behind the machine. Stop the machine and let it run down before anyone steps in."
}

// Run answers.
func (c *lossfieldCmd) Run(s *Desk) error {
	full := []struct {
		label string
		given bool
	}{
		{"--before", c.Before != nil},
		{"--header", c.Header != nil},
		{"--behind", c.Behind != nil},
		{"--header-width", c.Width != nil},
		{"--discharge-width", c.Discharge != nil},
	}
	var lacking []string
	for _, f := range full {
		if !f.given {
			lacking = append(lacking, f.label)
		}
	}
	switch {
	case c.Seeds != nil && len(lacking) < len(full):
		return refuse("flag.either", "--seeds-per-sqft", "--seeds-per-sqft and the flags of a full count are given together; take one of the two.", "Leave one of them out.")
	case c.Seeds == nil && len(lacking) == len(full):
		return refuse("flag.missing", "--seeds-per-sqft", "Nothing was counted.", "Give --seeds-per-sqft, or all of --before, --header, --behind, --header-width and --discharge-width.")
	case c.Seeds == nil && len(lacking) > 0:
		return refuse("flag.missing", lacking[0], "A full count lacks "+strings.Join(lacking, ", ")+".", "Give it, or --seeds-per-sqft alone.")
	}
	per, err := c.seeds()
	if err != nil {
		return err
	}
	if c.Seeds != nil {
		return c.single(s, per)
	}
	return c.counted(s, per)
}

// seedCount is how many seeds a square foot make a bushel (or hundredweight) an acre, and what to say of it.
type seedCount struct {
	perSqFt, perPound float64
	unit              string // "bu/ac" or "cwt/ac"
	pounds            float64
	formula           string
	assumed, keys     []string
}

func (c *lossfieldCmd) seeds() (seedCount, error) {
	out := seedCount{unit: "bu/ac", keys: []string{"ndsu-losses-2003"}} // [ndsu-losses-2003]
	lb, bushel := crop.BushelPounds(c.Crop)
	out.pounds = lb.Float()
	if !bushel {
		out.unit, out.pounds = "cwt/ac", 100
	}
	usual, known := loss.DefaultSeed(c.Crop)
	switch {
	case c.TSW != nil:
		out.perPound = loss.SeedsPerPound(float64(*c.TSW))
	case known:
		out.perPound = usual.PerPound
		out.assumed = []string{fmt.Sprintf("%s seeds a pound, as usual for %s (%s to %s): weigh a thousand and give --tsw-g.",
			words.Digits(usual.PerPound, 0), c.Crop, words.Digits(usual.Low, 0), words.Digits(usual.High, 0))}
		out.keys = append(out.keys, usual.Key)
	default:
		return seedCount{}, &problem.InputError{
			Rule: "flag.missing", Label: "--tsw-g", Want: "the weight of a thousand seeds in grams",
			Next: "Seeds of this crop differ too much for a usual count: weigh a thousand.",
		}
	}
	out.perSqFt = loss.SeedsPerSqFt(out.pounds, out.perPound)
	out.formula = fmt.Sprintf("one %s = %s lb × %s seeds/lb ÷ 43,560 ft² = %.3f seeds/ft²", out.unit, words.Short(out.pounds, 0), words.Digits(out.perPound, 0), out.perSqFt)
	return out, nil
}

func (c *lossfieldCmd) start(s *Desk, n seedCount) lossfieldAnswer {
	a := lossfieldAnswer{SeedsPerPoundLbs: document.Figure(n.perPound)}
	per := document.Figure(n.perSqFt)
	if n.unit == "bu/ac" {
		a.SeedsPerSqFtBu = &per
	} else {
		a.SeedsPerSqFtCwt = &per
	}
	a.Formula = []string{n.formula}
	a.Assumed = n.assumed
	a.Sources = s.sources(n.keys...)
	return a
}

func (c *lossfieldCmd) single(s *Desk, n seedCount) error {
	a := c.start(s, n)
	lost := float64(*c.Seeds) / n.perSqFt
	value := document.Figure(lost)
	if n.unit == "bu/ac" {
		a.BuPerAcre = &value
	} else {
		a.CwtPerAcre = &value
	}
	a.Formula = append(a.Formula, fmt.Sprintf("%s ÷ %.3f = %.3f %s", words.Short(float64(*c.Seeds), 2), n.perSqFt, lost, n.unit))
	return s.answer(a, fmt.Sprintf("%.2f %s", lost, n.unit), "on the ground", Row{"one " + n.unit, fmt.Sprintf("%.2f seeds a square foot", n.perSqFt)})
}

func (c *lossfieldCmd) counted(s *Desk, n seedCount) error {
	lost, doubts, err := loss.Counts{
		Ahead: float64(*c.Before), Header: float64(*c.Header), Behind: float64(*c.Behind),
		Cut: *c.Width, Spread: *c.Discharge, PerSqFt: n.perSqFt,
	}.Loss()
	if err != nil {
		return err
	}
	a := c.start(s, n)
	pre, head, machine := document.Figure(lost.Pre), document.Figure(lost.Header), document.Figure(lost.Machine)
	total := document.Figure(lost.Pre + lost.Header + lost.Machine)
	if n.unit == "bu/ac" {
		a.PreHarvest, a.AtHeader, a.InMachine, a.BuPerAcre = &pre, &head, &machine, &total
	} else {
		a.PreHarvestCwt, a.AtHeaderCwt, a.InMachineCwt, a.CwtPerAcre = &pre, &head, &machine, &total
	}
	a.Formula = append(a.Formula,
		fmt.Sprintf("before harvest = %s ÷ %.3f = %.3f", words.Short(float64(*c.Before), 2), n.perSqFt, lost.Pre),
		fmt.Sprintf("header = (%s − %s) ÷ %.3f = %.3f", words.Short(float64(*c.Header), 2), words.Short(float64(*c.Before), 2), n.perSqFt, lost.Header),
		fmt.Sprintf("machine = (%s − %s) × %s ÷ %s ÷ %.3f = %.3f", words.Short(float64(*c.Behind), 2), words.Short(float64(*c.Header), 2),
			words.Short(c.Discharge.Feet(), 2), words.Short(c.Width.Feet(), 2), n.perSqFt, lost.Machine))
	for _, d := range doubts {
		a.Cautions = append(a.Cautions, d.Say+" "+d.Next)
	}
	return s.answer(a, fmt.Sprintf("%.2f %s", float64(total), n.unit), "lost in all",
		Row{"before harvest", fmt.Sprintf("%.2f %s", lost.Pre, n.unit)},
		Row{"at the header", fmt.Sprintf("%.2f %s", lost.Header, n.unit)},
		Row{"in the machine", fmt.Sprintf("%.2f %s", lost.Machine, n.unit)},
		Row{"one " + n.unit, fmt.Sprintf("%.2f seeds a square foot", n.perSqFt)})
}

type lossCmd struct {
	Crop     crop.Kind      `need:"" help:"The crop."`
	DaysRipe flags.Number   `need:"" low:"0" high:"365" placeholder:"14" help:"Days since it first reached its ripe moisture (corn: 20 %)."`
	Moisture *flags.Percent `low:"0" high:"60" placeholder:"11" help:"Moisture of the grain in the hour it is cut, percent wet basis; soybean, corn and wheat ask for it."`
	Cycles   *flags.Number  `low:"0" high:"365" placeholder:"3" help:"Soybean: wet-dry cycles since then. A rain that wets the pods and dries again is 1, a night of heavy dew a quarter."`
	Events   *flags.Number  `low:"0" high:"365" placeholder:"2" help:"Wheat: wettings since then; they take test weight."`
	Lodged   *flags.Percent `low:"0" high:"100" placeholder:"5" help:"Percent of plants down; corn: newly down."`
	Green    *flags.Percent `low:"0" high:"100" placeholder:"10" help:"Soybean: percent of plants still green."`
	Stalk    *flags.Number  `low:"0" high:"5" placeholder:"1" help:"Corn: stalks, 0.5 strong, 1 normal, 2 weak."`
	Head     *flags.Number  `low:"0" high:"10" placeholder:"1" help:"Corn: head, 1 well set, 3 average operator."`
	K        *flags.Number  `name:"k" low:"0" high:"20" placeholder:"1" help:"Factor on all that delay does, from your own counts; 1 is the usual field."`
}

type lossAnswer struct {
	PreHarvestPct  document.Figure  `json:"preharvest_pct"`
	GatherPct      *document.Figure `json:"gather_pct,omitempty"`
	ThreshPct      *document.Figure `json:"thresh_pct,omitempty"`
	BasePct        *document.Figure `json:"base_pct,omitempty"`
	TotalPct       document.Figure  `json:"total_pct"`
	P10Pct         document.Figure  `json:"total_p10_pct"`
	P90Pct         document.Figure  `json:"total_p90_pct"`
	TestWeightDrop *document.Figure `json:"test_weight_drop_lb_per_bu,omitempty"`
	Why
}

// Answer returns the JSON form.
func (lossCmd) Answer() any { return lossAnswer{} }

// Examples returns command lines to try.
func (lossCmd) Examples() []string {
	return []string{
		"pencil loss --crop soybean --days-ripe 14 --cycles 3 --moisture 11 --lodged 5",
		"pencil loss --crop corn --days-ripe 30 --moisture 16",
		"pencil loss --crop canola --days-ripe 14",
	}
}

// Explain says what the figures are worth.
func (lossCmd) Explain() string {
	return "Published figures give levels for good and poor machines and losses over a whole season; the shape from day to day is " +
		"this project's judgement. Take the range as seriously as the middle, and count behind your own machine (pencil lossfield)."
}

// onlyFor lists the flags that speak of some crops alone.
func (c *lossCmd) onlyFor() []ofCrop {
	return []ofCrop{
		{"--cycles", c.Cycles != nil, []crop.Kind{crop.Soybean}},
		{"--events", c.Events != nil, []crop.Kind{crop.Wheat}},
		{"--lodged", c.Lodged != nil, []crop.Kind{crop.Soybean, crop.Corn}},
		{"--green", c.Green != nil, []crop.Kind{crop.Soybean}},
		{"--stalk", c.Stalk != nil, []crop.Kind{crop.Corn}},
		{"--head", c.Head != nil, []crop.Kind{crop.Corn}},
	}
}

// Run answers.
func (c *lossCmd) Run(s *Desk) error {
	model, ok := loss.Default(c.Crop)
	if !ok {
		return &problem.NoAnswer{
			Rule: "loss.no-model", Say: fmt.Sprintf("No figures on harvest losses of %s are known here.", c.Crop),
			Next: "Count behind your own machine: `threshday pencil lossfield --help`.",
		}
	}
	_, split := model.(loss.TwoSlope)
	split = !split
	if split && c.Moisture == nil {
		return &problem.InputError{Rule: "flag.missing", Label: "--moisture", Want: "the moisture of the grain when it is cut, percent wet basis"}
	}
	model, err := c.set(model)
	if err != nil {
		return err
	}
	stand := loss.Stand{
		DaysRipe: float64(c.DaysRipe), Cycles: valueOr(c.Cycles, 0), Wettings: valueOr(c.Events, 0),
		MoisturePct: valueOr(c.Moisture, 0), LodgedPct: valueOr(c.Lodged, 0), GreenPct: valueOr(c.Green, 0),
	}
	k := valueOr(c.K, 1)
	parts := model.At(stand, k)
	spread := loss.DefaultSpread()
	spread.Median = k
	low, _, high := spread.Band(model, stand)
	a := lossAnswer{PreHarvestPct: document.Figure(parts.PrePct), TotalPct: document.Figure(parts.TotalPct()), P10Pct: document.Figure(low.TotalPct()), P90Pct: document.Figure(high.TotalPct())}
	rows := []Row{{"before harvest", words.Two(parts.PrePct) + " %"}}
	if split {
		gather, thresh := document.Figure(parts.GatherPct), document.Figure(parts.ThreshPct)
		a.GatherPct, a.ThreshPct = &gather, &thresh
		rows = append(rows, Row{"at the header", words.Two(parts.GatherPct) + " %"}, Row{"in the machine", words.Two(parts.ThreshPct) + " %"})
		a.Formula = []string{fmt.Sprintf("100 × (1 − (1 − %.4f/100) × (1 − %.4f/100) × (1 − %.4f/100)) = %.4f %%", parts.PrePct, parts.GatherPct, parts.ThreshPct, parts.TotalPct())}
	} else {
		base := document.Figure(parts.BasePct)
		a.BasePct = &base
		rows = append(rows, Row{"in the machine", words.Two(parts.BasePct) + " %"})
		a.Formula = []string{fmt.Sprintf("100 × (1 − (1 − %.4f/100) × (1 − %.4f/100)) = %.4f %%", parts.PrePct, parts.BasePct, parts.TotalPct())}
	}
	if wheat, ok := model.(loss.Wheat); ok && c.Events != nil {
		drop := document.Figure(wheat.TestWeightDropLbPerBu(stand.Wettings))
		a.TestWeightDrop = &drop
		rows = append(rows, Row{"test weight", fmt.Sprintf("about %.1f lb/bu lower", float64(drop))})
	}
	c.explain(s, &a, model)
	return s.answer(a, words.Two(parts.TotalPct())+" % lost",
		fmt.Sprintf("of the mature crop; in 8 of 10 fields between %s and %s %%", words.Two(low.TotalPct()), words.Two(high.TotalPct())), rows...)
}

// set turns the model's parameters that flags name.
func (c *lossCmd) set(model loss.Model) (loss.Model, error) {
	for _, f := range c.onlyFor() {
		if err := f.check(c.Crop); err != nil {
			return nil, err
		}
	}
	var err error
	if c.Stalk != nil {
		if model, err = model.With("stalk", float64(*c.Stalk)); err != nil {
			return nil, err
		}
	}
	if c.Head != nil {
		model, err = model.With("head", float64(*c.Head))
	}
	return model, err
}

// explain fills in what was taken for granted, where the parameters are from, and what to mind.
func (c *lossCmd) explain(s *Desk, a *lossAnswer, model loss.Model) {
	var keys []string
	for _, p := range model.Params() {
		keys = append(keys, p.Key)
	}
	a.Sources = s.sources(keys...)
	for _, f := range c.onlyFor() {
		if f.of(c.Crop) && !f.given {
			a.Assumed = append(a.Assumed, map[string]string{
				"--cycles": "No wet-dry cycles since it was ripe.", "--events": "No wettings, so the test weight stands.", "--lodged": "No plants down.",
				"--green": "No green plants.", "--stalk": "Normal stalks.", "--head": "A head that is well set.",
			}[f.label])
		}
	}
	if c.K == nil {
		a.Assumed = append(a.Assumed, "The usual field (k 1); fields and seasons differ by a factor of 1.8 either way.")
	}
	if t, ok := loss.DefaultThresholds(c.Crop); ok && c.Moisture != nil {
		a.Cautions = append(a.Cautions, t.Doubts(float64(*c.Moisture), valueOr(c.Green, 0))...)
	}
	a.Cautions = append(a.Cautions, "No day-by-day loss model is proven; one count behind your machine tells more.")
}

// An ofCrop is a flag that speaks of some crops alone.
type ofCrop struct {
	label string
	given bool
	crops []crop.Kind
}

func (f ofCrop) of(k crop.Kind) bool {
	return slices.Contains(f.crops, k)
}

func (f ofCrop) check(k crop.Kind) error {
	if !f.given || f.of(k) {
		return nil
	}
	var names []string
	for _, c := range f.crops {
		names = append(names, c.String())
	}
	return refuse("flag.crop", f.label, fmt.Sprintf("%s is for %s, not for %s.", f.label, strings.Join(names, " and "), k), "Leave it out.")
}

// valueOr returns what was given, or other.
func valueOr[T ~float64](given *T, other float64) float64 {
	if given == nil {
		return other
	}
	return float64(*given)
}
