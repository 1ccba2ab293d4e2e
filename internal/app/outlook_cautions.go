package app

import (
	"fmt"
	"math"
	"time"

	"threshday/internal/core/crop"
	"threshday/internal/core/drydown"
	"threshday/internal/core/loss"
	"threshday/internal/core/weather"
	"threshday/internal/core/worth"
)

// When a caution is due.
const (
	mixedPoints = 4.0 // grain that differs by more parts in the bin, and a mixed lot reads high [isu-kohl]
	wetForMeter = 25.0
	coldC       = (40.0 - 32) / 1.8 // 40 °F: under it hand meters are not to be relied on [ndsu-drying-2011]
	frozenC     = -2.0              // beans that cold have ice in them. [judgement]
	oldReading  = 3 * 24 * time.Hour
	rainMM      = 1.0 // a day of less does not wet the grain. [judgement]
	greenPart   = 0.02
	lookDays    = 5  // for what lies ahead in quality
	curingPct   = 20 // green seed of canola clears above it only [canola-watch]
)

// outlookCautions says where the outlook is weak for this field now, and what the crop's quality is up to.
func (mo *morning) outlookCautions(facts *worth.FieldFacts, o *drydown.Outlook) []Caution {
	var out []Caution
	add := func(where, key, say string, of ...any) {
		out = append(out, Caution{Where: where, Say: fmt.Sprintf(say, of...), Source: key})
	}
	now := facts.Now.Mean
	kind := facts.Field.Crop
	low, high := mo.nextDay(weather.TempC)

	switch kind {
	case crop.Soybean:
		add("model", "martinez-feria-2019", "Over a whole dry-down published models miss soybeans by 6.7 points; near harvest it is readings that make this outlook good.")
	case crop.Corn:
		add("model", "martinez-feria-2019", "Over a whole dry-down published models miss corn by 1.8 points; near harvest it is readings that make this outlook good.")
	default:
		add("model", "judgement", "How fast %s dries in the field is known to an order of magnitude only: lean on readings, not on this.", kind)
	}
	if mo.rained() {
		add("model", "judgement", "Nobody has measured how much a rain puts into the standing crop: the day after one is where this is most likely wrong.")
	}
	if last := mo.lastReading(facts); last.IsZero() {
		add("model", "judgement", "Nobody has read this field yet: the band rests on its date of maturity, on its neighbours and on the weather.")
	} else if mo.now.Sub(last) > oldReading {
		add("model", "judgement", "The last reading is %s old: since then only the weather speaks.", age(mo.now.Sub(last)))
	}
	if l := facts.Field.LodgedPct; l != nil && *l > 0 && kind == crop.Corn {
		add("model", "licht-2020", "Flat corn dries behind standing corn, about 3 points and no two fields alike: read it where it lies.")
	}

	if kind == crop.Corn && now > wetForMeter {
		add("meter", "ndsu-drying-2011", "Over %.0f %% a hand meter's figure is an estimate.", wetForMeter)
	}
	if kind == crop.Soybean && low < frozenC {
		add("meter", "frozen-beans-2018", "Frozen beans read 1.5 to 2 points too dry: let the sample warm up.") // [frozen-beans-2018]
	} else if high < coldC {
		add("meter", "ndsu-drying-2011", "Grain under 40 °F reads unreliably: let the sample warm up in a closed bag.")
	}
	if spread := 2 * o.Hours[0].SDWB; spread > mixedPoints {
		add("meter", "isu-kohl", "The field's early and late plants are %.0f points apart: a mixed sample reads high, and loads of it part in the bin.", spread)
	}
	if facts.Green > greenPart && kind == crop.Soybean {
		add("meter", "conley-2019", "About %.0f %% of the mass is still green: the sensor in the combine may miss it, and the elevator may read higher.", 100*facts.Green) // [conley-2019]
	}
	return append(out, mo.qualityCautions(facts, o)...)
}

// qualityCautions speaks of splits, test weight and green seed where somebody published how they go with moisture.
func (mo *morning) qualityCautions(facts *worth.FieldFacts, o *drydown.Outlook) []Caution {
	var out []Caution
	kind := facts.Field.Crop
	if t, ok := loss.DefaultThresholds(kind); ok {
		green := 0.0
		if facts.Field.GreenPct != nil {
			green = *facts.Field.GreenPct
		}
		if wb, day, fit := driestAhead(facts); fit {
			for _, say := range t.Doubts(wb, green) {
				out = append(out, Caution{Where: "quality", Say: fmt.Sprintf("%s (%s at 15:00: about %s)", say, mo.day(day), pct(wb)), Source: t.Key})
			}
		}
	}
	if model, ok := loss.Default(kind); ok {
		if wheat, ok := model.(loss.Wheat); ok && facts.Wettings >= 0.5 {
			out = append(out, Caution{
				Where: "quality", Source: "penn-state-roth",
				Say: fmt.Sprintf("Wetted about %.0f times since it was ripe: expect some %.1f lb/bu less test weight, and more with each further rain.", facts.Wettings, wheat.TestWeightDropLbPerBu(facts.Wettings)),
			})
		}
	}
	if kind == crop.Canola && facts.Green > greenPart && o.Hours[0].MeanWB < curingPct {
		out = append(out, Caution{
			Where: "quality", Source: "canola-watch",
			Say: fmt.Sprintf("Green seed clears only while seed holds more than %d %%: what is green now will stay green.", curingPct),
		})
	}
	return out
}

// driestAhead returns the driest of the afternoons of the next days that are fit in at least every second weather.
func driestAhead(facts *worth.FieldFacts) (wb float64, day int, fit bool) {
	wb = math.Inf(1)
	for d := range min(lookDays, len(facts.Afternoon)) {
		if facts.Under[d] >= 0.5 && facts.Afternoon[d].Mean < wb {
			wb, day, fit = facts.Afternoon[d].Mean, d, true
		}
	}
	return wb, day, fit
}

// nextDay returns the lowest and the highest value of the next 24 hours, in the mean of the members.
func (mo *morning) nextDay(v weather.Var) (low, high float64) {
	e := mo.ensemble
	for m := range e.Members {
		row := e.Row(v, m)
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, x := range row[:min(24, len(row))] {
			lo, hi = min(lo, float64(x)), max(hi, float64(x))
		}
		low, high = low+lo/float64(e.Members), high+hi/float64(e.Members)
	}
	return low, high
}

// rained reports whether a rain that counts fell in the last day, or is to come in the next in at least one of three weathers.
func (mo *morning) rained() bool {
	var fell float64
	for h := mo.ensemble.Start - 24; h < mo.ensemble.Start && mo.observed != nil; h++ {
		if mm, ok := mo.observed.At(weather.RainMM, h); ok {
			fell += mm
		}
	}
	wet := 0
	for m := range mo.ensemble.Members {
		var mm float64
		row := mo.ensemble.Row(weather.RainMM, m)
		for _, x := range row[:min(24, len(row))] {
			mm += float64(x)
		}
		if mm >= rainMM {
			wet++
		}
	}
	return fell >= rainMM || 3*wet >= mo.ensemble.Members
}

// lastReading returns when a reading that counts was last taken; zero: never.
func (mo *morning) lastReading(facts *worth.FieldFacts) time.Time {
	var last time.Time
	for _, l := range facts.Lessons {
		if at := l.At.Start(); l.Used && l.ExpectedWB > 0 && at.After(last) {
			last = at
		}
	}
	return last
}
