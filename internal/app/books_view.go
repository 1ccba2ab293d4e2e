package app

import (
	"slices"
	"strconv"
	"strings"

	"threshday/internal/core/ledger"
	"threshday/internal/core/problem"
)

// BookParts are the parts of the books, in the order they are printed.
func BookParts() []string {
	return []string{"contracts", "bins", "shares", "yields", "records", "cheques", "audit", "tickets", "checks"}
}

// A BooksView is what is shown of the books: one part or all, of everybody or of one party, who sees its own share and nothing of
// anybody else's.
type BooksView struct {
	*Books
	Show  string // one of [BookParts], or "all"
	Party string // empty: everybody
}

// Shows reports whether a part is to be printed. The list of tickets is long and comes only when it is asked for, or in a party's
// statement.
func (v *BooksView) Shows(part string) bool {
	return v.Show == part || v.Show == "all" && (part != "tickets" || v.Party != "")
}

// Of reports whether what belongs to a party may be shown.
func (v *BooksView) Of(party string) bool { return v.Party == "" || v.Party == party }

// Called returns the name of a party.
func (v *BooksView) Called(party string) string {
	if name := v.Names[party]; name != "" {
		return name
	}
	return party
}

// Checks returns what does not add up. Somebody who sees only his own share is told of his own cheques; the rest speaks of other
// people's grain.
func (v *BooksView) Checks() []problem.Finding {
	if v.Party == "" {
		return v.Findings
	}
	var own []problem.Place
	for _, c := range v.Cheques {
		if c.Party == v.Party {
			own = append(own, c.Where)
			for _, l := range c.Lines {
				own = append(own, l.Where)
			}
		}
	}
	var out []problem.Finding
	for _, f := range v.Findings {
		if f.Rule == "P01" && slices.Contains(own, f.Where) {
			out = append(out, f)
		}
	}
	return out
}

// Cautions stand where people act on the figures.
func (v *BooksView) Cautions() []string {
	var out []string
	if v.Shows("shares") {
		for _, p := range v.Positions() {
			if p.Claim > 0 && v.Of(p.Party) {
				out = append(out, "Grain delivered without a price is the buyer's already and whoever delivered it is a creditor without security until it is priced and paid.")
				break
			}
		}
	}
	if v.Shows("records") {
		out = append(out, "Insured bushels are after moisture and before quality. The adjuster decides what counts; ask before grain is commingled, and before new grain goes on old.")
	}
	if v.Shows("bins") && v.Party == "" {
		out = append(out, "Measuring a bin errs by several percent, so scale weight stands. Never enter a bin while grain moves, nor alone.")
		if slices.ContainsFunc(v.Lives, func(l ledger.BinLife) bool { return l.Why == "" }) {
			out = append(out, "Storage life is a guide for sound grain at the temperature that was read; damaged grain keeps half as long, and a hot spot shortens it unseen. Look at the grain every week or two, from outside.") // [uk-mcneill-storage]
		}
	}
	return out
}

// ContractOf is the number of the contract that a sale is under; none: the bid of the day.
func (b *Books) ContractOf(l ledger.SaleLine) string {
	if l.Contract < 0 {
		return ""
	}
	return b.Contracts[l.Contract].ID
}

// Question reads what a figure is called, "field:creek-80+party:orla", and holds every name against the books. Whoever sees one
// party's share alone asks about that share.
func (b *Books) Question(figure, party string) (ledger.Question, error) {
	q := ledger.Question{Party: party}
	for part := range strings.SplitSeq(figure, "+") {
		kind, id, _ := strings.Cut(strings.TrimSpace(part), ":")
		known, to := b.traceable(kind, party, &q)
		switch {
		case kind == "spot" && id == "":
			q.Spot = true
		case to == nil || id == "":
			return q, &problem.InputError{
				Rule: "trace.form", Label: "trace", Got: figure, Want: "contract:ID, field:ID, party:ID, bin:ID, outlet:ID, ticket:NUMBER or spot, several joined by +", Next: "As field:creek-80+party:orla.",
			}
		case kind == "party" && party != "" && id != party:
			return q, &problem.InputError{Rule: "trace.party", Label: "trace", Got: figure, Want: "the share of " + party + ", whose books these are"}
		case !slices.Contains(known, id):
			return q, &problem.InputError{Rule: "trace.unknown", Label: "trace", Got: part, Want: kind + ":ID with one of " + few(known)}
		default:
			*to = id
		}
	}
	return q, nil
}

// traceable returns the names of a kind that have tickets behind them, of a party alone where one is named, and where the question
// keeps one.
func (b *Books) traceable(kind, party string, q *ledger.Question) (known []string, to *string) {
	add := func(name string) {
		if name != "" && !slices.Contains(known, name) {
			known = append(known, name)
		}
	}
	own := func() ledger.Trail { return b.Trace(ledger.Question{Party: party}) } // every line of a season; not all kinds need it
	switch kind {
	case "contract":
		for _, c := range b.Contracts {
			if party == "" || c.Party == party {
				add(c.ID)
			}
		}
		return known, &q.Contract
	case "field":
		if party == "" {
			return b.Fields, &q.Field
		}
		for _, l := range own().Harvest {
			add(b.FieldName(l.Field))
		}
		return known, &q.Field
	case "party":
		if party != "" {
			return []string{party}, &q.Party
		}
		return b.Parties, &q.Party
	case "bin":
		return b.Bins, &q.Bin
	case "outlet":
		for _, i := range own().Loads {
			add(b.Loads[i].Ticket.Place)
		}
		return known, &q.Place
	case "ticket":
		for _, i := range own().Loads {
			known = append(known, b.Loads[i].Ticket.Number, b.Loads[i].Ticket.ID)
		}
		return slices.DeleteFunc(known, func(s string) bool { return s == "" }), &q.Ticket
	}
	return nil, nil
}

// few lists names, and says how many more there are.
func few(names []string) string {
	const most = 12
	switch {
	case len(names) == 0:
		return "none, for there is none in the books"
	case len(names) <= most:
		return strings.Join(names, ", ")
	}
	return strings.Join(names[:most], ", ") + " and " + strconv.Itoa(len(names)-most) + " more"
}

// Audited returns the sheets and cheque lines that were held against the book. Somebody who sees only his own share is shown his own
// cheques.
func (v *BooksView) Audited() []ledger.AuditLine {
	if v.Audit == nil {
		return nil
	}
	var out []ledger.AuditLine
	for _, l := range v.Audit.Lines {
		if v.Party == "" || l.Party == v.Party {
			out = append(out, l)
		}
	}
	return out
}
