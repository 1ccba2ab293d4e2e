// Package web serves the farm's own screen: the documents that the pages live from, what a person enters there, plans made in
// the background, plain pages to print, and the files of the front end. It listens on this computer alone.
//
// A handler parses, calls one use case, and writes a document. The package holds no arithmetic of the trade and reads no file
// of the farm. docs/reference/http.md is the contract.
package web

import (
	"context"
	"log/slog"
	"net/http"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/problem"
	"threshday/internal/core/settlement"
)

// Settings are what a server works on.
type Settings struct {
	App     *app.App
	Data    string // the data file; the process holds it
	Kept    string // folder of forecasts that were fetched; empty: none
	Demo    bool   // Data is a copy of the invented farm that is thrown away
	Version string
	Log     *slog.Logger
	// Statement returns the document of a settled load.
	Statement func(terms *settlement.Terms, s settlement.Statement, rejection *settlement.Rejection, doubts []problem.Finding) any
	// Schedule returns the JSON form of a posted schedule, in which form it ever was read.
	Schedule func(settlement.Schedule) any
	// Source looks up a key of the table of sources.
	Source func(key string) (any, bool)
}

// A Server answers the pages of one data file.
type Server struct {
	set  Settings
	ctx  context.Context //nolint:containedctx // the life of the process, which a plan outlives its request in
	mux  *http.ServeMux
	jobs sync.WaitGroup
	job  job

	kept struct {
		sync.Mutex
		body  []byte // the snapshot as it was last written
		tag   string // of the state it was written from
		until time.Time
	}
	ledger ledger
}

// New returns a server that works until ctx ends. The data file is held by the caller, with [app.App.Hold].
func New(ctx context.Context, set Settings) (*Server, error) {
	s := &Server{set: set, ctx: ctx, mux: http.NewServeMux()}
	if err := s.job.restore(set.App, set.Data); err != nil {
		return nil, err
	}
	s.routes()
	s.jobs.Go(s.warm)
	return s, nil
}

// warm reads what sums are made of and adds the books up, so that the first page need not. What fails here the page that asks for
// it will tell.
func (s *Server) warm() {
	if _, err := s.set.App.Loads(s.ctx, s.set.Data, app.LoadFilter{By: "day", Limit: 1}); err == nil {
		_, _ = s.addedUp(s.ctx)
	}
}

// Wait returns when no plan is in the making.
func (s *Server) Wait() { s.jobs.Wait() }

func (s *Server) routes() {
	get := func(path string, answer func(http.ResponseWriter, *http.Request) error) {
		s.mux.Handle("GET "+path, s.answering(answer))
	}
	get("/api/ready", s.ready)
	get("/api/snapshot", s.snapshot)
	get("/api/plan", s.planState)
	get("/api/fields/{id}/outlook", s.fieldOutlook)
	get("/api/outlets", s.outlets)
	get("/api/price", s.price)
	get("/api/books", s.books)
	get("/api/books/trace", s.booksTrace)
	get("/api/loads", s.loads)
	get("/api/entries", s.entries)
	get("/api/entries/{id}/history", s.history)
	get("/api/sources/{key}", s.source)
	get("/api/season", s.season)
	get("/print/day-sheet", s.printSheet)
	get("/print/loads", s.printLoads)
	s.mux.Handle("POST /api/plan", s.answering(s.planBegin))
	s.mux.Handle("DELETE /api/plan", s.answering(s.planStop))
	s.mux.Handle("POST /api/commands", s.answering(s.commands))
	s.mux.Handle("POST /api/start", s.answering(s.start))
	s.mux.Handle("/api/", s.answering(s.nothing))
	s.mux.Handle("/", s.files())
}

// Handler returns the server with everything that stands before its pages.
func (s *Server) Handler() http.Handler {
	crossOrigin := http.NewCrossOriginProtection()
	crossOrigin.SetDenyHandler(s.answering(func(http.ResponseWriter, *http.Request) error {
		return &refusal{http.StatusForbidden, "cross-origin", "This came from a page of another site; only the program's own pages may ask here.", "Open the address that threshday serve prints."}
	}))
	return s.recovering(s.logging(s.guarding(crossOrigin.Handler(s.mux))))
}

// nothing answers what nobody else does: there is no such page, or it is asked for in another way.
func (s *Server) nothing(_ http.ResponseWriter, r *http.Request) error {
	for _, method := range []string{http.MethodGet, http.MethodPost, http.MethodDelete} {
		other := r.Clone(r.Context())
		other.Method = method
		if _, pattern := s.mux.Handler(other); method != r.Method && strings.HasPrefix(pattern, method+" ") {
			return wrongMethod(r)
		}
	}
	return noSuchPage()
}

func wrongMethod(r *http.Request) error {
	return &refusal{http.StatusMethodNotAllowed, "method", shortened(r.Method) + " is not a way to ask for this.", "docs/reference/http.md says how."}
}

func baseName(path string) string { return filepath.Base(path) }
