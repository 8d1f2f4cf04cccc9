package graph_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

func TestTheSameRequestForAZIPGivesTheSameBytes(t *testing.T) {
	s := many(t)
	res, first := s.download(groundhand.HR, "/certificates.zip?month=2025-03")
	require.Equal(t, http.StatusOK, res.StatusCode)
	assert.Equal(t, "application/zip", res.Header.Get("Content-Type"))
	assert.Equal(t, `attachment; filename="certificates-2025-06-11.zip"`, res.Header.Get("Content-Disposition"))
	s.clock.Advance(time.Hour)
	_, again := s.download(groundhand.Coordinator, "/certificates.zip?through=2025-03-31&from=2025-03-01")
	assert.True(t, bytes.Equal(first, again), "later on the same day, by another, asked another way")
	files := unzip(t, first)
	for _, number := range []string{"2025-0001", "2025-0005"} {
		_, signed := s.download(groundhand.HR, "/certificates/"+number+".json")
		assert.Equal(t, string(signed), files["credentials/"+number+".json"])
		_, page := s.download(groundhand.HR, "/certificates/"+number+".pdf")
		assert.Equal(t, string(page), files["certificates/"+number+".pdf"])
	}
}

// Certificates of everybody must not go out because a parameter was misspelt.
func TestAFileIsRefusedByItsParameters(t *testing.T) {
	s := many(t)
	for path, c := range map[string]struct {
		status int
		want   []string
	}{
		"/certificates.zip?form=2025-03-01&Crew=V1":                   {422, []string{"INVALID Crew", "INVALID form"}},
		"/certificates.zip?from=2025-03-01&from=2025-04-01":           {422, []string{"INVALID from"}},
		"/certificates.zip?month=2025-03&through=2025-03-31":          {422, []string{"INVALID month"}},
		"/certificates.zip?month=2025-3":                              {422, []string{"INVALID month"}},
		"/certificates.zip?month=2025-13&from=":                       {422, []string{"INVALID from", "INVALID month"}},
		"/certificates.zip?month=2025-03-01":                          {422, []string{"INVALID month"}},
		"/certificates.zip?month=&crew=&number=":                      {422, []string{"INVALID crew", "INVALID month", "INVALID number"}},
		"/certificates.zip?through=2025-02-30&from=0000-00-00":        {422, []string{"INVALID from", "INVALID through"}},
		"/certificates.zip?from=2025-04-01&through=2025-03-01":        {422, []string{"INVALID shownThrough"}},
		"/certificates.zip?crew=%zz":                                  {422, []string{"INVALID"}},
		"/certificates.zip?crew=V1;number=1":                          {422, []string{"INVALID"}},
		"/certificates.zip?crew=%ff%00'--&client=%E2%80%AE&ruleSet=x": {404, []string{"NOT_FOUND client", "NOT_FOUND crew", "NOT_FOUND ruleSet"}},
		"/certificates.zip?person=nobody&employer=nobody":             {404, []string{"NOT_FOUND people[0]", "NOT_FOUND employer"}},
		"/certificates.zip?number=2025-0001&number=../x":              {404, []string{"NOT_FOUND numbers[1]"}},
		"/certificates.zip?" + strings.Repeat("number=1&", 10_001):    {422, []string{"INVALID"}},
		"/certificates.zip?a=&b=&c=&d=&e=&f=&g=&h=&i=&j=":             {422, []string{"INVALID"}},
		"/certificates/2025-0001":                                     {404, []string{"NOT_FOUND number"}},
		"/certificates/2025-0001.PDF":                                 {404, []string{"NOT_FOUND number"}},
		"/certificates/.pdf":                                          {404, []string{"NOT_FOUND number"}},
		"/certificates/%2e%2e%2frecords.db.json":                      {404, []string{"NOT_FOUND number"}},
		"/certificates/2025-0001.json.pdf":                            {404, []string{"NOT_FOUND number"}},
		"/certificates/2025-0001%0d%0aX-Evil:%201.json":               {404, []string{"NOT_FOUND number"}},
		"/certificates/" + strings.Repeat("9", 20_000) + ".json":      {404, []string{"NOT_FOUND number"}},
		"/certificates/2025-0001%27%20OR%20%271%27=%271.pdf":          {404, []string{"NOT_FOUND number"}},
	} {
		r := s.send(s.token[groundhand.Coordinator], http.MethodGet, path, "", nil)
		assert.Equal(t, c.status, r.status, "%.200s %.300s", path, r.body)
		assert.ElementsMatch(t, c.want, r.problems(), "%.200s %.300s", path, r.body)
	}
	for _, by := range groundhand.Capacities {
		reads := by == groundhand.Coordinator || by == groundhand.HR
		for path, may := range map[string]bool{"/certificates.zip": reads, "/certificates/2025-0001.json": reads || by == groundhand.Auditor, "/certificates/2025-0001.pdf": reads || by == groundhand.Auditor} {
			want := map[bool]int{true: http.StatusOK, false: http.StatusForbidden}[may]
			assert.Equal(t, want, s.send(s.token[by], http.MethodGet, path, "", nil).status, "%s %s", by, path)
		}
	}
	assert.Empty(t, s.log.String())
}

