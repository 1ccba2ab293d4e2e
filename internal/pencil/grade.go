package pencil

import (
	"fmt"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/crop"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
	"threshday/internal/flags"
)

type insuredCmd struct {
	Crop     crop.Kind     `need:"" help:"The crop; its policy must know the adjustment."`
	Moisture trade.Percent `need:"" low:"0" high:"45" placeholder:"15.4" help:"Moisture of the production, percent wet basis."`
	Bushels  trade.Bushels `need:"" above:"0" help:"Harvested bushels, as wet as they were."`
}

type insuredAnswer struct {
	Factor  string `json:"factor"`
	Bushels string `json:"bushels"`
	Why
}

// Answer returns the JSON form.
func (insuredCmd) Answer() any { return insuredAnswer{} }

// Examples returns command lines to try.
func (insuredCmd) Examples() []string {
	return []string{"pencil insured --crop soybean --moisture 15.4 --bushels 1864.3"}
}

// Run answers.
func (c *insuredCmd) Run(s *Desk) error {
	adjust, err := settlement.Insured(c.Crop, c.Moisture)
	if err != nil {
		return err
	}
	counted := adjust.Of(c.Bushels)
	ten, _ := adjust.Factor.Units(4)
	a := insuredAnswer{Factor: fmt.Sprintf("%d.%04d", ten/10_000, ten%10_000), Bushels: counted.Fixed(1)}
	a.Formula = []string{
		fmt.Sprintf("factor = 1 − 0.0012 for each tenth of a percent over %s = %s", adjust.Base, a.Factor),
		fmt.Sprintf("%s bu × %s = %s bu, to a tenth", c.Bushels, a.Factor, a.Bushels),
	}
	if c.Crop == crop.Corn {
		a.Formula[0] += "; each tenth over 30.0 takes 0.0020"
	}
	a.Sources = s.sources("rma-fad-213")
	a.Cautions = []string{"Before quality adjustment. It is neither the water in the grain nor a buyer's shrink. The adjuster's worksheet decides."}
	if adjust.Recalled {
		a.Sources = s.sources("insurance-recalled") // [insurance-recalled]
		a.Cautions = append(a.Cautions, fmt.Sprintf("The base of %s %% is recalled, not read: look in the crop provisions of the policy.", adjust.Base))
	}
	return s.answer(a, a.Bushels+" bushels", fmt.Sprintf("of %s production to count, from %s at %s %%", c.Crop, c.Bushels, c.Moisture), Row{"factor", a.Factor})
}

