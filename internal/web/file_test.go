package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/textproto"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
)

// formOf is a form with one part of each name.
func formOf(t testing.TB, file string, names ...string) (*bytes.Buffer, string) {
	t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	for _, name := range names {
		part, err := form.CreateFormFile(name, "../../etc/"+name+".pdf")
		require.NoError(t, err)
		_, err = part.Write([]byte(file))
		require.NoError(t, err)
	}
	require.NoError(t, form.Close())
	return &b, form.FormDataContentType()
}

func TestAFileShowsWhatWasSigned(t *testing.T) {
	s := open(t, manyChecks)
	got := s.send(t, `{"state":"VALID"}`)
	require.Equal(t, http.StatusOK, got.StatusCode)
	for _, fact := range []string{"<h1>Valid</h1>", "<dt>Name</dt><dd>" + plantedPerson, "<dt>Training</dt><dd>Bucket rescue, two on the ground", "<dt>Certificate number</dt><dd>GH-2026-0042",
		"<dt>Issued by</dt><dd>Larkspur", "<dt>Issuer id</dt><dd>did:web:x.example", "<dt>Shown on</dt><dd>Thu 14 May 2026</dd>", "<dt>Issued on</dt><dd>Thu 14 May 2026", "<dt>Current until the end of</dt><dd>Fri 14 May 2027", "<dt>Address of the issuer</dt><dd>https://x.example/", "<dd>A framework 1.2 A rule https://x.example/rule",
		"<dt>Role practised</dt><dd>" + plantedRole, "<dt>Outcome</dt><dd>" + plantedOutcome, "<dt>Assessor</dt><dd>" + plantedAssessor, "<dt>Rescue method</dt><dd>by block and tackle",
		"<dt>How shown</dt><dd>practical assessment passed", "<dt>Caution</dt><dd>no licence", "a page can be altered without touching the file in it"} {
		assert.Contains(t, got.text, fact)
	}
	assert.Equal(t, 1, strings.Count(got.text, "<dt>Role practised</dt><dd>"+plantedRole), "what is said twice is shown once")
}

func TestAFileTellsTheStateToo(t *testing.T) {
	s := open(t, manyChecks)
	for _, state := range []certificate.State{certificate.Valid, certificate.NoLongerCurrent, certificate.Replaced, certificate.Withdrawn} {
		got := s.send(t, `{"state":"`+string(state)+`"}`)
		assert.Contains(t, got.text, "<h1>"+stateWords[state].Word+"</h1>")
		assert.Contains(t, got.text, stateWords[state].Do)
	}
	stranger := s.send(t, `{"state":"NOT_KNOWN"}`)
	assert.Contains(t, stranger.text, "<h1>Not on record</h1>", "signed, but nobody issued it")
	assert.NotContains(t, stranger.text, plantedPerson)
}

func TestWhatIsWrongWithAFileIsTold(t *testing.T) {
	s := open(t, manyChecks)
	for problem, said := range problemWords {
		got := s.send(t, `{"problem":"`+problem+`"}`)
		assert.Equal(t, http.StatusOK, got.StatusCode, problem)
		assert.Contains(t, got.text, "<h1>"+said.Word+"</h1>", problem)
		assert.NotContains(t, got.text, plantedPerson, "words whose signature does not hold are not repeated: %s", problem)
		assert.NotContains(t, got.text, "<h1>Valid</h1>", problem)
		assert.NotContains(t, got.text, problem, "a code is no word for people")
	}
	changed := s.send(t, `{"problem":"CHANGED"}`)
	assert.Contains(t, changed.text, "What was issued under the id in this file")
	assert.Contains(t, changed.text, "<dt>Certificate number</dt><dd>GH-2026-0042")
	s.inside["lone"] = certificate.Inside{Problem: "CHANGED", Looked: certificate.Looked{State: certificate.NotKnown}}
	assert.NotContains(t, s.send(t, "lone").text, "What was issued")
	foreign := s.send(t, `{"problem":"FOREIGN"}`)
	assert.Contains(t, foreign.text, "Not issued here")
	assert.Contains(t, foreign.text, "general verifier")
	s.inside["new"] = certificate.Inside{Problem: "SOMETHING_NEW", Signed: signed()}
	assert.Contains(t, s.send(t, "new").text, "<h1>Cannot be checked</h1>")
}

