package answer

import (
	"threshday/internal/app"
	"threshday/internal/core/ledger"
)

// BooksAudit is every sheet and cheque line held against the book; roundings stand apart from real differences. The sums are left
// out of one party's own view.
type BooksAudit struct {
	Sheets    []AuditedSheet `json:"sheets"`
	Counts    map[string]int `json:"counts,omitempty"` // by verdict
	Roundings *string        `json:"roundings_usd,omitempty"`
	Real      *string        `json:"real_usd,omitempty"`
	Unexpl    *string        `json:"unexplained_usd,omitempty"`
	Rules     []AuditRule    `json:"rules,omitempty"`
}

// An AuditedSheet is one of them.
type AuditedSheet struct {
	ID          string        `json:"id,omitempty"` // of the record in the data file
	Outlet      string        `json:"outlet"`
	Ticket      string        `json:"ticket"`
	Party       string        `json:"party,omitempty"`
	Cheque      string        `json:"cheque,omitempty"`
	Verdict     string        `json:"verdict"` // agrees, rounding, explained, unexplained or not compared
	Ours        string        `json:"ours_usd"`
	Difference  string        `json:"difference_usd"`
	Explained   []AuditReason `json:"explained_by"`
	Unexplained string        `json:"unexplained_usd"`
	Why         string        `json:"why,omitempty"`
	Where       string        `json:"where,omitempty"`
}

// An AuditReason names one departure from the terms.
type AuditReason struct {
	Rule   string `json:"rule"`
	Detail string `json:"detail"`
}

// An AuditRule is what one explanation comes to over the season.
type AuditRule struct {
	Rule       string `json:"rule"`
	Sheets     int    `json:"sheets"`
	Difference string `json:"difference_usd"`
}

func auditOf(v *app.BooksView) *BooksAudit {
	out := &BooksAudit{Sheets: []AuditedSheet{}}
	for _, l := range v.Audited() {
		out.Sheets = append(out.Sheets, auditedOf(l))
	}
	if v.Party != "" {
		return out
	}
	a := v.Audit
	out.Roundings, out.Real, out.Unexpl = new(a.Roundings.String()), new(a.Real.String()), new(a.Unexplained.String())
	out.Counts = map[string]int{}
	for verdict, n := range a.Count {
		out.Counts[string(verdict)] = n
	}
	for _, r := range a.Rules {
		out.Rules = append(out.Rules, AuditRule{r.Rule, r.Sheets, r.Difference.String()})
	}
	return out
}

func auditedOf(l ledger.AuditLine) AuditedSheet {
	one := AuditedSheet{
		l.ID, l.Outlet, l.Ticket, l.Party, l.Cheque, string(l.Verdict), l.Ours.String(), l.Difference.String(), []AuditReason{}, l.Result.Unexplained.String(), l.Why, l.Where.String(),
	}
	for _, c := range l.Result.Explained {
		one.Explained = append(one.Explained, AuditReason(c))
	}
	return one
}
