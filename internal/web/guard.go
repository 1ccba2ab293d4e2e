package web

import (
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"strings"
	"time"
)

// csp lets a page run the program's own files and nothing else, and be shown in no other page.
const csp = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data:; object-src 'none'; " +
	"base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// guarding refuses what does not come to this computer by its own name, and says to the browser what pages may do. A page of
// another site that has its name point here names that site as the host, and is refused.
func (s *Server) guarding(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", csp)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()")
		switch {
		case r.Method == http.MethodConnect:
			s.write(w, r, &refusal{http.StatusMethodNotAllowed, "method", "This is no proxy.", ""})
		case !ownHost(r.Host):
			s.write(w, r, &refusal{
				http.StatusForbidden, "host", fmt.Sprintf("%q is not a name of this computer to itself.", shortened(r.Host)),
				"Open the address that threshday serve prints; other computers come once they can be answered by HTTPS.",
			})
		default:
			next.ServeHTTP(w, r)
		}
	})
}

// ownHost reports whether host names this computer to itself.
func ownHost(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	if strings.EqualFold(name, "localhost") {
		return true
	}
	a, err := netip.ParseAddr(strings.Trim(name, "[]"))
	return err == nil && a.IsLoopback()
}

// shortened bounds what is repeated of a stranger's text.
func shortened(s string) string {
	if len(s) > 60 {
		return s[:60] + "…"
	}
	return s
}

// recovering turns a bug into an answer: something broke, nothing was saved, and the number under which the log has it.
func (s *Server) recovering(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			bug := recover()
			if bug == nil {
				return
			}
			if bug == http.ErrAbortHandler { //nolint:errorlint // the value itself is what net/http asks for
				panic(bug)
			}
			number := incident()
			s.set.Log.Error("a request broke", "incident", number, "path", r.URL.Path, "bug", fmt.Sprint(bug), "stack", string(debug.Stack()))
			s.broken(w, number)
		}()
		next.ServeHTTP(w, r)
	})
}

func incident() string {
	var b [6]byte
	_, _ = rand.Read(b[:]) // never fails; the documentation promises it
	return hex.EncodeToString(b[:])
}

// logging writes one line for each request that changes something, fails or is slow; no values that people entered.
func (s *Server) logging(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := time.Now()
		seen := &seenWriter{ResponseWriter: w, status: http.StatusOK}
		next.ServeHTTP(seen, r)
		if took := time.Since(began); seen.status >= http.StatusBadRequest || r.Method != http.MethodGet || took > time.Second {
			s.set.Log.Info("answered", "method", r.Method, "path", shortened(r.URL.Path), "status", seen.status, "ms", took.Milliseconds())
		}
	})
}

// A seenWriter remembers the status that was answered.
type seenWriter struct {
	http.ResponseWriter
	status int
	begun  bool
}

func (w *seenWriter) WriteHeader(status int) {
	if !w.begun {
		w.status, w.begun = status, true
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *seenWriter) Write(b []byte) (int, error) {
	w.begun = true
	return w.ResponseWriter.Write(b)
}
