package cli

import (
	"fmt"
	"math"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/weather"
)

type weatherScoreCmd struct {
	fromFlags
	Now string `placeholder:"2031-11-20T06:00:00-06:00" help:"As of this time, RFC 3339 with offset; left out: the season's as_of, or now. Later forecasts and hours are not looked at."`
}

// Explain says how forecasts are scored.
func (weatherScoreCmd) Explain() string {
	return "Holds every forecast that was kept against what came, by source and lead day; day 1 is the day of the forecast, and of each date the first forecast counts. " +
		"Of what was said: bias, mean error (MAE), and the Brier score of the chance of rain. Of the weathers drawn around it, which is what a plan stands on: " +
		"the CRPS, how much better than the climate alone that is (skill), how often the middle eight tenths held what came (80 is right), whether ranks are even (p under 0.01: they are not), and the same for hours to cut in, for a window of four of them and for the hour leaves are dry.\n\n" +
		"From 60 verified days of a lead day on, plans take this farm's own errors instead of the built-in table. What came is the season's record and what weather import put into the data file."
}

type weatherScoreJSON struct {
	Farm     string             `json:"farm"`
	AsOf     string             `json:"as_of"`
	Climate  string             `json:"climate"`
	Loud     []string           `json:"loud"`
	Observed string             `json:"observed_until"`
	Sources  []sourceScoreJSON  `json:"sources"`
	Errors   errorTableJSON     `json:"error_table"`
	Findings []answer.Complaint `json:"findings"`
}

type sourceScoreJSON struct {
	Source    string          `json:"source"`
	Forecasts int             `json:"forecasts"`
	From      string          `json:"from"`
	To        string          `json:"to"`
	Leads     []leadScoreJSON `json:"leads"`
}

type leadScoreJSON struct {
	Lead     int               `json:"lead_day"`
	High     quantityScoreJSON `json:"high"`
	Low      quantityScoreJSON `json:"low"`
	Dew      quantityScoreJSON `json:"dew_point"`
	Wind     quantityScoreJSON `json:"wind_2m"`
	Rain     eventScoreJSON    `json:"rain"`
	CutHours quantityScoreJSON `json:"dry_hours"`
	DryFrom  quantityScoreJSON `json:"dew_off"`
	Window   eventScoreJSON    `json:"window"`
}

// quantityScoreJSON is in °C; wind's members in m/s and what was said of it in the root of that; hours in hours.
type quantityScoreJSON struct {
	N       int     `json:"n"`
	Bias    *figure `json:"bias,omitempty"` // forecast less observed
	MAE     *figure `json:"mae,omitempty"`
	RMSE    *figure `json:"rmse,omitempty"`
	Members int     `json:"members_n"`
	CRPS    *figure `json:"crps,omitempty"`
	Climate *figure `json:"climate_crps,omitempty"`
	Skill   *figure `json:"skill,omitempty"`
	Covered *figure `json:"within_80_pct,omitempty"`
	Ranks   []int   `json:"ranks"`
	P       *figure `json:"ranks_p,omitempty"`
}

type eventScoreJSON struct {
	N           int               `json:"n"`
	Brier       *figure           `json:"brier,omitempty"`
	Climate     *figure           `json:"climate_brier,omitempty"`
	Members     *figure           `json:"members_brier,omitempty"`
	Reliability []reliabilityJSON `json:"reliability"`
}

type reliabilityJSON struct {
	From      figure `json:"from_pct"`
	To        figure `json:"to_pct"`
	N         int    `json:"n"`
	Forecast  figure `json:"forecast_pct"`
	Frequency figure `json:"came_pct"`
	Low       figure `json:"low_pct"` // 9 in 10 frequencies lie between low and high if the chances are right
	High      figure `json:"high_pct"`
}

type errorTableJSON struct {
	LearnedTemp int      `json:"learned_temperature_leads"`
	LearnedDew  int      `json:"learned_dew_point_leads"`
	LearnedWind int      `json:"learned_wind_leads"`
	LearnedRain int      `json:"learned_rain_leads"`
	Temp        []figure `json:"temperature"`
	Dew         []figure `json:"dew_point"`
	Wind        []figure `json:"root_wind"`
	Rain        []figure `json:"rain_trust"`
}

// Answer returns the JSON form.
func (weatherScoreCmd) Answer() any { return weatherScoreJSON{} }

