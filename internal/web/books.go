package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"sync"

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
	head, err := s.set.App.HeadOf(r.Context(), s.set.Data)
	if err != nil {
		return err
	}
	party := q.in.Get("party")
	tag := fmt.Sprintf("%d-%.8s-books", head.Seq, head.Hash)
	body, err := s.ledger.page(tag, view+" "+party, func() ([]byte, error) {
		b, example, err := s.added(r.Context())
		if err != nil {
			return nil, err
		}
		if party != "" && !slices.Contains(b.Parties, party) {
			return nil, &problem.InputError{Rule: "party.unknown", Label: "party", Got: shortened(party), Want: "a party of the season", Where: problem.Place{Path: "party"}}
		}
		doc := booksDoc{Books: answer.OfBooks(&app.BooksView{Books: b, Show: view, Party: party}), Head: headDoc(head), Example: example}
		if n := len(doc.Checks); n > mostChecks {
			doc.Checks, doc.Unshown = doc.Checks[:mostChecks], n-mostChecks
		}
		return encode(doc)
	})
	if err != nil {
		return err
	}
	return tagged(w, r, tag+"-"+view+"-"+shortened(party), body, true)
}

// added adds the season up. The invented farm, until somebody enters a load in it, shows the books that it will have.
func (s *Server) added(ctx context.Context) (b *app.Books, example bool, err error) {
	if b, err = s.set.App.Books(ctx, app.BooksRequest{Book: s.set.Data}); err != nil || !s.set.Demo || len(b.Loads) > 0 {
		return b, false, err
	}
	files, season, err := s.set.App.Demo()
	if err != nil {
		return nil, false, err
	}
	b, err = s.set.App.Books(ctx, s.set.App.DemoBooks(app.BooksRequest{Files: files, Season: season}))
	return b, true, err
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
	b, _, err := s.added(r.Context())
	if err != nil {
		return err
	}
	figure, party := q.in.Get("figure"), q.in.Get("party")
	ask, err := b.Question(figure, party)
	if err != nil {
		return err
	}
	doc := traceDoc{Trace: answer.OfTrail(b, figure, party, b.Trace(ask), mostTraced)}
	doc.More = doc.Loads - len(doc.Tickets)
	return ok(w, doc)
}

// A ledger keeps the pages of the books as they were last written, of one state of the book; the books themselves are large and
// let go.
type ledger struct {
	mu    sync.Mutex
	tag   string
	pages map[string][]byte // packed
}

// page returns a page of the state that tag names, made where it is not kept.
func (l *ledger) page(tag, name string, add func() ([]byte, error)) ([]byte, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.tag != tag {
		l.tag, l.pages = tag, map[string][]byte{}
	}
	if body, ok := l.pages[name]; ok {
		return body, nil
	}
	body, err := add()
	if err != nil {
		return nil, err
	}
	l.pages[name] = pack(body)
	return l.pages[name], nil
}
