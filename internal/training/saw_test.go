package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func TestALookAtRecordsIsNoted(t *testing.T) {
	sc := newScene(t)
	require.NoError(t, sc.desk.Saw(sc.ctx, sc.dispatcher, "workerRecord", []groundhand.WorkerID{sc.maren, sc.keahi, sc.maren}))
	require.NoError(t, sc.desk.Saw(sc.ctx, sc.dispatcher, "workerRecord", nil))
	require.NoError(t, sc.desk.Saw(sc.ctx, groundhand.Account{Capacity: groundhand.Program}, "workerRecord", []groundhand.WorkerID{sc.maren}))
	seen, err := store.All[groundhand.Viewing](sc.ctx, sc.store)
	require.NoError(t, err)
	require.Len(t, seen, 1, "looking at nobody is no look, and the program is nobody")
	assert.Equal(t, sc.dispatcher.ID, seen[0].AccountID)
	assert.Equal(t, "workerRecord", seen[0].Question)
	assert.Equal(t, groundhand.List{string(sc.maren), string(sc.keahi)}, seen[0].Workers, "each once")
	assert.Positive(t, int64(seen[0].ViewedAt))
}
