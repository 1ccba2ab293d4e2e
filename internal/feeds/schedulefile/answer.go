package schedulefile

import (
	"encoding/json"
	"strconv"

	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// An Answer is a statement in the form scripts read. Printed weights, quantities, prices and money are
// strings; what a refused load does not have is null.
type Answer struct {
	NetLb    string  `json:"net_lb"`
	SettleLb *string `json:"settle_lb"`
	*bushels
	*hundredweights
	ValueUSD    *string      `json:"value_usd"`
	CheckoffUSD *string      `json:"checkoff_usd"`
	Charges     []AnswerLine `json:"charges"`
	NetUSD      *string      `json:"net_usd"`
	Lines       []AnswerLine `json:"lines"`
	Rejected    *Refused     `json:"rejected"`
	Warnings    []Warning    `json:"warnings,omitempty"`
}

type bushels struct {
	Gross *string `json:"gross_bu"`
	Net   *string `json:"net_bu"`
	Price *string `json:"price_per_bu"`
}

type hundredweights struct {
	Gross *string `json:"gross_cwt"`
	Net   *string `json:"net_cwt"`
	Price *string `json:"price_per_cwt"`
}

// An AnswerLine is one line of a statement. Row is null for the base price, the premium and a rounding.
type AnswerLine struct {
	Row     *int        `json:"row"`
	Factor  string      `json:"factor"`
	Reading *string     `json:"reading,omitempty"`
	From    string      `json:"from,omitempty"`
	To      string      `json:"to,omitempty"`
	Step    string      `json:"step,omitempty"`
	Steps   json.Number `json:"steps"`
	Amount  string      `json:"amount"`
	Unit    string      `json:"unit,omitempty"`
	Qty     string      `json:"qty,omitempty"`
	Lb      string      `json:"lb"`
	USD     string      `json:"usd"`
	Running string      `json:"running_usd"`
	Left    string      `json:"running_lb"`
	Say     string      `json:"say"`
}

// Refused is the row that refuses a load.
type Refused struct {
	Row int    `json:"row"`
	Say string `json:"say"`
}

// A Warning is what a warn row of the schedule says of an accepted load.
type Warning struct {
	Rule     string `json:"rule"`
	Severity string `json:"severity"`
	Label    string `json:"label"`
	Got      string `json:"got,omitempty"`
	Say      string `json:"say"`
	Next     string `json:"next,omitempty"`
}

// NewAnswer returns the form scripts read of a statement under terms; rejection is nil when it was accepted.
func NewAnswer(terms *settlement.Terms, s settlement.Statement, rejection *settlement.Rejection) Answer {
	a := Answer{NetLb: s.NetLb.String(), Charges: []AnswerLine{}, Lines: []AnswerLine{}}
	places := *terms.Schedule().BuDecimals
	gross := new(s.GrossQty.Fixed(places))
	var net, price *string
	if rejection != nil {
		a.Rejected = &Refused{rejection.Row, rejection.Say()}
	} else {
		a.SettleLb = new(s.SettledLb.String())
		net, price = new(s.NetQty.Fixed(places)), new(s.PerUnit.Fixed())
		a.ValueUSD, a.CheckoffUSD, a.NetUSD = new(s.Value.String()), new(s.Checkoff.String()), new(s.Net.String())
		a.Lines = answerLines(terms, s.Lines)
		a.Charges = answerLines(terms, s.ChargeLines)
	}
	if s.Unit == settlement.PerCwt {
		a.hundredweights = &hundredweights{gross, net, price}
	} else {
		a.bushels = &bushels{gross, net, price}
	}
	for _, f := range s.Findings {
		a.Warnings = append(a.Warnings, Warning{f.Rule, string(f.Severity), f.Label, f.Got, f.Say, f.Next})
	}
	return a
}

func answerLines(terms *settlement.Terms, lines []settlement.Line) []AnswerLine {
	rows := terms.Schedule().Rows
	out := make([]AnswerLine, len(lines))
	for i, l := range lines {
		a := AnswerLine{
			Factor: l.Name(), Steps: number(l.Steps), Amount: l.Rate, Lb: l.Pounds.String(), USD: l.Dollars.String(),
			Running: l.Running.String(), Left: l.Left.String(), Say: terms.Explain(l),
		}
		if l.Reading != nil {
			a.Reading = new(l.Reading.String())
		}
		if l.Index >= 0 {
			row := rows[l.Index]
			a.Row, a.Unit, a.Qty = &l.Row, string(row.Unit), string(row.Qty)
			a.From, a.To, a.Step = shown(row.From), shown(row.To), shown(row.Step)
		}
		out[i] = a
	}
	return out
}

func shown(d *trade.Decimal) string {
	if d == nil {
		return ""
	}
	return d.String()
}

// number returns a count as a JSON number: exact where a decimal holds it, else to six places.
func number(f trade.Fraction) json.Number {
	if s := f.String(); json.Valid([]byte(s)) {
		return json.Number(s)
	}
	return json.Number(strconv.FormatFloat(f.Float(), 'f', 6, 64))
}

// Warnings returns findings on a schedule in the form scripts read.
func Warnings(findings []problem.Finding) []Warning {
	var out []Warning
	for _, f := range findings {
		out = append(out, Warning{f.Rule, string(f.Severity), f.Label, f.Got, f.Say, f.Next})
	}
	return out
}
