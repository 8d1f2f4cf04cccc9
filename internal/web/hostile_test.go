package web

import (
	"fmt"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOtherMethodsAreRefusedAlikeForEveryID(t *testing.T) {
	s := open(t, manyChecks)
	for _, method := range []string{"POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "get", "HEADX"} {
		known, strange := s.raw(t, request(method, "/verify/"+validID)), s.raw(t, request(method, "/verify/x"))
		assert.True(t, strings.HasPrefix(known, "HTTP/1.1 405 "), method)
		assert.Contains(t, known, "\r\nAllow: GET, HEAD\r\n", method)
		assert.Equal(t, undated(strange), undated(known), method)
	}
	for path, allowed := range map[string]string{"/verify": "GET, HEAD, POST", "/verify/page.css": "GET, HEAD", "/status/1": "GET, HEAD", "/.well-known/did.json": "GET, HEAD"} {
		got := s.ask(t, http.MethodDelete, path, nil)
		assert.Equal(t, http.StatusMethodNotAllowed, got.StatusCode, path)
		assert.Equal(t, allowed, got.Header.Get("Allow"), path)
	}
	assert.Empty(t, s.asked)
	assert.Equal(t, http.StatusMethodNotAllowed, s.ask(t, http.MethodPost, "/verify/"+validID, nil, "X-HTTP-Method-Override", "GET").StatusCode)
}

func request(method, path string) string {
	return method + " " + path + " HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"
}

// undated is a reply without the moment it was given.
func undated(reply string) string {
	before, rest, _ := strings.Cut(reply, "\r\nDate: ")
	_, after, _ := strings.Cut(rest, "\r\n")
	return before + after
}

func TestRequestsOfAnOddFormAreNotKnown(t *testing.T) {
	s := open(t, manyChecks)
	want := undated(s.raw(t, request("GET", "/verify/x")))
	for _, target := range []string{"/verify/" + validID + "%00", "/verify/" + validID + "%0d%0aSet-Cookie:%20a=b", "/verify/%2e%2e/status/1", "/verify/..%2f..%2fetc/passwd", "/verify/" + validID + ";a=b", "/verify/" + validID + "%20",
		"/verify/%C0%AF", "/verify\\" + validID, "/verify/" + strings.Repeat("%41", 500), "/./verify", "/verify/../verify", "/status/1%2f", "/status/../status/1", "/status/1;x", "/.well-known/did.json%00", "/.well-known//did.json"} {
		assert.Equal(t, want, undated(s.raw(t, request("GET", target))), target)
	}
	assert.True(t, strings.HasPrefix(s.raw(t, request("OPTIONS", "*")), "HTTP/1.1 404 "))
	assert.Contains(t, s.raw(t, request("GET", "http://elsewhere.example/verify/"+validID)), "<h1>Valid</h1>", "an absolute address is one of HTTP")
	assert.Empty(t, strings.TrimSpace(strings.Join(without(s.asked, validID), "")))
}

func without(ids []string, id string) (rest []string) {
	for _, asked := range ids {
		if asked != id {
			rest = append(rest, asked)
		}
	}
	return rest
}

func TestBrokenRequestsGetAnAnswerAndNoMore(t *testing.T) {
	s := open(t, manyChecks)
	for name, sent := range map[string]string{
		"no request":       "\r\n\r\n\r\n",
		"garbage":          "\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n",
		"control in path":  "GET /verify/\x01 HTTP/1.1\r\nHost: x\r\n\r\n",
		"two lengths":      "POST /verify HTTP/1.1\r\nHost: x\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\nab",
		"length and chunk": "POST /verify HTTP/1.1\r\nHost: x\r\nContent-Length: -1\r\n\r\nab",
		"bad header":       "GET /verify HTTP/1.1\r\nHost: x\r\nA B: c\r\n\r\n",
		"no host":          "GET /verify HTTP/1.1\r\n\r\n",
		"large header":     "GET /verify HTTP/1.1\r\nHost: x\r\nA: " + strings.Repeat("a", 3*headerBytes) + "\r\n\r\n",
		"long target":      "GET /verify/" + strings.Repeat("a", 3*headerBytes) + " HTTP/1.1\r\nHost: x\r\n\r\n",
	} {
		got := s.raw(t, sent)
		assert.Regexp(t, `^HTTP/1\.[01] 4\d\d `, got, name)
		assert.NotContains(t, got, "<h1>Valid", name)
	}
	assert.Equal(t, http.StatusOK, s.get(t, "/verify").StatusCode, "and goes on")
	assert.NotContains(t, s.log.String(), "127.0.0.1")
}

func TestNothingOfARequestComesBackInAHeader(t *testing.T) {
	s := open(t, manyChecks)
	got := s.get(t, "/verify/"+validID+"?a=planted%0d%0aX-Planted:%20b", "X-Forwarded-Host", "planted.example", "Origin", "https://planted.example", "Referer", "https://planted.example", "Cookie", "planted=1")
	for name, values := range got.Header {
		assert.NotContains(t, strings.ToLower(name+strings.Join(values, "")), "planted")
	}
	assert.NotContains(t, got.text, "planted")
}

// A body that does not come is waited for no longer than the server's bound, which the test makes short.
func TestASlowBodyIsGivenUp(t *testing.T) {
	s := open(t, manyChecks, func(server *http.Server) { server.ReadTimeout = 100 * time.Millisecond })
	got := s.raw(t, "POST /verify HTTP/1.1\r\nHost: x\r\nContent-Type: application/pdf\r\nContent-Length: 1000\r\n\r\n%PDF-")
	assert.True(t, strings.HasPrefix(got, "HTTP/1.1 408 "), "%.60s", got)
	assert.Contains(t, got, "The file took too long")
	got = s.raw(t, "POST /verify HTTP/1.1\r\nHost: x\r\nContent-Type: multipart/form-data; boundary=b\r\nContent-Length: 1000\r\n\r\n--b\r\nContent-Disposition: form-data; name=\"file\"\r\n\r\nab")
	assert.True(t, strings.HasPrefix(got, "HTTP/1.1 408 "), "%.60s", got)
	assert.Contains(t, got, "\r\nConnection: close\r\n")
	assert.Zero(t, s.seen)
}

func TestASlowHeaderIsGivenUp(t *testing.T) {
	s := open(t, manyChecks, func(server *http.Server) { server.ReadHeaderTimeout = 100 * time.Millisecond })
	assert.NotContains(t, s.raw(t, "GET /verify HTTP/1.1\r\nHost: x\r\nA:"), "200")
}

func TestTheServerHasEveryBound(t *testing.T) {
	server := Server(http.NotFoundHandler(), newLog(&ink{}))
	for name, bound := range map[string]time.Duration{"header": server.ReadHeaderTimeout, "body": server.ReadTimeout, "reply": server.WriteTimeout, "idle": server.IdleTimeout} {
		assert.Positive(t, bound, name)
		assert.LessOrEqual(t, bound, time.Minute, name)
	}
	assert.GreaterOrEqual(t, server.WriteTimeout, server.ReadTimeout+longestCheck, "a file that came late is still answered")
	assert.Equal(t, headerBytes, server.MaxHeaderBytes)
}

// More files at once than there is room for are turned away, not queued.
func TestFilesUnderWayAreBounded(t *testing.T) {
	o := manyChecks
	o.Reading = 2
	s := open(t, o)
	var waiting []net.Conn
	for range o.Reading {
		conn, err := net.Dial("tcp", s.address)
		require.NoError(t, err)
		defer func() { _ = conn.Close() }()
		_, err = fmt.Fprint(conn, "POST /verify HTTP/1.1\r\nHost: x\r\nContent-Type: application/pdf\r\nContent-Length: 2\r\nExpect: 100-continue\r\n\r\n")
		require.NoError(t, err)
		said := make([]byte, len("HTTP/1.1 100"))
		_, err = conn.Read(said) // it is being read now
		require.NoError(t, err)
		require.Equal(t, "HTTP/1.1 100", string(said))
		waiting = append(waiting, conn)
	}
	got := s.send(t, `{"state":"VALID"}`)
	assert.Equal(t, http.StatusServiceUnavailable, got.StatusCode)
	assert.Contains(t, got.text, "Too many files at once")
	assert.Equal(t, http.StatusOK, s.get(t, "/verify/"+validID).StatusCode, "looking up goes on")
	for _, conn := range waiting {
		_, err := fmt.Fprint(conn, "{}")
		require.NoError(t, err)
	}
}
