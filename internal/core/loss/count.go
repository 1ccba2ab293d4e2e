package loss

import (
	"fmt"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
	"threshday/internal/core/units"
)

// A Seed is how many seeds weigh a pound.
type Seed struct {
	PerPound  float64
	Low, High float64 // usual range
	Key       string  // of the counting rule the default makes exact
}

// DefaultSeed returns the usual seed count of k. ok is false for crops that must be weighed first: sunflower,
// whose rule of ten seeds is exact only at 104 mg a seed and wrong by half for oil types near 55 mg; oats, for
// which none is known here. Say the figure used beside the answer.
func DefaultSeed(k crop.Kind) (s Seed, ok bool) {
	switch k {
	case crop.Soybean: // 4 seeds a square foot are a bushel an acre; 5 when small [unl-burr-2022]
		return Seed{PerPound: 2900, Low: 2200, High: 3600, Key: "isu-hanna"}, true
	case crop.Corn: // 2 kernels
		return Seed{PerPound: 1550, Low: 1200, High: 1900, Key: "isu-hanna"}, true
	case crop.Wheat: // 20 kernels
		return Seed{PerPound: 14500, Low: 12000, High: 18000, Key: "ndsu-losses-2003"}, true
	case crop.Barley: // 14 kernels
		return Seed{PerPound: 12700, Low: 10500, High: 15000, Key: "ndsu-losses-2003"}, true
	case crop.Sorghum: // 17 to 22 kernels
		return Seed{PerPound: 15500, Low: 12500, High: 19000, Key: "loss-recalled"}, true
	case crop.Canola: // 149 seeds: weigh, do not count
		return Seed{PerPound: 130000, Low: 110000, High: 160000, Key: "judgement"}, true
	default:
		return Seed{}, false
	}
}

// SeedsPerPound turns a thousand-seed weight in grams into seeds a pound.
func SeedsPerPound(thousandSeedGrams float64) float64 {
	return 1000 * 1000 * float64(units.Pound) / thousandSeedGrams
}

// SeedsPerSqFt returns how many seeds on a square foot are one bushel an acre, for a bushel of poundsPerBushel;
// with 100 pounds, one hundredweight an acre.
func SeedsPerSqFt(poundsPerBushel, seedsPerPound float64) float64 {
	return poundsPerBushel * seedsPerPound / float64(units.Acre/units.SquareFoot)
}

// Counts are seeds a square foot found at three places of the same pass, each the mean of three or more spots.
type Counts struct {
	Ahead   float64      // in the standing crop
	Header  float64      // behind the header, under the machine
	Behind  float64      // in the band behind the machine
	Cut     units.Length // width of the header
	Spread  units.Length // width over which residue is thrown; Cut for a full-width spreader
	PerSqFt float64      // seeds a square foot that are one bushel an acre, from SeedsPerSqFt
}

// BuPerAcre are losses on the ground in bushels an acre.
type BuPerAcre struct{ Pre, Header, Machine float64 }

// Loss returns what was lost before harvest, at the header and in the machine. The band behind the machine
// holds the grain of the whole cut; its count is thinned by Spread over Cut. [ndsu-losses-2003]
// A later count below an earlier one is no loss and a doubt: too few places were counted.
func (c Counts) Loss() (BuPerAcre, []problem.Finding, error) {
	if err := c.check(); err != nil {
		return BuPerAcre{}, nil, err
	}
	var doubts []problem.Finding
	step := func(label string, from, to float64) float64 {
		if to < from {
			doubts = append(doubts, problem.Finding{
				Rule: "lossfield.order", Severity: problem.Warning, Label: label,
				Say:  "Fewer seeds were counted after the machine passed than before it; that part is taken as nothing.",
				Next: "Count at least three places each and enter the means.",
			})
		}
		return max(to-from, 0)
	}
	return BuPerAcre{
		Pre:     c.Ahead / c.PerSqFt,
		Header:  step("behind the header", c.Ahead, c.Header) / c.PerSqFt,
		Machine: step("behind the machine", c.Header, c.Behind) * float64(c.Spread/c.Cut) / c.PerSqFt,
	}, doubts, nil
}

func (c Counts) check() error {
	var bad problem.InputErrors
	need := func(ok bool, label string, got float64, want string) {
		if !ok {
			bad = append(bad, &problem.InputError{Rule: "lossfield.range", Label: label, Got: fmt.Sprintf("%.6g", got), Want: want})
		}
	}
	need(c.Ahead >= 0, "seeds ahead of the machine", c.Ahead, "0 or more a square foot")
	need(c.Header >= 0, "seeds behind the header", c.Header, "0 or more a square foot")
	need(c.Behind >= 0, "seeds behind the machine", c.Behind, "0 or more a square foot")
	need(c.PerSqFt > 0, "seeds a square foot that are one bushel an acre", c.PerSqFt, "more than 0")
	need(c.Cut > 0, "header width", c.Cut.Feet(), "more than 0 ft")
	need(c.Spread > 0 && c.Spread <= c.Cut, "discharge width", c.Spread.Feet(), "more than 0 ft, at most the header's width")
	return bad.Or()
}

// EarsBuPerAcre returns the loss of whole corn ears of three quarters of a pound found along feet of rows with
// the given spacing: one ear on a hundredth of an acre is 75 lb of ears, taken as one bushel an acre. [isu-hanna]
func EarsBuPerAcre(ears float64, along, spacing units.Length) float64 {
	const hundredth = 0.01
	acres := units.Area(float64(along) * float64(spacing)).Acres()
	return ears * hundredth / acres
}
