package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTheLogKnowsAHashOfTheIDAndNobody(t *testing.T) {
	s := open(t, manyChecks)
	for id := range lookable {
		s.get(t, "/verify/"+id)
	}
	s.get(t, "/verify/"+strangeID)
	s.get(t, "/verify/Planted-Personsdottir")
	s.get(t, "/verify/"+brokenID, "User-Agent", "planted-agent", "X-Forwarded-For", "203.0.113.77")
	s.get(t, "/verify/"+panicID)
	s.send(t, `{"state":"VALID"}`)
	s.send(t, `{"problem":"CHANGED"}`)
	s.send(t, "planted words")
	log := s.log.String()
	for _, id := range []string{validID, lapsedID, replacedID, withdrawnID, strangeID, brokenID, panicID} {
		assert.NotContains(t, log, id)
		if id != panicID {
			sum := sha256.Sum256([]byte(id))
			assert.Contains(t, log, hex.EncodeToString(sum[:8]), id)
		}
	}
	for _, planted := range []string{"lanted", "127.0.0.1", "203.0.113.77", "GH-2026", "Larkspur"} {
		assert.NotContains(t, log, planted)
	}
	assert.Contains(t, log, "a public page panicked")
}

func TestNobodyWhoFetchesAListIsLogged(t *testing.T) {
	s := open(t, manyChecks)
	s.get(t, "/status/1")
	s.get(t, "/.well-known/did.json")
	s.get(t, "/status/7")
	s.get(t, "/verify")
	s.get(t, "/anything/else")
	assert.Empty(t, s.log.String())
}

func TestTheServerKeepsAddressesOutOfTheLog(t *testing.T) {
	var b strings.Builder
	log := newLog(&b)
	server := Server(http.NotFoundHandler(), log)
	server.ErrorLog.Print("http: TLS handshake error from 203.0.113.77:443: EOF")
	server.ErrorLog.Print("http: panic serving 203.0.113.77:443: x")
	assert.Empty(t, b.String())
	server.ErrorLog.Print("http: Accept error: too many open files; retrying in 5ms")
	assert.Contains(t, b.String(), "too many open files")
}

// Whoever has an address and no file learns nothing of the person, from no page, header or log.
func TestNoPageWithoutTheFileKnowsThePerson(t *testing.T) {
	s := open(t, manyChecks)
	s.send(t, `{"state":"VALID"}`) // somebody with the file was here before
	paths := []string{"/verify", "/verify/page.css", "/status/1", "/status/2", "/.well-known/did.json", "/", "/verify/" + strangeID, "/verify/" + brokenID, "/verify/" + panicID}
	for id := range lookable {
		paths = append(paths, "/verify/"+id)
	}
	var all strings.Builder
	for _, path := range paths {
		for _, method := range []string{"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "PROPFIND"} {
			got := s.ask(t, method, path, nil, "Accept", "application/json")
			all.WriteString(got.text)
			assert.NoError(t, got.Header.Write(&all))
		}
	}
	for problem := range problemWords {
		all.WriteString(s.send(t, `{"problem":"`+problem+`"}`).text)
	}
	all.WriteString(s.log.String())
	for _, planted := range []string{plantedPerson, plantedAssessor, plantedRole, plantedOutcome, "lanted"} {
		assert.NotContains(t, all.String(), planted)
	}
	assert.Contains(t, s.send(t, `{"state":"VALID"}`).text, plantedPerson, "who has the file sees what was signed")
}

func TestAVisitorWhoHasLeftIsNoFault(t *testing.T) {
	log := &ink{}
	handler := New(newDesk(), newLog(log), manyChecks)
	ctx, leave := context.WithCancel(context.Background())
	leave()
	handler.ServeHTTP(httptest.NewRecorder(), httptest.NewRequestWithContext(ctx, http.MethodGet, "/verify/"+brokenID, nil))
	assert.Empty(t, log.String())
	handler.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest(http.MethodGet, "/verify/"+brokenID, nil))
	assert.Contains(t, log.String(), "could not be looked up")
}
