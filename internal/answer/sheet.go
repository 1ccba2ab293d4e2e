package answer

import (
	"cmp"

	"threshday/internal/app"
)

// A Sheet is the day sheet. Money here is modelled, so it is a number.
type Sheet struct {
	AsOf     string      `json:"as_of"`
	Farm     string      `json:"farm"`
	Seed     uint64      `json:"seed"`
	Members  int         `json:"members"`
	Weather  string      `json:"weather"`
	Ahead    []Forecast  `json:"forecasts"`
	Window   Window      `json:"window"`
	Fields   []Advice    `json:"fields"`
	Orders   []Order     `json:"orders"`
	Earlier  *Earlier    `json:"earlier_orders"`
	Hauling  *Hauling    `json:"hauling"`
	Season   Season      `json:"season"`
	Assumed  []Assumed   `json:"assumed"`
	NotUsed  []string    `json:"not_used"`
	Stale    []string    `json:"stale"`
	Cautions []string    `json:"cautions"`
	Findings []Complaint `json:"findings,omitempty"`
}

// A Window is when a day can be cut; hours are of the farm's clock.
type Window struct {
	Day       string  `json:"day"`
	OddsOpen  Figure  `json:"odds_open"`
	OpensH    *Figure `json:"opens_h"`
	OpensP10  *Figure `json:"opens_p10_h"`
	OpensP90  *Figure `json:"opens_p90_h"`
	ClosesH   *Figure `json:"closes_h"`
	ClosesP10 *Figure `json:"closes_p10_h"`
	ClosesP90 *Figure `json:"closes_p90_h"`
}

// An Advice is the row of one field.
type Advice struct {
	Field     string    `json:"field"`
	Name      string    `json:"name"`
	Crop      string    `json:"crop"`
	AcresLeft Figure    `json:"acres_left"`
	Moisture  Moisture  `json:"moisture"`
	LimitPct  Figure    `json:"limit_pct"`
	Advice    string    `json:"advice"`
	TossUp    bool      `json:"toss_up"`
	Because   string    `json:"because"`
	Reason    string    `json:"reason"`
	Beside    string    `json:"looked_ahead,omitempty"`
	Choices   []Choice  `json:"choices"`
	Flips     []Flip    `json:"flips"`
	Holds     []string  `json:"holds"`
	Goes      []Goes    `json:"goes"`
	Readings  []Reading `json:"readings"`
	Maturity  []string  `json:"maturity"`
	Sample    *Sample   `json:"next_reading"`
}

// A Moisture is a mean with its 10 and 90 % points.
type Moisture struct {
	MeanPct Figure `json:"mean_pct"`
	P10Pct  Figure `json:"p10_pct"`
	P90Pct  Figure `json:"p90_pct"`
}

// A Choice is waiting so many days against cutting today.
type Choice struct {
	WaitDays       int     `json:"wait_days"`
	USDPerAcre     Figure  `json:"usd_per_acre"`
	USD            Figure  `json:"usd"`
	SEUSD          Figure  `json:"se_usd"`
	P10USD         Figure  `json:"p10_usd"`
	P90USD         Figure  `json:"p90_usd"`
	LowUSD         Figure  `json:"low_usd"`
	HighUSD        Figure  `json:"high_usd"`
	AheadUSD       *Figure `json:"ahead_usd,omitempty"`
	AheadPerAcre   *Figure `json:"ahead_usd_per_acre,omitempty"`
	AheadLowUSD    *Figure `json:"ahead_low_usd,omitempty"`
	AheadHighUSD   *Figure `json:"ahead_high_usd,omitempty"`
	OddsUnderLimit Figure  `json:"odds_under_limit"`
	OddsByDeadline *Figure `json:"odds_by_deadline,omitempty"`
	Deadline       string  `json:"deadline,omitempty"`
}

// A Flip is what would change the advice.
type Flip struct {
	If   string `json:"if"`
	Then string `json:"then"`
}

// A Goes is a share of a field's acres and where it goes.
type Goes struct {
	To          string  `json:"to"`
	Contract    string  `json:"contract,omitempty"`
	Share       Figure  `json:"share"`
	NetUSDPerBu *Figure `json:"net_usd_per_bu"`
}