// line is a client's end: it takes each part after a while, or goes away.
type line struct {
	*httptest.ResponseRecorder
	each  time.Duration
	gone  func() // called when the first part has come
	parts int
}

func (l *line) Write(b []byte) (int, error) {
	time.Sleep(l.each)
	l.parts++
	if l.gone != nil {
		l.gone()
	}
	return l.ResponseRecorder.Write(b)
}

// over asks for a file by a line, in a bubble where time passes only while everybody waits, and gives how long it took and what broke it off.
func (s *scene) over(l *line, path string) (took time.Duration, broken any) {
	handler := s.root.Handler(slog.New(slog.NewTextHandler(s.log, nil)))
	synctest.Test(s.t.(*testing.T), func(t *testing.T) {
		defer func() { broken = recover() }()
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		if l.gone != nil {
			l.gone = cancel
		}
		req := httptest.NewRequestWithContext(ctx, http.MethodGet, path, nil)
		req.Header.Set("Authorization", "Bearer "+s.token[groundhand.HR])
		began := time.Now()
		defer func() { took = time.Since(began) }()
		handler.ServeHTTP(l, req)
	})
	return took, broken
}

// A year's certificates over a poor line take longer than a question may, and come whole.
func TestALongFileTakesItsTimeAsLongAsItGetsOn(t *testing.T) {
	s := many(t)
	_, whole := s.download(groundhand.HR, "/certificates.zip")
	slow := &line{ResponseRecorder: httptest.NewRecorder(), each: 20 * time.Second}
	took, broken := s.over(slow, "/certificates.zip")
	assert.Nil(t, broken)
	assert.Greater(t, took, time.Minute)
	assert.Equal(t, time.Duration(slow.parts)*slow.each, took)
	assert.True(t, bytes.Equal(whole, slow.Body.Bytes()))
}

// Half a file must not look like a whole one: the connection is broken off.
func TestAFileThatStandsStillIsBrokenOff(t *testing.T) {
	s := many(t)
	still := &line{ResponseRecorder: httptest.NewRecorder(), each: 31 * time.Second}
	took, broken := s.over(still, "/certificates.zip")
	assert.Equal(t, http.ErrAbortHandler, broken)
	assert.Equal(t, 1, still.parts)
	assert.Equal(t, 31*time.Second, took)
	assert.Contains(t, s.log.String(), "a file broke off")
}

func TestAFileEndsWhenTheClientGoesAway(t *testing.T) {
	s := many(t)
	away := &line{ResponseRecorder: httptest.NewRecorder(), gone: func() {}}
	_, broken := s.over(away, "/certificates.zip")
	assert.Equal(t, http.ErrAbortHandler, broken)
	assert.Equal(t, 1, away.parts, "nothing more was written")
	assert.NotContains(t, s.log.String(), "ERROR", "that is no fault of ours")
}

// The same over a real connection: who hangs up half way leaves nothing behind, and the server goes on.
func TestHangingUpHalfWay(t *testing.T) {
	s := many(t)
	ctx, hangUp := context.WithCancel(t.Context())
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, s.server.URL+"/certificates.zip", nil)
	require.NoError(t, err)
	req.Header.Set("Authorization", "Bearer "+s.token[groundhand.HR])
	res, err := s.server.Client().Do(req)
	require.NoError(t, err)
	_, err = io.ReadFull(res.Body, make([]byte, 100))
	require.NoError(t, err)
	hangUp()
	require.NoError(t, res.Body.Close())
	for range 2 { // the second on a connection that was used for a file before
		again, whole := s.download(groundhand.HR, "/certificates.zip")
		assert.Equal(t, http.StatusOK, again.StatusCode)
		in, _ := numbersIn(t, whole)
		assert.Len(t, in, 4, fmt.Sprint(in))
	}
}
