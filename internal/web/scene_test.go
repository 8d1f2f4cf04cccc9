package web

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
)

// Ids of the certificates that the desk of the tests knows.
const (
	validID     = "7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60"
	lapsedID    = "0e1f2a3b-4c5d-4e6f-8a7b-9c0d1e2f3a4b"
	replacedID  = "11111111-2222-4333-8444-555555555555"
	withdrawnID = "deadbeef-0000-4000-8000-00000000000f"
	strangeID   = "99999999-9999-4999-8999-999999999999" // never issued
	brokenID    = "bbbbbbbb-bbbb-4bbb-8bbb-bbbbbbbbbbbb" // its record cannot be read
	panicID     = "cccccccc-cccc-4ccc-8ccc-cccccccccccc" // reading it panics
)

// What the person's own file says and no page without the file may.
const (
	plantedPerson   = "Planted Personsdottir"
	plantedAssessor = "Assessor Plantedson"
	plantedRole     = "planted second rescuer"
	plantedOutcome  = "Completed-planted"
)

// desk answers from what the test put on it.
type desk struct {
	looked map[string]certificate.Looked
	inside map[string]certificate.Inside // by the content of the file
	asked  []string                      // ids, in turn
	seen   int                           // bytes of the last file
	mu     sync.Mutex
}

func (d *desk) Look(_ context.Context, id string) (certificate.Looked, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.asked = append(d.asked, id)
	switch found, known := d.looked[id]; {
	case id == brokenID:
		return certificate.Looked{}, errors.New("the row of " + id + " cannot be read")
	case id == panicID:
		panic("fell over " + plantedPerson)
	case known:
		return found, nil
	}
	return certificate.Looked{State: certificate.NotKnown}, nil
}

func (d *desk) LookInside(_ context.Context, file []byte) (certificate.Inside, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.seen = len(file)
	if found, known := d.inside[string(file)]; known {
		return found, nil
	}
	return certificate.Inside{Problem: "NOT_A_CREDENTIAL"}, nil
}

func (d *desk) StatusList(_ context.Context, n int) ([]byte, error) {
	switch n {
	case 1:
		return []byte(`{"list":1}`), nil
	case 2:
		return nil, errors.New("the records cannot be read")
	}
	return nil, &groundhand.Error{Code: groundhand.CodeNotFound, Message: "There is no such list."}
}

func (d *desk) Document(context.Context) ([]byte, error) {
	return []byte(`{"id":"did:web:x.example"}`), nil
}

func looked(state certificate.State) certificate.Looked {
	found := certificate.Looked{State: state, Number: "GH-2026-0042", Training: "Bucket rescue, two on the ground, block-and-tackle kit", Issuer: "Larkspur Ridge Line Services (invented)",
		Fingerprint: "1a2b 3c4d 5e6f 7a8b", KeyID: "z6MksabQUwScavNEMofbE5kUKfJRHwrhbA4Vr26fkQwXQ5So", IssuedOn: groundhand.MustDate("2026-05-14"), GoodThrough: groundhand.MustDate("2027-05-14")}
	if state == certificate.Replaced || state == certificate.Withdrawn {
		found.Since = groundhand.MustDate("2026-06-03")
	}
	return found
}

func signed() credential.Found {
	at := time.Date(2026, 5, 14, 0, 0, 0, 0, time.FixedZone("", -6*3600))
	return credential.Found{KeyID: "z6MksabQUwScavNEMofbE5kUKfJRHwrhbA4Vr26fkQwXQ5So", Credential: credential.Credential{ID: "urn:uuid:" + validID, IssuerID: "did:web:x.example",
		IssuerURL: "https://x.example/", IssuerName: "Larkspur Ridge Line Services (invented)", Person: plantedPerson, Number: "GH-2026-0042", Role: plantedRole, Assessor: plantedAssessor, Outcome: plantedOutcome,
		ValidFrom: at.Add(21 * time.Hour), ValidUntil: time.Date(2027, 5, 14, 23, 59, 59, 0, at.Location()), ShownFrom: at, ShownThrough: at.Add(24*time.Hour - time.Second),
		Achievement: credential.Achievement{Name: "Bucket rescue, two on the ground, block-and-tackle kit", Code: "PAIR_KIT", Version: "RS-2026",
			Alignment: []credential.Alignment{{Name: "A rule", Framework: "A framework", Code: "1.2", URL: "https://x.example/rule"}},
			Criteria:  "Role practised: " + plantedRole + "\nRescue method: by block and tackle\nHow shown: practical assessment passed", Description: "Rule set: RS-2026\nCaution: no licence"}}}
}

