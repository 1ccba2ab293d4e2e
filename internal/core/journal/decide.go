package journal

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"threshday/internal/core/problem"
)

// Decide returns the answer to e, given what was found in it. It is stored unless a form or an import must be
// mended first.
func Decide(e Event, found []problem.Finding) Answer {
	a := Answer{ID: e.ID, Status: Stored, Problems: found}
	for _, f := range found {
		switch {
		case f.Severity == problem.Error && (e.Origin == Form || e.Origin == Import):
			a.Status = Refused
		case f.Severity != problem.Note && a.Status == Stored:
			a.Status = Review
		}
	}
	return a
}

// Again returns the answer to e when the book holds an event of the same ID: the first answer when both say the
// same, whenever and from wherever they were sent, and a refusal when they do not.
func Again(e Event, first Entry) Answer {
	if e.Farm == first.Farm && e.Kind == first.Kind && bytes.Equal(e.Body, first.Body) {
		a := Answer{ID: e.ID, Status: Already, First: first.Status, Seq: first.Seq}
		for _, rule := range first.Rules {
			a.Problems = append(a.Problems, problem.Finding{Rule: rule, Severity: problem.Warning, Say: "This entry waits for a person."})
		}
		return a
	}
	f := problem.Finding{
		Rule: "entry.duplicate", Severity: problem.Error, Label: "Entry",
		Say: "This entry was already recorded with other content; the new content was not applied.", Next: "Use Correct to change it.",
	}
	if changes := Diff(first.Body, e.Body); len(changes) > 0 && e.Kind == first.Kind {
		c := changes[0]
		f.Label, f.Got, f.Want = c.Key, c.New, c.Old
		f.Say = fmt.Sprintf("This entry was already recorded with %s %s; the new value %s was not applied.", c.Key, written(c.Old), written(c.New))
	}
	return Answer{ID: e.ID, Status: Refused, Problems: []problem.Finding{f}}
}

func written(s string) string {
	if s == "" {
		return "(none)"
	}
	return cut(s)
}

// Unreadable returns the answer to an event that cannot enter the book because of err.
func Unreadable(id ID, err error) Answer {
	a := Answer{ID: id, Status: Refused}
	var many problem.InputErrors
	var one *problem.InputError
	switch {
	case errors.As(err, &many):
	case errors.As(err, &one):
		many = problem.InputErrors{one}
	default:
		many = problem.InputErrors{{Rule: "entry.json", Label: "Entry", Want: err.Error()}}
	}
	for _, e := range many {
		a.Problems = append(a.Problems, problem.Finding{
			Rule: e.Rule, Severity: problem.Error, Where: e.Where,
			Label: e.Label, Got: e.Got, Want: e.Want, Say: e.Error(), Next: e.Next,
		})
	}
	return a
}

// Waits returns the rules that put an entry to review, in order, each once.
func (a Answer) Waits() []string {
	if a.Status != Review {
		return nil
	}
	var rules []string
	for _, f := range a.Problems {
		if f.Severity != problem.Note {
			rules = append(rules, f.Rule)
		}
	}
	slices.Sort(rules)
	return slices.Compact(rules)
}

// CheckNames returns what in e names nothing that the season knows. With no names there is nothing to check against.
func CheckNames(e Event, names []Name) []problem.Finding {
	if len(names) == 0 {
		return nil
	}
	subject, act, _ := e.Kind.Split()
	body := e.Body
	if act == Correct {
		s, err := ReadSaying(e)
		if err != nil {
			return nil
		}
		body = s.To
	} else if act != Recorded {
		return nil
	}
	c := nameChecker{names: names}
	// Bodies were read before; an unreadable one never comes here.
	switch subject {
	case LoadSubject:
		l, _ := ReadLoad(body)
		c.known("Outlet", l.Outlet, "outlet", "bin")
		for _, p := range l.From {
			c.known("Field", p.Field, "field", "bin") // grain out of an own bin comes from the bin
		}
		c.known("Truck", l.Truck, "truck")
		if n, ok := c.known("Contract", l.Contract, "contract"); ok && n.Crop != "" && n.Crop != l.Crop.String() {
			c.found = append(c.found, problem.Finding{
				Rule: "load.contract-crop", Severity: problem.Error, Label: "Contract", Got: l.Contract,
				Want: "a contract for " + l.Crop.String(),
				Say:  fmt.Sprintf("Contract %s is for %s; this load is %s.", l.Contract, n.Crop, l.Crop), Next: "Choose the contract or correct the crop.",
			})
		}
	case ReadingSubject:
		r, _, _ := ReadReading(body)
		c.known("Field", r.Field, "field")
	case StageSubject:
		s, _, _ := ReadStage(body)
		c.known("Field", s.Field, "field")
	case BidSubject:
		b, _, _ := ReadBid(body)
		c.known("Outlet", b.Outlet, "outlet")
	case ChequeSubject:
		q, _ := ReadCheque(body)
		c.known("Outlet", q.Outlet, "outlet")
		if q.Party != Nobody {
			c.known("Party", q.Party, "party")
		}
	case SheetSubject:
		p, _ := ReadSheet(body)
		c.known("Outlet", p.Outlet, "outlet")
	default: // nothing for the others
	}
	return c.found
}

type nameChecker struct {
	names []Name
	found []problem.Finding
}

// known finds id among the names of the kinds; an empty id is no name and is not looked for.
func (c *nameChecker) known(label, id string, kinds ...string) (Name, bool) {
	if id == "" {
		return Name{}, false
	}
	near := ""
	for _, n := range c.names {
		if !slices.Contains(kinds, n.Kind) {
			continue
		}
		if n.ID == id {
			return n, true
		}
		if near == "" || distance(id, n.ID) < distance(id, near) {
			near = n.ID
		}
	}
	f := problem.Finding{
		Rule: "name.unknown", Severity: problem.Error, Label: label, Got: id, Want: "one the season file defines",
		Say: fmt.Sprintf("No %s %q.", kinds[0], cut(id)), Next: "Define it in the season file first.",
	}
	if near != "" {
		f.Next = fmt.Sprintf("Closest: %s. Pick it, or define %q in the season file first.", near, cut(id))
	}
	c.found = append(c.found, f)
	return Name{}, false
}

// distance is the number of characters to put in, take out or exchange to make a of b.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		corner := row[0]
		row[0] = i + 1
		for j := range len(b) {
			swap := corner
			if a[i] != b[j] {
				swap++
			}
			corner = row[j+1]
			row[j+1] = min(swap, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(b)]
}
