package store_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

func TestACopyIsTheSameAndApart(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	yard := gh.Yard{ID: "Y1", Recorded: storetest.Told(s, gh.MustDate("2025-06-01")), Name: "Stenholt"}
	require.NoError(t, store.Add(t.Context(), s, yard))
	to := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, store.Copy(t.Context(), path, to), "beside an open writer")
	require.ErrorContains(t, store.Copy(t.Context(), path, to), "already")
	copied := storetest.At(t, to)
	got, err := store.All[gh.Yard](t.Context(), copied)
	require.NoError(t, err)
	assert.Equal(t, []gh.Yard{yard}, got)
	yard.ID, yard.Name = "Y2", "Varrow"
	require.NoError(t, store.Add(t.Context(), copied, yard))
	got, err = store.All[gh.Yard](t.Context(), s)
	require.NoError(t, err)
	assert.Len(t, got, 1, "what is written there is not here")
}