func newDesk() *desk {
	d := &desk{looked: map[string]certificate.Looked{validID: looked(certificate.Valid), lapsedID: looked(certificate.NoLongerCurrent), replacedID: looked(certificate.Replaced), withdrawnID: looked(certificate.Withdrawn)}, inside: map[string]certificate.Inside{}}
	for _, state := range []certificate.State{certificate.Valid, certificate.NoLongerCurrent, certificate.Replaced, certificate.Withdrawn, certificate.NotKnown} {
		d.inside[`{"state":"`+string(state)+`"}`] = certificate.Inside{Looked: looked(state), Signed: signed()}
	}
	for problem := range problemWords {
		d.inside[`{"problem":"`+problem+`"}`] = certificate.Inside{Problem: problem, Signed: signed(), Looked: looked(certificate.Valid)}
	}
	return d
}

// site is the public check on a real listener of this machine.
type site struct {
	*desk
	address string
	log     *ink
}

// ink is what was logged.
type ink struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (i *ink) Write(b []byte) (int, error) {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.b.Write(b)
}

func (i *ink) String() string {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.b.String()
}

// manyChecks lets a test ask as often as it wants.
var manyChecks = Options{Pages: 1 << 20, Files: 1 << 20, Lists: 1 << 20}

func open(t testing.TB, o Options, change ...func(*http.Server)) site {
	t.Helper()
	s := site{desk: newDesk(), log: &ink{}}
	log := newLog(s.log)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	server := Server(New(s.desk, log, o), log)
	for _, f := range change {
		f(server)
	}
	done := make(chan error, 1)
	go func() { done <- server.Serve(listener) }()
	t.Cleanup(func() {
		require.NoError(t, server.Close())
		require.ErrorIs(t, <-done, http.ErrServerClosed)
	})
	s.address = listener.Addr().String()
	return s
}

// answer is a reply read whole.
type answer struct {
	*http.Response
	text string
}

// client follows nothing and gives up long after any bound of the tests.
var client = &http.Client{Timeout: time.Minute, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}

func (s site) ask(t testing.TB, method, path string, body io.Reader, headers ...string) answer {
	t.Helper()
	req, err := http.NewRequest(method, "http://"+s.address+path, body)
	require.NoError(t, err)
	for i := 0; i < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	res, err := client.Do(req)
	require.NoError(t, err)
	defer func() { require.NoError(t, res.Body.Close()) }()
	text, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return answer{res, string(text)}
}

func (s site) get(t testing.TB, path string, headers ...string) answer {
	t.Helper()
	return s.ask(t, http.MethodGet, path, nil, headers...)
}

func (s site) send(t testing.TB, file string) answer {
	t.Helper()
	return s.ask(t, http.MethodPost, "/verify", strings.NewReader(file), "Content-Type", "application/json")
}

// raw sends bytes as they are and reads until the other side ends.
func (s site) raw(t testing.TB, sent string) string {
	t.Helper()
	conn, err := net.Dial("tcp", s.address)
	require.NoError(t, err)
	defer func() { _ = conn.Close() }()
	require.NoError(t, conn.SetDeadline(time.Now().Add(time.Minute)))
	_, err = io.WriteString(conn, sent)
	require.NoError(t, err)
	got, _ := io.ReadAll(conn) // a reset after the answer is an end too
	return string(got)
}

func newLog(to io.Writer) *slog.Logger { return slog.New(slog.NewTextHandler(to, nil)) }
