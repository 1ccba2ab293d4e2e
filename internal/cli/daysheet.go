package cli

import (
	"bufio"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"threshday/internal/app"
)

func (s *session) printer() *printer {
	return &printer{Writer: bufio.NewWriter(s.Stdout), color: s.Color, width: s.textWidth()}
}

// printSheet lays the day sheet out for a person: the day first, then a row per field, the orders, the season, and what it
// all stands on.
func (s *session) printSheet(d *app.DaySheet) error {
	p := s.printer()
	p.line(p.bold(d.Farm) + "   " + d.Place)
	p.line("Day sheet of " + d.AsOf.Format("Monday 2 January 2006, 15:04"))
	p.line("")
	for _, old := range d.Stale {
		p.wrapped("", "! "+old)
	}
	p.wrapped("", windowWords(d.Window))
	p.line("")
	rows := byStake(d.Fields)
	p.fieldTable(rows)
	p.line("")
	p.orders(d)
	p.loads(d)
	p.because(rows)
	p.line("")
	p.seasonWords(d.Season)
	p.line("")
	p.foundation(d)
	return p.Flush()
}

func windowWords(w app.DayWindow) string {
	if w.Opens == nil {
		return fmt.Sprintf("Today no field is likely to be fit: %s that any opens.", app.InWords(w.OpenOdds))
	}
	return fmt.Sprintf("Today the first field opens about %s and the last closes about %s; %s that any opens.",
		aboutClock(w.Opens), aboutClock(w.Closes), app.InWords(w.OpenOdds))
}

// aboutClock says a clock time with its middle eight tenths, where they differ.
func aboutClock(h *[3]float64) string {
	text := clock(h[1])
	if clock(h[0]) != clock(h[2]) {
		text += fmt.Sprintf(" (8 in 10: %s to %s)", clock(h[0]), clock(h[2]))
	}
	return text
}

// byStake puts the fields with most dollars at stake first; what is not decided today keeps the farm's order behind.
func byStake(fields []app.FieldAdvice) []app.FieldAdvice {
	out := slices.Clone(fields)
	stake := func(f app.FieldAdvice) float64 {
		most := 0.0
		for _, c := range f.Choices {
			most = max(most, math.Abs(c.USD))
		}
		return most
	}
	slices.SortStableFunc(out, func(a, b app.FieldAdvice) int { return cmp.Compare(stake(b), stake(a)) })
	return out
}

func clock(h float64) string { return fmt.Sprintf("%02d:%02d", int(h), int(h*60)%60) }

// fieldTable prints a row per field: how wet, the advice, what waiting is worth, the odds of being fit.
func (p *printer) fieldTable(fields []app.FieldAdvice) {
	p.line("                     moisture, %    limit           waiting is worth, $/acre          odds it can be cut")
	p.line(p.bold("field                now (8 in 10)   %    today      +1d   +2d   +3d   +5d   +7d   today  +1d  +3d  +7d"))
	for _, f := range fields {
		row := fmt.Sprintf("%-19s %5.1f %-12s %4.0f  %-9s", cut(f.Name, 19), f.MoisturePct.Mean, fmt.Sprintf("(%.0f-%.0f)", f.MoisturePct.P10, f.MoisturePct.P90), f.LimitPct, advice(f))
		var worth, odds []string
		for _, c := range f.Choices {
			if c.WaitDays > 0 {
				worth = append(worth, fmt.Sprintf("%5s", signed(c.USDPerAcre)))
			}
			switch c.WaitDays {
			case 0, 1, 3, 7:
				odds = append(odds, fmt.Sprintf("%4s", inHundred(c.OddsUnderLimit)))
			}
		}
		p.line(strings.TrimRight(row+" "+strings.Join(worth, " ")+"   "+strings.Join(odds, " "), " "))
	}
	p.wrapped("", "+ means waiting pays, against the best way to cut it today; (?) a toss-up. Odds in a hundred that at some working hour of that day it is dry outside, the ground bears and it is under your limit. Ranges and errors: --json. Most dollars at stake first.")
}

