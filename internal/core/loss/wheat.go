package loss

// Wheat holds the parameters of the wheat model. Standing wheat loses weight slowly, test weight with every
// wetting, and soundness when it stays wet.
//
// Published slopes of the yield with delay run from 0 to 0.55 %/day: 0.53 and 0.49 in two years and none in a
// third in Western Australia [bolland-84], up to 900 kg/ha in 8 to 19 days, more in dry warm spells, in North
// Carolina [farrer-06]. Test weight falls with the number of rains, not their amount (r² 0.93) [farrer-06], by
// about 1 lb/bu a wetting [penn-state-roth], [omafra-johnson], 2 to 3 after rain on ripe spring wheat
// [ndsu-ramsey-2012]; later rains cost less each [oscia-2019].
type Wheat struct {
	RipePct         float64 // % wet basis. [judgement]
	PrePerDay       float64 // % a day: inside the published range
	Head            float64 // %. [judgement]
	HeadPerPoint    float64 // % per point drier than 13 %. [judgement]
	Thresh          float64 // %. [judgement]
	ThreshPerPoint  float64 // % per point wetter than 15 %. [judgement]
	TestWeightFirst float64 // lb/bu for each of the first three wettings. [penn-state-roth]
	TestWeightLater float64 // lb/bu for each later one. [judgement]
	TestWeightMost  float64 // lb/bu: the largest fall seen. [farrer-06]
}

// DefaultWheat returns the model with its default parameters. Its machine loss of 2.2 % at the start lies
// under the 3 to 5 % called acceptable [ndsu-losses-2003], [kentucky-losses-2022].
func DefaultWheat() Wheat {
	return Wheat{
		RipePct: 13.5, PrePerDay: 0.30,
		Head: 1.5, HeadPerPoint: 0.15, Thresh: 0.7, ThreshPerPoint: 0.20,
		TestWeightFirst: 1.0, TestWeightLater: 0.5, TestWeightMost: 8.9,
	}
}

// RipeAtPct implements [Model].
func (m Wheat) RipeAtPct() float64 { return m.RipePct }

// At implements [Model].
func (m Wheat) At(s Stand, k float64) Parts {
	pre := k*m.PrePerDay*s.DaysRipe + s.EventsPct
	head := m.Head + m.HeadPerPoint*max(0, 13-s.MoisturePct)
	thresh := m.Thresh + m.ThreshPerPoint*max(0, s.MoisturePct-15)
	return Parts{PrePct: upTo(pre), GatherPct: upTo(head), ThreshPct: upTo(thresh)}
}

// TestWeightDropLbPerBu returns how much test weight so many wettings take, lb/bu. It changes the discount and
// the room in a bin, not the pounds in the field.
func (m Wheat) TestWeightDropLbPerBu(wettings float64) float64 {
	const first = 3 // wettings at the full rate. [judgement]
	drop := m.TestWeightFirst*min(wettings, first) + m.TestWeightLater*max(0, wettings-first)
	return min(m.TestWeightMost, drop)
}

func (m *Wheat) knobs() []knob {
	return []knob{
		{&m.RipePct, Param{Name: "ripe", Unit: "% wet basis", Low: 8, High: 25, Key: "judgement"}},
		{&m.PrePerDay, Param{Name: "pre-per-day", Unit: "% a day", Low: 0, High: 5, Key: "bolland-84"}},
		{&m.Head, Param{Name: "head", Unit: "%", Low: 0, High: 15, Key: "judgement"}},
		{&m.HeadPerPoint, Param{Name: "head-per-point", Unit: "% per point", Low: 0, High: 2, Key: "judgement"}},
		{&m.Thresh, Param{Name: "thresh", Unit: "%", Low: 0, High: 10, Key: "judgement"}},
		{&m.ThreshPerPoint, Param{Name: "thresh-per-point", Unit: "% per point", Low: 0, High: 3, Key: "judgement"}},
		{&m.TestWeightFirst, Param{Name: "test-weight-first", Unit: "lb/bu a wetting", Low: 0, High: 4, Key: "penn-state-roth"}},
		{&m.TestWeightLater, Param{Name: "test-weight-later", Unit: "lb/bu a wetting", Low: 0, High: 4, Key: "judgement"}},
		{&m.TestWeightMost, Param{Name: "test-weight-most", Unit: "lb/bu", Low: 0, High: 20, Key: "farrer-06"}},
	}
}

// Params implements [Model].
func (m Wheat) Params() []Param { return list(m.knobs()) }

// With implements [Model].
func (m Wheat) With(name string, value float64) (Model, error) {
	err := turn(m.knobs(), "wheat", name, value)
	return m, err
}