func TestAFileComesAsAFormOrAsItIs(t *testing.T) {
	s := open(t, manyChecks)
	const file = `{"state":"REPLACED"}`
	body, kind := formOf(t, file, "file")
	want := s.ask(t, http.MethodPost, "/verify", body, "Content-Type", kind)
	require.Contains(t, want.text, "<h1>Replaced</h1>")
	for _, kind := range []string{"", "application/json", "application/json; charset=utf-8", "application/pdf", "application/octet-stream", "application/ld+json", "application/vc", "Application/JSON"} {
		assert.Equal(t, want.text, s.ask(t, http.MethodPost, "/verify", strings.NewReader(file), "Content-Type", kind).text, kind)
	}
}

func TestTheLargestFileIsReadAndALargerIsNot(t *testing.T) {
	s := open(t, manyChecks)
	body, kind := formOf(t, strings.Repeat("x", largestFile), "file")
	assert.Equal(t, http.StatusOK, s.ask(t, http.MethodPost, "/verify", body, "Content-Type", kind).StatusCode)
	assert.Equal(t, largestFile, s.seen)
	body, kind = formOf(t, strings.Repeat("x", largestFile+1), "file")
	s.seen = 0
	for _, res := range []answer{
		s.ask(t, http.MethodPost, "/verify", body, "Content-Type", kind),
		s.ask(t, http.MethodPost, "/verify", strings.NewReader(strings.Repeat("x", largestFile+1)), "Content-Type", "application/pdf"),
		s.ask(t, http.MethodPost, "/verify", hidden{strings.NewReader(strings.Repeat("x", largestFile+wrapping+1))}, "Content-Type", "application/pdf"),
	} {
		assert.Equal(t, http.StatusRequestEntityTooLarge, res.StatusCode)
		assert.Contains(t, res.text, "The file is too large")
	}
	assert.Zero(t, s.seen)
	said := s.raw(t, "POST /verify HTTP/1.1\r\nHost: x\r\nContent-Type: application/pdf\r\nContent-Length: 9000000000\r\nExpect: 100-continue\r\n\r\n")
	assert.True(t, strings.HasPrefix(said, "HTTP/1.1 413 "), "refused before a byte of it was read: %.40s", said)
	assert.NotContains(t, said, "100 Continue")
}

// hidden keeps the length of a body to itself, so that it is sent in chunks.
type hidden struct{ r *strings.Reader }

func (h hidden) Read(b []byte) (int, error) { return h.r.Read(b) }

func TestFormsOfAnotherMakeAreRefused(t *testing.T) {
	s := open(t, manyChecks)
	many := make([]string, 5000)
	for i := range many {
		many[i] = "file"
	}
	for name, parts := range map[string][]string{"none": {}, "another": {"upload"}, "two": {"file", "file"}, "one more": {"file", "note"}, "many": many} {
		body, kind := formOf(t, "x", parts...)
		got := s.ask(t, http.MethodPost, "/verify", body, "Content-Type", kind)
		assert.Equal(t, http.StatusBadRequest, got.StatusCode, name)
		assert.Contains(t, got.text, "one at a time", name)
	}
	for name, body := range map[string]string{"cut off": "--b\r\nContent-Disposition: form-data; name=\"file\"\r\n\r\nabc", "no part": "abc",
		"header": "--b\r\n" + strings.Repeat("X: y\r\n", 20000) + "\r\nabc\r\n--b--"} {
		got := s.ask(t, http.MethodPost, "/verify", strings.NewReader(body), "Content-Type", `multipart/form-data; boundary=b`)
		assert.Equal(t, http.StatusBadRequest, got.StatusCode, name)
	}
	assert.Zero(t, s.seen)
}

