package cli

import (
	"math"
	"time"

	"threshday/internal/app"
)

// sheetJSON is the JSON form of the day sheet. Money here is modelled, so it is a number.
type sheetJSON struct {
	AsOf     string        `json:"as_of"`
	Farm     string        `json:"farm"`
	Seed     uint64        `json:"seed"`
	Members  int           `json:"members"`
	Weather  string        `json:"weather"`
	Window   windowJSON    `json:"window"`
	Fields   []adviceJSON  `json:"fields"`
	Orders   []orderJSON   `json:"orders"`
	Season   seasonJSON    `json:"season"`
	Assumed  []assumedJSON `json:"assumed"`
	NotUsed  []string      `json:"not_used"`
	Stale    []string      `json:"stale"`
	Cautions []string      `json:"cautions"`
	Findings []complaint   `json:"findings,omitempty"`
}

type windowJSON struct {
	Day       string  `json:"day"`
	OddsOpen  figure  `json:"odds_open"`
	OpensH    *figure `json:"opens_h"`
	OpensP10  *figure `json:"opens_p10_h"`
	OpensP90  *figure `json:"opens_p90_h"`
	ClosesH   *figure `json:"closes_h"`
	ClosesP10 *figure `json:"closes_p10_h"`
	ClosesP90 *figure `json:"closes_p90_h"`
}

type adviceJSON struct {
	Field     string        `json:"field"`
	Name      string        `json:"name"`
	Crop      string        `json:"crop"`
	AcresLeft figure        `json:"acres_left"`
	Moisture  moistureJSON  `json:"moisture"`
	LimitPct  figure        `json:"limit_pct"`
	Advice    string        `json:"advice"`
	TossUp    bool          `json:"toss_up"`
	Because   string        `json:"because"`
	Choices   []choiceJSON  `json:"choices"`
	Flips     []flipJSON    `json:"flips"`
	Goes      []goesJSON    `json:"goes"`
	Readings  []readingJSON `json:"readings"`
	Maturity  []string      `json:"maturity"`
}

type moistureJSON struct {
	MeanPct figure `json:"mean_pct"`
	P10Pct  figure `json:"p10_pct"`
	P90Pct  figure `json:"p90_pct"`
}

type choiceJSON struct {
	WaitDays       int     `json:"wait_days"`
	USDPerAcre     figure  `json:"usd_per_acre"`
	USD            figure  `json:"usd"`
	SEUSD          figure  `json:"se_usd"`
	P10USD         figure  `json:"p10_usd"`
	P90USD         figure  `json:"p90_usd"`
	OddsUnderLimit figure  `json:"odds_under_limit"`
	OddsByDeadline *figure `json:"odds_by_deadline,omitempty"`
	Deadline       string  `json:"deadline,omitempty"`
}

type flipJSON struct {
	If   string `json:"if"`
	Then string `json:"then"`
}

type goesJSON struct {
	To          string  `json:"to"`
	Contract    string  `json:"contract,omitempty"`
	Share       figure  `json:"share"`
	NetUSDPerBu *figure `json:"net_usd_per_bu"`
}

type readingJSON struct {
	What      string `json:"what"`
	Used      bool   `json:"used"`
	BeforePct figure `json:"before_pct"`
	AfterPct  figure `json:"after_pct"`
	Weight    figure `json:"weight"`
	Doubted   bool   `json:"doubted"`
	Note      string `json:"note,omitempty"`
}

type orderJSON struct {
	Machine  string     `json:"machine"`
	Field    string     `json:"field"`
	From     string     `json:"from"`
	To       string     `json:"to"`
	Acres    figure     `json:"acres"`
	Bushels  figure     `json:"bushels"`
	Loads    []loadJSON `json:"loads"`
	Entrance string     `json:"entrance,omitempty"`
	Before   string     `json:"before_start,omitempty"`
	Why      string     `json:"why"`
}

type loadJSON struct {
	To          string `json:"to"`
	Contract    string `json:"contract,omitempty"`
	Bushels     figure `json:"bushels"`
	NetUSDPerBu figure `json:"net_usd_per_bu"`
}

type seasonJSON struct {
	ExpectedUSD figure     `json:"expected_usd"`
	P10USD      figure     `json:"p10_usd"`
	P90USD      figure     `json:"p90_usd"`
	SEUSD       figure     `json:"se_usd"`
	GapPct      figure     `json:"gap_to_foresight_pct"`
	PlanRule    string     `json:"plan_rule"`
	Rules       []ruleJSON `json:"rules"`
	OneMore     []moreJSON `json:"one_more"`
	Cannot      []string   `json:"cannot"`
}

type moreJSON struct {
	Of    string `json:"of"`
	USD   figure `json:"usd"`
	SEUSD figure `json:"se_usd"`
}

type ruleJSON struct {
	Rule        string `json:"rule"`
	ExpectedUSD figure `json:"expected_usd"`
	LessUSD     figure `json:"less_usd"`
	SEUSD       figure `json:"se_usd"`
}

type assumedJSON struct {
	What  string `json:"what"`
	Value string `json:"value"`
	From  string `json:"from"`
}

