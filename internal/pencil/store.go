package pencil

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/storage"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/document"
	"threshday/internal/flags"
	"threshday/internal/words"
)

type binCmd struct {
	Diameter   units.Length  `need:"" above:"0ft" high:"200ft" placeholder:"36ft" help:"Diameter of the bin."`
	Eave       units.Length  `need:"" low:"0ft" high:"200ft" placeholder:"18.5ft" help:"Depth of the grain along the wall; the height of the eave when full."`
	Crop       crop.Kind     `need:"" help:"The grain."`
	Peak       *units.Length `low:"0ft" high:"100ft" placeholder:"7.2ft" help:"Height of the heap above the wall line; without it the grain is taken as level."`
	Hollow     *units.Length `low:"0ft" high:"100ft" placeholder:"3ft" help:"Depth of the cone drawn out of the middle."`
	TestWeight *flags.Number `low:"20" high:"75" placeholder:"57" help:"Pounds a bushel, measured on this grain; without it bushels are by volume."`
}

type binAnswer struct {
	CubicFeet document.Figure  `json:"cubic_feet"`
	Bushels   *document.Figure `json:"bushels,omitempty"`
	Hundreds  *document.Figure `json:"hundredweights,omitempty"`
	Why
}

// Answer returns the JSON form.
func (binCmd) Answer() any { return binAnswer{} }

// Examples returns command lines to try.
func (binCmd) Examples() []string {
	return []string{"pencil bin --diameter 36ft --eave 18.5ft --crop corn --test-weight 57", "pencil bin --diameter 36ft --eave 18.5ft --peak 7.2ft --crop soybean"}
}

// Run answers.
func (c *binCmd) Run(s *Desk) error {
	v, err := storage.Bin{Diameter: c.Diameter, Eave: c.Eave, Peak: c.Peak, Hollow: c.Hollow}.Volume()
	if err != nil {
		return err
	}
	byVolume := storage.Exact()
	level := byVolume.VolumeBushels(v)
	a := binAnswer{CubicFeet: document.Figure(v.CubicFeet())}
	a.Formula = []string{
		fmt.Sprintf("π ÷ 4 × %s² × %s = %s ft³", words.Short(c.Diameter.Feet(), 3), c.height(), words.Digits(v.CubicFeet(), 1)),
		fmt.Sprintf("%s ft³ × %.6f = %s bushels by volume", words.Digits(v.CubicFeet(), 1), byVolume.PerCubicFoot, words.Digits(level, 1)),
	}
	a.Sources = s.sources(byVolume.Key)
	if c.Peak == nil && c.Hollow == nil {
		a.Assumed = append(a.Assumed, "Level grain: no heap and no hollow.")
		if peak, ok := storage.DefaultPeak(c.Crop, c.Diameter); ok {
			a.Assumed[0] += fmt.Sprintf(" Dry clean %s often heaps about %s here: measure it and give --peak.", c.Crop, s.length(peak))
		}
	}
	for _, caution := range storage.Cautions(storage.AtBin) {
		a.Cautions = append(a.Cautions, caution.Say)
	}
	volume := Row{"volume", s.both(words.Digits(v.CubicFeet(), 1)+" ft³", words.Digits(v.CubicMeters(), 1)+" m³")}
	if c.TestWeight == nil {
		bushels := document.Figure(level)
		a.Bushels = &bushels
		a.Assumed = append(a.Assumed, "Bushels are by volume, because no test weight was given.")
		return s.answer(a, words.Digits(level, 0)+" bushels by volume", "in the bin, within about 5 % of a scale at best", volume)
	}
	return c.byWeight(s, a, level, volume)
}

// byWeight answers with bushels by weight, or hundredweight where the crop has no bushel.
func (c *binCmd) byWeight(s *Desk, a binAnswer, level float64, volume Row) error {
	const noPack = 1
	tw := float64(*c.TestWeight)
	a.Assumed = append(a.Assumed, "No packing under its own weight; corn packs by 3 to 8 % in ordinary bins, and the official factors are tables of the insurer.")
	by := Row{"by volume", words.Digits(level, 1) + " bushels"}
	lb, ok := crop.BushelPounds(c.Crop)
	if !ok {
		hundreds := document.Figure(storage.TradeBushels(level, tw, 100, noPack))
		a.Hundreds = &hundreds
		a.Formula = append(a.Formula, fmt.Sprintf("%s × %s ÷ 100 = %s hundredweight", words.Digits(level, 1), words.Short(tw, 1), words.Digits(float64(hundreds), 1)))
		return s.answer(a, words.Digits(float64(hundreds), 0)+" hundredweight", "in the bin, within about 5 % of a scale at best", volume, by)
	}
	bushels := document.Figure(storage.TradeBushels(level, tw, lb.Float(), noPack))
	a.Bushels = &bushels
	a.Formula = append(a.Formula, fmt.Sprintf("%s × %s ÷ %d = %s bushels by weight", words.Digits(level, 1), words.Short(tw, 1), lb, words.Digits(float64(bushels), 1)))
	return s.answer(a, words.Digits(float64(bushels), 0)+" bushels", fmt.Sprintf("of %s by weight in the bin, within about 5 %% of a scale at best", c.Crop), volume, by)
}

