package schedulefile

import (
	"maps"

	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
	"threshday/internal/core/trade"
)

// ReadSheet returns the buyer's sheet a file holds: the keys that an [Answer] prints, as many as the buyer
// printed. The error is problem.InputErrors or a *problem.InputError.
func ReadSheet(file string, data []byte) (settlement.Sheet, error) {
	r, root, err := newReader(file, data)
	if err != nil {
		return settlement.Sheet{}, err
	}
	s := r.sheet(root, "", nil, nil)
	if err := r.errs.Or(); err != nil {
		return settlement.Sheet{}, err
	}
	return s, nil
}

// A TicketSheet is the buyer's sheet of one ticket.
type TicketSheet struct {
	Outlet, Ticket string
	Sheet          settlement.Sheet
	Where          problem.Place
}

// ReadSheets returns the sheets of a season: a list of objects, each with outlet and ticket beside the keys of a sheet. The error is
// problem.InputErrors or a *problem.InputError.
func ReadSheets(file string, data []byte) ([]TicketSheet, error) {
	r, root, err := newReader(file, data)
	if err != nil {
		return nil, err
	}
	var out []TicketSheet
	seen := map[[2]string]bool{}
	r.list(root, "", func(n node, path string) {
		one := TicketSheet{Where: r.place(n)}
		one.Sheet = r.sheet(n, path, []string{"outlet", "ticket"}, map[string]func(node, string){
			"outlet": func(n node, path string) { one.Outlet, _ = r.text(n, path) },
			"ticket": func(n node, path string) { one.Ticket, _ = r.text(n, path) },
		})
		if key := [2]string{one.Outlet, one.Ticket}; seen[key] && one.Ticket != "" {
			r.fail(n, path, "sheet.twice", one.Ticket, "one sheet for each ticket of an outlet")
		} else {
			seen[key] = true
		}
		out = append(out, one)
	})
	if err := r.errs.Or(); err != nil {
		return nil, err
	}
	return out, nil
}

// sheet reads the keys of a sheet, and beside them those of more.
func (r *reader) sheet(root node, path string, must []string, more map[string]func(node, string)) settlement.Sheet {
	var s settlement.Sheet
	quantity := func(to **trade.Bushels) func(node, string) {
		return func(n node, path string) { *to = parsed(r, n, path, trade.ParseBushels) }
	}
	price := func(n node, path string) { s.PerUnit = parsed(r, n, path, trade.ParsePrice) }
	known := map[string]func(node, string){
		"net_lb":        func(n node, path string) { s.NetLb = r.pounds(n, path) },
		"settle_lb":     func(n node, path string) { s.SettledLb = r.pounds(n, path) },
		"gross_bu":      quantity(&s.GrossQty),
		"gross_cwt":     quantity(&s.GrossQty),
		"net_bu":        quantity(&s.NetQty),
		"net_cwt":       quantity(&s.NetQty),
		"price_per_bu":  price,
		"price_per_cwt": price,
		"value_usd":     func(n node, path string) { s.Value = r.dollars(n, path) },
		"checkoff_usd":  func(n node, path string) { s.Checkoff = r.dollars(n, path) },
		"net_usd":       func(n node, path string) { s.Net = r.dollars(n, path) },
		"lines":         func(n node, path string) { s.Lines = r.sheetLines(n, path) },
		"charges":       func(n node, path string) { s.Charges = r.sheetLines(n, path) },
		"rejected":      ignored,
		"warnings":      ignored,
	}
	maps.Copy(known, more)
	r.object(root, path, must, known)
	return s
}

// ignored takes what an answer prints and a sheet is not compared by.
func ignored(node, string) {}

func (r *reader) dollars(n node, path string) *trade.Amount {
	return parsed(r, n, path, trade.ParseAmount)
}

func (r *reader) sheetLines(n node, path string) []settlement.SheetLine {
	lines := []settlement.SheetLine{}
	r.list(n, path, func(n node, path string) {
		var l settlement.SheetLine
		known := map[string]func(node, string){
			"factor": func(n node, path string) { l.Name = r.lineName(n, path) },
			"lb":     func(n node, path string) { l.Pounds = r.pounds(n, path) },
			"usd":    func(n node, path string) { l.Dollars = r.dollars(n, path) },
		}
		for _, key := range []string{"row", "reading", "from", "to", "step", "steps", "amount", "unit", "qty", "running_usd", "running_lb", "say"} {
			known[key] = ignored
		}
		r.object(n, path, []string{"factor"}, known)
		lines = append(lines, l)
	})
	return lines
}

// lineName returns the factor a line is for, or base, premium or rounding.
func (r *reader) lineName(n node, path string) string {
	switch n.text {
	case "base", "premium", "rounding":
		return n.text
	}
	if f := r.factor(n, path); f != settlement.NoFactor {
		return f.String()
	}
	return ""
}

// An AuditAnswer is an audit in the form scripts read.
type AuditAnswer struct {
	Agrees      bool            `json:"agrees"`
	Difference  *string         `json:"difference_usd"`
	Explained   []Explanation   `json:"explained_by"`
	Unexplained string          `json:"unexplained_usd"`
	Equally     [][]Explanation `json:"equally,omitempty"` // other explanations the sheet cannot tell from explained_by
	Figures     []AuditFigure   `json:"figures"`
}

// An Explanation names one departure from the terms.
type Explanation struct {
	Rule   string `json:"rule"`
	Detail string `json:"detail"`
}

// An AuditFigure is a figure of the sheet that is not ours.
type AuditFigure struct {
	Name   string `json:"name"`
	Ours   string `json:"ours"`
	Theirs string `json:"theirs"`
}

// NewAuditAnswer returns the form scripts read of an audit.
func NewAuditAnswer(a settlement.AuditResult) AuditAnswer {
	out := AuditAnswer{Agrees: a.Agrees, Explained: explanations(a.Explained), Unexplained: a.Unexplained.String(), Figures: []AuditFigure{}}
	if a.Difference != nil {
		out.Difference = new(a.Difference.String())
	}
	for _, other := range a.Equally {
		out.Equally = append(out.Equally, explanations(other))
	}
	for _, f := range a.Differ {
		out.Figures = append(out.Figures, AuditFigure(f))
	}
	return out
}

func explanations(changes []settlement.Change) []Explanation {
	out := make([]Explanation, len(changes))
	for i, c := range changes {
		out[i] = Explanation(c)
	}
	return out
}
