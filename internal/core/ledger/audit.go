package ledger

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// A Printed sheet is what a buyer printed of one ticket.
type Printed struct {
	ID             string // of the record of the sheet or cheque; empty: it has none
	Outlet, Ticket string
	Party          string // of a cheque's line, who was paid; empty: the whole load
	Cheque         string // its number; empty: a settlement sheet
	Sheet          settlement.Sheet
	Where          problem.Place
}

// A Verdict is what an audit finds of a sheet.
type Verdict string

// The verdicts.
const (
	Agrees      Verdict = "agrees"
	Rounding    Verdict = "rounding"    // only where cents are rounded differs
	Explained   Verdict = "explained"   // departures from the terms give every figure to the cent
	Unexplained Verdict = "unexplained" // all or part of it
	NotCompared Verdict = "not compared"
)

// An AuditLine is one sheet held against the book.
type AuditLine struct {
	Printed
	Load       int32 // into Book.Loads; -1: the book has no such ticket
	Verdict    Verdict
	Ours       trade.Amount // what the load, or the party's part of it, nets by the posted terms
	Difference trade.Amount // the sheet's less ours: negative, the buyer paid less
	Result     settlement.AuditResult
	Why        string // it is not compared, or not searched
}

// A RuleSum is what one explanation comes to over the season. A sheet that several departures explain together counts under all
// of them joined, for the money cannot be divided.
type RuleSum struct {
	Rule       string
	Sheets     int
	Difference trade.Amount
}

// A SeasonAudit is every sheet held against the book, with sums that keep roundings apart from real differences.
type SeasonAudit struct {
	Lines       []AuditLine
	Count       map[Verdict]int
	Roundings   trade.Amount
	Real        trade.Amount // explained and unexplained differences together
	Unexplained trade.Amount // of them, what nothing explains
	Rules       []RuleSum    // of the explained ones, the dearest first
}

// roundMay is the largest difference of a load that counts as rounding. [judgement]
const roundMay = trade.Amount(5)

// Audit holds sheets, and lines of the setup's cheques for tickets that no sheet is of, against the book.
func (b *Book) Audit(sheets []Printed) SeasonAudit {
	out := SeasonAudit{Count: map[Verdict]int{}}
	type key struct{ outlet, ticket string }
	sheeted := map[key]bool{}
	for _, s := range sheets {
		sheeted[key{s.Outlet, s.Ticket}] = true
	}
	all := slices.Clone(sheets)
	for _, c := range b.setup.Cheques {
		for _, l := range c.Lines {
			if l.Ticket != "" && !sheeted[key{c.Outlet, l.Ticket}] {
				amount := l.Amount
				all = append(all, Printed{Outlet: c.Outlet, Ticket: l.Ticket, ID: c.ID, Party: c.Party, Cheque: c.Number, Sheet: settlement.Sheet{Net: &amount}, Where: l.Where})
			}
		}
	}
	loads := map[key]int32{}
	for i := range b.Loads {
		if t := b.Loads[i].Ticket; t.Number != "" {
			loads[key{t.Place, t.Number}] = int32(i) //nolint:gosec // a season has fewer loads than that
		}
	}
	rules := map[string]*RuleSum{}
	for _, s := range all {
		line := AuditLine{Printed: s, Load: none}
		if i, known := loads[key{s.Outlet, s.Ticket}]; known {
			line.Load = i
		}
		b.judge(&line)
		out.add(line, rules)
	}
	for _, r := range rules {
		out.Rules = append(out.Rules, *r)
	}
	slices.SortFunc(out.Rules, func(x, y RuleSum) int {
		return cmp.Or(cmp.Compare(max(y.Difference, -y.Difference), max(x.Difference, -x.Difference)), cmp.Compare(x.Rule, y.Rule))
	})
	return out
}

// add counts a line.
func (a *SeasonAudit) add(line AuditLine, rules map[string]*RuleSum) {
	a.Lines = append(a.Lines, line)
	a.Count[line.Verdict]++
	switch line.Verdict {
	case Rounding:
		a.Roundings += line.Difference
	case Explained:
		a.Real += line.Difference
		name := ruleName(line.Result.Explained)
		if rules[name] == nil {
			rules[name] = &RuleSum{Rule: name}
		}
		rules[name].Sheets++
		rules[name].Difference += line.Difference
	case Unexplained:
		a.Real += line.Difference
		a.Unexplained += line.Result.Unexplained
	case Agrees, NotCompared:
	}
}

// ruleName joins the rules of an explanation, each once.
func ruleName(changes []settlement.Change) string {
	var names []string
	for _, c := range changes {
		if !slices.Contains(names, c.Rule) {
			names = append(names, c.Rule)
		}
	}
	return strings.Join(names, " + ")
}

// judge holds one sheet against its load.
func (b *Book) judge(l *AuditLine) {
	if l.Load == none {
		l.Verdict, l.Why = NotCompared, "the book has no ticket "+l.Ticket+" at "+l.Outlet
		return
	}
	p := &b.Loads[l.Load]
	sales := b.Sales[p.Sales.First:p.Sales.End]
	if !p.Settled || len(sales) == 0 {
		l.Verdict, l.Why = NotCompared, "the load is not settled"
		return
	}
	one, partly := true, false
	for _, s := range sales {
		if !s.Priced {
			l.Verdict, l.Why = NotCompared, "part of the load has no price yet"
			return
		}
		one = one && s.Cash == sales[0].Cash && s.Premium == sales[0].Premium && s.Contract == sales[0].Contract
		if l.Party != "" && b.Parties[s.Party] != l.Party {
			partly = true
			continue
		}
		l.Ours += s.Net()
	}
	if l.Sheet.Net != nil {
		l.Difference = *l.Sheet.Net - l.Ours
	}
	if !one || partly {
		bare(l, partly)
		return
	}
	b.search(l, p, sales[0])
}

// bare judges a line of which only the net can be held against ours: a party's part, or a load at several prices.
func bare(l *AuditLine, partly bool) {
	l.Why = "the load has several prices, and only the amount is compared"
	if partly {
		l.Why = "it is a part of a load, and only the amount is compared"
	}
	switch {
	case l.Sheet.Net == nil:
		l.Verdict = NotCompared
	case l.Difference == 0:
		l.Verdict, l.Why = Agrees, ""
	case l.Difference <= roundMay && l.Difference >= -roundMay:
		l.Verdict = Rounding
	default:
		l.Verdict, l.Result.Unexplained = Unexplained, l.Difference
	}
}

// search audits a whole load at one price.
func (b *Book) search(l *AuditLine, p *Posted, s SaleLine) {
	load := p.Ticket.Load
	load.Readings = p.Readings
	result, _, err := settlement.Audit(settlement.AuditInput{Schedule: p.Terms.Schedule(), Load: load, Prices: b.pricesOf(s), Sheet: l.Sheet, Others: b.setup.Besides[TermsKey{p.Ticket.Place, load.Crop}]})
	if err != nil {
		l.Verdict, l.Why = NotCompared, fmt.Sprintf("it cannot be settled again: %s", err)
		return
	}
	l.Result = result
	if result.Difference != nil {
		l.Difference = *result.Difference
	}
	cents := l.Difference <= roundMay && l.Difference >= -roundMay
	switch {
	case result.Agrees:
		l.Verdict = Agrees
	case result.Unexplained != 0 || len(result.Explained) == 0:
		l.Verdict = Unexplained
	case cents && !slices.ContainsFunc(result.Explained, func(c settlement.Change) bool { return c.Rule != "rounding" && c.Rule != "style" }):
		l.Verdict = Rounding
	default:
		l.Verdict = Explained
	}
}
