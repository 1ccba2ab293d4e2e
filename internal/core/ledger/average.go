package ledger

import (
	"fmt"
	"strings"

	"threshday/internal/core/calendar"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
)

// average finds the loads that a buyer settles together, by the day or by the contract that a person named, and works out the
// mean readings they are settled at.
func (b *builder) average(tickets []*Ticket) {
	type group struct {
		key      TermsKey
		day      calendar.Day
		contract string
	}
	groups := map[group][]*Ticket{}
	var order []group
	alone := map[TermsKey]bool{}
	for _, t := range tickets {
		under := b.termsFor(t)
		if under == nil {
			continue
		}
		g := group{key: TermsKey{t.Place, t.Load.Crop}}
		switch under.schedule.Average {
		case settlement.PerDay:
			g.day = t.Day
		case settlement.PerContract:
			if g.contract = t.Contract; g.contract == "" {
				b.averagedAlone(t, alone)
				continue
			}
		default:
			continue
		}
		if groups[g] == nil {
			order = append(order, g)
		}
		groups[g] = append(groups[g], t)
	}
	b.averages = map[*Ticket]settlement.Readings{}
	for _, g := range order {
		b.meanOf(groups[g])
	}
}

func (b *builder) averagedAlone(t *Ticket, said map[TermsKey]bool) {
	key := TermsKey{t.Place, t.Load.Crop}
	if said[key] {
		return
	}
	said[key] = true
	b.find(problem.Finding{
		Rule: "load.average", Severity: problem.Note, Where: t.Where, Label: "Average", Want: "the contract on each ticket",
		Say:  fmt.Sprintf("%s averages %s by the contract; loads that name none are settled one by one.", t.Place, t.Load.Crop),
		Next: "Name the contract on the tickets to have them averaged.",
	})
}

// meanOf gives a group its mean readings, unless some loads lack a factor that others have.
func (b *builder) meanOf(group []*Ticket) {
	if len(group) < 2 {
		return
	}
	loads := make([]settlement.Load, len(group))
	for i, t := range group {
		if settlement.CheckLoad(t.Load) != nil {
			return // said where the load is posted
		}
		loads[i] = t.Load
	}
	mean, missing := settlement.Average(loads)
	if len(missing) > 0 {
		var names []string
		for _, f := range missing {
			names = append(names, f.Words())
		}
		b.find(problem.Finding{
			Rule: "load.average", Severity: problem.Warning, Where: group[0].Where, Label: "Average", Got: strings.Join(names, ", "), Want: "a reading on every load that is averaged",
			Say:  fmt.Sprintf("%d loads at %s should be averaged, and some have no %s; they are settled one by one.", len(group), group[0].Place, strings.Join(names, " and ")),
			Next: "Look on the tickets.",
		})
		return
	}
	for _, t := range group {
		b.averages[t] = mean
	}
}