// height writes the mean depth of the grain.
func (c *binCmd) height() string {
	text := words.Short(c.Eave.Feet(), 3)
	if c.Peak == nil && c.Hollow == nil {
		return text
	}
	if c.Peak != nil {
		text += " + " + words.Short(c.Peak.Feet(), 3) + " ÷ 3"
	}
	if c.Hollow != nil {
		text += " − " + words.Short(c.Hollow.Feet(), 3) + " ÷ 3"
	}
	return "(" + text + ")"
}

type storageCmd struct {
	Crop     crop.Kind         `need:"" help:"The grain; not every crop has a published table."`
	Moisture flags.Percent     `need:"" low:"0" high:"60" placeholder:"18" help:"Moisture, percent wet basis."`
	Temp     units.Temperature `need:"" low:"-40F" high:"140F" placeholder:"60F" help:"Temperature of the grain."`
}

type storageAnswer struct {
	Days    *document.Figure `json:"days,omitempty"`
	Over300 *bool            `json:"over_300,omitempty"`
	Why
}

// Answer returns the JSON form.
func (storageCmd) Answer() any { return storageAnswer{} }

// Examples returns command lines to try.
func (storageCmd) Examples() []string {
	return []string{"pencil storage --crop corn --moisture 18 --temp 60F", "pencil storage --crop soybean --moisture 13 --temp 40F"}
}

// Run answers.
func (c *storageCmd) Run(s *Desk) error {
	life, ok := storage.Allowable(c.Crop, float64(c.Moisture), c.Temp)
	if !ok {
		return &problem.NoAnswer{
			Rule: "storage.no-table", Say: fmt.Sprintf("No table of storage times is published for %s; the table for cereals would overstate how long it keeps.", c.Crop),
			Next: "Keep it at the long-term moisture your extension service names, cool, and look at it every week.",
		}
	}
	var a storageAnswer
	a.Formula = []string{fmt.Sprintf("table at %s %% and %s; between its points the logarithm of the days is straight in both", words.Short(float64(c.Moisture), 2), s.temperature(c.Temp))}
	a.Sources = s.sources("ndsu-hellevang-2020", "uk-mcneill-storage") // [ndsu-hellevang-2020] [uk-mcneill-storage]
	lead, is := fmt.Sprintf("about %.0f days", life.Days), "until half a percent of its dry matter, about one grade, is gone"
	switch {
	case life.Over300:
		yes := true
		a.Over300 = &yes
		lead = "more than 300 days"
	default:
		days := document.Figure(life.Days)
		a.Days = &days
		if life.Outside {
			lead = fmt.Sprintf("under %.0f days", life.Days)
			a.Cautions = append(a.Cautions, "Wetter or warmer than the table goes: it keeps for less than the last figure of the table.")
		}
	}
	a.Cautions = append(a.Cautions,
		"For sound grain held at one temperature. Damaged grain keeps half as long. Life already used up does not come back: days at each temperature add up.",
		"Air through the grain does not lengthen it; cooling does.")
	for _, caution := range storage.Cautions(storage.AtHazard) {
		a.Cautions = append(a.Cautions, caution.Say)
	}
	if safe, ok := storage.SafePct(c.Crop, 12); ok {
		return s.answer(a, lead, is, Row{"to keep a year", fmt.Sprintf("%s %% or drier", words.Short(safe, 1))})
	}
	return s.answer(a, lead, is)
}

type dryCmd struct {
	Crop    crop.Kind      `need:"" help:"The grain."`
	From    flags.Percent  `need:"" low:"0" high:"60" placeholder:"20" help:"Moisture it has, percent wet basis."`
	To      flags.Percent  `need:"" low:"0" high:"60" placeholder:"15" help:"Moisture it is dried to, percent wet basis."`
	Bushels flags.Number   `need:"" above:"0" high:"10000000" placeholder:"10000" help:"Wet bushels."`
	LP      trade.Price    `name:"lp" per:"gal" need:"" low:"$0" placeholder:"'$1.75'" help:"Price of LP gas per gallon."`
	KWh     trade.Price    `name:"kwh" per:"kWh" need:"" low:"$0" placeholder:"11c" help:"Price of power per kilowatt-hour."`
	RateLP  *flags.Number  `name:"rate-lp" low:"0" high:"0.1" placeholder:"0.019" help:"Gallons your dryer burns per bushel and point."`
	RateKWh *flags.Number  `name:"rate-kwh" low:"0" high:"2" placeholder:"0.010" help:"Kilowatt-hours it takes per bushel and point."`
	Handle  *trade.Price   `name:"rate-handling" per:"bu" low:"$0" placeholder:"3c" help:"Handling cost per wet bushel; without it none."`
	Loss    *flags.Percent `name:"handling-loss" low:"0" high:"20" placeholder:"0.5" help:"Percent of the wet bushels lost in dust and spill; without it none."`
}

