package app

import (
	"fmt"
	"math"
	"strings"
	"time"

	"threshday/internal/core/drydown"
	"threshday/internal/core/worth"
)

// An Evidence is one reading or sighting of a field: what it moved, and why by so much.
type Evidence struct {
	ReadingEffect
	At          time.Time
	BeforeSDPct float64 // how sure the field's mean was before it and after, points
	AfterSDPct  float64
	ExpectedPct *float64 // what the device should have read; nil: a sighting, or not used
	Why         string   // a sentence or two; empty where it was not used
}

// A DeviceBelief is what is believed of one meter, sensor or person on one crop.
type DeviceBelief struct {
	drydown.Gauge
	Say string
}

// A GroundState is how the ground of a field stands this morning.
type GroundState struct {
	WetnessPct float64 // of the top ten centimetres, percent of field capacity
	BearsPct   float64 // the wettest that bears loaded machines, and how sure that is
	BearsSDPct float64
	Say        string
	Notes      []string // what "carried" and "too soft" taught
}

// Words for what is small: under these nothing is said of it. [judgement]
const (
	leastOff      = 0.15 // points a device reads over the truth
	leastDays     = 0.25 // days the maturity was moved
	leastRatePct  = 2.0  // percent the drying rate was moved
	leastLevelPct = 0.15 // points equilibrium or level were moved
)

func (mo *morning) evidence(l drydown.Lesson) Evidence {
	e := Evidence{ReadingEffect: mo.readingEffect(l), At: l.At.Start().In(mo.zone), BeforeSDPct: l.Before.SDWB, AfterSDPct: l.After.SDWB}
	if !l.Used {
		return e
	}
	moved := movedWords(l.Moved)
	if math.IsNaN(e.SaidPct) {
		if e.Why = "It speaks of maturity alone"; len(moved) > 0 {
			e.Why += ": " + strings.Join(moved, ", ")
		}
		e.Why += "."
		return e
	}
	expected := l.ExpectedWB
	e.ExpectedPct = &expected
	e.Why = fmt.Sprintf("It should have read about %.1f, the field being known to %.1f points", expected, l.Before.SDWB)
	if math.Abs(l.OffWB) >= leastOff {
		e.Why += fmt.Sprintf(" and it to read about %s", wetOrDry(l.OffWB))
	}
	e.Why += "; " + believed(l.Gain) + "."
	if math.Abs(l.BiasWB) >= leastOff {
		moved = append(moved, fmt.Sprintf("the device is taken to read %s than before", wetterOrDrier(l.BiasWB)))
	}
	if len(moved) > 0 {
		e.Why += " " + capital(strings.Join(moved, ", ")) + "."
	}
	return e
}

// believed says how much of a miss the field was moved by.
func believed(gain float64) string {
	switch {
	case gain >= 0.9:
		return "nearly all of the difference is believed of the field"
	case gain <= 0.1:
		return "hardly any of the difference is believed of the field"
	default:
		return fmt.Sprintf("%.0f %% of the difference is believed of the field, the rest put down to the reading", 100*gain)
	}
}

func wetOrDry(points float64) string {
	if points < 0 {
		return fmt.Sprintf("%.1f dry", -points)
	}
	return fmt.Sprintf("%.1f wet", points)
}

func wetterOrDrier(points float64) string {
	if points < 0 {
		return fmt.Sprintf("%.1f drier", -points)
	}
	return fmt.Sprintf("%.1f wetter", points)
}

// movedWords says which unknowns of the field moved by enough to tell.
func movedWords(m drydown.Chances) []string {
	var out []string
	if d := m.ShiftDays; math.Abs(d) >= leastDays {
		out = append(out, fmt.Sprintf("maturity %.1f days %s", math.Abs(d), either(d > 0, "later", "earlier")))
	}
	if rate := 100 * (math.Exp(m.Kappa) - 1); math.Abs(rate) >= leastRatePct {
		out = append(out, fmt.Sprintf("drying %.0f %% %s", math.Abs(rate), either(rate > 0, "faster", "slower")))
	}
	if math.Abs(m.EMCWB) >= leastLevelPct {
		out = append(out, fmt.Sprintf("it settles %s in the same air", wetterOrDrier(m.EMCWB)))
	}
	if math.Abs(m.LevelWB) >= leastLevelPct {
		out = append(out, fmt.Sprintf("it stands %s than the model explains", wetterOrDrier(m.LevelWB)))
	}
	return out
}

func either(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

// devices returns what is believed of those that have read the crop of a field.
func (mo *morning) devices(facts *worth.FieldFacts) []DeviceBelief {
	var out []DeviceBelief
	for _, g := range mo.build.Gauges {
		if g.Crop == facts.Field.Crop && g.Readings > 0 {
			out = append(out, DeviceBelief{g, gaugeWords(g)})
		}
	}
	return out
}

func gaugeWords(g drydown.Gauge) string {
	who := g.Device.String()
	if g.Name != "" {
		who += " " + g.Name
	}
	text := fmt.Sprintf("%s, after %d of %s", capital(who), g.Readings, g.Crop)
	switch off := fmt.Sprintf("reads about %s", wetOrDry(g.BiasWB)); {
	case g.BiasSDWB == 0:
		text += ": taken for the truth of its load"
	case math.Abs(g.BiasWB) < g.BiasSDWB:
		text += fmt.Sprintf(": which way it is off is not known yet (%s, give or take %.1f)", wetOrDry(g.BiasWB), g.BiasSDWB)
	default:
		text += fmt.Sprintf(": %s, give or take %.1f", off, g.BiasSDWB)
	}
	text += fmt.Sprintf("; one reading is good to %.1f points", g.SDWB)
	if math.Abs(g.SDWB-g.UsualWB) > 0.1*g.UsualWB {
		text += fmt.Sprintf(" (usual: %.1f)", g.UsualWB)
	}
	return text + "."
}

func (mo *morning) groundState(facts *worth.FieldFacts) GroundState {
	g := &facts.Ground
	out := GroundState{WetnessPct: 100 * g.Wetness, BearsPct: 100 * g.Limit.Mean, BearsSDPct: 100 * g.Limit.SD}
	out.Say = fmt.Sprintf("The top 4 in hold %.0f %% of field capacity now; loaded machines are borne up to about %.0f, give or take %.0f.",
		out.WetnessPct, out.BearsPct, out.BearsSDPct)
	for _, l := range g.Lessons {
		found := either(l.Carried, "Carried", "Too soft")
		note := fmt.Sprintf("%s on %s at %.0f %% moved what bears from %.0f to %.0f %%.", found, l.At.Start().In(mo.zone).Format("Mon 2 Jan"), 100*l.Wetness, 100*l.Before.Mean, 100*l.After.Mean)
		if l.Say != "" {
			note += " " + l.Say
		}
		out.Notes = append(out.Notes, note)
	}
	out.Notes = append(out.Notes, g.Unused...)
	return out
}
