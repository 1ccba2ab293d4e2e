package cli

import (
	"fmt"
	"strings"

	"threshday/internal/app"
	"threshday/internal/core/ledger"
	"threshday/internal/core/trade"
)

// printBooksAudit prints what buyers printed and paid beside what the tickets pay.
func printBooksAudit(p *printer, v *app.BooksView) {
	g := grid{head: []string{"outlet", "ticket", "by", "finding", "ours $", "difference"}, left: 4}
	var why []string
	for _, l := range v.Audited() {
		if l.Verdict == ledger.Agrees {
			continue
		}
		by := "sheet"
		if l.Cheque != "" {
			by = "cheque " + l.Cheque
		}
		g.add(l.Outlet, l.Ticket, by, string(l.Verdict), money(l.Ours), signedUSD(l.Difference))
		if l.ID != "" && v.Show == "audit" {
			why = append(why, by+" of ticket "+l.Ticket+" is "+l.ID)
		}
		if because := auditBecause(l); because != "" {
			why = append(why, "ticket "+l.Ticket+", "+by+": "+because)
		}
	}
	p.titled("Audit", &g, "Nothing differs.")
	p.wrapped("  ", auditSums(v))
	for _, w := range why {
		p.hung("  ", w)
	}
	if v.Party == "" && v.Audit != nil {
		for _, r := range v.Audit.Rules {
			p.hung("  ", fmt.Sprintf("%s on %s: %s in all", r.Rule, plural(int64(r.Sheets), "sheet"), signedUSD(r.Difference)))
		}
	}
	p.line("")
}

// auditSums sums the audit up, roundings apart from real differences.
func auditSums(v *app.BooksView) string {
	if v.Audit == nil {
		return "No sheet and no cheque is entered: threshday add sheet and add cheque enter them, threshday import files of them."
	}
	a := v.Audit
	n := plural(int64(len(v.Audited())), "sheet or cheque line")
	if v.Party != "" {
		return n + " held against the tickets."
	}
	return fmt.Sprintf("%s held against the tickets, %d agree; roundings come to %s, real differences to %s, of them %s unexplained. Negative: the buyer paid less.", n,
		a.Count[ledger.Agrees], signedUSD(a.Roundings), signedUSD(a.Real), signedUSD(a.Unexplained))
}

func auditBecause(l ledger.AuditLine) string {
	var parts []string
	for _, c := range l.Result.Explained {
		parts = append(parts, c.Detail)
	}
	if l.Why != "" {
		parts = append(parts, l.Why)
	}
	if l.Result.Unexplained != 0 {
		parts = append(parts, signedUSD(l.Result.Unexplained)+" is not explained")
	}
	return strings.Join(parts, "; ")
}

// signedUSD writes an amount with its sign before the dollar.
func signedUSD(a trade.Amount) string {
	if a < 0 {
		return "-$" + money(-a)
	}
	return "$" + money(a)
}
