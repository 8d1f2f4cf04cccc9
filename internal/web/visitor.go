package web

import (
	"net"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"github.com/go-chi/httprate"
)

// window is what a visitor's requests are counted over.
const window = time.Minute

// visitors tells addresses apart.
type visitors struct{ header string }

// bounded lets so many requests of an address through in a minute.
func (v visitors) bounded(most int, next http.Handler) http.Handler {
	return httprate.LimitBy(most, window, v.key,
		httprate.WithLimitCounter(newTally()),
		httprate.WithLimitHandler(tooOftenPage.serve),
		httprate.WithResponseHeaders(httprate.ResponseHeaders{RetryAfter: "Retry-After"}))(next)
}

// key is whom a request is counted for: an IPv4 address, or the /64 of an IPv6 address, within which a visitor picks addresses freely.
// Requests whose address cannot be read are counted together.
func (v visitors) key(req *http.Request) (string, error) {
	if told, ok := v.told(req); ok {
		return told, nil
	}
	host, _, err := net.SplitHostPort(req.RemoteAddr)
	if err != nil {
		host = req.RemoteAddr
	}
	key, _ := block(host)
	return key, nil
}

// told is the address that the trusted header names.
func (v visitors) told(req *http.Request) (string, bool) {
	lines := req.Header.Values(v.header)
	if v.header == "" || len(lines) == 0 {
		return "", false
	}
	list := strings.Split(lines[len(lines)-1], ",")
	return block(strings.TrimSpace(list[len(list)-1]))
}

func block(address string) (string, bool) {
	ip, err := netip.ParseAddr(address)
	if err != nil {
		return "", false
	}
	if ip = ip.Unmap().WithZone(""); ip.Is4() {
		return ip.String(), true
	}
	whole, err := ip.Prefix(64)
	return whole.String(), err == nil
}