type gradeCmd struct {
	Crop  crop.Kind        `need:"" help:"The grain: soybean, corn, wheat, sorghum, canola or sunflower."`
	Date  calendar.Day     `need:"" help:"Day of grading; the standards change."`
	Class flags.GradeClass `help:"Wheat: its class."`

	TestWeight *flags.TestWeight `help:"Pounds a bushel."`
	Damage     *trade.Percent    `placeholder:"2.4" help:"Damaged kernels, total, percent."`
	Heat       *trade.Percent    `placeholder:"0.1" help:"Heat damaged kernels, percent; part of the total."`
	FM         *trade.Percent    `name:"fm" placeholder:"1.1" help:"Foreign material, percent."`
	Splits     *trade.Percent    `placeholder:"12.0" help:"Soybean: splits, percent."`
	BCFM       *trade.Percent    `name:"bcfm" placeholder:"3.4" help:"Corn: broken corn and foreign material, percent."`
	Broken     *trade.Percent    `placeholder:"2.0" help:"Sorghum: broken kernels, percent."`
	Shrunken   *trade.Percent    `name:"shrunken-broken" placeholder:"3.0" help:"Wheat: shrunken and broken kernels, percent."`
	Contrast   *trade.Percent    `name:"contrasting-classes" placeholder:"1.0" help:"Wheat: contrasting classes, percent."`
	Others     *trade.Percent    `name:"other-classes" placeholder:"3.0" help:"Wheat: wheat of other classes, total, percent."`
	Colors     *trade.Percent    `name:"other-colors" placeholder:"0.5" help:"Soybean, before September 2023: beans of other colors, percent."`
	Green      *trade.Percent    `placeholder:"2.0" help:"Canola: distinctly green seed, percent."`
	Ergot      *trade.Percent    `placeholder:"0.02" help:"Canola: ergot, percent."`
	Sclerotia  *trade.Percent    `name:"sclerotinia" placeholder:"0.05" help:"Canola: sclerotinia, percent."`
	Conspic    *trade.Percent    `name:"admixture-conspicuous" placeholder:"1.0" help:"Canola: conspicuous admixture, percent."`
	Inconspic  *trade.Percent    `name:"admixture-inconspicuous" placeholder:"4.0" help:"Canola: inconspicuous admixture, percent."`
	Dehulled   *trade.Percent    `placeholder:"3.0" help:"Sunflower: dehulled seed, percent."`
	FilthPct   *trade.Percent    `name:"animal-filth" placeholder:"0.05" help:"Corn: animal filth by weight, percent."`
	Stones     *trade.Percent    `placeholder:"0.05" help:"Stones by weight, percent."`

	StoneCount  *flags.Count `low:"0" high:"1000" help:"Stones, pieces in the official sample."`
	GlassCount  *flags.Count `low:"0" high:"1000" placeholder:"0" help:"Pieces of glass."`
	Castor      *flags.Count `name:"castor-bean-count" low:"0" high:"1000" placeholder:"0" help:"Castor beans."`
	Crotalaria  *flags.Count `name:"crotalaria-count" low:"0" high:"1000" placeholder:"0" help:"Crotalaria seeds."`
	Filth       *flags.Count `name:"filth-count" low:"0" high:"1000" placeholder:"0" help:"Pieces of animal filth."`
	Unknown     *flags.Count `name:"unknown-count" low:"0" high:"1000" placeholder:"0" help:"Particles of an unknown substance."`
	Cockleburs  *flags.Count `name:"cocklebur-count" low:"0" high:"1000" placeholder:"0" help:"Cockleburs."`
	InsectCount *flags.Count `name:"insect-damaged-count" low:"0" high:"1000" placeholder:"0" help:"Wheat: insect damaged kernels in 100 g."`

	Musty      bool `help:"A musty odor was noted."`
	Sour       bool `help:"A sour odor was noted."`
	Odor       bool `help:"Another objectionable odor was noted."`
	Heating    bool `help:"The grain is heating."`
	Garlicky   bool `help:"Garlic was noted."`
	Infested   bool `help:"Live insects were noted."`
	Discolored bool `help:"Sorghum: distinctly discolored."`
}

type gradeAnswer struct {
	Grade     string   `json:"grade"`
	LimitedBy []string `json:"limited_by"`
	Missing   []string `json:"missing,omitempty"` // grade factors not measured
	Special   []string `json:"special,omitempty"`
	Why
}

// Answer returns the JSON form.
func (gradeCmd) Answer() any { return gradeAnswer{} }

// Examples returns command lines to try.
func (gradeCmd) Examples() []string {
	return []string{
		"pencil grade --crop soybean --date 2031-10-01 --damage 2.4 --heat 0.1 --fm 1.1 --splits 12.0",
		"pencil grade --crop corn --date 2031-10-20 --test-weight 53.2 --damage 3.0 --heat 0.0 --bcfm 3.4",
		"pencil grade --crop wheat --class HRW --date 2031-07-05 --test-weight 58.4 --damage 1.2 --heat 0.0 --fm 0.3 --shrunken-broken 2.2 --contrasting-classes 0.0 --other-classes 1.0",
	}
}

// Explain says what the grade is.
func (gradeCmd) Explain() string {
	return "For each factor the best numbered grade whose limit it meets, over all factors the worst. A factor that was not measured is " +
		"named, and the grade is then at best that. A factor the crop is not graded by is left aside."
}

