package watch_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func (w *yard) flagsAt(moment string) []string {
	w.Helper()
	before := w.clock.Now()
	w.clock.Set(moment)
	at := groundhand.InstantOf(w.clock.Now())
	w.clock.Set(before.Format("2006-01-02T15:04:05Z07:00"))
	flags, err := w.watch.FlagsAsKnown(w.ctx, at)
	require.NoError(w, err)
	return said(flags)
}

func TestWhichFlagsWereOpenAtAMoment(t *testing.T) {
	w := crewOfThree(t)
	w.clock.Set("2025-06-09T04:00:00+01:00")
	w.sweep("2025-06-09")
	w.practise("2025-06-10", "bob")
	w.clock.Set("2025-06-11T04:00:00+01:00")
	w.sweep("2025-06-10")
	assert.Empty(t, w.flagsAt("2025-06-09T03:00:00+01:00"))
	assert.Contains(t, w.flagsAt("2025-06-10T12:00:00+01:00"), "PRACTICE_LAPSED bob")
	assert.NotContains(t, w.flagsAt("2025-06-11T05:00:00+01:00"), "PRACTICE_LAPSED bob")
	assert.Equal(t, w.openFlags(), w.flagsAt("2025-06-11T05:00:00+01:00"))
	_, err := w.watch.FlagsAsKnown(w.ctx, 0)
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
}

func TestACorrectionIsFlaggedAtOnce(t *testing.T) {
	w := crewOfThree(t)
	none, err := w.watch.After(w.ctx)
	require.NoError(t, err)
	assert.Empty(t, none, "nothing was swept yet")
	assert.Empty(t, w.swept())

	w.practise("2025-06-10", "bob")
	w.sweep("2025-06-11")
	require.NotContains(t, w.openFlags(), "PRACTICE_LAPSED bob")
	parts, err := store.Find[groundhand.RunPart](w.ctx, w.store, store.ByWorker, []groundhand.WorkerID{"bob"})
	require.NoError(t, err)
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-06-11"), WithdrawsID: parts[len(parts)-1].ID})
	got, err := w.watch.After(w.ctx)
	require.NoError(t, err)
	assert.Equal(t, []string{"CREW_BELOW_TWO V1", "NO_GROUND_COVER V1", "PRACTICE_LAPSED bob"}, said(got.Raised))
	assert.Equal(t, day("2025-06-11"), got.Sweep.Day)
}
