// Package outbound asks services on the network, politely and warily: over HTTPS only, one request at a time, under
// the name of the program and of whoever answers for it, with few and growing waits when a service is troubled, and
// longer ones when it asks for them.
//
// A host that the program knows by itself must have a public address: names that resolve into the farm's own network
// are refused when dialling, so that a wrong answer of the name service opens nothing there. A host that the owner
// named may be anywhere. Redirects are followed once and to the same host only. Answers are bounded in size and time.
//
// It knows nothing of what is asked, and keeps nothing.
package outbound

import (
	"bytes"
	"context"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/hashicorp/go-retryablehttp"
)

// Settings say how to ask. Agent and Jitter must be set.
type Settings struct {
	Agent   string         // User-Agent: program, version and the contact of whoever runs it
	OwnHost bool           // the owner named the host himself: it may have a private address
	Roots   *x509.CertPool // nil: those of the computer
	Jitter  func() float64 // chance from 0 to 1, which keeps many farms from asking at once
	// Hopeless says that an answer will stay what it is for hours, so that asking again at once is no use; nil: none is.
	Hopeless func(status int, body []byte) bool
	Waits    Waits
}

// Waits are how long to wait and how much to take.
type Waits struct {
	Retries []time.Duration // before each further try when the service is troubled
	Slow    time.Duration   // when it is asked too often and does not say how long to wait
	Patient time.Duration   // the longest wait it may ask for within one question
	Answer  time.Duration   // for one answer
	Bytes   int64           // the largest answer, unpacked
}

// DefaultWaits are 2, 10 and 30 s, 5 s, a minute, 20 s and 10 MB. [judgement]
func DefaultWaits() Waits {
	return Waits{
		Retries: []time.Duration{2 * time.Second, 10 * time.Second, 30 * time.Second},
		Slow:    5 * time.Second, Patient: time.Minute, Answer: 20 * time.Second, Bytes: 10 << 20,
	}
}

// Why nothing was asked, or no answer taken. They are wrapped in what was being done.
var (
	ErrPlain    = errors.New("only https is asked")
	ErrAddress  = errors.New("the host has an address inside a private network")
	ErrRedirect = errors.New("the service sends on to another place")
	ErrSize     = errors.New("the answer is too large")
)

// A Client asks. It may be used by several goroutines, and has one request in flight.
type Client struct {
	set  Settings
	http *retryablehttp.Client
	one  sync.Mutex
}

// New returns a client. Panics without a name to ask under or a source of jitter.
func New(s Settings) *Client {
	if s.Agent == "" || s.Jitter == nil {
		panic("outbound: a client without a name or jitter")
	}
	c := &Client{set: s}
	c.http = retryablehttp.NewClient()
	c.http.HTTPClient = &http.Client{Transport: wholeAnswers{transport(s), s.Waits.Bytes}, CheckRedirect: redirects, Timeout: s.Waits.Answer}
	c.http.RetryMax = len(s.Waits.Retries)
	c.http.CheckRetry, c.http.Backoff = c.again, c.wait
	c.http.ErrorHandler = retryablehttp.PassthroughErrorHandler
	c.http.Logger = nil
	return c
}

// An Answer is what came, whatever its status.
type Answer struct {
	Status int
	Header http.Header
	Body   []byte
}

// Get asks for a page. An error means that there is no answer at all; what the status means is the caller's to say.
func (c *Client) Get(ctx context.Context, page string, header http.Header) (*Answer, error) {
	u, err := url.Parse(page)
	if err != nil || u.Scheme != "https" || u.Host == "" || u.User != nil {
		return nil, fmt.Errorf("ask %s: %w", shown(page), ErrPlain)
	}
	req, err := retryablehttp.NewRequestWithContext(ctx, http.MethodGet, page, nil)
	if err != nil {
		return nil, fmt.Errorf("ask %s: %w", shown(page), err)
	}
	for name, values := range header {
		req.Header[name] = values
	}
	req.Header.Set("User-Agent", c.set.Agent)
	c.one.Lock()
	defer c.one.Unlock()
	resp, err := c.http.Do(req)
	if err != nil {
		return nil, fmt.Errorf("ask %s: %w", u.Host, cause(err))
	}
	body, err := io.ReadAll(resp.Body)
	_ = resp.Body.Close() // it is in memory already
	if err != nil {
		return nil, fmt.Errorf("ask %s: %w", u.Host, err)
	}
	return &Answer{resp.StatusCode, resp.Header, body}, nil
}

// shown returns a page without what may be secret: no query, no name, no password.
func shown(page string) string {
	page, _, _ = strings.Cut(page, "?")
	if scheme, rest, ok := strings.Cut(page, "://"); ok {
		return scheme + "://" + rest[strings.LastIndexByte(rest, '@')+1:]
	}
	return page
}

// cause takes the page out of an error of the client: it stands in the message already, and its query may be secret.
func cause(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Err
	}
	return err
}

// wholeAnswers reads each answer to its end, so that one that is cut short counts as none and is asked for again.
type wholeAnswers struct {
	next http.RoundTripper
	most int64
}

// RoundTrip implements http.RoundTripper.
func (w wholeAnswers) RoundTrip(req *http.Request) (*http.Response, error) {
	resp, err := w.next.RoundTrip(req)
	if err != nil {
		return nil, err
	}
	body, err := io.ReadAll(io.LimitReader(resp.Body, w.most+1))
	_ = resp.Body.Close() // read to its end, or of no more use
	if err != nil {
		return nil, err
	}
	if int64(len(body)) > w.most {
		return nil, fmt.Errorf("%w: more than %d MB", ErrSize, w.most>>20)
	}
	resp.Body = io.NopCloser(bytes.NewReader(body))
	return resp, nil
}
