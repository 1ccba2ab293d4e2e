package web

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"strconv"
	"syscall"
	"time"

	"threshday/internal/app"
	"threshday/internal/core/problem"
)

// Address returns the address to listen on, or says why it is none: this program answers the computer it runs on and nobody
// else until it can answer others by HTTPS.
func Address(text string) (netip.AddrPort, error) {
	host, port, err := net.SplitHostPort(text)
	bad := func(want, next string) (netip.AddrPort, error) {
		return netip.AddrPort{}, &problem.InputError{Rule: "serve.listen", Label: "--listen", Got: text, Want: want, Next: next}
	}
	if err != nil {
		return bad("an address with its port, as 127.0.0.1:7080", "")
	}
	n, err := strconv.ParseUint(port, 10, 16)
	if err != nil {
		return bad("a port of 0 to 65535, as 127.0.0.1:7080; 0 takes one that is free", "")
	}
	if host == "localhost" {
		host = "127.0.0.1"
	}
	ip, err := netip.ParseAddr(host)
	if err != nil || !ip.IsLoopback() {
		return bad("an address of this computer to itself, as 127.0.0.1:7080",
			"Other computers and phones would send and get your farm's books unencrypted, and anybody on the network could write in them; they come with HTTPS.")
	}
	return netip.AddrPortFrom(ip, uint16(n)), nil
}

// Listen takes the address, or says who else has it.
func Listen(ctx context.Context, at netip.AddrPort) (net.Listener, error) {
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", at.String())
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, &app.Trouble{Rule: "serve.busy", Say: fmt.Sprintf("Another program listens on %s already.", at), Next: "If it is threshday, open its page; else name another port with --listen 127.0.0.1:7081."}
	case err != nil:
		return nil, &app.Trouble{Rule: "serve.listen", Say: fmt.Sprintf("%s cannot be listened on: %v.", at, err), Next: "Name another with --listen."}
	}
	return l, nil
}

// Times after which a client that does not go on is let go.
const (
	headerTime   = 5 * time.Second
	bodyTime     = 20 * time.Second
	idleTime     = 2 * time.Minute
	mostHeader   = 32 << 10
	shutdownTime = 10 * time.Second
)

// Run answers requests on l until ctx ends, then finishes what it has begun.
func (s *Server) Run(ctx context.Context, l net.Listener) error {
	var only http.Protocols
	only.SetHTTP1(true)
	srv := &http.Server{
		Handler: s.Handler(), Protocols: &only, ReadHeaderTimeout: headerTime, ReadTimeout: bodyTime, WriteTimeout: 2 * bodyTime, IdleTimeout: idleTime, MaxHeaderBytes: mostHeader,
		ErrorLog: slog.NewLogLogger(s.set.Log.Handler(), slog.LevelWarn),
	}
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(l) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	last, stop := context.WithTimeout(context.WithoutCancel(ctx), shutdownTime)
	defer stop()
	err := srv.Shutdown(last)
	s.Wait()
	return err
}
