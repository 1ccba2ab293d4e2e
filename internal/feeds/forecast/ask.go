package forecast

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"threshday/internal/feeds/gridpoint"
	"threshday/internal/feeds/outbound"
)

// ServicePage is where the national service answers. [nws-api]
const ServicePage = "https://api.weather.gov"

// An Asker asks services and keeps what they say. All fields must be set.
type Asker struct {
	Folder Folder
	Client *outbound.Client
	Page   string // of the service, without a slash at the end
	Now    func() time.Time
}

// Hopeless tells a client which answers of the national service stay what they are for hours: an office that has not
// sent a new grid, or one late period that is empty. [nws-api]
func Hopeless(status int, body []byte) bool {
	r, ok := gridpoint.ReadRefusal(body)
	return ok && status == http.StatusServiceUnavailable && (strings.HasSuffix(r.Type, gridExpired) || strings.HasSuffix(r.Type, missingData))
}

const (
	gridExpired = "ForecastGridExpired"
	missingData = "ForecastMissingData"
)

// National asks the national service about a place.
func (a Asker) National(ctx context.Context, at Place) (*Outcome, error) {
	q, err := a.begin(National, at)
	if err != nil || q.early != nil {
		return q.early, err
	}
	body, form, err := q.national(ctx)
	switch {
	case err != nil:
		return nil, err
	case body == nil:
		return q.same()
	}
	return q.take(form, body)
}

// A question is one round of asking one source for one place.
type question struct {
	Asker
	source Source
	at     Place
	now    time.Time
	state  *state
	h      *history
	before time.Time // when it was asked the last time but this
	old    *Kept     // what is kept for the place; nil: nothing
	early  *Outcome
	answer *outbound.Answer // the one that is taken
}

// begin reads what is kept and writes down that it asks now. early is set where it is too soon to.
func (a Asker) begin(source Source, at Place) (*question, error) {
	q := &question{Asker: a, source: source, at: at, now: a.Now().UTC()}
	var err error
	if q.state, err = a.Folder.read(); err != nil {
		return q, err
	}
	q.h = q.state.Sources[source]
	if q.h == nil || (Place{q.h.Lat, q.h.Lon}) != at {
		q.h = &history{Lat: at.Lat, Lon: at.Lon}
		q.state.Sources[source] = q.h
	}
	if q.h.Newest != nil {
		if q.old, err = a.Folder.open(source, q.h); err != nil {
			q.h.Newest, q.h.LastModified = nil, "" // it cannot be read any more: ask for the whole of it
		}
	}
	if next := q.h.next(); q.now.Before(next) && !q.h.Asked.After(q.now.Add(clockSlack)) {
		if q.old != nil {
			q.early = &Outcome{TooSoon, q.old, next}
			return q, nil
		}
		return q, q.trouble("forecast.too-soon", fmt.Sprintf("The service was asked %s ago, without success.", ago(q.now, q.h.Asked)),
			"It may be asked again at "+clock(next)+".", nil)
	}
	q.before = q.h.Asked
	q.h.Asked, q.h.NotBefore = q.now, time.Time{}
	return q, a.Folder.write(q.state)
}

// next returns when the source may be asked again.
func (h *history) next() time.Time {
	next := h.Asked.Add(askEvery)
	if h.NotBefore.After(next) {
		next = h.NotBefore
	}
	return next
}

func clock(t time.Time) string { return t.UTC().Format("15:04 MST") }

// forget takes back that it asked, where the question never reached the service or was not one: mended, it may be asked at
// once.
func (q *question) forget() error {
	q.h.Asked = q.before
	return q.Folder.write(q.state)
}

// trouble says why there is no new forecast.
func (q *question) trouble(rule, say, next string, err error) *Trouble {
	t := &Trouble{Rule: rule, Say: say, Next: next, Kept: q.old, Err: err}
	if q.old != nil {
		t.Say += fmt.Sprintf(" The forecast made %s ago stays in use.", ago(q.now, q.old.Issued))
	}
	return t
}

// national returns the raw grid of the place, or the hourly periods where the grid cannot be had; a nil body means
// that the grid has not changed.
func (q *question) national(ctx context.Context) ([]byte, string, error) {
	known := q.h.Office != "" && q.now.Sub(q.h.PointRead).Abs() < pointLasts
	if !known {
		if err := q.point(ctx); err != nil {
			return nil, "", err
		}
	}
	grid, err := q.get(ctx, q.gridPage(), q.h.LastModified)
	if err == nil && grid.Status == http.StatusNotFound && known { // the grid may have moved
		if err := q.point(ctx); err != nil {
			return nil, "", err
		}
		grid, err = q.get(ctx, q.gridPage(), "")
	}
	if err != nil {
		return nil, "", err
	}
	switch {
	case grid.Status == http.StatusNotModified && q.old != nil:
		q.answer = grid
		return nil, "", nil
	case grid.Status == http.StatusOK && isJSON(grid):
		if _, err := gridpoint.Read("grid", grid.Body); err == nil {
			q.answer = grid
			return grid.Body, string(gridpoint.Grid), nil
		} else if hourly := q.hourly(ctx); hourly != nil {
			return hourly, string(gridpoint.Hourly), nil
		} else {
			return nil, "", q.unreadable(err)
		}
	case grid.Status >= 500 && !strings.HasSuffix(refusalOf(grid).Type, gridExpired):
		if hourly := q.hourly(ctx); hourly != nil {
			return hourly, string(gridpoint.Hourly), nil
		}
	}
	return nil, "", q.refusal(grid)
}

