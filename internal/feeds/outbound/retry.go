package outbound

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"time"
)

// again says whether to ask once more: after a connection that failed, an answer cut short, a troubled server, or a
// request to slow down that does not ask for more patience than one question has.
func (c *Client) again(ctx context.Context, resp *http.Response, err error) (bool, error) {
	if ctx.Err() != nil {
		return false, ctx.Err()
	}
	if err != nil {
		return !settled(err), nil
	}
	switch {
	case SlowDown(resp.StatusCode, resp.Header):
	case resp.StatusCode == http.StatusInternalServerError, resp.StatusCode == http.StatusBadGateway,
		resp.StatusCode == http.StatusServiceUnavailable, resp.StatusCode == http.StatusGatewayTimeout:
		if c.set.Hopeless != nil && c.set.Hopeless(resp.StatusCode, bodyOf(resp)) {
			return false, nil
		}
	default:
		return false, nil
	}
	asked, ok := RetryAfter(resp.Header)
	return !ok || asked <= c.set.Waits.Patient, nil
}

// settled reports errors that another try would meet again. Where no connection can be made at all, as out in the field, the
// answer that there is none is wanted at once.
func settled(err error) bool {
	var cert *tls.CertificateVerificationError
	var op *net.OpError
	if errors.As(err, &op) && op.Op == "dial" {
		return true
	}
	return errors.Is(err, ErrAddress) || errors.Is(err, ErrRedirect) || errors.Is(err, ErrSize) || errors.As(err, &cert)
}

// SlowDown reports whether an answer means that the service is asked too often: it says so, or something in front of
// it refuses in a form that is not the service's own.
func SlowDown(status int, header http.Header) bool {
	return status == http.StatusTooManyRequests ||
		status == http.StatusForbidden && !strings.Contains(header.Get("Content-Type"), "json")
}

// bodyOf returns the body of an answer, which stays to be read.
func bodyOf(resp *http.Response) []byte {
	body, _ := io.ReadAll(resp.Body) // from memory, see wholeAnswers
	resp.Body = io.NopCloser(bytes.NewReader(body))
	return body
}

// spread is how far a wait is moved by chance, as a share of it. [judgement]
const spread = 0.3

// wait returns how long to wait before try n+1, n from 0: as long as the service asks for, else by the table, moved by
// chance.
func (c *Client) wait(_, _ time.Duration, n int, resp *http.Response) time.Duration {
	w := c.set.Waits
	base := w.Retries[min(n, len(w.Retries)-1)]
	if resp != nil {
		if asked, ok := RetryAfter(resp.Header); ok {
			return asked
		}
		if n == 0 && SlowDown(resp.StatusCode, resp.Header) {
			base = w.Slow
		}
	}
	return time.Duration(float64(base) * (1 + spread*(2*c.set.Jitter()-1)))
}

// RetryAfter returns how long a service asks to be left alone, in the form of seconds or as a time against its own
// Date. ok is false where it does not say, or says what cannot be read.
func RetryAfter(header http.Header) (time.Duration, bool) {
	text := header.Get("Retry-After")
	if seconds, err := strconv.ParseUint(text, 10, 31); err == nil {
		return time.Duration(seconds) * time.Second, true
	}
	at, err := http.ParseTime(text)
	if err != nil {
		return 0, false
	}
	now, err := http.ParseTime(header.Get("Date"))
	if err != nil {
		return 0, false
	}
	return max(0, at.Sub(now)), true
}