// Run prints the scores.
func (c weatherScoreCmd) Run(s *session) error {
	r, err := c.request(s)
	if err != nil {
		return err
	}
	if r.Now, err = parseNow(c.Now); err != nil {
		return err
	}
	r.Seed = 1
	got, err := s.App.ScoreWeather(s.ctx, r, func(done, of int) { s.busy.say(fmt.Sprintf("%d of %d forecasts", done, of)) })
	if err != nil {
		return err
	}
	if s.json {
		return s.print(scoreAsJSON(got))
	}
	return s.printScore(got)
}

func scoreAsJSON(w *app.WeatherScore) weatherScoreJSON {
	table := func(x [weather.LongestLead]float64) (out []figure) {
		for _, v := range x {
			out = append(out, figure(v))
		}
		return out
	}
	out := weatherScoreJSON{
		Farm: w.Farm, AsOf: stamp(w.AsOf), Climate: w.Climate, Loud: list(w.Loud), Sources: []sourceScoreJSON{}, Findings: []answer.Complaint{},
		Errors: errorTableJSON{
			LearnedTemp: w.Learned[0], LearnedDew: w.Learned[1], LearnedWind: w.Learned[2], LearnedRain: w.Learned[3],
			Temp: table(w.Errors.Temp), Dew: table(w.Errors.Dew), Wind: table(w.Errors.Wind), Rain: table(w.Errors.Rain),
		},
	}
	if w.Observed != nil {
		out.Observed = stamp(w.Observed.In(w.AsOf.Location()))
	}
	for _, src := range w.Sources {
		one := sourceScoreJSON{Source: src.Name, Forecasts: src.Issues, From: src.From.String(), To: src.To.String(), Leads: []leadScoreJSON{}}
		for i, l := range src.Leads {
			if leadN(l) == 0 {
				continue
			}
			one.Leads = append(one.Leads, leadScoreJSON{
				Lead: i + 1, High: quantityAsJSON(l.Said.High, l.Members.High), Low: quantityAsJSON(l.Said.Low, l.Members.Low), Dew: quantityAsJSON(l.Said.Dew, l.Members.Dew),
				Wind: quantityAsJSON(l.Said.RootWind, l.Members.Wind), Rain: rainAsJSON(l.Said.Rain, l.Members.Rain),
				CutHours: quantityAsJSON(weather.ErrorScore{}, l.Members.CutHours), DryFrom: quantityAsJSON(weather.ErrorScore{}, l.Members.DryFrom),
				Window: eventAsJSON(l.Members.Window),
			})
		}
		out.Sources = append(out.Sources, one)
	}
	for _, f := range w.Findings {
		out.Findings = append(out.Findings, answer.OfFinding(f))
	}
	return out
}

// leadN is on how many days a lead day was verified, whatever was said of them.
func leadN(l app.LeadScore) int {
	return max(l.Said.High.N, l.Said.Low.N, l.Said.Dew.N, l.Said.RootWind.N, len(l.Said.Rain.Chances))
}

func quantityAsJSON(said weather.ErrorScore, m weather.MemberScore) quantityScoreJSON {
	out := quantityScoreJSON{N: said.N, Members: m.N, Ranks: []int{}}
	num := func(x float64) *figure { f := figure(x); return &f }
	if said.N > 0 {
		out.Bias, out.MAE, out.RMSE = num(said.Bias), num(said.MAE), num(said.RMSE)
	}
	if m.N > 0 {
		out.CRPS, out.Climate, out.Covered, out.P, out.Ranks = num(m.CRPS), num(m.Climate), num(100*m.Covered), num(m.P), m.Ranks[:]
	}
	if skill, ok := m.Skill(); ok {
		out.Skill = num(skill)
	}
	return out
}

func rainAsJSON(said weather.RainScore, m weather.EventScore) eventScoreJSON {
	out := eventScoreJSON{N: len(said.Chances), Reliability: reliabilityAsJSON(said.Chances)}
	if out.N > 0 {
		brier, usual := figure(said.Brier), figure(said.Usual)
		out.Brier, out.Climate = &brier, &usual
	}
	if len(m.Chances) > 0 {
		members := figure(m.Brier)
		out.Members = &members
	}
	return out
}

func eventAsJSON(m weather.EventScore) eventScoreJSON {
	out := eventScoreJSON{N: len(m.Chances), Reliability: reliabilityAsJSON(m.Chances)}
	if out.N > 0 {
		members, usual := figure(m.Brier), figure(m.Climate)
		out.Members, out.Climate = &members, &usual
	}
	return out
}

func reliabilityAsJSON(chances []weather.Chance) []reliabilityJSON {
	out := []reliabilityJSON{}
	for _, r := range weather.Reliability(chances) {
		out = append(out, reliabilityJSON{figure(100 * r.From), figure(100 * r.To), r.N, figure(100 * r.Forecast), figure(100 * r.Frequency), figure(100 * r.Low), figure(100 * r.High)})
	}
	return out
}

