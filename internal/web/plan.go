package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"runtime/debug"
	"strconv"
	"sync"

	"threshday/internal/answer"
	"threshday/internal/app"
)

// A planDoc is a plan with how it came about.
type planDoc struct {
	ID      string          `json:"id"`
	Made    string          `json:"made_at"`
	At      string          `json:"at"` // on the clock that answers speak of
	Head    headDoc         `json:"head"`
	Program string          `json:"program"`
	Seed    uint64          `json:"seed"`
	Members int             `json:"members"`
	Inputs  string          `json:"inputs"`
	Seconds answer.Figure   `json:"seconds"`
	Behind  int64           `json:"behind"`
	Sheet   json.RawMessage `json:"sheet,omitempty"`
}

// A keptPlan is a plan as it is kept beside the data file, with what pages show of it.
type keptPlan struct {
	planDoc
	Outlooks map[string]json.RawMessage `json:"outlooks"`
	Outlets  json.RawMessage            `json:"outlets"`
	Changed  *changedDoc                `json:"changed"` // since the one before; nil: it is the first
}

type jobDoc struct {
	State   string            `json:"state"` // idle, running, failed or stopped
	Percent int               `json:"percent,omitempty"`
	Say     string            `json:"say,omitempty"`
	Since   string            `json:"since,omitempty"`
	Error   *answer.Complaint `json:"error,omitempty"`
}

// A job is the plan in the making, and the last one that was made.
type job struct {
	mu   sync.Mutex
	is   jobDoc
	stop context.CancelFunc // nil: nothing runs
	last *keptPlan
	// packed are the documents of last that pages ask for most, as gzip.
	packed map[string][]byte
}

// restore takes up the plans kept beside the data file.
func (j *job) restore(a *app.App, data string) error {
	j.is.State = "idle"
	kept, err := a.KeptPlans(data, 1)
	if err != nil || len(kept) == 0 {
		return err
	}
	var p keptPlan
	if err := json.Unmarshal(kept[0], &p); err == nil { // one that cannot be read counts as none
		j.take(&p)
	}
	return nil
}

func (j *job) take(p *keptPlan) {
	if p.At == "" {
		p.At = p.Made // it was kept before plans told both
	}
	j.last = p
	j.packed = map[string][]byte{"outlets": pack(p.Outlets)}
	for field, doc := range p.Outlooks {
		j.packed["field "+field] = pack(doc)
	}
	p.Outlets, p.Outlooks = nil, nil // on the disk whole, and here packed
}

// now returns the state of the job and the last plan.
func (j *job) now() (jobDoc, *keptPlan) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.is, j.last
}

// document returns one packed document of the last plan with its plan's id.
func (j *job) document(name string) (body []byte, id string, ok bool) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.last == nil {
		return nil, "", false
	}
	return j.packed[name], j.last.ID, true
}

type planOrder struct {
	Seed *uint64 `json:"seed"`
}

type planAnswer struct {
	Job  jobDoc   `json:"job"`
	Plan *planDoc `json:"plan,omitempty"`
}

// defaultSeed is the seed of a plan that names none, as on the command line.
const defaultSeed = 1

// planBegin begins a plan in the background.
func (s *Server) planBegin(w http.ResponseWriter, r *http.Request) error {
	var order planOrder
	if err := readDoc(w, r, mostForm, &order); err != nil {
		return err
	}
	if _, err := s.set.App.Clock(r.Context(), s.set.Data); err != nil {
		return err
	}
	seed := uint64(defaultSeed)
	if order.Seed != nil {
		seed = *order.Seed
	}
	is, begun := s.begin(seed)
	if !begun {
		return &refusal{http.StatusConflict, "plan.running", "A plan is being made already.", "Wait for it, or stop it first."}
	}
	reply(w, http.StatusAccepted, planAnswer{Job: is})
	return nil
}