func advice(f app.FieldAdvice) string {
	if f.TossUp {
		return string(f.Advice) + " (?)"
	}
	return string(f.Advice)
}

// signed writes dollars with their sign, whole.
func signed(x float64) string {
	if x > -0.5 && x < 0.5 {
		return "0"
	}
	return fmt.Sprintf("%+.0f", x)
}

// cut shortens s to at most n characters.
func cut(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}

func (p *printer) because(fields []app.FieldAdvice) {
	p.line(p.bold("Why") + "   (dollars after places: net of discounts, drying and hauling, a wet bushel at today's moisture)")
	for _, f := range fields {
		p.hung("  "+pad(cut(f.Name, 17), 17)+"  ", f.Because)
		if f.Beside != "" {
			p.hung("  "+pad("", 17)+"  ", f.Beside)
		}
		for _, flip := range f.Flips {
			p.hung("  "+pad("", 17)+"  ", "If "+flip.If+", "+flip.Then+".")
		}
		if len(f.Holds) > 0 {
			p.hung("  "+pad("", 17)+"  ", "The same "+strings.Join(f.Holds, ", and ")+".")
		}
		if len(f.Goes) > 0 {
			p.hung("  "+pad("", 17)+"  ", "Goes "+destinations(f.Goes)+".")
		}
		for _, r := range f.Readings {
			p.hung("  "+pad("", 17)+"  ", readingWords(r))
		}
		if f.Sample != nil && f.Sample.Spots > 0 {
			p.hung("  "+pad("", 17)+"  ", f.Sample.Say)
		}
	}
}

