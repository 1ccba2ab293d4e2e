package app

import (
	"fmt"
	"math"
	"strings"

	"threshday/internal/core/drydown"
	"threshday/internal/core/planner"
	"threshday/internal/core/worth"
)

// A SampleAdvice says where and how to read a field next, and what that is worth today.
type SampleAdvice struct {
	Device  string // what to read it with; Name is which of the farm's, empty where none is known
	Name    string
	Zone    string // "whole", "low" or "knob"
	Spots   int    // that pin the answer down: more of them would add little; 0: no look changes what to do
	USD     float64
	SEUSD   float64
	SDPct   float64      // how unsure the field's mean is now, points
	LeftPct float64      // and would be after the look
	KnowUSD float64      // what it would be worth to know the mean exactly
	MostUSD float64      // a bound on what the most spots are worth
	Steps   []SampleStep // what so many spots are worth
	Say     string
}

// A SampleStep is a look at so many spots.
type SampleStep struct {
	Spots          int
	USD, SEUSD     float64
	LeftPct        float64 // how unsure the field's mean would be after it, points
	TellsOfTheMean float64 // part of the variance of the field's mean it takes away, 0 to 1
}

// Rules of the advice.
const (
	mostSpots    = 12
	adviceSpots  = 5    // places of a field are compared by this many, the usual advice
	pinned       = 0.9  // of what the most spots are worth
	worthAWalk   = 10.0 // dollars: less is not worth saying. [judgement]
	betterPlace  = 0.05 // a part of the field must tell this much more of the mean than spots all over it. [judgement]
	sureOfSample = 1.0  // standard errors that the worth of a look must be above nothing
)

// sample works out what reading field f once more is worth: how well the best look at hand would tell its mean, and what the
// choices of the plan would gain by that.
func (mo *morning) sample(p *planner.Plan, f int) *SampleAdvice {
	facts := &mo.build.Fields[f]
	if facts.Belief == nil || mo.build.Table.Fields[f].Acres <= 0 || mo.noMachine(f) {
		return nil
	}
	usd := make([][]float64, len(p.Waits[f]))
	for i, w := range p.Waits[f] {
		usd[i] = w.USD
	}
	knowing := worth.NewKnowing(facts.ByMember, usd)
	look := mo.bestLook(facts)
	out := &SampleAdvice{Device: look.Device.String(), Name: look.Name, Zone: zoneNames[look.Zone], SDPct: facts.Belief.Mean().SDWB}
	out.LeftPct = out.SDPct
	out.KnowUSD, _ = knowing.Worth(1)
	for n := 1; n <= mostSpots; n++ {
		look.Spots = n
		tells := facts.Belief.Tells(look)
		step := SampleStep{Spots: n, TellsOfTheMean: tells, LeftPct: out.SDPct * math.Sqrt(1-tells)}
		step.USD, step.SEUSD = knowing.Worth(tells)
		out.Steps = append(out.Steps, step)
	}
	most := out.Steps[mostSpots-1]
	out.MostUSD = knowing.AtMost(most.TellsOfTheMean)
	for _, s := range out.Steps {
		if most.USD >= worthAWalk && most.USD > sureOfSample*most.SEUSD && s.USD >= pinned*most.USD {
			out.Spots, out.USD, out.SEUSD, out.LeftPct = s.Spots, s.USD, s.SEUSD, s.LeftPct
			break
		}
	}
	out.Say = sampleWords(out)
	return out
}

var zoneNames = [...]string{drydown.Whole: "whole", drydown.Low: "low", drydown.Knob: "knob", drydown.Load: "load"}

// bestLook returns the meter and the place that tell most of a field's mean. Spots all over the field stand unless a part of it
// tells clearly more.
func (mo *morning) bestLook(facts *worth.FieldFacts) drydown.Look {
	meters := []string{""}
	for _, g := range mo.build.Gauges {
		if g.Device == drydown.Meter && g.Name != "" {
			meters = append(meters, g.Name)
		}
	}
	best, most := drydown.Look{Device: drydown.Meter, Spots: adviceSpots}, 0.0
	for i, name := range meters {
		if i == 0 && len(meters) > 1 {
			continue // an unknown meter is no choice where the farm has one of its own
		}
		for z := drydown.Whole; z <= drydown.Knob; z++ {
			look := drydown.Look{Device: drydown.Meter, Name: name, Zone: z, Spots: adviceSpots}
			tells := facts.Belief.Tells(look)
			if z != drydown.Whole {
				tells -= betterPlace
			}
			if tells > most {
				best, most = look, tells
			}
		}
	}
	return best
}

func sampleWords(a *SampleAdvice) string {
	most := a.Steps[len(a.Steps)-1]
	switch {
	case a.Spots == 0 && most.USD >= worthAWalk:
		return fmt.Sprintf("Readings may be worth about $%.0f here today, but the weathers cannot tell that from nothing: give or take %.0f.", most.USD, most.SEUSD)
	case a.Spots == 0:
		return fmt.Sprintf("No reading is likely to change what to do with it today; $%.0f is the most it can be worth.", math.Ceil(a.MostUSD))
	}
	with := "a " + a.Device
	if a.Name != "" {
		with = "the " + a.Name
	}
	where := map[string]string{"whole": "spread over the field", "low": "in its low ground, where it ripens last", "knob": "on its knobs, where it ripens first"}[a.Zone]
	text := fmt.Sprintf("%s with %s, %s, %s worth about $%.0f today, give or take %.0f; more would add little.",
		capital(spotWords(a.Spots)), with, where, either(a.Spots == 1, "is", "are"), a.USD, a.SEUSD)
	return text + fmt.Sprintf(" The mean would then be known to %.1f points instead of %.1f.", a.LeftPct, a.SDPct)
}

// spotWords says a number of readings in words.
func spotWords(n int) string {
	if n == 1 {
		return "one reading"
	}
	return strings.Fields("zero one two three four five six seven eight nine ten eleven twelve")[n] + " readings"
}
