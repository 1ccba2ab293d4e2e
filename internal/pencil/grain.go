package pencil

import (
	"fmt"

	"threshday/internal/core/moisture"
	"threshday/internal/core/problem"
	"threshday/internal/document"
	"threshday/internal/flags"
	"threshday/internal/words"
)

type shrinkCmd struct {
	From     flags.Percent  `need:"" low:"0" high:"60" placeholder:"19.3" help:"Moisture it has, percent wet basis."`
	To       flags.Percent  `need:"" low:"0" high:"60" placeholder:"15" help:"Moisture it is dried to, percent wet basis."`
	Handling *flags.Percent `low:"0" high:"20" placeholder:"0.5" help:"Handling loss, percent of the wet weight; without it none."`
}

type shrinkAnswer struct {
	WaterShrinkPct document.Figure `json:"water_shrink_pct"`
	TotalShrinkPct document.Figure `json:"total_shrink_pct"`
	FactorPct      document.Figure `json:"factor_pct_per_point"`
	Why
}

// Answer returns the JSON form.
func (shrinkCmd) Answer() any { return shrinkAnswer{} }

// Examples returns command lines to try.
func (shrinkCmd) Examples() []string {
	return []string{"pencil shrink --from 19.3 --to 15", "pencil shrink --from 18 --to 13 --handling 0.5"}
}

// Run answers.
func (c *shrinkCmd) Run(s *Desk) error {
	if c.To > c.From {
		return &problem.InputError{
			Rule: "shrink.wetter", Label: "--to", Got: words.Short(float64(c.To), 2), Want: "at most --from, " + words.Short(float64(c.From), 2),
			Next: "Grain that is drier than the base already: `threshday pencil overdry`.",
		}
	}
	from, to := moisture.WetBasis(float64(c.From)), moisture.WetBasis(float64(c.To))
	handling := 0.0
	if c.Handling != nil {
		handling = float64(*c.Handling)
	}
	water, total, factor := moisture.WaterShrinkPct(from, to), moisture.TotalShrinkPct(from, to, handling), moisture.FactorPctPerPoint(to)
	a := shrinkAnswer{WaterShrinkPct: document.Figure(water), TotalShrinkPct: document.Figure(total), FactorPct: document.Figure(factor)}
	m1, m2 := words.Short(float64(c.From), 2), words.Short(float64(c.To), 2)
	a.Formula = []string{
		fmt.Sprintf("water = 100 × (%s − %s) ÷ (100 − %s) = %.3f %% of the wet weight", m1, m2, m2, water),
		fmt.Sprintf("factor = 100 ÷ (100 − %s) = %.4f %% a point", m2, factor),
	}
	a.Sources = s.sources("sdsu-corn-shrink") // [sdsu-corn-shrink]
	rows := []Row{{"factor", fmt.Sprintf("%.4f %% a point", factor)}}
	if c.Handling != nil {
		a.Formula = append(a.Formula, fmt.Sprintf("total = %.3f + %s = %.3f %%", water, words.Short(handling, 2), total))
		rows = append(rows, Row{"with handling", fmt.Sprintf("%.2f %%", total)})
	} else {
		a.Assumed = []string{"No handling loss. 0.5 % is a common figure: --handling 0.5."}
	}
	a.Cautions = []string{"A buyer's posted shrink is usually more than the water alone; the posted schedule decides."}
	return s.answer(a, fmt.Sprintf("%.2f %%", water), fmt.Sprintf("of the wet weight leaves as water, from %s to %s %%", m1, m2), rows...)
}

type overdryCmd struct {
	SoldAt flags.Percent `need:"" low:"0" high:"60" placeholder:"11" help:"Moisture it is sold at, percent wet basis."`
	Base   flags.Percent `need:"" low:"0" high:"60" placeholder:"13" help:"Moisture the price is for, as the buyer posts it."`
}

type overdryAnswer struct {
	LostPct document.Figure `json:"lost_pct"`
	Why
}

// Answer returns the JSON form.
func (overdryCmd) Answer() any { return overdryAnswer{} }

// Examples returns command lines to try.
func (overdryCmd) Examples() []string { return []string{"pencil overdry --sold-at 11 --base 13"} }

// Run answers.
func (c *overdryCmd) Run(s *Desk) error {
	lost := moisture.OverDryLostPct(moisture.WetBasis(float64(c.SoldAt)), moisture.WetBasis(float64(c.Base)))
	a := overdryAnswer{LostPct: document.Figure(lost)}
	m, base := words.Short(float64(c.SoldAt), 2), words.Short(float64(c.Base), 2)
	a.Sources = s.sources("unl-cropwatch-overdry") // [unl-cropwatch-overdry]
	if c.SoldAt >= c.Base {
		a.Formula = []string{fmt.Sprintf("%s %% is not under %s %%: nothing is given away; the buyer's discounts act instead", m, base)}
		return s.answer(a, "0 %", "of the saleable weight is given away at or above the base")
	}
	a.Formula = []string{fmt.Sprintf("100 × (1 − (100 − %s) ÷ (100 − %s)) = %.3f %%", base, m, lost)}
	a.Cautions = []string{"Beans under 11 % also shatter at the header and split when handled."}
	return s.answer(a, fmt.Sprintf("%.2f %%", lost), fmt.Sprintf("of the saleable weight is given away by selling at %s %% where the price is for %s %%", m, base))
}
