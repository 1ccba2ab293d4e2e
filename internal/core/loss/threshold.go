package loss

import (
	"fmt"

	"threshday/internal/core/crop"
)

// Thresholds are the moistures at which a crop is usually started, and at which cutting it hurts, percent wet
// basis. The owner's own limit stands above all of them.
type Thresholds struct {
	RipePct       float64 // day 0 of the loss model
	StartPct      float64 // wettest start without a dryer
	StartDryerPct float64 // wettest start with a dryer; equals StartPct where nothing else is known
	FinishPct     float64 // driest end of the good window
	TooDryPct     float64 // under it field or head losses climb
	SplitsPct     float64 // under it the seed breaks; 0: not known
	TooWetPct     float64 // over it the crop threshes badly
	TooWetGreen   float64 // the same with green stems; 0: not known
	Key           string  // of the source, in docs/sources
}

// DefaultThresholds returns the usual moistures of k; ok is false for crops without a loss model.
func DefaultThresholds(k crop.Kind) (t Thresholds, ok bool) {
	switch k {
	case crop.Soybean: // start 14 to 12, shatter under 11 [clemson-soybean]; hard to thresh over 18 [msu-e3487]
		return Thresholds{RipePct: 13.5, StartPct: 14.5, StartDryerPct: 14.5, FinishPct: 13, TooDryPct: 11, SplitsPct: 10, TooWetPct: 18, TooWetGreen: 15, Key: "clemson-soybean"}, true
	case crop.Corn: // start at 25, done by 20; field losses rise below [lauer-2015]
		return Thresholds{RipePct: 20, StartPct: 17, StartDryerPct: 25, FinishPct: 15, TooDryPct: 15, TooWetPct: 28, Key: "lauer-2015"}, true
	case crop.Wheat: // [judgement]; too wet from 17 to 20, the drier end stands here
		return Thresholds{RipePct: 13.5, StartPct: 15, StartDryerPct: 20, FinishPct: 12.5, TooDryPct: 10, TooWetPct: 17, Key: "judgement"}, true
	case crop.Sorghum: // [judgement]
		return Thresholds{RipePct: 16, StartPct: 20, StartDryerPct: 20, FinishPct: 14, TooDryPct: 12, TooWetPct: 22, Key: "judgement"}, true
	case crop.Canola: // [judgement]
		return Thresholds{RipePct: 10, StartPct: 10, StartDryerPct: 10, FinishPct: 8, TooDryPct: 7, TooWetPct: 12, Key: "judgement"}, true
	case crop.Sunflower: // [judgement]
		return Thresholds{RipePct: 20, StartPct: 15, StartDryerPct: 15, FinishPct: 10, TooDryPct: 8, TooWetPct: 20, Key: "judgement"}, true
	default:
		return Thresholds{}, false
	}
}

// Doubts returns what to mind when cutting at moisturePct with greenPct of the plants still green, a sentence
// each; nil when nothing speaks against it.
func (t Thresholds) Doubts(moisturePct, greenPct float64) []string {
	var out []string
	say := func(format string, limit float64) { out = append(out, fmt.Sprintf(format, limit)) }
	switch {
	case moisturePct > t.TooWetPct:
		say("Over %.4g %% it threshes badly: expect unthreshed and crushed grain.", t.TooWetPct)
	case t.TooWetGreen > 0 && greenPct > 0 && moisturePct > t.TooWetGreen:
		say("Green stems over %.4g %% wrap and carry grain out: slow down and look behind the machine.", t.TooWetGreen)
	}
	if moisturePct < t.TooDryPct {
		say("Under %.4g %% more is lost at the header: cut in the damp of morning or evening.", t.TooDryPct)
	}
	if t.SplitsPct > 0 && moisturePct < t.SplitsPct {
		say("Under %.4g %% the seed splits: slow the rotor and open the concave.", t.SplitsPct)
	}
	return out
}
