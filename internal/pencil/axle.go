package pencil

import (
	"fmt"

	"threshday/internal/core/capacity"
	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
	"threshday/internal/core/units"
	"threshday/internal/document"
	"threshday/internal/flags"
	"threshday/internal/words"
)

type axleCmd struct {
	Spacing []units.Length      `need:"" placeholder:"12ft,4.3ft,31ft,4ft" help:"Distances between neighboring axles, front to back."`
	Weights []flags.ScaleWeight `need:"" placeholder:"11000lb,17000lb,17000lb,17000lb,17000lb" help:"Weight on each axle, front to back; one more than distances."`
	Gross   *flags.ScaleWeight  `name:"gross-limit" above:"0lb" help:"Gross limit of your state or road, where it differs from the federal 80000lb."`
	Single  *flags.ScaleWeight  `name:"single-limit" above:"0lb" placeholder:"20000lb" help:"Limit of a single axle, where it differs from 20000lb."`
	Tandem  *flags.ScaleWeight  `name:"tandem-limit" above:"0lb" placeholder:"34000lb" help:"Limit of a tandem, where it differs from 34000lb."`
}

type axleAnswer struct {
	GrossLb      int64       `json:"gross_lb"`
	GrossLimitLb int64       `json:"gross_limit_lb"`
	Legal        bool        `json:"legal"`
	Axles        []axleRow   `json:"axles"`
	Groups       []axleGroup `json:"groups"`
	Why
}

type axleRow struct {
	Axle     int   `json:"axle"`
	WeightLb int64 `json:"weight_lb"`
	LimitLb  int64 `json:"limit_lb"`
	Legal    bool  `json:"legal"`
}

type axleGroup struct {
	From     int    `json:"from"`
	To       int    `json:"to"`
	Feet     int    `json:"feet"`
	LimitLb  int64  `json:"limit_lb"`
	WeightLb int64  `json:"weight_lb"`
	Legal    bool   `json:"legal"`
	Rule     string `json:"rule"`
}

// Answer returns the JSON form.
func (axleCmd) Answer() any { return axleAnswer{} }

// Examples returns command lines to try.
func (axleCmd) Examples() []string {
	return []string{"pencil axle --spacing 12ft,4.3ft,31ft,4ft --weights 11000lb,17000lb,17000lb,17000lb,17000lb"}
}

// Explain says what is checked.
func (axleCmd) Explain() string {
	return "Each axle, each group of two or more neighboring axles, and the gross are held against the federal limits of the " +
		"Interstate System, or against the limits you give. Weigh axle by axle; distances between axle centers."
}

// Run answers.
func (c *axleCmd) Run(s *Desk) error {
	limits := capacity.FederalLimits()
	for _, set := range []struct {
		at    *trade.Pounds
		given *flags.ScaleWeight
	}{{&limits.Gross, c.Gross}, {&limits.Single, c.Single}, {&limits.Tandem, c.Tandem}} {
		if set.given != nil {
			*set.at = trade.Pounds(*set.given)
		}
	}
	rig := capacity.Rig{Spacing: c.Spacing}
	for _, w := range c.Weights {
		rig.Weights = append(rig.Weights, trade.Pounds(w))
	}
	check, err := rig.Check(limits)
	if err != nil {
		return err
	}
	a := axleAnswer{GrossLb: int64(check.Gross), GrossLimitLb: int64(check.GrossLimit), Legal: check.Legal}
	var over []Row
	for _, x := range check.Axles {
		a.Axles = append(a.Axles, axleRow{x.Axle, int64(x.Weight), int64(x.Limit), x.Legal})
		if !x.Legal {
			over = append(over, Row{fmt.Sprintf("axle %d", x.Axle), overBy(x.Weight, x.Limit)})
		}
	}
	for _, g := range check.Groups {
		a.Groups = append(a.Groups, axleGroup{g.From, g.To, g.Feet, int64(g.Limit), int64(g.Weight), g.Legal, g.Rule})
		if !g.Legal {
			over = append(over, Row{fmt.Sprintf("axles %d to %d", g.From, g.To), overBy(g.Weight, g.Limit) + " (" + g.Rule + fmt.Sprintf(", %d ft)", g.Feet)})
		}
	}
	if check.Gross > check.GrossLimit {
		over = append(over, Row{"gross", overBy(check.Gross, check.GrossLimit)})
	}
	a.Formula = []string{"a group of N axles over L ft, to the nearest foot: 500 × (L × N ÷ (N − 1) + 12 × N + 36) lb, to the nearest 500, a tie downward"}
	for _, g := range check.Groups {
		if g.From == 1 && g.To == len(rig.Weights) {
			a.Formula = append(a.Formula, fmt.Sprintf("all %d axles over %d ft: %s lb (%s)", g.To, g.Feet, words.Digits(g.Limit.Float(), 0), g.Rule))
		}
	}
	a.Sources = s.sources("usc-23-127", "cfr-658-17", "iowa-321-463") // [usc-23-127] [cfr-658-17] [iowa-321-463]
	for _, caution := range capacity.Cautions(capacity.AtAxles) {
		a.Cautions = append(a.Cautions, caution.Say)
	}
	lead, is := "Within the limits", "every axle, every group and the gross, as you entered them"
	if !check.Legal {
		lead, is = "Over the limit", "take grain out; do not record it away"
	}
	rows := append(over, Row{"gross", fmt.Sprintf("%s of %s lb", words.Digits(check.Gross.Float(), 0), words.Digits(check.GrossLimit.Float(), 0))})
	return s.answer(a, lead, is, rows...)
}

