package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"threshday/internal/answer"
	"threshday/internal/app"
	"threshday/internal/core/calendar"
	"threshday/internal/core/journal"
	"threshday/internal/core/problem"
	"threshday/internal/feeds/quantity"
	"threshday/internal/words"
)

func number64(n int64) string { return words.Digits(float64(n), 0) }

func sentenceCase(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

func (s *Server) ready(w http.ResponseWriter, _ *http.Request) error {
	return ok(w, map[string]any{"ready": true, "program": s.set.App.Program, "data": baseName(s.set.Data)})
}

// snapshotLasts is how long a snapshot of one state of the book and the plan is answered again as it is: what it shows beside
// them, the clock and files beside the data file, is no younger than that.
const snapshotLasts = 10 * time.Second

// snapshot answers with everything a device may keep.
func (s *Server) snapshot(w http.ResponseWriter, r *http.Request) error {
	head, err := s.set.App.HeadOf(r.Context(), s.set.Data)
	if err != nil {
		return err
	}
	is, last := s.job.now()
	plan := ""
	if last != nil {
		plan = last.ID
	}
	state := fmt.Sprintf("%d-%.8s-%s-%s-%d", head.Seq, head.Hash, plan, is.State, is.Percent)
	s.kept.Lock()
	defer s.kept.Unlock()
	now := s.set.App.Now()
	if s.kept.tag != state || now.After(s.kept.until) {
		in, err := s.set.App.Snapshot(r.Context(), s.set.Data)
		if err != nil {
			return err
		}
		doc := s.snapshotOf(in)
		doc.Job = is
		if last != nil {
			p := last.planDoc
			p.Behind = behind(in.Head.Seq, last)
			doc.Plan, doc.Changed = &p, last.Changed
		}
		body, err := encode(doc)
		if err != nil {
			return err
		}
		s.kept.body, s.kept.tag, s.kept.until = pack(body), state, now.Add(snapshotLasts)
	}
	return tagged(w, r, state, s.kept.body, true)
}

// loadsDoc is a page of loads with what each pays.
type loadsDoc struct {
	Loads []loadDoc        `json:"loads"`
	More  bool             `json:"more"`
	By    string           `json:"by"`
	Sums  []answer.LoadSum `json:"sums"`
	All   answer.LoadSum   `json:"all"`
}

type loadDoc struct {
	answer.LoadLine
	Version    string            `json:"version"`
	Weights    weightsDoc        `json:"weights"`
	TestWeight *string           `json:"test_weight"`
	Quality    map[string]string `json:"quality"` // by the key of its box
	Parts      []string          `json:"parts"`   // the box of fields as a person would type it
	At         *string           `json:"at"`
	Truck      string            `json:"truck"`
	Driver     string            `json:"driver"`
	Contract   string            `json:"contract"`
	Note       string            `json:"note"`
	Settlement *settledDoc       `json:"settlement,omitempty"`
}

type weightsDoc struct {
	Unit  string `json:"unit"`
	Gross *int64 `json:"gross"`
	Tare  *int64 `json:"tare"`
	Net   *int64 `json:"net"`
}

type settledDoc struct {
	Price     *string `json:"price_usd"`
	PriceFrom string  `json:"price_from,omitempty"`
	Statement any     `json:"statement"`
	WhyNot    *string `json:"why_not"`
}

func (s *Server) loadsOf(l *app.Loads, by string, settled map[string]app.Settled, zone *time.Location) loadsDoc {
	plain := answer.OfLoads(l, by)
	out := loadsDoc{Loads: []loadDoc{}, More: plain.More, By: by, Sums: plain.Sums, All: plain.All}
	for i, r := range l.Rows {
		d := loadDoc{
			LoadLine: plain.Loads[i], Version: r.Version, Weights: weightsDoc{string(r.Load.Weights.Unit), r.Load.Weights.Gross, r.Load.Weights.Tare, r.Load.Weights.Net},
			TestWeight: percentText(r.Load.Quality.TestWeight), Quality: qualityOf(r.Load.Quality), Parts: partsOf(r.Load.From), At: moment(r.Load.In, zone), Truck: r.Load.Truck, Driver: r.Load.Driver, Contract: r.Load.Contract, Note: r.Load.Note,
		}
		if st, ok := settled[r.ID]; ok {
			d.Settlement = s.settledOf(st)
		}
		out.Loads = append(out.Loads, d)
	}
	return out
}

func (s *Server) settledOf(st app.Settled) *settledDoc {
	d := &settledDoc{PriceFrom: st.PriceFrom}
	if st.Price > 0 {
		d.Price = priceText(&st.Price)
	}
	if st.WhyNot != "" {
		d.WhyNot = &st.WhyNot
		return d
	}
	d.Statement = s.set.Statement(st.Terms, st.Statement, nil, nil)
	return d
}

// loads lists the loads that a question asks for.
func (s *Server) loads(w http.ResponseWriter, r *http.Request) error {
	q, err := loadFilter(r.URL.Query())
	if err != nil {
		return err
	}
	l, err := s.set.App.Loads(r.Context(), s.set.Data, q)
	if err != nil {
		return err
	}
	settled, err := s.set.App.Settle(r.Context(), s.set.Data, l.Rows)
	if err != nil {
		return err
	}
	clock, err := s.set.App.Clock(r.Context(), s.set.Data)
	if err != nil {
		return err
	}
	return ok(w, s.loadsOf(l, q.By, settled, clock.Zone))
}

// mostLoads is how many loads one page holds.
const mostLoads = 500

func loadFilter(q url.Values) (app.LoadFilter, error) {
	f := app.LoadFilter{By: "day", Limit: 50}
	var wrong problem.InputErrors
	bad := func(key, want string) {
		wrong = append(wrong, &problem.InputError{Rule: "question." + key, Label: key, Got: shortened(q.Get(key)), Want: want, Where: problem.Place{Path: key}})
	}
	day := func(key string, to *calendar.Day) {
		d, err := quantity.ParseDay(key, q.Get(key))
		if err != nil {
			bad(key, "a date, as 2031-09-14")
		}
		*to = d
	}
	for key := range q {
		text := q.Get(key)
		switch key {
		case "field":
			f.Field = text
		case "outlet":
			f.Outlet = text
		case "contract":
			f.Contract = text
		case "crop":
			f.Crop = text
		case "crop_year":
			n, err := strconv.Atoi(text)
			if err != nil {
				bad(key, "a year")
			}
			f.CropYear = n
		case "from":
			day(key, &f.From)
		case "until":
			day(key, &f.Until)
		case "waiting":
			f.Waiting = text == "1"
		case "by":
			switch text {
			case "day", "field", "outlet", "contract", "crop":
				f.By = text
			default:
				bad(key, "day, field, outlet, contract or crop")
			}
		case "limit":
			n, err := strconv.Atoi(text)
			if err != nil || n < 1 || n > mostLoads {
				bad(key, "1 to 500")
			}
			f.Limit = n
		default:
			bad(key, "field, outlet, contract, crop, crop_year, from, until, waiting, by or limit")
		}
	}
	return f, wrong.Or()
}

// entries answers with the newest entries of the book.
func (s *Server) entries(w http.ResponseWriter, r *http.Request) error {
	limit := 30
	if text := r.URL.Query().Get("limit"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > mostLoads {
			return &problem.InputError{Rule: "question.limit", Label: "limit", Got: shortened(text), Want: "1 to 500"}
		}
		limit = n
	}
	h, err := s.set.App.Recent(r.Context(), s.set.Data, limit)
	if err != nil {
		return err
	}
	return ok(w, historyOf(h))
}

// historyDoc is a history with a sentence for each entry.
type historyDoc struct {
	State   string    `json:"state,omitempty"`
	Body    string    `json:"body,omitempty"`
	Say     string    `json:"say,omitempty"`
	Entries []lineDoc `json:"entries"`
}

type lineDoc struct {
	answer.Line
	Act  string   `json:"act"`
	Say  string   `json:"say"`
	Says []string `json:"says"` // what changed, a sentence each
}

func historyOf(h *app.RecordHistory) historyDoc {
	plain := answer.OfHistory(h)
	out := historyDoc{State: plain.State, Body: plain.Body, Entries: []lineDoc{}}
	for i, l := range h.Lines {
		d := lineDoc{Line: plain.Entries[i], Act: answer.ActSaid(l.Kind), Say: answer.LineSaid(l, h.Zone), Says: []string{}}
		for _, c := range l.Changes {
			if text := answer.ChangeSaid(c); text != "" {
				d.Says = append(d.Says, text)
			}
		}
		out.Entries = append(out.Entries, d)
	}
	if h.State != "" && len(h.Lines) > 0 {
		subject, _, _ := journal.Kind(h.Lines[0].Kind).Split()
		out.Say = answer.BodySaid(subject, h.Body, h.Zone)
	}
	return out
}

// history answers with everything said of one record.
func (s *Server) history(w http.ResponseWriter, r *http.Request) error {
	h, err := s.set.App.History(r.Context(), s.set.Data, r.PathValue("id"))
	if err != nil {
		return err
	}
	return ok(w, historyOf(h))
}

func waitOf(w app.Wait, zone *time.Location) waitDoc {
	d := waitDoc{Wait: answer.Wait{ID: w.ID, Kind: w.Kind, Why: answer.List(w.Why), Like: w.Like, Body: w.Body}, Words: []string{}, Say: answer.BodySaid(journal.Subject(w.Kind), w.Body, zone)}
	for _, why := range w.Why {
		d.Words = append(d.Words, answer.WhySaid(why))
	}
	return d
}

// source answers with a row of the table of sources.
func (s *Server) source(w http.ResponseWriter, r *http.Request) error {
	src, known := s.set.Source(r.PathValue("key"))
	if !known {
		return &refusal{http.StatusNotFound, "source.unknown", fmt.Sprintf("No source is called %q.", shortened(r.PathValue("key"))), ""}
	}
	w.Header().Set("Cache-Control", "private, max-age=3600")
	return ok(w, src)
}

// season answers with the season file as it stands.
func (s *Server) season(w http.ResponseWriter, r *http.Request) error {
	text, _, err := s.set.App.Export(r.Context(), s.set.Data)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, _ = w.Write(text) // whoever asked may have gone
	return nil
}
