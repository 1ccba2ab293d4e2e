package ledger

import (
	"errors"
	"fmt"

	"threshday/internal/core/calendar"
	"threshday/internal/core/market"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// refused notes that a load, or a price for it, cannot be used, in the words of whoever refused it.
func (b *builder) refused(t *Ticket, err error) {
	say := func(rule, label, got, want, next string) {
		b.find(problem.Finding{
			Rule: rule, Severity: problem.Error, Where: t.Where, Label: label, Got: got, Want: want,
			Say: fmt.Sprintf("%s is not settled: %s", t.name(), sentenceOf(err)), Next: next,
		})
	}
	var many problem.InputErrors
	var one *problem.InputError
	var rejected *settlement.Rejection
	switch {
	case errors.As(err, &rejected):
		say("load.refused", rejected.Factor.Words(), "", "what the schedule accepts", "If the buyer took it, ask on which terms, and correct the schedule.")
	case errors.As(err, &many) && len(many) > 0:
		say(many[0].Rule, many[0].Label, many[0].Got, many[0].Want, many[0].Next)
	case errors.As(err, &one):
		say(one.Rule, one.Label, one.Got, one.Want, one.Next)
	default:
		say("load.refused", "Load", "", "", "")
	}
}

// sentenceOf returns what an error says without the advice, which the finding carries.
func sentenceOf(err error) string {
	var rejected *settlement.Rejection
	var one *problem.InputError
	if errors.As(err, &rejected) || !errors.As(err, &one) {
		return err.Error()
	}
	bare := *one
	bare.Next, bare.Where = "", problem.Place{}
	return bare.Error()
}

// tareStrays is how far a truck's empty weight may lie from its mean before somebody should look, and fewTares how many
// weighings make a mean. [judgement]
const (
	tareStrays = 0.03
	fewTares   = 4
)

// checkTickets looks at tickets beside one another.
func (b *builder) checkTickets(tickets []*Ticket) {
	type number struct{ place, number string }
	seen := make(map[number]*Ticket, len(tickets))
	type tares struct {
		sum trade.Pounds
		n   int
	}
	mean := map[string]tares{}
	for _, t := range tickets {
		if t.Truck != "" && t.Load.Tare > 0 {
			m := mean[t.Truck]
			mean[t.Truck] = tares{m.sum + t.Load.Tare, m.n + 1}
		}
		if key := (number{t.Place, t.Number}); t.Number != "" {
			if first := seen[key]; first != nil {
				b.doubled(first, t)
			} else {
				seen[key] = t
			}
		}
	}
	last := calendar.DayOf(b.setup.Now, b.setup.Zone)
	for _, t := range tickets {
		m := mean[t.Truck]
		b.checkWeights(t, m.sum, m.n)
		if !b.setup.Now.IsZero() && t.Day.After(last) {
			b.find(problem.Finding{
				Rule: "T02", Severity: problem.Error, Where: t.Where, Label: "Date", Got: t.Day.String(), Want: "a day up to " + last.String(),
				Say: fmt.Sprintf("%s is dated %s, which has not come yet.", t.name(), t.Day), Next: "Read the date on the ticket again.",
			})
		}
		b.checkSource(t)
	}
}

func (b *builder) doubled(first, t *Ticket) {
	say := fmt.Sprintf("%s of %s is in the book twice, on %s and on %s; both count until one is taken back.", t.name(), t.Place, first.Day, t.Day)
	if first.Load.Net() == t.Load.Net() && first.Day == t.Day {
		say = fmt.Sprintf("%s of %s is in the book twice with the same weight and day; both count until one is taken back.", t.name(), t.Place)
	}
	b.find(problem.Finding{
		Rule: "T02", Severity: problem.Error, Where: t.Where, Label: "Ticket", Got: t.Number, Want: "a number once at each buyer",
		Say: say, Next: "Compare the paper; take the copy back or correct its number.",
	})
}

func (b *builder) checkWeights(t *Ticket, tares trade.Pounds, n int) {
	if n >= fewTares {
		mean := tares.Float() / float64(n)
		if off := t.Load.Tare.Float()/mean - 1; t.Load.Tare > 0 && (off > tareStrays || off < -tareStrays) {
			b.find(problem.Finding{
				Rule: "T01", Severity: problem.Warning, Where: t.Where, Label: "Tare", Got: t.Load.Tare.String() + " lb", Want: fmt.Sprintf("near %.0f lb, the mean of truck %s", mean, t.Truck),
				Say: fmt.Sprintf("%s: truck %s weighed %s lb empty, %+.1f %% off its mean.", t.name(), t.Truck, t.Load.Tare, 100*off), Next: "Was the empty weight taken from another trip?",
			})
		}
	}
	if truck := b.truck[t.Truck]; truck != nil && truck.Gross != nil && t.Load.Gross.Float() > truck.Gross.Pounds() {
		b.find(problem.Finding{
			Rule: "T01", Severity: problem.Warning, Where: t.Where, Label: "Gross", Got: t.Load.Gross.String() + " lb", Want: fmt.Sprintf("at most %.0f lb, your limit for truck %s", truck.Gross.Pounds(), t.Truck),
			Say: fmt.Sprintf("%s: truck %s went out at %s lb, over your limit of %.0f lb.", t.name(), t.Truck, t.Load.Gross, truck.Gross.Pounds()), Next: "Legal weight is the state's to say; load less.",
		})
	}
}

// checkSource compares the crop graded with the crop grown.
func (b *builder) checkSource(t *Ticket) {
	for _, s := range t.From {
		field, ok := b.field[s.Field]
		if s.Field == "" || !ok || b.fields[field].Crop == t.Load.Crop {
			continue
		}
		grown := b.fields[field].Crop
		b.find(problem.Finding{
			Rule: "T04", Severity: problem.Error, Where: t.Where, Label: "Crop", Got: t.Load.Crop.String(), Want: grown.String() + ", the crop of the field",
			Say: fmt.Sprintf("%s was graded as %s, and %s grows %s.", t.name(), t.Load.Crop, s.Field, grown), Next: "Correct the crop or the field.",
		})
	}
}

// checkShares holds the owners' pounds over the season against their shares.
func (b *builder) checkShares() {
	for f, drift := range b.book.drifts() {
		var worst int64
		for _, d := range drift.parties {
			worst = max(worst, d.Off, -d.Off)
		}
		if worst > drift.loads {
			b.find(problem.Finding{
				Rule: "T05", Severity: problem.Error, Label: "Shares", Got: fmt.Sprintf("%d lb", worst), Want: fmt.Sprintf("at most %d lb, one a load", drift.loads),
				Say: fmt.Sprintf("The parts of field %s lie %d lb from its shares over the season.", b.fields[f].ID, worst), Next: "This is a fault of the program; report it.",
			})
		}
	}
}

// checkAssigned looks at the contract that a person named.
func (b *builder) checkAssigned(t *Ticket) {
	if t.Contract == "" {
		return
	}
	wrong := func(say, next string) {
		b.find(problem.Finding{Rule: "C01", Severity: problem.Error, Where: t.Where, Label: "Contract", Got: t.Contract, Want: "a contract that the load can fill", Say: say, Next: next})
	}
	i, ok := b.contract[t.Contract]
	if !ok {
		wrong(fmt.Sprintf("%s names contract %s, which the season does not have; it was applied by the rule.", t.name(), t.Contract), "Enter the contract, or correct its number.")
		return
	}
	c := &b.states[i]
	until := c.Until
	owned := false
	for _, part := range b.part {
		owned = owned || b.parties[part.party] == c.Party
	}
	switch {
	case c.Outlet != t.Place || c.Crop != t.Load.Crop:
		wrong(fmt.Sprintf("%s is %s at %s; contract %s is for %s at %s. It was applied by the rule.", t.name(), t.Load.Crop, t.Place, c.ID, c.Crop, c.Outlet), "Correct the ticket or the contract's number.")
	case !owned:
		wrong(fmt.Sprintf("%s holds no grain of %s, whose contract %s is; nobody's grain fills another's contract.", t.name(), c.Party, c.ID), "Name a contract of the grain's owner.")
	case c.Left() == 0:
		wrong(fmt.Sprintf("%s names contract %s, which was full before it; the load was applied by the rule.", t.name(), c.ID), "Ask the buyer where it was applied.")
	case market.StandingOn(t.Day, c.From, &until) != market.Current:
		b.find(problem.Finding{
			Rule: "C01", Severity: problem.Warning, Where: t.Where, Label: "Contract", Got: t.Day.String(), Want: "a day within its delivery window",
			Say: fmt.Sprintf("%s was delivered on %s, outside the window of contract %s that it is put on.", t.name(), t.Day, c.ID), Next: "Ask the buyer whether it counts.",
		})
	}
}
