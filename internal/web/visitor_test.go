package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/assert"
)

func TestTooManyChecksOfOneAddress(t *testing.T) {
	s := open(t, Options{Pages: 5, Files: 2, Lists: 3})
	for i := range 9 {
		got := s.get(t, "/verify/"+validID)
		if i < 5 {
			assert.Equal(t, http.StatusOK, got.StatusCode)
			continue
		}
		assert.Equal(t, http.StatusTooManyRequests, got.StatusCode)
		assert.Equal(t, "60", got.Header.Get("Retry-After"))
		assert.Equal(t, "no-store", got.Header.Get("Cache-Control"))
		assert.Contains(t, got.text, "<h1>Too many checks</h1>")
		assert.Contains(t, got.text, "says nothing about the certificate")
		for name := range got.Header {
			assert.NotContains(t, name, "X-Ratelimit")
		}
	}
	assert.Len(t, s.asked, 5, "what is too much is not looked up")
	assert.Equal(t, http.StatusTooManyRequests, s.get(t, "/verify/x").StatusCode, "guesses count too")
	for i := range 4 {
		assert.Equal(t, i < 2, s.send(t, "x").StatusCode == http.StatusOK)
	}
	for i := range 5 {
		assert.Equal(t, i < 3, s.get(t, "/status/1").StatusCode == http.StatusOK)
	}
	assert.Equal(t, http.StatusTooManyRequests, s.get(t, "/.well-known/did.json").StatusCode)
}

func TestWhomARequestIsCountedFor(t *testing.T) {
	for _, c := range []struct {
		why, header, peer string
		told              []string
		want              string
	}{
		{"an address", "", "192.0.2.1:1", nil, "192.0.2.1"},
		{"a header is a stranger's word", "", "192.0.2.1:1", []string{"203.0.113.9"}, "192.0.2.1"},
		{"unless told to trust it", "X-Real-IP", "192.0.2.1:1", []string{"203.0.113.9"}, "203.0.113.9"},
		{"the last is the proxy's", "X-Forwarded-For", "192.0.2.1:1", []string{"198.51.100.1, 203.0.113.9"}, "203.0.113.9"},
		{"in the last line", "X-Forwarded-For", "192.0.2.1:1", []string{"198.51.100.1", "198.51.100.2 ,203.0.113.9 "}, "203.0.113.9"},
		{"not an address", "X-Real-IP", "192.0.2.1:1", []string{"me"}, "192.0.2.1"},
		{"missing", "X-Real-IP", "192.0.2.1:1", nil, "192.0.2.1"},
		{"a block of IPv6", "", "[2001:db8:1:2:3:4:5:6]:1", nil, "2001:db8:1:2::/64"},
		{"the same block", "X-Real-IP", "x", []string{"2001:db8:1:2:ffff::1"}, "2001:db8:1:2::/64"},
		{"IPv4 written as IPv6", "", "[::ffff:192.0.2.1]:1", nil, "192.0.2.1"},
		{"a zone", "", "[fe80::1%eth0]:1", nil, "fe80::/64"},
		{"no address at all", "", "@", nil, ""},
	} {
		req := httptest.NewRequest(http.MethodGet, "/verify", nil)
		req.RemoteAddr = c.peer
		for _, line := range c.told {
			req.Header.Add("X-Real-IP", line)
			req.Header.Add("X-Forwarded-For", line)
		}
		got, err := visitors{c.header}.key(req)
		assert.NoError(t, err, c.why)
		assert.Equal(t, c.want, got, c.why)
	}
}

func TestAddressesBehindTheProxyAreCountedApart(t *testing.T) {
	s := open(t, Options{Pages: 1, AddressHeader: "X-Real-IP"})
	for _, address := range []string{"203.0.113.1", "203.0.113.2", "2001:db8::1"} {
		assert.Equal(t, http.StatusOK, s.get(t, "/verify", "X-Real-IP", address).StatusCode)
		assert.Equal(t, http.StatusTooManyRequests, s.get(t, "/verify", "X-Real-IP", address).StatusCode)
	}
	assert.Equal(t, http.StatusTooManyRequests, s.get(t, "/verify", "X-Real-IP", "2001:db8::2").StatusCode, "the same /64")
}

func TestATallyNeverCountsTooLittle(t *testing.T) {
	tally, at := newTally(), time.Unix(0, 0)
	tally.Config(1, window)
	seen := map[string]int{}
	for i := range 60000 {
		key := fmt.Sprint(i % 5000)
		assert.NoError(t, tally.Increment(key, at))
		seen[key]++
	}
	over := 0
	for key, n := range seen {
		got, before, err := tally.Get(key, at, at.Add(-window))
		assert.NoError(t, err)
		assert.Zero(t, before)
		assert.GreaterOrEqual(t, got, n)
		if got > n {
			over++
		}
	}
	// In a row, 4,999 others leave a place free with probability exp(-0.61) = 0.54; all four are taken for 0.044 of the addresses, some 220 of 5,000.
	assert.Less(t, over, 600)
}

func TestATallyForgetsAfterTwoWindows(t *testing.T) {
	tally, at := newTally(), time.Unix(0, 0)
	tally.Config(1, window)
	assert.NoError(t, tally.IncrementBy("a", at, 3))
	for i, want := range [][2]int{{3, 0}, {0, 3}, {0, 0}} {
		now, before, err := tally.Get("a", at.Add(time.Duration(i)*window), time.Time{})
		assert.NoError(t, err)
		assert.Equal(t, want, [2]int{now, before}, i)
	}
	assert.NoError(t, tally.IncrementBy("a", at, 3), "a clock set back begins anew")
	now, before, err := tally.Get("a", at.Add(5*window), time.Time{})
	assert.NoError(t, err)
	assert.Zero(t, now+before, "after a silence")
}

func TestATallyIsBounded(t *testing.T) {
	assert.LessOrEqual(t, unsafe.Sizeof(tally{}), uintptr(300<<10), "two windows, however many addresses ask")
}