// begin begins a plan unless one is in the making.
func (s *Server) begin(seed uint64) (jobDoc, bool) {
	j := &s.job
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.stop != nil {
		return j.is, false
	}
	ctx, stop := context.WithCancel(s.ctx)
	j.stop = stop
	j.is = jobDoc{State: "running", Percent: 0, Say: "Beginning", Since: answer.Stamp(s.set.App.Now())}
	s.jobs.Go(func() {
		defer debug.FreeOSMemory() // a plan of sixty fields takes several hundred megabytes while it is made
		defer stop()
		plan, err := s.make(ctx, seed)
		j.mu.Lock()
		defer j.mu.Unlock()
		j.stop = nil
		switch {
		case errors.Is(err, context.Canceled):
			j.is = jobDoc{State: "stopped"}
		case err != nil:
			s.set.Log.Error("no plan", "error", err)
			j.is = jobDoc{State: "failed", Error: firstOf(err)}
		default:
			j.is = jobDoc{State: "idle"}
			j.take(plan)
		}
	})
	return j.is, true
}

// make makes a plan and keeps it.
func (s *Server) make(ctx context.Context, seed uint64) (plan *keptPlan, err error) {
	defer func() {
		if bug := recover(); bug != nil {
			number := incident()
			s.set.Log.Error("planning broke", "incident", number, "bug", fmt.Sprint(bug), "stack", string(debug.Stack()))
			err = fmt.Errorf("planning broke; the log has it under %s", number)
		}
	}()
	_, before := s.job.now()
	var earlier *app.EarlierOrders
	if before != nil {
		earlier = answer.OrdersOf(before.Sheet)
	}
	m, err := s.set.App.Morning(ctx, app.MorningRequest{Data: s.set.Data, Seed: seed, Kept: s.set.Kept, Earlier: earlier, Progress: func(percent int, say string) {
		s.job.mu.Lock()
		defer s.job.mu.Unlock()
		s.job.is.Percent, s.job.is.Say = percent, say
	}})
	if err != nil {
		return nil, err
	}
	if plan, err = planOf(m); err != nil {
		return nil, err
	}
	if before != nil {
		if plan.Changed, err = s.changes(ctx, before, plan, m.Sheet.AsOf.Location()); err != nil {
			return nil, err
		}
	}
	text, err := json.Marshal(plan)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return plan, s.set.App.KeepPlan(s.set.Data, m.Made, text)
}

// planState answers how far the plan in the making is.
func (s *Server) planState(w http.ResponseWriter, r *http.Request) error {
	is, last := s.job.now()
	out := planAnswer{Job: is}
	if last != nil {
		head, err := s.set.App.HeadOf(r.Context(), s.set.Data)
		if err != nil {
			return err
		}
		short := last.planDoc
		short.Sheet, short.Behind = nil, behind(head.Seq, last)
		out.Plan = &short
	}
	return ok(w, out)
}

func behind(seq int64, p *keptPlan) int64 { return max(0, seq-p.Head.Seq) }

// planStop stops the plan in the making.
func (s *Server) planStop(w http.ResponseWriter, _ *http.Request) error {
	s.job.mu.Lock()
	stop := s.job.stop
	s.job.mu.Unlock()
	if stop == nil {
		is, _ := s.job.now()
		return ok(w, planAnswer{Job: is})
	}
	stop()
	return ok(w, planAnswer{Job: jobDoc{State: "stopped"}})
}

func noPlan() error {
	return &refusal{http.StatusConflict, "plan.none", "No plan has been made yet.", "Make one: it takes a few seconds."}
}

// fieldOutlook answers with a field's days to come, as of the last plan.
func (s *Server) fieldOutlook(w http.ResponseWriter, r *http.Request) error {
	body, id, made := s.job.document("field " + r.PathValue("id"))
	switch {
	case !made:
		return noPlan()
	case body == nil:
		return &refusal{http.StatusNotFound, "field.unknown", fmt.Sprintf("The last plan knows no field %q.", shortened(r.PathValue("id"))), "Plan again if it is new."}
	}
	return tagged(w, r, id+"-"+strconv.Itoa(len(body)), body, true)
}

// outlets answers with what a bushel is worth where, as of the last plan.
func (s *Server) outlets(w http.ResponseWriter, r *http.Request) error {
	body, id, made := s.job.document("outlets")
	if !made {
		return noPlan()
	}
	return tagged(w, r, id+"-outlets", body, true)
}