// A Reading is what one reading did to a field's mean.
type Reading struct {
	What      string `json:"what"`
	Used      bool   `json:"used"`
	BeforePct Figure `json:"before_pct"`
	AfterPct  Figure `json:"after_pct"`
	Weight    Figure `json:"weight"`
	Doubted   bool   `json:"doubted"`
	Note      string `json:"note,omitempty"`
}

// OfReading returns what one reading did.
func OfReading(r app.ReadingEffect) Reading {
	return Reading{r.What, r.Used, Figure(r.Before), Figure(r.After), Figure(r.Weight), r.Doubted, r.Note}
}

// An Order is one machine's stretch of work.
type Order struct {
	Machine  string      `json:"machine"`
	Field    string      `json:"field"`
	From     string      `json:"from"`
	To       string      `json:"to"`
	Acres    Figure      `json:"acres"`
	Bushels  Figure      `json:"bushels"`
	Loads    []OrderLoad `json:"loads"`
	Entrance string      `json:"entrance,omitempty"`
	Before   string      `json:"before_start,omitempty"`
	Why      string      `json:"why"`
}

// An OrderLoad is a truckload of an order.
type OrderLoad struct {
	To          string `json:"to"`
	Contract    string `json:"contract,omitempty"`
	Bushels     Figure `json:"bushels"`
	NetUSDPerBu Figure `json:"net_usd_per_bu"`
}

// A Season is what the season brings under the plan.
type Season struct {
	ExpectedUSD Figure   `json:"expected_usd"`
	P10USD      Figure   `json:"p10_usd"`
	P90USD      Figure   `json:"p90_usd"`
	SEUSD       Figure   `json:"se_usd"`
	GapPct      Figure   `json:"gap_to_foresight_pct"`
	PlanRule    string   `json:"plan_rule"`
	Rules       []Rule   `json:"rules"`
	OneMore     []More   `json:"one_more"`
	Margins     []Margin `json:"margins"`
	MarginsSay  string   `json:"margins_say,omitempty"`
	Cannot      []string `json:"cannot"`
}

// A Margin is what one more hour, bushel or point-bushel of something that is short would earn.
type Margin struct {
	Of       string `json:"of"`
	At       string `json:"at,omitempty"`
	Contract string `json:"contract,omitempty"`
	When     string `json:"when"`
	USD      Figure `json:"usd"`
	P10USD   Figure `json:"p10_usd"`
	P90USD   Figure `json:"p90_usd"`
}

// A More is what one more of something would earn.
type More struct {
	Of    string `json:"of"`
	USD   Figure `json:"usd"`
	SEUSD Figure `json:"se_usd"`
}

// A Rule is what a rule of thumb earns on the same weathers.
type Rule struct {
	Rule        string `json:"rule"`
	ExpectedUSD Figure `json:"expected_usd"`
	LessUSD     Figure `json:"less_usd"`
	SEUSD       Figure `json:"se_usd"`
}

// An Assumed is a value that the owner did not give.
type Assumed struct {
	What  string `json:"what"`
	Value string `json:"value"`
	From  string `json:"from"`
}

// OfSheet returns the document of a day sheet.
func OfSheet(d *app.DaySheet) Sheet {
	out := Sheet{
		AsOf: Stamp(d.AsOf), Farm: d.Farm, Seed: d.Seed, Members: d.Members, Weather: d.Weather.Ensemble, Ahead: OfForecasts(d.Weather.Sources, d.AsOf), Window: windowOf(d.Window),
		Fields: []Advice{}, Orders: []Order{}, Season: seasonOf(d.Season), Assumed: []Assumed{},
		NotUsed: List(d.NotUsed), Stale: List(d.Stale), Cautions: []string{},
	}
	for _, f := range d.Fields {
		out.Fields = append(out.Fields, adviceOf(f))
	}
	out.Hauling, out.Earlier = OfHauling(d.Hauling), earlierOf(d.Against)
	for _, o := range d.Orders {
		one := Order{
			Machine: o.Machine, Field: o.Field, From: Stamp(o.From), To: Stamp(o.To), Acres: Figure(o.Acres), Bushels: Figure(o.Bushels),
			Loads: []OrderLoad{}, Entrance: o.Entrance, Before: o.Before, Why: o.Why,
		}
		for _, l := range o.Loads {
			one.Loads = append(one.Loads, OrderLoad{l.To, l.Contract, Figure(l.Bushels), Figure(l.NetUSDPerBu)})
		}
		out.Orders = append(out.Orders, one)
	}
	for _, a := range d.Assumed {
		out.Assumed = append(out.Assumed, Assumed(a))
	}
	for _, c := range d.Cautions {
		out.Cautions = append(out.Cautions, c.Say)
	}
	for _, f := range d.Findings {
		out.Findings = append(out.Findings, OfFinding(f))
	}
	return out
}

