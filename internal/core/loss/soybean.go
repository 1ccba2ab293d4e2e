package loss

import "math"

// Soybean holds the parameters of the soybean model. Beans shatter at the knife the drier they are and the
// longer they stood; little falls by itself.
//
// The slopes with delay are set so that 42 days with one wet-dry cycle in four days give the increments measured
// in Wisconsin, 62, 95 and 70 kg/ha before harvest, by shatter and on stems with 20 points more lodging, of
// about 2910 kg/ha [philbrook-oplinger-89]. That study's mean is 0.2 %/day; ASABE quotes 0.6 to 1.0 %/day from
// Illinois [asabe-d497-wisconsin], which k = 2 reaches in a dry fortnight. Both can be right: the first is
// averaged over 42 cool days, the second covers the first fortnight with poorer headers.
type Soybean struct {
	RipePct         float64 // % wet basis; first day the grain touches it is day 0. [judgement]
	PrePerDay       float64 // % of the crop a day on the ground; the split from cycles is [judgement]
	PrePerCycle     float64 // % per wet-dry cycle
	GustPct         float64 // % per gust over 45 mph on a ripe stand under 12 %. [judgement]
	Shatter13       float64 // % at the header at 13 % moisture, day 0: the acceptable level of [missouri-g1280]
	ShatterPerCycle float64 // added to Shatter13 per cycle
	ShatterPerPoint float64 // exponent per point drier than 13 %. [judgement]
	ShatterMin      float64 // % the header never goes under. [judgement]
	ShatterMax      float64 // %: up to 12 % in all was found. [missouri-g1280]
	Gather          float64 // % left as stubble, stalks and lodged plants, good header. [judgement]
	GatherPerLodged float64 // % per percent of plants lodged
	Thresh          float64 // % unthreshed or over the walker, dry crop. [judgement]
	ThreshPerPoint  float64 // % per point wetter than ThreshFrom, up to ThreshTo. [judgement]
	ThreshFrom      float64 // % wet basis
	ThreshTo        float64 // % wet basis
	ThreshPerGreen  float64 // % per percent of plants still green. [judgement]
	FastMPH         float64 // speed above which the header loses more: 3.5 auger, 4.5 flexible draper. [judgement]
	FastPerMPH      float64 // fraction of the header's loss added per mph over. [judgement]
}

// DefaultSoybean returns the model for a good flexible draper header.
func DefaultSoybean() Soybean {
	return Soybean{
		RipePct: 13.5, PrePerDay: 0.02, PrePerCycle: 0.12, GustPct: 0.5,
		Shatter13: 2.0, ShatterPerCycle: 0.31, ShatterPerPoint: 0.20, ShatterMin: 1.0, ShatterMax: 12.0,
		Gather: 1.0, GatherPerLodged: 0.12,
		Thresh: 0.5, ThreshPerPoint: 0.30, ThreshFrom: 15, ThreshTo: 22, ThreshPerGreen: 0.04,
		FastMPH: 4.5, FastPerMPH: 0.15,
	}
}

// PoorHeader returns m for a worn or rigid header, or rolling and stony ground. [judgement]
func (m Soybean) PoorHeader() Soybean {
	m.Shatter13, m.Gather = 4.0, 1.6
	return m
}

// RipeAtPct implements [Model].
func (m Soybean) RipeAtPct() float64 { return m.RipePct }

// At implements [Model].
func (m Soybean) At(s Stand, k float64) Parts {
	pre := k*(m.PrePerDay*s.DaysRipe+m.PrePerCycle*s.Cycles+m.GustPct*s.Gusts) + s.EventsPct
	shatter := (m.Shatter13 + m.ShatterPerCycle*k*s.Cycles) * math.Exp(m.ShatterPerPoint*(13-s.MoisturePct))
	shatter = min(max(shatter, m.ShatterMin), m.ShatterMax)
	header := shatter + m.Gather + m.GatherPerLodged*s.LodgedPct
	if s.SpeedMPH > m.FastMPH {
		header *= 1 + m.FastPerMPH*(s.SpeedMPH-m.FastMPH)
	}
	thresh := m.Thresh + m.ThreshPerPoint*max(0, min(s.MoisturePct, m.ThreshTo)-m.ThreshFrom) + m.ThreshPerGreen*s.GreenPct
	return Parts{PrePct: upTo(pre), GatherPct: upTo(header), ThreshPct: upTo(thresh)}
}

func (m *Soybean) knobs() []knob {
	return []knob{
		{&m.RipePct, Param{Name: "ripe", Unit: "% wet basis", Low: 8, High: 20, Key: "judgement"}},
		{&m.PrePerDay, Param{Name: "pre-per-day", Unit: "% a day", Low: 0, High: 5, Key: "philbrook-oplinger-89"}},
		{&m.PrePerCycle, Param{Name: "pre-per-cycle", Unit: "% a wet-dry cycle", Low: 0, High: 5, Key: "philbrook-oplinger-89"}},
		{&m.GustPct, Param{Name: "gust", Unit: "% a gust over 45 mph", Low: 0, High: 10, Key: "judgement"}},
		{&m.Shatter13, Param{Name: "shatter-at-13", Unit: "%", Low: 0, High: 12, Key: "missouri-g1280"}},
		{&m.ShatterPerCycle, Param{Name: "shatter-per-cycle", Unit: "% a wet-dry cycle", Low: 0, High: 5, Key: "philbrook-oplinger-89"}},
		{&m.ShatterPerPoint, Param{Name: "shatter-per-point", Unit: "1 per point", Low: 0, High: 0.6, Key: "judgement"}},
		{&m.ShatterMin, Param{Name: "shatter-least", Unit: "%", Low: 0, High: 5, Key: "judgement"}},
		{&m.ShatterMax, Param{Name: "shatter-most", Unit: "%", Low: 5, High: 30, Key: "missouri-g1280"}},
		{&m.Gather, Param{Name: "gather", Unit: "%", Low: 0, High: 15, Key: "judgement"}},
		{&m.GatherPerLodged, Param{Name: "gather-per-lodged", Unit: "% per % lodged", Low: 0, High: 0.5, Key: "philbrook-oplinger-89"}},
		{&m.Thresh, Param{Name: "thresh", Unit: "%", Low: 0, High: 10, Key: "judgement"}},
		{&m.ThreshPerPoint, Param{Name: "thresh-per-point", Unit: "% per point", Low: 0, High: 3, Key: "judgement"}},
		{&m.ThreshFrom, Param{Name: "thresh-from", Unit: "% wet basis", Low: 10, High: 22, Key: "judgement"}},
		{&m.ThreshTo, Param{Name: "thresh-to", Unit: "% wet basis", Low: 15, High: 40, Key: "judgement"}},
		{&m.ThreshPerGreen, Param{Name: "thresh-per-green", Unit: "% per % green", Low: 0, High: 0.3, Key: "judgement"}},
		{&m.FastMPH, Param{Name: "fast", Unit: "mph", Low: 1, High: 10, Key: "judgement"}},
		{&m.FastPerMPH, Param{Name: "fast-per-mph", Unit: "fraction per mph", Low: 0, High: 1, Key: "judgement"}},
	}
}

// Params implements [Model].
func (m Soybean) Params() []Param { return list(m.knobs()) }

// With implements [Model].
func (m Soybean) With(name string, value float64) (Model, error) {
	err := turn(m.knobs(), "soybean", name, value)
	return m, err
}