type dryAnswer struct {
	Gallons     document.Figure `json:"gallons"`
	KWh         document.Figure `json:"kwh"`
	USD         string          `json:"usd"`
	USDPerBu    string          `json:"usd_per_bu"`
	BushelsLeft document.Figure `json:"bushels_left"`
	Why
}

// Answer returns the JSON form.
func (dryCmd) Answer() any { return dryAnswer{} }

// Examples returns command lines to try.
func (dryCmd) Examples() []string {
	return []string{"pencil dry --crop corn --from 20 --to 15 --bushels 10000 --lp '$1.75' --kwh 11c"}
}

// job fills what was not given from the usual dryer, and says so.
func (c *dryCmd) job() (storage.Job, []string) {
	usual := storage.Methods()[0]
	j := storage.Job{
		Bushels: float64(c.Bushels), FromPct: float64(c.From), ToPct: float64(c.To), Energy: usual,
		LPUSD: c.LP.Float(), PowerUSD: c.KWh.Float(),
	}
	var assumed []string
	set := func(at *float64, given *flags.Number, what string) {
		if given != nil {
			*at = float64(*given)
			return
		}
		assumed = append(assumed, fmt.Sprintf("%s %s per bushel and point, of %s", words.Short(*at, 4), what, usual.Name))
	}
	set(&j.Energy.GalPerBuPoint, c.RateLP, "gallons of LP gas")
	set(&j.Energy.KWhPerBuPoint, c.RateKWh, "kWh")
	if c.Handle != nil {
		j.HandlingUSD = c.Handle.Float()
	} else {
		assumed = append(assumed, "No cost of handling and labor: --rate-handling adds it.")
	}
	if c.Loss != nil {
		j.HandlingLossPct = float64(*c.Loss)
	} else {
		assumed = append(assumed, "No bushels lost in dust and spill; below 1 % is called reasonable: --handling-loss adds it.")
	}
	return j, assumed
}

// Run answers.
func (c *dryCmd) Run(s *Desk) error {
	if c.To > c.From {
		return &problem.InputError{Rule: "dry.order", Label: "--to", Got: words.Short(float64(c.To), 2), Want: "at most --from, " + words.Short(float64(c.From), 2)}
	}
	j, assumed := c.job()
	d, err := j.Dry()
	if err != nil {
		return err
	}
	a := dryAnswer{
		Gallons: document.Figure(d.Gallons), KWh: document.Figure(d.KWh), USD: fmt.Sprintf("%.2f", d.USD), USDPerBu: fmt.Sprintf("%.4f", d.USDPerBu), BushelsLeft: document.Figure(d.BushelsLeft),
	}
	points := words.Short(float64(c.From-c.To), 2)
	bu := words.Short(float64(c.Bushels), 2)
	a.Formula = []string{
		fmt.Sprintf("gas = %s bu × %s points × %s gal = %s gal × $%s = $%s", bu, points, words.Short(j.Energy.GalPerBuPoint, 4), words.Digits(d.Gallons, 1), c.LP, words.Digits(d.LPUSD, 2)),
		fmt.Sprintf("power = %s bu × %s points × %s kWh = %s kWh × $%s = $%s", bu, points, words.Short(j.Energy.KWhPerBuPoint, 4), words.Digits(d.KWh, 1), c.KWh, words.Digits(d.PowerUSD, 2)),
		fmt.Sprintf("left = %s − %s as water − %s in handling = %s bu", bu, words.Digits(d.WaterBu, 2), words.Digits(d.HandlingBu, 2), words.Digits(d.BushelsLeft, 2)),
	}
	if d.HandlingUSD > 0 {
		a.Formula = append(a.Formula, fmt.Sprintf("handling = %s bu × $%s = $%s", bu, c.Handle, words.Digits(d.HandlingUSD, 2)))
	}
	a.Assumed = assumed
	a.Sources = s.sources(j.Energy.Key, "sdsu-corn-shrink")
	for _, caution := range storage.Cautions(storage.AtDryer) {
		a.Cautions = append(a.Cautions, caution.Say)
	}
	return s.answer(a, "$"+words.Digits(d.USD, 2), fmt.Sprintf("to dry %s bushels from %s to %s %%", bu, words.Short(float64(c.From), 2), words.Short(float64(c.To), 2)),
		Row{"a wet bushel", fmt.Sprintf("%.2f cents", 100*d.USDPerBu)},
		Row{"LP gas", s.both(words.Digits(d.Gallons, 0)+" gal", words.Digits(d.Gallons*litersPerGallon, 0)+" L")},
		Row{"power", words.Digits(d.KWh, 0) + " kWh"},
		Row{"bushels left", words.Digits(d.BushelsLeft, 2)})
}

// litersPerGallon is the US gallon of 231 in³. [nist-44]
const litersPerGallon = 231 * 0.0254 * 0.0254 * 0.0254 * 1000
