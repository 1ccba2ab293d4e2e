package outbound

import (
	"crypto/tls"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"syscall"
	"time"
)

// transport returns what makes the connections: no proxy, HTTP/1.1, and each address looked at when it is dialled,
// after its name was resolved, so that a second answer of the name service cannot slip through.
func transport(s Settings) http.RoundTripper {
	dialer := &net.Dialer{Timeout: s.Waits.Answer}
	if !s.OwnHost {
		dialer.Control = publicOnly
	}
	return &http.Transport{
		DialContext:           dialer.DialContext,
		TLSClientConfig:       &tls.Config{RootCAs: s.Roots, MinVersion: tls.VersionTLS12},
		TLSHandshakeTimeout:   s.Waits.Answer,
		ResponseHeaderTimeout: s.Waits.Answer,
		IdleConnTimeout:       time.Minute,
		MaxIdleConns:          2,
	}
}

// publicOnly refuses to dial what is not an address of the public network.
func publicOnly(_, address string, _ syscall.RawConn) error {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return fmt.Errorf("%w: %s", ErrAddress, address)
	}
	if ip, err := netip.ParseAddr(host); err != nil || !public(ip) {
		return fmt.Errorf("%w: %s", ErrAddress, host)
	}
	return nil
}

// Networks besides those the library knows as private: shared by a carrier's customers (RFC 6598), "this network"
// (RFC 791), benchmarks (RFC 2544), and IPv4 inside IPv6 by translation (RFC 6052), all from memory.
var reserved = []netip.Prefix{
	netip.MustParsePrefix("100.64.0.0/10"), netip.MustParsePrefix("0.0.0.0/8"), netip.MustParsePrefix("198.18.0.0/15"),
	netip.MustParsePrefix("240.0.0.0/4"), netip.MustParsePrefix("64:ff9b::/96"),
}

func public(ip netip.Addr) bool {
	ip = ip.Unmap()
	if !ip.IsGlobalUnicast() || ip.IsPrivate() {
		return false // also loopback, link-local, multicast and the unspecified address
	}
	for _, net := range reserved {
		if net.Contains(ip) {
			return false
		}
	}
	return true
}

// redirects follows one redirect, to the same host over HTTPS.
func redirects(req *http.Request, via []*http.Request) error {
	if len(via) > 1 || req.URL.Scheme != "https" || req.URL.Host != via[0].URL.Host || req.URL.User != nil {
		return fmt.Errorf("%w: %s", ErrRedirect, shown(req.URL.String()))
	}
	return nil
}