func TestANameOfAFilePlaysNoPart(t *testing.T) {
	s := open(t, manyChecks)
	for _, name := range []string{"../../etc/passwd", `C:\x.pdf`, "x\x00.pdf", `"><script>alert(1)</script>`, strings.Repeat("a", 3000)} {
		var b bytes.Buffer
		form := multipart.NewWriter(&b)
		header := textproto.MIMEHeader{"Content-Disposition": {`form-data; name="file"; filename="` + strings.ReplaceAll(name, `"`, `\"`) + `"`}, "Content-Type": {"text/html"}, "Content-Transfer-Encoding": {"quoted-printable"}}
		part, err := form.CreatePart(header)
		require.NoError(t, err)
		_, err = part.Write([]byte(`{"state":"VALID"}`))
		require.NoError(t, err)
		require.NoError(t, form.Close())
		got := s.ask(t, http.MethodPost, "/verify", &b, "Content-Type", form.FormDataContentType())
		if got.StatusCode == http.StatusOK {
			assert.Contains(t, got.text, "<h1>Valid</h1>", name)
		}
		assert.NotContains(t, got.text, "script")
		assert.NotContains(t, got.text, "etc")
	}
}

func TestOtherKindsAreRefused(t *testing.T) {
	s := open(t, manyChecks)
	for _, kind := range []string{"application/x-www-form-urlencoded", "text/html", "image/png", "application/zip", "multipart/mixed; boundary=b", "multipart/form-data; boundary=b; boundary=c", "nonsense/", ";", "application/json; x"} {
		got := s.ask(t, http.MethodPost, "/verify", strings.NewReader("x=y"), "Content-Type", kind)
		assert.Equal(t, http.StatusUnsupportedMediaType, got.StatusCode, kind)
	}
	got := s.ask(t, http.MethodPost, "/verify", strings.NewReader("x=y"), "Content-Type", "multipart/form-data")
	assert.Equal(t, http.StatusBadRequest, got.StatusCode, "a form without a boundary")
	assert.Equal(t, http.StatusBadRequest, s.send(t, "").StatusCode)
}

func TestWhatWasSignedCannotWriteIntoThePage(t *testing.T) {
	s := open(t, manyChecks)
	found := signed()
	found.Person, found.Number = `<script>alert(1)</script>`, `"><img src=x onerror=y>`
	found.Achievement.Criteria = "<b>x</b>: </dd></dl><form action=//e>"
	s.inside["sly"] = certificate.Inside{Looked: looked(certificate.Valid), Signed: found}
	got := s.send(t, "sly")
	for _, sly := range []string{"<script", "<img", "<b>", "<form"} {
		assert.NotContains(t, got.text, sly)
	}
	assert.Contains(t, got.text, "&lt;script&gt;alert(1)&lt;/script&gt;")
}

// FuzzFile sends bodies of any form under any type: a page comes back each time, and nothing larger than the bound is checked.
func FuzzFile(f *testing.F) {
	for _, kind := range []string{"multipart/form-data; boundary=b", "application/json", "", "multipart/form-data", "text/html", "multipart/form-data; boundary=\"\""} {
		f.Add(kind, []byte("--b\r\nContent-Disposition: form-data; name=\"file\"\r\n\r\n{}\r\n--b--\r\n"))
		f.Add(kind, []byte("--b\r\nContent-Disposition: form-data; name=file\r\nContent-Disposition: x\r\n\r\n--b--b--"))
		f.Add(kind, []byte(`{"state":"VALID"}`))
	}
	d, log := newDesk(), &ink{}
	handler := New(d, newLog(log), manyChecks)
	f.Fuzz(func(t *testing.T, kind string, body []byte) {
		w := httptest.NewRecorder()
		req := httptest.NewRequest(http.MethodPost, "/verify", bytes.NewReader(body))
		req.Header.Set("Content-Type", kind)
		handler.ServeHTTP(w, req)
		require.Contains(t, []int{http.StatusOK, http.StatusBadRequest, http.StatusRequestEntityTooLarge, http.StatusUnsupportedMediaType}, w.Code)
		require.Contains(t, w.Body.String(), "</html>")
		require.LessOrEqual(t, d.seen, largestFile)
		require.NotContains(t, log.String(), "panicked")
	})
}