// printScore prints a table per source, what was said on the left and what was drawn around it on the right.
func (s *session) printScore(w *app.WeatherScore) error {
	p := s.printer()
	p.line(p.bold(w.Farm + ": forecasts against what came, as of " + w.AsOf.Format(momentLayout)))
	for _, loud := range w.Loud {
		p.wrapped("", "! "+loud)
	}
	for _, src := range w.Sources {
		p.line("")
		p.line(p.bold(fmt.Sprintf("%s: forecasts of %s, %s to %s", capitalized(src.Name), plural(int64(src.Issues), "day"), src.From, src.To)))
		p.line("               said, °F off                 rain         drawn: skill against the climate, %")
		p.line(p.bold("lead  days  high bias  MAE   low bias  MAE   Brier usual   high  low  dew  dry h  dew off   in 80 %"))
		for i, l := range src.Leads {
			if leadN(l) == 0 {
				continue
			}
			p.line(strings.TrimRight(fmt.Sprintf("%4d  %4d  %9s %4s  %9s %4s   %5s %5s   %4s %4s %4s  %5s  %7s   %7s", i+1, leadN(l),
				offF(l.Said.High.Bias, l.Said.High.N, true), offF(l.Said.High.MAE, l.Said.High.N, false), offF(l.Said.Low.Bias, l.Said.Low.N, true), offF(l.Said.Low.MAE, l.Said.Low.N, false),
				brierWords(l.Said.Rain.Brier, len(l.Said.Rain.Chances)), brierWords(l.Said.Rain.Usual, len(l.Said.Rain.Chances)),
				skillWords(l.Members.High), skillWords(l.Members.Low), skillWords(l.Members.Dew), skillWords(l.Members.CutHours), skillWords(l.Members.DryFrom), coverWords(l.Members)), " "))
		}
		p.reliability(src)
	}
	p.line("")
	p.wrapped("", "Bias: forecast less what came. Brier: 0 is perfect; usual is what saying the season's usual chance scores. Skill: 100 is perfect, 0 no better than the climate. In 80 %: how often high, low and dew point lay in the middle eight tenths of the weathers drawn; 80 is right, less is too sure. Few days tell little: --json has ranks and counts.")
	p.section("Against", []string{sentence(w.Climate)})
	p.section("In use", []string{learnedWords(w.Learned)})
	p.section("Look at", lookAt(w.Findings))
	return p.Flush()
}

// reliability prints how often rain came of each chance, over all lead days of a source.
func (p *printer) reliability(src app.SourceScore) {
	var all []weather.Chance
	for _, l := range src.Leads {
		all = append(all, l.Said.Rain.Chances...)
	}
	var parts []string
	for _, r := range weather.Reliability(all) {
		parts = append(parts, fmt.Sprintf("%.0f %% came %.0f %% of %d", 100*r.Forecast, 100*r.Frequency, r.N))
	}
	if len(parts) > 0 {
		p.section("Rain of", []string{strings.Join(parts, "; ")})
	}
}

const fahrenheitPerKelvin = 1.8

func offF(x float64, n int, signed bool) string {
	if n == 0 {
		return "-"
	}
	if signed {
		return fmt.Sprintf("%+.1f", fahrenheitPerKelvin*x)
	}
	return fmt.Sprintf("%.1f", fahrenheitPerKelvin*x)
}

func brierWords(x float64, n int) string {
	if n == 0 {
		return "-"
	}
	return fmt.Sprintf("%.2f", x)
}

func skillWords(m weather.MemberScore) string {
	skill, ok := m.Skill()
	if !ok {
		return "-"
	}
	return fmt.Sprintf("%.0f", math.Max(-99, 100*skill))
}

// coverWords says how often high, low and dew point together lay in the middle eight tenths.
func coverWords(m weather.MemberLead) string {
	n, within := 0.0, 0.0
	for _, q := range []weather.MemberScore{m.High, m.Low, m.Dew} {
		n += float64(q.N)
		within += float64(q.N) * q.Covered
	}
	if n == 0 {
		return "-"
	}
	return fmt.Sprintf("%.0f", 100*within/n)
}

func learnedWords(learned [4]int) string {
	if learned == [4]int{} {
		return "The built-in table of forecast errors, until 60 days of a lead day are verified."
	}
	return fmt.Sprintf("This farm's own errors of forecasts for %s of temperature, %d of dew point, %d of wind, %d of rain; the built-in table for the rest.",
		plural(int64(learned[0]), "lead day"), learned[1], learned[2], learned[3])
}
