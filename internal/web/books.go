package web

import (
	"net/http"
	"slices"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/problem"
)

// booksDoc is the books with the entry up to which they are added up.
type booksDoc struct {
	answer.Books
	Head    headDoc `json:"head"`
	Unshown int     `json:"checks_more"` // of the checks, beyond those that are listed
	Example bool    `json:"example"`     // the tickets are those that the invented farm will have a few weeks on
}

// mostChecks is how many doubts about the books one document lists.
const mostChecks = 200

// books answers what the season adds up to: contracts, bins, shares, yields, records, cheques, the audit, and what does not add up.
func (s *Server) books(w http.ResponseWriter, r *http.Request) error {
	q := question{in: r.URL.Query()}
	q.only("party", "view")
	view := q.in.Get("view")
	if view == "" {
		view = "all"
	} else if view != "all" && !slices.Contains(app.BookParts(), view) {
		q.refuse("view", "all or a part that docs/reference/http.md lists")
	}
	if err := q.wrong.Or(); err != nil {
		return err
	}
	now, err := s.addedUp(r.Context())
	if err != nil {
		return err
	}
	party := q.in.Get("party")
	body, err := now.page(view+" "+party, func() ([]byte, error) {
		b := now.books
		if _, named := b.Names[party]; party != "" && !named && !slices.Contains(b.Parties, party) {
			return nil, &problem.InputError{Rule: "party.unknown", Label: "party", Got: shortened(party), Want: "a party of the season", Where: problem.Place{Path: "party"}}
		}
		doc := booksDoc{Books: answer.OfBooks(&app.BooksView{Books: b, Show: view, Party: party}), Head: headDoc(now.head), Example: now.example}
		if n := len(doc.Checks); n > mostChecks {
			doc.Checks, doc.Unshown = doc.Checks[:mostChecks], n-mostChecks
		}
		return encode(doc)
	})
	if err != nil {
		return err
	}
	return tagged(w, r, now.tag+"-"+view+"-"+party, body, true)
}

// mostTraced is how many tickets behind a figure one document lists.
const mostTraced = 100

// traceDoc is a figure led back to its tickets, with how many more there are.
type traceDoc struct {
	answer.Trace
	More int `json:"more"`
}

// booksTrace leads a figure of the books back to its tickets, the newest of them with every line of their settlement.
func (s *Server) booksTrace(w http.ResponseWriter, r *http.Request) error {
	q := question{in: r.URL.Query()}
	q.only("figure", "party")
	if err := q.wrong.Or(); err != nil {
		return err
	}
	now, err := s.addedUp(r.Context())
	if err != nil {
		return err
	}
	b := now.books
	figure, party := q.in.Get("figure"), q.in.Get("party")
	ask, err := b.Question(figure, party)
	if err != nil {
		return err
	}
	doc := traceDoc{Trace: answer.OfTrail(b, figure, party, b.Trace(ask), mostTraced)}
	doc.More = doc.Loads - len(doc.Tickets)
	return ok(w, doc)
}
