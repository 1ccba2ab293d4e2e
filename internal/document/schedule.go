package document

import (
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
)

// A Schedule is a posted schedule read back to a person: how the buyer counts, what each row does, what it pays by reading.
type Schedule struct {
	Crop     string        `json:"crop"`
	Profile  []string      `json:"profile"`
	Note     string        `json:"note,omitempty"`
	Rows     []ScheduleRow `json:"rows"`
	Factor   string        `json:"factor,omitempty"` // of the curve
	Curve    []CurvePoint  `json:"curve"`
	Warnings []Complaint   `json:"warnings"`
}

// A ScheduleRow is one row in words.
type ScheduleRow struct {
	Row    int    `json:"row"`
	Factor string `json:"factor"`
	Kind   string `json:"kind"`
	Say    string `json:"say"`
}

// A CurvePoint is what a gross unit nets at one reading; null where the load has no price.
type CurvePoint struct {
	Reading string  `json:"reading"`
	Net     *string `json:"net_usd_per_gross_unit"`
}

// OfSchedule returns the document of a schedule read back; curve, where there is one, is drawn against factor.
func OfSchedule(s *settlement.Schedule, factor settlement.Factor, curve []settlement.CurvePoint, doubts []problem.Finding) Schedule {
	out := Schedule{Crop: s.Crop.String(), Profile: s.Profile(), Note: s.Note, Rows: []ScheduleRow{}, Curve: []CurvePoint{}, Warnings: []Complaint{}}
	for i, say := range s.Sentences() {
		row := &s.Rows[i]
		out.Rows = append(out.Rows, ScheduleRow{row.Seq, row.Factor.String(), string(row.Kind), say})
	}
	for _, p := range curve {
		out.Factor = factor.String()
		one := CurvePoint{Reading: p.Reading.String()}
		if p.Why == nil {
			one.Net = new(p.Net.Fixed())
		}
		out.Curve = append(out.Curve, one)
	}
	for _, f := range doubts {
		out.Warnings = append(out.Warnings, OfFinding(f))
	}
	return out
}
