package drydown

import (
	"fmt"
	"math"
	"strings"

	"threshday/internal/core/crop"
	"threshday/internal/core/problem"
)

// A Stage is a growth stage somebody saw in a field, half of whose plants are at it.
type Stage string

// The stages, as records write them. A sighting of another stage is refused.
const (
	R5         Stage = "R5"
	R6         Stage = "R6"
	R7         Stage = "R7"
	R8         Stage = "R8"
	Dent       Stage = "dent"
	BlackLayer Stage = "black-layer"
	RipeStage  Stage = "ripe"
	BrownStage Stage = "brown" // so many percent of the pods at mature colour; soybean
	GreenStage Stage = "green" // not mature yet
)

// SightingSDDays is how far a person's look at the stage of a field may be off. [judgement]
const SightingSDDays = 2

// ToMaturity returns how many days after stage s a crop reaches the maturity the model starts from (negative:
// before), and the spread of that interval. The error is a *problem.InputError for a stage the crop has not.
func ToMaturity(k crop.Kind, s Stage) (days, sdDays float64, err error) {
	if s == GreenStage {
		return 0, 0, nil
	}
	switch k {
	case crop.Soybean:
		switch s {
		case R5:
			return 32, 4, nil // 30–35 days to R7 [drydown-recalled]
		case R6:
			return 20, 4, nil // [sdsu-soybean-stages], warm and dry; spread [judgement]
		case R7:
			return 0, 0, nil
		case R8, BrownStage, RipeStage:
			return -9, 3, nil // [drydown-recalled]; 7–18 days
		case Dent, BlackLayer, GreenStage:
		}
	case crop.Corn:
		switch s {
		case R5, Dent:
			return 33, 4, nil // dent 31–33, black layer 64–66 days after silking [abendroth-2011]; spread [judgement]
		case R6, BlackLayer:
			return 0, 0, nil
		case R7, R8, RipeStage, BrownStage, GreenStage:
		}
	default:
		if s == RipeStage || (s == BlackLayer && k == crop.Sorghum) {
			return 0, 0, nil
		}
	}
	return 0, 0, &problem.InputError{
		Rule: "drydown.stage", Label: fmt.Sprintf("Stage of %s", k), Got: string(s), Want: strings.Join(stagesOf(k), ", "),
	}
}

func stagesOf(k crop.Kind) []string {
	switch k {
	case crop.Soybean:
		return []string{string(R5), string(R6), string(R7), string(R8), string(BrownStage), string(RipeStage), string(GreenStage)}
	case crop.Corn:
		return []string{string(Dent), string(BlackLayer), string(R5), string(R6), string(GreenStage)}
	case crop.Sorghum:
		return []string{string(BlackLayer), string(RipeStage), string(GreenStage)}
	default:
		return []string{string(RipeStage), string(GreenStage)}
	}
}

// plantsShift returns how many days after the day of a sighting half of the plants are at the stage, when pct
// percent of them were at it that day and their dates spread by sdDays.
func plantsShift(pct, sdDays float64) float64 {
	p := min(max(pct/100, 0.02), 0.98)
	return -math.Sqrt2 * math.Erfinv(2*p-1) * sdDays
}