// readings returns the factors that were given.
func (c *gradeCmd) readings() settlement.Readings {
	var r settlement.Readings
	if c.TestWeight != nil {
		r = r.With(settlement.TestWeight, trade.Percent(*c.TestWeight))
	}
	for _, f := range []struct {
		factor settlement.Factor
		given  *trade.Percent
	}{
		{settlement.DamageTotal, c.Damage},
		{settlement.HeatDamage, c.Heat},
		{settlement.ForeignMaterial, c.FM},
		{settlement.Splits, c.Splits},
		{settlement.BCFM, c.BCFM},
		{settlement.Broken, c.Broken},
		{settlement.ShrunkenBroken, c.Shrunken},
		{settlement.ContrastingClasses, c.Contrast},
		{settlement.OtherClasses, c.Others},
		{settlement.OtherColors, c.Colors},
		{settlement.Green, c.Green},
		{settlement.Ergot, c.Ergot},
		{settlement.Sclerotinia, c.Sclerotia},
		{settlement.AdmixtureConspicuous, c.Conspic},
		{settlement.AdmixtureInconspicuous, c.Inconspic},
		{settlement.Dehulled, c.Dehulled},
		{settlement.AnimalFilth, c.FilthPct},
		{settlement.Stones, c.Stones},
	} {
		if f.given != nil {
			r = r.With(f.factor, *f.given)
		}
	}
	for _, f := range []struct {
		factor settlement.Factor
		noted  bool
	}{
		{settlement.OdourMusty, c.Musty},
		{settlement.OdourSour, c.Sour},
		{settlement.OdourOther, c.Odor},
		{settlement.Heating, c.Heating},
		{settlement.Garlicky, c.Garlicky},
		{settlement.Infested, c.Infested},
	} {
		if f.noted {
			r = r.WithFlag(f.factor)
		}
	}
	return r
}

// counts returns the pieces that were given.
func (c *gradeCmd) counts() map[settlement.Count]int {
	out := map[settlement.Count]int{}
	for _, n := range []struct {
		count settlement.Count
		given *flags.Count
	}{
		{settlement.StonePieces, c.StoneCount},
		{settlement.GlassPieces, c.GlassCount},
		{settlement.CastorBeans, c.Castor},
		{settlement.Crotalaria, c.Crotalaria},
		{settlement.FilthPieces, c.Filth},
		{settlement.UnknownPieces, c.Unknown},
		{settlement.Cockleburs, c.Cockleburs},
		{settlement.InsectDamaged, c.InsectCount},
	} {
		if n.given != nil {
			out[n.count] = int(*n.given)
		}
	}
	return out
}

// Run answers.
func (c *gradeCmd) Run(s *Desk) error {
	if c.Class != "" {
		if err := (ofCrop{"--class", true, []crop.Kind{crop.Wheat}}).check(c.Crop); err != nil {
			return err
		}
	}
	g, err := settlement.Assign(settlement.Sample{
		Crop: c.Crop, Class: string(c.Class), Day: c.Date, Readings: c.readings(), Counts: c.counts(), Discolored: c.Discolored,
	})
	if err != nil {
		return err
	}
	a := gradeAnswer{Grade: g.String(), LimitedBy: []string{}, Special: g.Special}
	a.LimitedBy = append(a.LimitedBy, g.LimitedBy...)
	var lacking []string
	for _, f := range g.Missing {
		a.Missing = append(a.Missing, f.String())
		lacking = append(lacking, f.Words())
	}
	a.Formula = []string{"the worst over all factors of the best grade whose limit each meets, after rounding as officially recorded"}
	if key := gradeTables[c.Crop]; key != "" {
		a.Sources = s.sources(key)
	}
	lead := "U.S. No. " + a.Grade
	if g.Number == settlement.SampleGrade {
		lead = "U.S. Sample grade"
	}
	var rows []Row
	if len(lacking) > 0 {
		lead = "At best " + lead
		rows = append(rows, Row{"not measured", strings.Join(lacking, ", ")})
	}
	if len(g.LimitedBy) > 0 {
		rows = append(rows, Row{"held down by", strings.ReplaceAll(strings.Join(g.LimitedBy, ", "), "_", " ")})
	}
	if len(g.Special) > 0 {
		rows = append(rows, Row{"special grade", strings.Join(g.Special, ", ")})
	}
	a.Cautions = []string{"Only an official inspection certifies a grade; a buyer's schedule pays by its own limits, not by the grade."}
	return s.answer(a, lead, fmt.Sprintf("%s by the standard in force on %s", c.Crop, c.Date), rows...)
}

// gradeTables are the sources of the grade tables. [cfr-810-1604] [cfr-810-404] [cfr-810-2204] [cfr-810-1404] [cfr-810-304]
// [cfr-810-1804]
var gradeTables = map[crop.Kind]string{
	crop.Soybean: "cfr-810-1604", crop.Corn: "cfr-810-404", crop.Wheat: "cfr-810-2204", crop.Sorghum: "cfr-810-1404",
	crop.Canola: "cfr-810-304", crop.Sunflower: "cfr-810-1804",
}