func overBy(w, limit trade.Pounds) string {
	return fmt.Sprintf("%s lb over: %s of %s", words.Digits((w-limit).Float(), 0), words.Digits(w.Float(), 0), words.Digits(limit.Float(), 0))
}

type payloadCmd struct {
	Crop  crop.Kind         `need:"" help:"The grain."`
	Gross flags.ScaleWeight `need:"" above:"0lb" high:"300000lb" help:"Gross limit of the rig with its load: what your road and your brakes allow."`
	Tare  flags.ScaleWeight `need:"" low:"0lb" high:"300000lb" placeholder:"26000lb" help:"Weight empty, from a scale ticket."`
}

type payloadAnswer struct {
	Bushels   *document.Figure `json:"bushels,omitempty"`
	Hundreds  *document.Figure `json:"hundredweights,omitempty"`
	PayloadLb int64            `json:"payload_lb"`
	Why
}

// Answer returns the JSON form.
func (payloadCmd) Answer() any { return payloadAnswer{} }

// Examples returns command lines to try.
func (payloadCmd) Examples() []string {
	return []string{"pencil payload --crop corn --gross 80000lb --tare 26000lb"}
}

// Run answers.
func (c *payloadCmd) Run(s *Desk) error {
	if c.Tare >= c.Gross {
		return &problem.InputError{Rule: "payload.tare", Label: "--tare", Got: fmt.Sprintf("%d lb", c.Tare), Want: fmt.Sprintf("less than --gross, %d lb", c.Gross)}
	}
	load, _, err := capacity.Truck{Gross: trade.Pounds(c.Gross), Tare: trade.Pounds(c.Tare)}.Payload(1)
	if err != nil {
		return err
	}
	a := payloadAnswer{PayloadLb: int64(load)}
	room := fmt.Sprintf("%s − %s = %s lb", words.Digits(float64(c.Gross), 0), words.Digits(float64(c.Tare), 0), words.Digits(load.Float(), 0))
	for _, caution := range capacity.Cautions(capacity.AtAxles) {
		a.Cautions = append(a.Cautions, caution.Say)
	}
	a.Cautions = append(a.Cautions, fmt.Sprintf("Aim at %.0f %% of it, so that a load seldom comes in over.", 100*capacity.LoadTo))
	rows := []Row{{"load", s.mass(units.Mass(load.Float()) * units.Pound)}}
	lb, ok := crop.BushelPounds(c.Crop)
	if !ok {
		hundreds := document.Figure(load.Float() / 100)
		a.Hundreds = &hundreds
		a.Formula = []string{room, fmt.Sprintf("%s ÷ 100 = %.2f hundredweight", words.Digits(load.Float(), 0), float64(hundreds))}
		return s.answer(a, words.Digits(float64(hundreds), 1)+" hundredweight", "in the load: this crop is traded by the hundredweight", rows...)
	}
	bu, _ := crop.Bushels(c.Crop, units.Mass(load.Float())*units.Pound)
	bushels := document.Figure(bu)
	a.Bushels = &bushels
	a.Formula = []string{room, fmt.Sprintf("%s ÷ %d lb = %.2f bu, at the moisture it has", words.Digits(load.Float(), 0), lb, bu)}
	a.Sources = s.sources("extension-test-weight") // [extension-test-weight]
	return s.answer(a, words.Digits(bu, 1)+" bushels", fmt.Sprintf("of %s in the load, as wet as it comes", c.Crop), rows...)
}