func destinations(goes []app.Destined) string {
	var parts []string
	for i, g := range goes {
		if i == 3 {
			break
		}
		part := fmt.Sprintf("%.0f %% to %s", 100*g.Share, g.Name)
		if g.NetUSDPerBu == g.NetUSDPerBu {
			part += fmt.Sprintf(" $%.2f", g.NetUSDPerBu)
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

func readingWords(r app.ReadingEffect) string {
	if !r.Used {
		return r.What + ": not used. " + r.Note
	}
	text := fmt.Sprintf("%s moved the field from %.1f to %.1f %%", r.What, r.Before, r.After)
	if r.Note != "" {
		text += ". " + r.Note
	}
	return text
}

func (p *printer) orders(d *app.DaySheet) {
	p.line(p.bold("Orders for " + d.OrdersFor.Weekday().String() + " " + d.OrdersFor.String()))
	if d.Against != nil {
		p.wrapped("  ", d.Against.Say)
	}
	if len(d.Orders) == 0 {
		p.line("  No machine goes out.")
	}
	machine := ""
	for _, o := range d.Orders {
		if o.MachineName != machine {
			machine = o.MachineName
			p.line("  " + machine)
			if o.Before != "" {
				p.hung("    ", "Before it starts: "+o.Before)
			}
		}
		p.hung(fmt.Sprintf("    %s-%s  ", o.From.Format("15:04"), o.To.Format("15:04")),
			fmt.Sprintf("%s: %.0f acres, %s bu. %s", o.FieldName, o.Acres, digits(o.Bushels, 0), o.Why))
		p.hung("                 ", loadWords(o.Loads))
		if o.Entrance != "" {
			p.hung("                 ", "In by "+o.Entrance)
		}
	}
	p.line("")
}

// loadWords sums the loads of an order up by destination.
func loadWords(loads []app.LoadOrder) string {
	type sum struct {
		load  app.LoadOrder
		loads int
	}
	var sums []sum
	for _, l := range loads {
		i := 0
		for i < len(sums) && (sums[i].load.To != l.To || sums[i].load.Contract != l.Contract) {
			i++
		}
		if i == len(sums) {
			sums = append(sums, sum{load: app.LoadOrder{To: l.To, ToName: l.ToName, Contract: l.Contract, NetUSDPerBu: l.NetUSDPerBu}})
		}
		sums[i].load.Bushels += l.Bushels
		sums[i].loads++
	}
	var parts []string
	for _, one := range sums {
		noun := "loads"
		if one.loads == 1 {
			noun = "load"
		}
		parts = append(parts, fmt.Sprintf("%d %s (%s bu) to %s, $%.2f net a wet bushel", one.loads, noun, digits(one.load.Bushels, 0), one.load.ToName, one.load.NetUSDPerBu))
	}
	return strings.Join(parts, "; ")
}

func (p *printer) seasonWords(o app.SeasonOutcome) {
	p.line(p.bold("The season"))
	whose := ""
	if o.WithLandlords {
		whose = ", landlords' shares included"
	}
	p.wrapped("  ", fmt.Sprintf("About $%s to come, after hauling and machines%s; 8 in 10 between $%s and $%s.", digits(o.Expected, 0), whose, digits(o.P10, 0), digits(o.P90, 0)))
	p.wrapped("  ", "The plan: "+o.PlanRule+".")
	p.wrapped("  ", fmt.Sprintf("Knowing every hour of weather to come could earn at most about %.1f %% more; the plan does not know it.", 100*o.GapPct/max(100-o.GapPct, 1)))
	for _, r := range o.Rules {
		p.line(fmt.Sprintf("  %-22s $%s, $%s less (give or take %s)", r.Rule, digits(r.Expected, 0), digits(r.Less, 0), digits(2*r.SE, 0)))
	}
	var more []string
	for _, m := range o.OneMore {
		if m.USD > 2*m.SE && m.USD > 50 {
			more = append(more, fmt.Sprintf("%s about $%s", m.Of, digits(m.USD, 0)))
		}
	}
	if len(more) > 0 {
		p.wrapped("  ", "Over the season one more would earn: "+strings.Join(more, "; ")+".")
	}
	if o.MarginsSay != "" {
		p.wrapped("  ", o.MarginsSay)
	}
	for _, c := range o.Cannot {
		p.wrapped("  ", c)
	}
}

func (p *printer) foundation(d *app.DaySheet) {
	weather := "Weather: " + d.Weather.Ensemble + "."
	p.section("Based on", []string{strings.Join(append([]string{weather}, d.Weather.Ahead...), " "), bidWords(d)})
	if d.Weather.Credit != "" {
		p.section("", []string{d.Weather.Credit})
	}
	p.section("Assumed", assumptions(d.Assumed))
	if len(d.NotUsed) > 0 {
		p.section("Not used", []string{"read and kept, but nothing in this answer depends on it yet: " + strings.Join(d.NotUsed, ", ")})
	}
	var doubts []string
	for _, f := range d.Findings {
		doubts = append(doubts, f.Say+" "+f.Next)
	}
	p.section("Look at", doubts)
	var mind []string
	for _, c := range d.Cautions {
		mind = append(mind, c.Say)
	}
	p.section("Mind", mind)
}

func bidWords(d *app.DaySheet) string {
	if d.Bids.Newest == nil {
		return "Bids: nobody said when they were heard."
	}
	in := d.AsOf.Location()
	if d.Bids.Oldest.Equal(*d.Bids.Newest) {
		return "Bids as heard " + d.Bids.Newest.In(in).Format("Mon 2 Jan 15:04") + "."
	}
	return fmt.Sprintf("Bids as heard between %s and %s.", d.Bids.Oldest.In(in).Format("Mon 2 Jan 15:04"), d.Bids.Newest.In(in).Format("Mon 2 Jan 15:04"))
}

// assumptions lists what was assumed, values with one reason together.
func assumptions(all []app.Assumption) []string {
	var reasons []string
	values := map[string][]string{}
	for _, a := range all {
		if values[a.From] == nil {
			reasons = append(reasons, a.From)
		}
		values[a.From] = append(values[a.From], a.What+": "+a.Value)
	}
	out := make([]string, len(reasons))
	for i, r := range reasons {
		out[i] = strings.Join(values[r], "; ") + " (" + r + ")"
	}
	return out
}

// inHundred says odds in a hundred; nothing is ever certain.
func inHundred(p float64) string {
	switch {
	case p < 0.005:
		return "<1"
	case p > 0.995:
		return ">99"
	}
	return digits(100*p, 0)
}
