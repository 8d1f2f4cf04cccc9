package graph_test

import (
	"archive/zip"
	"bytes"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func TestAnAuditPackIsForAuditorsAndTheLookIsNoted(t *testing.T) {
	s := newScene(t)
	got := s.send(s.token[groundhand.Auditor], http.MethodGet, "/audit/V1.zip?from=2025-05-01&through=2025-06-30", "", nil)
	require.Equal(t, http.StatusOK, got.status, got.body)
	archive, err := zip.NewReader(bytes.NewReader([]byte(got.body)), int64(len(got.body)))
	require.NoError(t, err)
	names := []string{}
	for _, f := range archive.File {
		names = append(names, f.Name)
	}
	assert.Subset(t, names, []string{"index.html", "SHA256SUMS", "entries/memberships.jsonl", "log/leaves.jsonl"})
	looks, err := store.All[groundhand.Viewing](t.Context(), s.store)
	require.NoError(t, err)
	require.Len(t, looks, 1, "one row for the pack, not one for each person")
	assert.Equal(t, "audit pack of V1", looks[0].Question)
	assert.NotEmpty(t, looks[0].Workers)

	for _, c := range []struct {
		name, path string
		by         groundhand.Capacity
		status     int
		want       []string
	}{
		{"a dispatcher", "/audit/V1.zip?from=2025-05-01&through=2025-06-30", groundhand.Dispatcher, http.StatusForbidden, []string{"FORBIDDEN"}},
		{"a crew that there is none of", "/audit/NONE.zip?from=2025-05-01&through=2025-06-30", groundhand.Auditor, http.StatusNotFound, []string{"NOT_FOUND"}},
		{"days that cannot be read", "/audit/V1.zip?from=x&asKnownAt=yesterday", groundhand.Auditor, http.StatusUnprocessableEntity, []string{"INVALID from", "INVALID through", "INVALID asKnownAt"}},
		{"no ZIP", "/audit/V1?from=2025-05-01&through=2025-06-30", groundhand.Auditor, http.StatusNotFound, []string{"NOT_FOUND crew"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := s.send(s.token[c.by], http.MethodGet, c.path, "", nil)
			assert.Equal(t, c.status, r.status, r.body)
			assert.ElementsMatch(t, c.want, r.problems(), r.body)
		})
	}
}