func (q *question) gridPage() string {
	return fmt.Sprintf("%s/gridpoints/%s/%d,%d", q.Page, q.h.Office, q.h.X, q.h.Y)
}

// hourly returns the hourly periods if they can be had and read; the grid's trouble is told otherwise.
func (q *question) hourly(ctx context.Context) []byte {
	a, err := q.get(ctx, q.gridPage()+"/forecast/hourly", "")
	if err != nil || a.Status != http.StatusOK || !isJSON(a) {
		return nil
	}
	if _, err := gridpoint.Read("hourly", a.Body); err != nil {
		return nil
	}
	a.Header.Del("Last-Modified") // it is not the grid's
	q.answer = a
	return a.Body
}

// point asks where the place lies on the grid.
func (q *question) point(ctx context.Context) error {
	a, err := q.get(ctx, q.Page+"/points/"+q.at.String(), "")
	if err != nil {
		return err
	}
	if a.Status != http.StatusOK || !isJSON(a) {
		return q.refusal(a)
	}
	p, err := gridpoint.ReadPoint("points", a.Body)
	if err != nil {
		return q.unreadable(err)
	}
	if p.Office != q.h.Office || p.X != q.h.X || p.Y != q.h.Y {
		q.h.LastModified = ""
	}
	q.h.Office, q.h.X, q.h.Y, q.h.Zone, q.h.Near, q.h.PointRead = p.Office, p.X, p.Y, p.Zone, p.Near, q.now
	return q.Folder.write(q.state)
}

// get asks for one page, and turns having no answer into trouble.
func (q *question) get(ctx context.Context, page, modified string) (*outbound.Answer, error) {
	header := http.Header{"Accept": {"application/geo+json"}}
	if modified != "" {
		header.Set("If-Modified-Since", modified)
	}
	a, err := q.Client.Get(ctx, page, header)
	switch {
	case err == nil:
		return a, nil
	case ctx.Err() != nil:
		return nil, errors.Join(ctx.Err(), q.forget())
	case errors.Is(err, outbound.ErrSize), errors.Is(err, outbound.ErrRedirect), errors.Is(err, outbound.ErrAddress), errors.Is(err, outbound.ErrPlain):
		return nil, q.trouble("forecast.unsafe", "What answered does not look like the service: "+err.Error()+".", "Check the network and the address of the service.", err)
	}
	if err := q.forget(); err != nil {
		return nil, err
	}
	return nil, q.trouble("forecast.unreachable", "The service cannot be reached: "+err.Error()+".", "Try again when there is a connection; the plan works without.", err)
}

func isJSON(a *outbound.Answer) bool { return strings.Contains(a.Header.Get("Content-Type"), "json") }

func refusalOf(a *outbound.Answer) gridpoint.Refusal {
	r, _ := gridpoint.ReadRefusal(a.Body) // the zero refusal where it is none
	return r
}

// refusal says what an answer that is no forecast means.
func (q *question) refusal(a *outbound.Answer) error {
	r := refusalOf(a)
	said := "status " + strconv.Itoa(a.Status)
	if r.Title != "" {
		said += ", " + r.Title
	}
	if r.CorrelationID != "" {
		said += ", request " + r.CorrelationID
	}
	asked, wait := outbound.RetryAfter(a.Header)
	if wait {
		q.h.NotBefore = q.now.Add(min(asked, longestAge))
	}
	if err := q.Folder.write(q.state); err != nil {
		return err
	}
	again := "It may be asked again at " + clock(q.h.next()) + "."
	switch {
	case outbound.SlowDown(a.Status, a.Header):
		return q.trouble("forecast.slow-down", "The service is asked too often from here ("+said+").", again, nil)
	case a.Status == http.StatusNotFound && q.source == National:
		return q.trouble("forecast.outside", "The service has no forecast for "+q.at.String()+" ("+said+").",
			"It speaks of the United States and land; check lat and lon under [farm], or enter your own outlook.", nil)
	case a.Status >= 400 && a.Status < 500:
		if err := q.forget(); err != nil {
			return err
		}
		return q.trouble("forecast.refused", "The service refuses the question ("+said+").", "Check the contact; if that is right, this is a fault of the program: report it with these words.", nil)
	case strings.HasSuffix(r.Type, gridExpired):
		return q.trouble("forecast.expired", "The local office has not sent a new forecast ("+said+").", "That takes hours at times. "+again, nil)
	case a.Status >= 500:
		return q.trouble("forecast.troubled", "The service is in trouble ("+said+").", again, nil)
	}
	return q.trouble("forecast.unreadable", "The service answered with something that is no forecast ("+said+").", again, nil)
}

func (q *question) unreadable(err error) error {
	return q.trouble("forecast.unreadable", "The service's forecast cannot be used: "+err.Error(), "It may be asked again at "+clock(q.h.next())+".", err)
}
