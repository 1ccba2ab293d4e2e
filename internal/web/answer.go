package web

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strings"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/problem"
)

// A refusal is a request that is not answered for a reason of its own.
type refusal struct {
	status          int
	rule, say, next string
}

func (e *refusal) Error() string { return e.say }

func noSuchPage() error {
	return &refusal{http.StatusNotFound, "page.unknown", "There is nothing at this address.", "docs/reference/http.md lists what there is."}
}

func noFarm() error {
	return &refusal{http.StatusConflict, "farm.none", "There is no farm yet.", "Begin one: the first steps ask for three fields, one bid and a few days of forecast."}
}

// answering turns a handler that can fail into one that says so.
func (s *Server) answering(h func(http.ResponseWriter, *http.Request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-store")
		if err := h(w, r); err != nil {
			s.write(w, r, err)
		}
	})
}

// statuses are the HTTP statuses of the kinds of failures.
var statuses = map[answer.Kind]int{
	answer.Input: http.StatusBadRequest, answer.NoAnswer: http.StatusUnprocessableEntity, answer.World: http.StatusServiceUnavailable, answer.Unknown: http.StatusInternalServerError,
}

// write answers with what is wrong.
func (s *Server) write(w http.ResponseWriter, r *http.Request, err error) {
	status, what := judged(err)
	if status == http.StatusInternalServerError {
		number := incident()
		s.set.Log.Error("a request failed", "incident", number, "path", r.URL.Path, "error", err)
		s.broken(w, number)
		return
	}
	reply(w, status, answer.OfFailure(what))
}

// judged returns the status of err and what to say of it.
func judged(err error) (int, []answer.Complaint) {
	var no *refusal
	var big *http.MaxBytesError
	var there *app.FarmThere
	switch {
	case errors.As(err, &no):
		return no.status, []answer.Complaint{answer.Stop(no.rule, no.say, no.next)}
	case errors.As(err, &there):
		return http.StatusConflict, []answer.Complaint{answer.Stop("farm.there", there.Error(), "Use another data file for another farm: threshday serve --data other.db.")}
	case errors.As(err, &big):
		return http.StatusRequestEntityTooLarge, []answer.Complaint{answer.Stop("request.size", fmt.Sprintf("More than %d KB came at once.", big.Limit>>10), "Send less at a time.")}
	}
	kind, what := answer.OfError(err)
	for i := range what {
		what[i] = onForm(what[i])
	}
	if kind == answer.Input && what[0].Rule == "entry.unknown" || what[0].Rule == "field.unknown" {
		return http.StatusNotFound, what
	}
	var none *app.NoAnswer
	if errors.As(err, &none) && none.Rule == "book.no-season" {
		return judged(noFarm())
	}
	return statuses[kind], what
}

// firstOf returns the first complaint of err.
func firstOf(err error) *answer.Complaint {
	_, what := judged(err)
	return &what[0]
}

// broken says that something broke, and nothing more: what it was stands in the log.
func (s *Server) broken(w http.ResponseWriter, number string) {
	c := answer.Stop("internal", "Something broke in the program; nothing was saved.", "Try again; if it stays, the log has it under this number.")
	c.Got = number
	reply(w, http.StatusInternalServerError, answer.OfFailure([]answer.Complaint{c}))
}

// reply writes a document.
func reply(w http.ResponseWriter, status int, doc any) {
	body, err := encode(doc)
	if err != nil {
		panic(err) // a document of ours that cannot be written is a bug
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(body) //nolint:gosec // JSON of our own; whoever asked may have gone
}

func encode(doc any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(doc)
	return b.Bytes(), err
}

// ok writes a document that answers a question.
func ok(w http.ResponseWriter, doc any) error {
	reply(w, http.StatusOK, doc)
	return nil
}

// tagged writes a body that a device may have already; packed says whether body is gzip.
func tagged(w http.ResponseWriter, r *http.Request, tag string, body []byte, packed bool) error {
	h := w.Header()
	h.Set("ETag", `"`+tag+`"`)
	h.Set("Vary", "Accept-Encoding")
	for _, has := range strings.Split(r.Header.Get("If-None-Match"), ",") {
		if strings.TrimPrefix(strings.TrimSpace(has), "W/") == `"`+tag+`"` {
			w.WriteHeader(http.StatusNotModified)
			return nil
		}
	}
	h.Set("Content-Type", "application/json; charset=utf-8")
	switch takes := takesGzip(r); {
	case packed && takes:
		h.Set("Content-Encoding", "gzip")
	case packed:
		body = unpack(body)
	}
	_, _ = w.Write(body) // whoever asked may have gone
	return nil
}

func takesGzip(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept-Encoding"), "gzip")
}

// pack returns text as gzip.
func pack(text []byte) []byte {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, _ = z.Write(text) // into memory
	_ = z.Close()
	return b.Bytes()
}

// unpack returns the text that pack packed; it panics on anything else.
func unpack(packed []byte) []byte {
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		panic("web: " + err.Error())
	}
	text, err := io.ReadAll(z)
	if err != nil {
		panic("web: " + err.Error())
	}
	return text
}

// Limits of what is taken at once.
const (
	mostSent    = 256 << 10 // of commands
	mostForm    = 64 << 10
	deepest     = 8   // levels of objects and lists
	mostEntries = 100 // commands at once
)

// readDoc reads a JSON document of at most limit bytes into doc; keys that doc does not have are refused.
func readDoc(w http.ResponseWriter, r *http.Request, limit int64, doc any) error {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		return &refusal{http.StatusUnsupportedMediaType, "request.type", "This takes a JSON document.", "Send it with Content-Type: application/json."}
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, limit))
	if err != nil {
		return err
	}
	if err := shallow(body); err != nil {
		return badJSON(err)
	}
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.DisallowUnknownFields()
	if err := dec.Decode(doc); err != nil {
		return badJSON(err)
	}
	return nil
}

var errDepth = errors.New("it nests too deep")

// shallow refuses text that is no single JSON value or nests deeper than any document here.
func shallow(body []byte) error {
	dec := json.NewDecoder(bytes.NewReader(body))
	depth, values := 0, 0
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			if depth != 0 || values != 1 {
				return io.ErrUnexpectedEOF
			}
			return nil
		}
		if err != nil {
			return err
		}
		switch tok {
		case json.Delim('{'), json.Delim('['):
			depth++
		case json.Delim('}'), json.Delim(']'):
			depth--
		}
		if depth == 0 {
			values++
		}
		if depth > deepest {
			return errDepth
		}
	}
}

func badJSON(err error) error {
	return &problem.InputError{Rule: "request.json", Label: "document", Got: err.Error(), Want: "one JSON document as docs/reference/http.md describes it"}
}
