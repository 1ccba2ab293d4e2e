package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"threshday/internal/answer"
)

// A changedDoc says what a plan says otherwise than the one before, and why.
type changedDoc struct {
	Since     string           `json:"since"`
	Fields    []fieldChangeDoc `json:"fields"`
	SeasonWas answer.Figure    `json:"season_usd_was"`
	Season    answer.Figure    `json:"season_usd"`
	Because   []string         `json:"because"`
}

type fieldChangeDoc struct {
	Field       string        `json:"field"`
	AdviceWas   string        `json:"advice_was"`
	Advice      string        `json:"advice"`
	WaitDaysWas int           `json:"wait_days_was"`
	WaitDays    int           `json:"wait_days"`
	WorthWas    answer.Figure `json:"usd_per_acre_was"`
	Worth       answer.Figure `json:"usd_per_acre"`
	MoistureWas answer.Figure `json:"moisture_was_pct"`
	Moisture    answer.Figure `json:"moisture_pct"`
	Because     []string      `json:"because"`
}

// tellFrom is the difference in dollars an acre from which a field's change is told.
const tellFrom = 1.0 // [judgement]

// mostCauses bounds how many entries are told as causes.
const mostCauses = 500

// changes compares a plan with the one before and finds what came between them.
func (s *Server) changes(ctx context.Context, before, now *keptPlan, zone *time.Location) (*changedDoc, error) {
	var was, is answer.Sheet
	if err := errors.Join(json.Unmarshal(before.Sheet, &was), json.Unmarshal(now.Sheet, &is)); err != nil {
		return nil, err
	}
	lines, err := s.set.App.Since(ctx, s.set.Data, before.Head.Seq, mostCauses)
	if err != nil {
		return nil, err
	}
	out := &changedDoc{Since: before.At, Fields: []fieldChangeDoc{}, SeasonWas: was.Season.ExpectedUSD, Season: is.Season.ExpectedUSD, Because: []string{}}
	causes := causesOf(lines, now.Head.Seq, zone)
	for _, c := range causes {
		out.Because = append(out.Because, c.say)
	}
	out.Because = append(out.Because, between(before, now, &was, &is)...)
	old := map[string]answer.Advice{}
	for _, f := range was.Fields {
		old[f.Field] = f
	}
	for _, f := range is.Fields {
		o, ok := old[f.Field]
		if !ok {
			continue
		}
		d := fieldChangeDoc{
			Field: f.Field, AdviceWas: o.Advice, Advice: f.Advice, MoistureWas: o.Moisture.MeanPct, Moisture: f.Moisture.MeanPct, Because: []string{},
		}
		d.WaitDaysWas, d.WorthWas = bestWait(o)
		d.WaitDays, d.Worth = bestWait(f)
		if d.Advice == d.AdviceWas && d.WaitDays == d.WaitDaysWas && math.Abs(float64(d.Worth-d.WorthWas)) < tellFrom {
			continue
		}
		for _, c := range causes {
			if c.touches(f.Field, f.Crop) {
				d.Because = append(d.Because, c.say)
			}
		}
		out.Fields = append(out.Fields, d)
	}
	return out, nil
}

// bestWait returns the wait worth most against cutting today.
func bestWait(f answer.Advice) (days int, worth answer.Figure) {
	first := true
	for _, c := range f.Choices {
		if c.WaitDays > 0 && (first || c.USDPerAcre > worth) {
			days, worth, first = c.WaitDays, c.USDPerAcre, false
		}
	}
	return days, worth
}

// between says what else differs between the two: time, seed, program.
func between(before, now *keptPlan, was, is *answer.Sheet) []string {
	var out []string
	from, err1 := time.Parse(time.RFC3339, was.AsOf)
	to, err2 := time.Parse(time.RFC3339, is.AsOf)
	if gone := to.Sub(from); err1 == nil && err2 == nil && gone >= time.Hour {
		text := fmt.Sprintf("%.0f hours went by", gone.Hours())
		if gone < 90*time.Minute {
			text = "An hour went by"
		}
		out = append(out, text)
	}
	if before.Seed != now.Seed {
		out = append(out, "The weathers were drawn anew, with another seed")
	}
	if before.Program != now.Program {
		out = append(out, "Another version of the program: "+strings.TrimPrefix(now.Program, "Threshday "))
	}
	if len(out) == 0 && before.Head == now.Head && before.Inputs != now.Inputs {
		out = append(out, "The weather, a forecast or a schedule beside the data file is another")
	}
	return out
}