func windowOf(w app.DayWindow) Window {
	out := Window{Day: w.Day.String(), OddsOpen: Figure(w.OpenOdds)}
	if w.Opens != nil {
		out.OpensP10, out.OpensH, out.OpensP90 = Known(w.Opens[0]), Known(w.Opens[1]), Known(w.Opens[2])
		out.ClosesP10, out.ClosesH, out.ClosesP90 = Known(w.Closes[0]), Known(w.Closes[1]), Known(w.Closes[2])
	}
	return out
}

func adviceOf(f app.FieldAdvice) Advice {
	out := Advice{
		Field: f.ID, Name: f.Name, Crop: f.Crop, AcresLeft: Figure(f.AcresLeft), LimitPct: Figure(f.LimitPct), Advice: string(f.Advice),
		Moisture: Moisture{Figure(f.MoisturePct.Mean), Figure(f.MoisturePct.P10), Figure(f.MoisturePct.P90)},
		TossUp:   f.TossUp, Because: f.Because, Reason: cmp.Or(f.Reason, f.Because), Beside: f.Beside, Choices: []Choice{}, Flips: []Flip{}, Holds: List(f.Holds), Goes: []Goes{}, Readings: []Reading{}, Maturity: List(f.Maturity),
		Sample: OfSample(f.Sample),
	}
	for _, c := range f.Choices {
		one := Choice{
			WaitDays: c.WaitDays, USDPerAcre: Figure(c.USDPerAcre), USD: Figure(c.USD), SEUSD: Figure(c.SEUSD), P10USD: Figure(c.P10USD),
			P90USD: Figure(c.P90USD), LowUSD: Figure(c.LowUSD), HighUSD: Figure(c.HighUSD), OddsUnderLimit: Figure(c.OddsUnderLimit),
		}
		if c.Ahead != nil {
			one.AheadUSD, one.AheadPerAcre = Known(c.Ahead.USD), Known(c.Ahead.USD/f.AcresLeft)
			one.AheadLowUSD, one.AheadHighUSD = Known(c.Ahead.LowUSD), Known(c.Ahead.HighUSD)
		}
		if c.OddsByDeadline != nil {
			one.OddsByDeadline, one.Deadline = Known(*c.OddsByDeadline), c.Deadline.String()
		}
		out.Choices = append(out.Choices, one)
	}
	for _, flip := range f.Flips {
		out.Flips = append(out.Flips, Flip(flip))
	}
	for _, g := range f.Goes {
		out.Goes = append(out.Goes, Goes{g.To, g.Contract, Figure(g.Share), Known(g.NetUSDPerBu)})
	}
	for _, r := range f.Readings {
		out.Readings = append(out.Readings, OfReading(r))
	}
	return out
}

func seasonOf(s app.SeasonOutcome) Season {
	out := Season{
		ExpectedUSD: Figure(s.Expected), P10USD: Figure(s.P10), P90USD: Figure(s.P90), SEUSD: Figure(s.SE), GapPct: Figure(s.GapPct), PlanRule: s.PlanRule,
		Rules: []Rule{}, MarginsSay: s.MarginsSay, Cannot: List(s.Cannot),
	}
	out.OneMore, out.Margins = []More{}, []Margin{}
	for _, m := range s.Margins {
		out.Margins = append(out.Margins, Margin{string(m.Of), m.At, m.Contract, m.When, Figure(m.USD), Figure(m.P10), Figure(m.P90)})
	}
	for _, m := range s.OneMore {
		out.OneMore = append(out.OneMore, More{m.Of, Figure(m.USD), Figure(m.SE)})
	}
	for _, r := range s.Rules {
		out.Rules = append(out.Rules, Rule{r.Rule, Figure(r.Expected), Figure(r.Less), Figure(r.SE)})
	}
	return out
}
