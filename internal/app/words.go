package app

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"threshday/internal/core/calendar"
	"threshday/internal/core/capacity"
	"threshday/internal/core/drydown"
	"threshday/internal/core/farm"
	"threshday/internal/core/land"
	"threshday/internal/core/moisture"
	"threshday/internal/core/planner"
	"threshday/internal/core/problem"
	"threshday/internal/core/storage"
	"threshday/internal/core/worth"
)

// InWords says odds as people do: "about 3 in 4".
func InWords(p float64) string {
	switch {
	case p < 0.02:
		return "less than 1 in 50"
	case p < 0.075:
		return "about 1 in 20"
	case p < 0.15:
		return "about 1 in 10"
	case p < 0.225:
		return "about 1 in 5"
	case p < 0.29:
		return "about 1 in 4"
	case p < 0.42:
		return "about 1 in 3"
	case p < 0.58:
		return "nearly even"
	case p < 0.71:
		return "about 2 in 3"
	case p < 0.775:
		return "about 3 in 4"
	case p < 0.85:
		return "about 4 in 5"
	case p < 0.925:
		return "about 9 in 10"
	case p < 0.98:
		return "about 19 in 20"
	default:
		return "more than 49 in 50"
	}
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// short says a day as on the sheet, "Thu 7 Oct".
func short(d calendar.Day) string {
	return time.Date(d.Year, d.Month, d.Date, 0, 0, 0, 0, time.UTC).Format("Mon 2 Jan")
}

func (mo *morning) day(n int) string { return short(mo.build.Span.DayOf(0).AddDays(n)) }

func (mo *morning) whyNoMachine(facts *worth.FieldFacts) string {
	if len(facts.NoWay) > 0 {
		return "No machine gets in: " + strings.Join(facts.NoWay, "; ") + "."
	}
	return fmt.Sprintf("No combine has a head for %s.", facts.Field.Crop)
}

func (mo *morning) whyNever(a *FieldAdvice, facts *worth.FieldFacts) string {
	best := 0
	for d, p := range facts.Under {
		if p > facts.Under[best] {
			best = d
		}
	}
	return fmt.Sprintf("It hardly gets under your %s before the season ends: at best %s, on %s. A higher limit or a dryer would change that.",
		pct(a.LimitPct), InWords(mo.share(facts.Under[best])), mo.day(best))
}

func (mo *morning) whyNotToday(a *FieldAdvice, facts *worth.FieldFacts) string {
	reason := fmt.Sprintf("it stands at %s, your limit is %s", pct(facts.Now.Mean), pct(a.LimitPct))
	switch {
	case facts.Ground.Held[0] > 0.5 || facts.Ground.Soft[0] > 0.5:
		reason = "the ground " + softness(facts)
		if facts.Ground.Held[0] <= 0.5 {
			reason += ", and the crop is not fit either"
		}
	case facts.Dry[0] < hopeless:
		reason = "the crop stays wet from rain or dew all day, or nobody works today"
	}
	for d, p := range facts.Under {
		if p >= 0.5 {
			return fmt.Sprintf("Not fit today: %s. First day with even odds or better: %s (%s).", reason, mo.day(d), InWords(mo.share(p)))
		}
	}
	return fmt.Sprintf("Not fit today: %s. No single day yet has even odds.", reason)
}

// softness says how wet the ground of a field is against what it bears at.
func softness(facts *worth.FieldFacts) string {
	g := &facts.Ground
	return fmt.Sprintf("is too soft for loaded machines: its top holds %.0f %% of field capacity, about %.0f %% bears", 100*g.Wetness, 100*g.Limit.Mean)
}

func (mo *morning) whyWait(a *FieldAdvice, facts *worth.FieldFacts, gain Choice) string {
	var why []string
	if then := afternoon(facts, gain.WaitDays); !math.IsNaN(then) && then < facts.Now.Mean-0.3 {
		why = append(why, fmt.Sprintf("it should dry from %s to about %s by %s", pct(facts.Now.Mean), pct(then), mo.day(gain.WaitDays)))
	}
	why = append(why, overDry(facts, mo.day)...)
	if len(why) == 0 {
		why = append(why, "it is fit, but today's machine hours earn more in other fields")
	}
	a.Reason = capital(strings.Join(why, "; ")) + "."
	if a.TossUp {
		return fmt.Sprintf("A toss-up: waiting %s against cutting it first today %s; %s.", days(gain.WaitDays), a.about(gain), strings.Join(why, "; "))
	}
	return fmt.Sprintf("Waiting %s is worth about $%.0f an acre against cutting it first today: %s.", days(gain.WaitDays), gain.USDPerAcre, strings.Join(why, "; "))
}

// about says what a wait is worth with its error, two standard errors either way.
func (a *FieldAdvice) about(c Choice) string {
	verb := "is worth"
	if c.USDPerAcre < 0 {
		verb = "costs"
	}
	return fmt.Sprintf("%s $%.0f an acre, give or take %.0f", verb, math.Abs(c.USDPerAcre), 2*c.SEUSD/a.AcresLeft)
}

// overDry says what is given away by cutting a field that is drier than its market's base and due to take up water.
func overDry(facts *worth.FieldFacts, day func(int) string) []string {
	base := facts.Field.Yield.Base.Float()
	today := afternoon(facts, 0)
	if math.IsNaN(today) {
		today = facts.Now.Mean
	}
	if today > base-0.7 {
		return nil
	}
	why := []string{fmt.Sprintf("at %s it gives away %.1f %% of its weight, for nobody pays for water under %s", pct(today),
		moisture.OverDryLostPct(moisture.WetBasis(today), moisture.WetBasis(base)), pct(base))}
	for d := 1; d < len(facts.Afternoon) && d <= 7; d++ {
		if then := afternoon(facts, d); then > today+1 {
			why = append(why, fmt.Sprintf("by %s it should be back to about %s", day(d), pct(min(then, base))))
			break
		}
	}
	return why
}

func (mo *morning) whyCut(a *FieldAdvice, facts *worth.FieldFacts, gain Choice) string {
	var why []string
	if cost := -a.Choices[1].USDPerAcre; cost > leastGain {
		why = append(why, fmt.Sprintf("a day of waiting costs about $%.0f an acre", cost))
	}
	now, later := facts.LossPct[0], lossOn(facts, 5)
	if !math.IsNaN(now) && !math.IsNaN(later) && later > now+0.3 {
		why = append(why, fmt.Sprintf("cut now it loses %.1f %% of the crop, in five days about %.1f %%", now, later))
	}
	if then := afternoon(facts, 3); then > facts.Now.Mean+0.7 {
		why = append(why, fmt.Sprintf("it is likely to be wetter, about %s, by %s", pct(then), mo.day(3)))
	}
	if len(why) == 0 {
		why = append(why, "nothing is gained by leaving it")
	}
	a.Reason = capital(strings.Join(why, "; ")) + "."
	if a.TossUp {
		why = append([]string{fmt.Sprintf("a toss-up: the best wait (%s) %s", days(gain.WaitDays), a.about(gain))}, why...)
	}
	return capital(strings.Join(why, "; ")) + "."
}

func lossOn(facts *worth.FieldFacts, day int) float64 {
	for d := day; d < min(day+4, len(facts.LossPct)); d++ {
		if !math.IsNaN(facts.LossPct[d]) {
			return facts.LossPct[d]
		}
	}
	return math.NaN()
}

func afternoon(facts *worth.FieldFacts, day int) float64 {
	if day >= len(facts.Afternoon) {
		return math.NaN()
	}
	return facts.Afternoon[day].Mean
}

func (mo *morning) whyOrder(p *planner.Plan, k planner.Task) string {
	facts := &mo.build.Fields[k.Field]
	row := &mo.build.Table.Fields[k.Field]
	mean, _ := planner.Mean(p.Waits[k.Field][1].USD)
	why := fmt.Sprintf("Stands at %s", pct(facts.Now.Mean))
	switch perAcre := mean / row.Acres; {
	case perAcre < -leastGain:
		why += fmt.Sprintf("; leaving it a day costs about $%.0f an acre", -perAcre)
	case perAcre > leastGain:
		why += "; fit, and nothing else that is fit loses more today"
	default:
		why += "; a day more or less makes little difference"
	}
	return why + "."
}

// moreOf names what there would be one more of.
func (mo *morning) moreOf(m planner.More) string {
	switch {
	case m.Truck:
		return "truck"
	case m.Combine >= 0:
		return "combine like " + mo.season.Combines[m.Combine].Name
	default:
		return "1,000 bu of room at " + mo.build.Table.Destinations[m.Room].Name
	}
}

func ruleInWords(r planner.Rule) string {
	switch r.Order {
	case planner.ByLoss:
		return "each hour every combine takes the field that loses most by waiting; each load goes where it nets most"
	case planner.ByWorth:
		return "each hour every combine takes the field worth most per hour; each load goes where it nets most"
	case planner.ByDry:
		return "the driest fit field first; each load goes where it nets most"
	case planner.ByList:
		return "fields in the order of the file; each load goes where it nets most"
	default:
		panic("app: a rule without words")
	}
}

func (mo *morning) readingEffect(l drydown.Lesson) ReadingEffect {
	e := ReadingEffect{What: l.ID, Before: l.Before.WB, After: l.After.WB, SaidPct: math.NaN(), Weight: l.Gain, Note: l.Say, Used: l.Used, Doubted: l.Used && l.Sure < 0.5}
	for _, r := range mo.season.Readings {
		if r.ID == l.ID {
			e.SaidPct = r.Moisture.Float()
			by := r.Device
			if r.Name != "" {
				by += " " + r.Name
			}
			e.What = fmt.Sprintf("%s %% by %s, %s", trim(r.Moisture.Float()), by, r.At.In(mo.zone).Format("Mon 2 Jan 15:04"))
		}
	}
	for _, s := range mo.season.Stages {
		if s.ID == l.ID {
			e.What = fmt.Sprintf("%s seen %s", s.Stage, short(s.On))
		}
	}
	return e
}

// stale lists what is too old to lean on.
func (mo *morning) stale() []string {
	var out []string
	const old = 24 * time.Hour
	w := mo.weatherState()
	if len(mo.ahead.days) == 0 {
		out = append(out, "No forecast of the days ahead is entered: the plan knows only what past years did at this time.")
	}
	for _, s := range w.Sources {
		if say := s.staleWords(mo.now); say != "" {
			out = append(out, say)
		}
	}
	out = append(out, mo.ahead.notes...)
	if w.Observed != nil && mo.now.Sub(*w.Observed) > old {
		out = append(out, fmt.Sprintf("Observed weather ends %s ago; since then the fields' drying is a guess.", age(mo.now.Sub(*w.Observed))))
	}
	if b := mo.bidState(); b.Oldest != nil && mo.now.Sub(*b.Oldest) > old {
		out = append(out, fmt.Sprintf("The oldest bid is %s old.", age(mo.now.Sub(*b.Oldest))))
	}
	return out
}

// cautions gathers what belongs beside today's work.
func (mo *morning) cautions(p *planner.Plan) []Caution {
	var out []Caution
	add := func(where string, from []problem.Caution, rules ...string) {
		for _, c := range from {
			if slices.Contains(rules, c.Rule) {
				out = append(out, Caution{Where: where, Say: c.Say, Source: c.Key})
			}
		}
	}
	if len(p.Today) > 0 {
		add("before you start", capacity.Cautions(capacity.AtStart), "fire.engine", "fire.extinguisher")
		add("machines", capacity.Cautions(capacity.AtMachine), "machine.power-line")
		add("roads and weights", capacity.Cautions(capacity.AtDispatch), "road.machines")
		add("roads and weights", capacity.Cautions(capacity.AtAxles), "axle.state-law")
		if slices.ContainsFunc(p.Today, func(t planner.Task) bool { return len(mo.build.Fields[t.Field].Field.Entrances) > 0 }) {
			add("ways into fields", land.Cautions(), "way.not-known")
		}
		bins, dryers := mo.binsToday(p)
		if bins {
			add("bins", storage.Cautions(storage.AtBin), "bin.flow")
		}
		if dryers {
			add("dryers", storage.Cautions(storage.AtDryer), "dust.explosion")
		}
	}
	return append(out, Caution{Where: "prices", Say: "Discounts follow the schedules you entered; the buyer's own posted schedule decides. Moisture odds do not replace your meter, and an insurance adjuster's count is his own."})
}

// binsToday says whether today's grain goes into bins, and into any behind a dryer.
func (mo *morning) binsToday(p *planner.Plan) (bins, dryers bool) {
	for _, task := range p.Today {
		for _, part := range task.Parts {
			to := &mo.build.Table.Destinations[part.Destination]
			if slices.ContainsFunc(mo.season.Bins, func(b farm.Bin) bool { return b.ID == to.ID }) {
				bins, dryers = true, dryers || to.Points != nil
			}
		}
	}
	return bins, dryers
}

// entrance says the way in that the farm lists first.
func entrance(f *farm.Field) string {
	if len(f.Entrances) == 0 {
		return ""
	}
	e := f.Entrances[0]
	if e.Note != "" {
		return e.Name + ": " + e.Note
	}
	return e.Name
}

func pct(x float64) string { return fmt.Sprintf("%.1f %%", x) }

func trim(x float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", x), "0"), ".")
}

func days(n int) string {
	if n == 1 {
		return "a day"
	}
	return fmt.Sprintf("%d days", n)
}

// age says a duration in the unit a person would.
func age(d time.Duration) string {
	switch {
	case d < 90*time.Minute:
		return fmt.Sprintf("%.0f min", d.Minutes())
	case d < 48*time.Hour:
		return fmt.Sprintf("%.0f h", d.Hours())
	default:
		return fmt.Sprintf("%.0f days", d.Hours()/24)
	}
}
