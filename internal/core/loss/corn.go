package loss

// Corn holds the parameters of the corn model. Corn stands until its stalks give way; after that it goes fast.
//
// The two slopes fit Ohio: 2 % lost from early October to early November, 11 % more to December, if 20 % moisture
// comes in the middle of October [osu-corn-delay]. ASABE's Iowa figure is 0.3 %/day [asabe-d497-wisconsin]. Where
// autumn is later or earlier, move Knee: the second slope starts at the later of thirty days and the first
// killing weather.
type Corn struct {
	RipePct      float64 // % wet basis; DaysRipe counts from the first day at it. [judgement]
	Stalk        float64 // 0.5 strong, 1 normal, 2 weak: push test fails 10 % or more, or crowded with stalk rot. [judgement]
	PrePerDay    float64 // % a day before Knee. [osu-corn-delay]
	Knee         float64 // days. [osu-corn-delay]
	PrePerDayOld float64 // % a day after Knee. [osu-corn-delay]
	PrePerLodged float64 // % per percent of plants newly down, 50 of 80 [osu-corn-lodging]; with a reel or one-way 0.3 [judgement]
	Head         float64 // 1 good setup, 3 average operator: gives the averages of [missouri-g1290]. [judgement]
	HeadBase     float64 // % at the head in damp corn. [judgement]
	HeadPerPoint float64 // % per point under HeadFrom, down to HeadTo: butts shell more when dry [purdue-head-2019]. [judgement]
	HeadFrom     float64 // % wet basis: field losses rise under 20 % [lauer-2015]
	HeadTo       float64 // % wet basis. [judgement]
	Thresh       float64 // %. [judgement]
	ThreshPer    float64 // % per point over ThreshFrom. [judgement]
	ThreshFrom   float64 // % wet basis. [judgement]
}

// DefaultCorn returns the model for normal stalks and a good setup.
func DefaultCorn() Corn {
	return Corn{
		RipePct: 20, Stalk: 1, PrePerDay: 0.07, Knee: 30, PrePerDayOld: 0.37, PrePerLodged: 0.6,
		Head: 1, HeadBase: 0.5, HeadPerPoint: 0.15, HeadFrom: 20, HeadTo: 13,
		Thresh: 0.5, ThreshPer: 0.15, ThreshFrom: 25,
	}
}

// RipeAtPct implements [Model].
func (m Corn) RipeAtPct() float64 { return m.RipePct }

// At implements [Model].
func (m Corn) At(s Stand, k float64) Parts {
	delay := m.PrePerDay*min(s.DaysRipe, m.Knee) + m.PrePerDayOld*max(0, s.DaysRipe-m.Knee)
	pre := k*m.Stalk*delay + m.PrePerLodged*s.LodgedPct + s.EventsPct
	head := m.Head * (m.HeadBase + m.HeadPerPoint*max(0, m.HeadFrom-max(s.MoisturePct, m.HeadTo)))
	thresh := m.Thresh + m.ThreshPer*max(0, s.MoisturePct-m.ThreshFrom)
	return Parts{PrePct: upTo(pre), GatherPct: upTo(head), ThreshPct: upTo(thresh)}
}

func (m *Corn) knobs() []knob {
	return []knob{
		{&m.RipePct, Param{Name: "ripe", Unit: "% wet basis", Low: 14, High: 30, Key: "judgement"}},
		{&m.Stalk, Param{Name: "stalk", Unit: "0.5 strong, 1 normal, 2 weak", Low: 0, High: 5, Key: "judgement"}},
		{&m.PrePerDay, Param{Name: "pre-per-day", Unit: "% a day", Low: 0, High: 5, Key: "osu-corn-delay"}},
		{&m.Knee, Param{Name: "knee", Unit: "days", Low: 0, High: 200, Key: "osu-corn-delay"}},
		{&m.PrePerDayOld, Param{Name: "pre-per-day-after-knee", Unit: "% a day", Low: 0, High: 5, Key: "osu-corn-delay"}},
		{&m.PrePerLodged, Param{Name: "pre-per-lodged", Unit: "% per % newly lodged", Low: 0, High: 1, Key: "osu-corn-lodging"}},
		{&m.Head, Param{Name: "head", Unit: "1 good setup, 3 average", Low: 0, High: 10, Key: "judgement"}},
		{&m.HeadBase, Param{Name: "head-damp", Unit: "%", Low: 0, High: 10, Key: "judgement"}},
		{&m.HeadPerPoint, Param{Name: "head-per-point", Unit: "% per point", Low: 0, High: 2, Key: "judgement"}},
		{&m.HeadFrom, Param{Name: "head-from", Unit: "% wet basis", Low: 14, High: 30, Key: "lauer-2015"}},
		{&m.HeadTo, Param{Name: "head-to", Unit: "% wet basis", Low: 5, High: 20, Key: "judgement"}},
		{&m.Thresh, Param{Name: "thresh", Unit: "%", Low: 0, High: 10, Key: "judgement"}},
		{&m.ThreshPer, Param{Name: "thresh-per-point", Unit: "% per point", Low: 0, High: 3, Key: "judgement"}},
		{&m.ThreshFrom, Param{Name: "thresh-from", Unit: "% wet basis", Low: 15, High: 40, Key: "judgement"}},
	}
}

// Params implements [Model].
func (m Corn) Params() []Param { return list(m.knobs()) }

// With implements [Model].
func (m Corn) With(name string, value float64) (Model, error) {
	err := turn(m.knobs(), "corn", name, value)
	return m, err
}
