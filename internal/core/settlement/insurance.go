package settlement

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/trade"
)

// insuredBase is where the moisture adjustment of production to count begins. recalled: from memory, to be
// verified in the crop's own provisions.
type insuredBase struct {
	base     string
	second   string // from here each tenth takes 0.20 % instead; empty: never
	recalled bool
}

// Corn, sorghum and soybeans [rma-fad-213]; wheat, canola and sunflower [insurance-recalled].
var insuredBases = map[crop.Kind]insuredBase{
	crop.Corn:      {base: "15.0", second: "30.0"},
	crop.Sorghum:   {base: "14.0"},
	crop.Soybean:   {base: "13.0"},
	crop.Wheat:     {base: "13.5", recalled: true},
	crop.Canola:    {base: "8.5", recalled: true},
	crop.Sunflower: {base: "10.0", recalled: true},
}

// InsurerSchedule returns the moisture adjustment of production to count as a schedule whose buyer is the
// insurer: 0.12 percent of weight for each tenth over the base, for corn 0.20 over 30.0. The second result is
// false for a crop whose rule is not known here.
func InsurerSchedule(k crop.Kind) (Schedule, bool) {
	base, ok := insuredBases[k]
	if !ok {
		return Schedule{}, false
	}
	lb := "60"
	if k == crop.Corn || k == crop.Sorghum {
		lb = "56"
	}
	s := Schedule{
		ID: "production-to-count", Buyer: "insurer", Crop: k, LbPerBu: decimalOf(lb), BuDecimals: new(1), Style: NetPrice, DeductBasis: Sequential,
		Average: LoadByLoad, Note: "Before quality adjustment. The adjuster's worksheet decides.",
	}
	tier := func(seq int, from, to, amount string) Row {
		return Row{
			Seq: seq, Factor: Moisture, Kind: WeightRow, Direction: Above, From: decimalOf(from), To: decimalOf(to), Step: decimalOf("0.1"),
			StepMode: Prorated, Unit: PctWeightPerStep, Amount: new(trade.MustFraction(amount)), Printed: amount,
		}
	}
	s.Rows = []Row{tier(10, base.base, base.second, "0.12")}
	if base.second != "" {
		s.Rows = append(s.Rows, tier(20, base.second, "", "0.20"))
	}
	return s, true
}

func decimalOf(s string) *trade.Decimal {
	if s == "" {
		return nil
	}
	return new(trade.MustDecimal(s))
}

// An Adjustment is what moisture leaves of harvested production in production to count.
type Adjustment struct {
	Factor   trade.Decimal // four decimals, exact
	Base     trade.Decimal // percent; no adjustment at or below it
	Recalled bool          // the base is from memory: the policy's own crop provisions decide
}

// Insured returns the moisture adjustment of crop k at moisture m, which is first rounded to a tenth. It is
// linear on the wet weight: neither the water in the grain nor the outlet's shrink. The error is a
// *problem.InputError for a crop whose rule is not known and a moisture no grain has.
func Insured(k crop.Kind, m trade.Percent) (Adjustment, error) {
	s, ok := InsurerSchedule(k)
	if !ok {
		return Adjustment{}, &problem.InputError{
			Rule: "insured.crop", Label: "Crop", Got: k.String(),
			Want: "a crop whose adjustment is known: corn, sorghum, soybean, wheat, canola, sunflower", Next: "Ask the adjuster.",
		}
	}
	if low, high := Moisture.Range(k); m < 0 || m > high {
		return Adjustment{}, &problem.InputError{Rule: "T03", Label: "Moisture", Got: m.String(), Want: fmt.Sprintf("%s to %s %%", low, high)}
	}
	terms, _, err := Prepare(s)
	if err != nil {
		panic("settlement: insurer's schedule: " + err.Error())
	}
	v := values{have: 1 << Moisture}
	v.x[Moisture] = int64(Moisture.Recorded(m))
	it := &terms.weights[0]
	n := trade.HalfUp.MulDiv(it.takes(&v), 100, it.den) // hundredths of a percent: exact, a tenth takes 12 or 20
	return Adjustment{Factor: trade.NewDecimal(100_00-n, 4), Base: *s.Rows[0].From, Recalled: insuredBases[k].recalled}, nil
}

// Of returns the insured part of b, to a tenth of a bushel as on each worksheet line.
func (a Adjustment) Of(b trade.Bushels) trade.Bushels {
	n, _ := a.Factor.Units(4)
	return trade.Bushels(trade.HalfUp.MulDiv(int64(b), n, 10_000*100)) * 100
}
