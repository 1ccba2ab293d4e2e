package forecast

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"threshday/internal/core/problem"
	"threshday/internal/feeds/ensemblejson"
	"threshday/internal/feeds/outbound"
)

// same notes that the kept forecast still stands.
func (q *question) same() (*Outcome, error) {
	q.lifetime(q.answer.Header)
	q.h.Newest.Checked, q.old.Checked = q.now, q.now
	q.old.Findings = append(q.old.Findings, q.ageOf(q.old.Issued)...)
	return &Outcome{Same, q.old, q.h.next()}, q.Folder.write(q.state)
}

// take keeps a new forecast, unless it is older than the one kept.
func (q *question) take(form string, body []byte) (*Outcome, error) {
	k := &Kept{
		Source: q.source, At: q.at, Form: form, Cell: q.h.cell(), Near: q.h.Near, Zone: q.h.Zone, Received: q.now, Checked: q.now,
	}
	if err := k.understand(form, body); err != nil {
		return nil, q.unreadable(err)
	}
	q.date(k)
	k.Findings = append(k.Findings, q.ageOf(k.Issued)...)
	q.lifetime(q.answer.Header)
	if q.old != nil && k.Issued.Before(q.old.Issued) {
		if err := q.Folder.write(q.state); err != nil {
			return nil, err
		}
		return nil, q.trouble("forecast.older", fmt.Sprintf("The service sent a forecast made %s ago, older than the one kept.", ago(q.now, k.Issued)),
			"It may be asked again at "+clock(q.h.next())+".", nil)
	}
	file, err := q.Folder.keep(q.source, form, k.Issued, body)
	if err != nil {
		return nil, err
	}
	result := New
	if q.old != nil && k.Issued.Equal(q.old.Issued) && q.source == National {
		result = Same
	}
	q.h.LastModified = q.answer.Header.Get("Last-Modified")
	q.h.Newest = &keptState{File: file, Form: form, Issued: k.Issued, Received: q.now, Checked: q.now}
	return &Outcome{result, k, q.h.next()}, q.Folder.write(q.state)
}

// date sets when a forecast was made: as it says, as the answer's header says, or when it was received, and never later
// than that.
func (q *question) date(k *Kept) {
	if modified, err := http.ParseTime(q.answer.Header.Get("Last-Modified")); k.Issued.IsZero() && err == nil {
		k.Issued = modified.UTC()
	}
	if k.Issued.IsZero() && q.source == National {
		k.Findings = append(k.Findings, problem.Finding{
			Rule: "forecast.undated", Severity: problem.Warning, Label: "issue time",
			Say: "The forecast does not say when it was made; it counts as made when it was received.",
		})
	}
	if k.Issued.IsZero() || k.Issued.After(q.now) { // or the computer's clock is behind the service's
		k.Issued = q.now
	}
}

// ageOf says when a forecast is old although it just arrived.
func (q *question) ageOf(issued time.Time) []problem.Finding {
	if q.now.Sub(issued) < oldAnswer {
		return nil
	}
	return []problem.Finding{{
		Rule: "forecast.old", Severity: problem.Warning, Label: "forecast", Got: ago(q.now, issued), Want: "made today",
		Say: fmt.Sprintf("The newest forecast of the service was made %s ago.", ago(q.now, issued)), Next: "Enter your own outlook if you know better.",
	}}
}

// lifetime notes how long a service says that its answer stands.
func (q *question) lifetime(header http.Header) {
	for _, part := range strings.Split(header.Get("Cache-Control"), ",") {
		text, ok := strings.CutPrefix(strings.TrimSpace(part), "max-age=")
		seconds, err := strconv.ParseUint(text, 10, 31)
		if ok && err == nil {
			q.h.NotBefore = q.now.Add(min(time.Duration(seconds)*time.Second, longestAge))
		}
	}
}

// Ensemble asks a service of the owner's own choice about a place, on its page, with the licence key where it takes
// one.
func (a Asker) Ensemble(ctx context.Context, at Place, page, key string) (*Outcome, error) {
	q, err := a.begin(Ensemble, at)
	if err != nil || q.early != nil {
		return q.early, err
	}
	full, err := ensemblejson.Question(page, at.Lat, at.Lon, key)
	if err != nil {
		return nil, err
	}
	answer, err := q.get(ctx, full, "")
	if err != nil {
		return nil, err
	}
	if answer.Status != http.StatusOK || !isJSON(answer) {
		return nil, q.ensembleRefusal(answer)
	}
	q.answer = answer
	return q.take("ensemble", answer.Body)
}

// ensembleRefusal says why the owner's service did not answer, in its own words where it has some.
func (q *question) ensembleRefusal(a *outbound.Answer) error {
	var said struct{ Reason string }
	if a.Status >= 500 || json.Unmarshal(a.Body, &said) != nil || said.Reason == "" {
		return q.refusal(a)
	}
	_, err := ensemblejson.Read("ensemble", a.Body)
	return q.trouble("forecast.refused", "The ensemble service refuses the question: "+err.Error(), "Check url and key_file under [farm.weather.ensemble].", err)
}
