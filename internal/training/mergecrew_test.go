package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// Entered twice in one crew, a person must not count as two rescuers once the two are merged.
func TestAMergedPersonIsOneMemberOfTheCrew(t *testing.T) {
	sc := newScene(t)
	sc.rules()
	must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-01-01", ""))
	must(sc, sc.desk.JoinCrew, member("V1", sc.keahi, "2025-01-01", ""))
	members := func() []groundhand.WorkerID {
		day, err := sc.desk.roll.Company(sc.ctx, today)
		require.NoError(t, err)
		var out []groundhand.WorkerID
		for _, w := range day.Workers {
			out = append(out, w.WorkerID)
		}
		return out
	}
	require.ElementsMatch(t, []groundhand.WorkerID{sc.maren, sc.keahi}, members())
	merged := must(sc, sc.desk.Merge, MergeForm{KeptID: sc.keahi, GoneID: sc.maren, Reason: "entered twice"})
	assert.Equal(t, []groundhand.WorkerID{sc.keahi}, members())
	sc.undo(merged.ID)
	assert.ElementsMatch(t, []groundhand.WorkerID{sc.maren, sc.keahi}, members())
}
