package web

import (
	"encoding/json"

	"threshday/internal/answer"
	"threshday/internal/app"
)

func planOf(m *app.Morning) (*keptPlan, error) {
	p := &keptPlan{planDoc: planDoc{
		ID: m.Made.UTC().Format("20060102T150405.000") + "-" + m.Inputs[:8], Made: answer.Stamp(m.Made), At: answer.Stamp(m.At), Head: headDoc(m.Head), Program: m.Program,
		Seed: m.Seed, Members: m.Members, Inputs: m.Inputs, Seconds: answer.Figure(m.Took.Seconds()),
	}, Outlooks: map[string]json.RawMessage{}}
	var err error
	if p.Sheet, err = encode(answer.OfSheet(m.Sheet)); err != nil {
		return nil, err
	}
	for i, o := range m.Outlooks {
		if p.Outlooks[o.Field.ID], err = encode(fieldOf(p.ID, o, m.Losses[i])); err != nil {
			return nil, err
		}
	}
	p.Outlets, err = encode(worthOf(p.ID, m.Worth))
	return p, err
}

// fieldLook is the outlook of a field with what waiting loses.
type fieldLook struct {
	answer.Outlook
	Plan   string    `json:"plan"`
	Losses []lossDoc `json:"losses"`
}

type lossDoc struct {
	Day     string         `json:"day"`
	LossPct *answer.Figure `json:"loss_pct"`
	FitPct  answer.Figure  `json:"fit_pct"`
}

func fieldOf(plan string, o *app.FieldOutlook, losses []app.DayLoss) fieldLook {
	out := fieldLook{Outlook: answer.OfOutlook(o), Plan: plan, Losses: []lossDoc{}}
	for _, l := range losses {
		out.Losses = append(out.Losses, lossDoc{l.Day.String(), answer.Known(l.LossPct), answer.Figure(100 * l.FitOdds)})
	}
	return out
}

type worthDoc struct {
	Plan  string         `json:"plan"`
	Crops []cropWorthDoc `json:"crops"`
}

type cropWorthDoc struct {
	Crop      string          `json:"crop"`
	Field     string          `json:"field"`
	Moistures []answer.Figure `json:"moistures_pct"`
	Ways      []wayDoc        `json:"ways"`
	Best      []*int          `json:"best"`
}

type wayDoc struct {
	To       string           `json:"to"`
	Name     string           `json:"name"`
	Contract string           `json:"contract,omitempty"`
	Posted   answer.Figure    `json:"posted_usd"`
	Net      []*answer.Figure `json:"net_usd_per_bu"`
}

func worthOf(plan string, all []app.CropWorth) worthDoc {
	out := worthDoc{Plan: plan, Crops: []cropWorthDoc{}}
	for _, c := range all {
		one := cropWorthDoc{Crop: c.Crop.String(), Field: c.Field, Ways: []wayDoc{}}
		for i, m := range c.MoisturePct {
			one.Moistures = append(one.Moistures, answer.Figure(m))
			var best *int
			if b := c.Best[i]; b >= 0 {
				best = &b
			}
			one.Best = append(one.Best, best)
		}
		for _, way := range c.Ways {
			d := wayDoc{To: way.To, Name: way.Name, Contract: way.Contract, Posted: answer.Figure(way.PostedUSD)}
			for _, x := range way.NetUSDPerBu {
				d.Net = append(d.Net, answer.Known(x))
			}
			one.Ways = append(one.Ways, d)
		}
		out.Crops = append(out.Crops, one)
	}
	return out
}