func sheetAsJSON(d *app.DaySheet) sheetJSON {
	out := sheetJSON{
		AsOf: stamp(d.AsOf), Farm: d.Farm, Seed: d.Seed, Members: d.Members, Weather: d.Weather.Ensemble, Window: windowAsJSON(d.Window),
		Fields: []adviceJSON{}, Orders: []orderJSON{}, Season: seasonAsJSON(d.Season), Assumed: []assumedJSON{},
		NotUsed: list(d.NotUsed), Stale: list(d.Stale), Cautions: []string{},
	}
	for _, f := range d.Fields {
		out.Fields = append(out.Fields, adviceAsJSON(f))
	}
	for _, o := range d.Orders {
		one := orderJSON{
			Machine: o.Machine, Field: o.Field, From: stamp(o.From), To: stamp(o.To), Acres: figure(o.Acres), Bushels: figure(o.Bushels),
			Loads: []loadJSON{}, Entrance: o.Entrance, Before: o.Before, Why: o.Why,
		}
		for _, l := range o.Loads {
			one.Loads = append(one.Loads, loadJSON{l.To, l.Contract, figure(l.Bushels), figure(l.NetUSDPerBu)})
		}
		out.Orders = append(out.Orders, one)
	}
	for _, a := range d.Assumed {
		out.Assumed = append(out.Assumed, assumedJSON(a))
	}
	for _, c := range d.Cautions {
		out.Cautions = append(out.Cautions, c.Say)
	}
	for _, f := range d.Findings {
		out.Findings = append(out.Findings, ofFinding(f))
	}
	return out
}

func windowAsJSON(w app.DayWindow) windowJSON {
	out := windowJSON{Day: w.Day.String(), OddsOpen: figure(w.OpenOdds)}
	if w.Opens != nil {
		out.OpensP10, out.OpensH, out.OpensP90 = known(w.Opens[0]), known(w.Opens[1]), known(w.Opens[2])
		out.ClosesP10, out.ClosesH, out.ClosesP90 = known(w.Closes[0]), known(w.Closes[1]), known(w.Closes[2])
	}
	return out
}

func adviceAsJSON(f app.FieldAdvice) adviceJSON {
	out := adviceJSON{
		Field: f.ID, Name: f.Name, Crop: f.Crop, AcresLeft: figure(f.AcresLeft), LimitPct: figure(f.LimitPct), Advice: string(f.Advice),
		Moisture: moistureJSON{figure(f.MoisturePct.Mean), figure(f.MoisturePct.P10), figure(f.MoisturePct.P90)},
		TossUp:   f.TossUp, Because: f.Because, Choices: []choiceJSON{}, Flips: []flipJSON{}, Goes: []goesJSON{}, Readings: []readingJSON{}, Maturity: list(f.Maturity),
	}
	for _, c := range f.Choices {
		one := choiceJSON{
			WaitDays: c.WaitDays, USDPerAcre: figure(c.USDPerAcre), USD: figure(c.USD), SEUSD: figure(c.SEUSD), P10USD: figure(c.P10USD),
			P90USD: figure(c.P90USD), OddsUnderLimit: figure(c.OddsUnderLimit),
		}
		if c.OddsByDeadline != nil {
			one.OddsByDeadline, one.Deadline = known(*c.OddsByDeadline), c.Deadline.String()
		}
		out.Choices = append(out.Choices, one)
	}
	for _, flip := range f.Flips {
		out.Flips = append(out.Flips, flipJSON(flip))
	}
	for _, g := range f.Goes {
		out.Goes = append(out.Goes, goesJSON{g.To, g.Contract, figure(g.Share), known(g.NetUSDPerBu)})
	}
	for _, r := range f.Readings {
		out.Readings = append(out.Readings, readingJSON{r.What, r.Used, figure(r.Before), figure(r.After), figure(r.Weight), r.Doubted, r.Note})
	}
	return out
}

func seasonAsJSON(s app.SeasonOutcome) seasonJSON {
	out := seasonJSON{
		ExpectedUSD: figure(s.Expected), P10USD: figure(s.P10), P90USD: figure(s.P90), SEUSD: figure(s.SE), GapPct: figure(s.GapPct), PlanRule: s.PlanRule,
		Rules: []ruleJSON{}, Cannot: list(s.Cannot),
	}
	out.OneMore = []moreJSON{}
	for _, m := range s.OneMore {
		out.OneMore = append(out.OneMore, moreJSON{m.Of, figure(m.USD), figure(m.SE)})
	}
	for _, r := range s.Rules {
		out.Rules = append(out.Rules, ruleJSON{r.Rule, figure(r.Expected), figure(r.Less), figure(r.SE)})
	}
	return out
}

// stamp writes an instant as scripts read it, with the farm's offset.
func stamp(t time.Time) string { return t.Format(time.RFC3339) }

// known returns nil for what is not known.
func known(x float64) *figure {
	if math.IsNaN(x) {
		return nil
	}
	f := figure(x)
	return &f
}

// list returns an empty list, never null.
func list(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
