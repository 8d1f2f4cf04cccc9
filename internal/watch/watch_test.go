package watch_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// crewOfThree: ann is good through 30 June 2025, bob lapsed after 31 May, cal never practised.
func crewOfThree(t *testing.T) *yard {
	w := newYard(t, "Europe/Dublin", "2025-06-11T19:00:00+01:00")
	w.crew("V1", "ann", "bob", "cal")
	w.practise("2024-07-01", "ann")
	w.practise("2024-06-01", "bob")
	return w
}

func TestTheFourKindsAreRaisedAndClearedByPractice(t *testing.T) {
	w := crewOfThree(t)
	first := w.sweep("2025-06-09")
	assert.Equal(t, []string{"CREW_BELOW_TWO V1", "LAST_GOOD_DAY_NEAR ann", "NO_GROUND_COVER V1", "PRACTICE_LAPSED bob", "PRACTICE_LAPSED cal"}, said(first.Raised))
	assert.Empty(t, first.Cleared)
	for _, f := range first.Raised {
		assert.NotEmpty(t, f.ID)
		assert.Equal(t, "2025-06-09", f.RaisedOn.String())
		assert.NotZero(t, f.RaisedAt)
	}

	w.practise("2025-06-10", "bob")
	second := w.sweep("2025-06-10")
	assert.Equal(t, []string{"PRACTICE_LAPSED bob"}, said(second.Cleared), "practice on a bare day counts from its close")
	assert.Empty(t, second.Raised)

	third := w.sweep("2025-06-11")
	assert.Equal(t, []string{"CREW_BELOW_TWO V1", "NO_GROUND_COVER V1"}, said(third.Cleared), "the day after, bob counts from the morning on and cal may go up")
	assert.Equal(t, []string{"LAST_GOOD_DAY_NEAR ann", "PRACTICE_LAPSED cal"}, w.openFlags())

	w.practise("2025-06-11", "ann", "cal")
	assert.Equal(t, []string{"LAST_GOOD_DAY_NEAR ann", "PRACTICE_LAPSED cal"}, said(w.sweep("2025-06-11").Cleared))
	assert.Empty(t, w.openFlags())
	all, err := store.All[groundhand.Flag](w.ctx, w.store)
	require.NoError(t, err)
	assert.Len(t, all, 5, "what was raised stays on record")
}

func TestAFlagIsRaisedAgainWhenItComesTrueAgain(t *testing.T) {
	w := crewOfThree(t)
	w.sweep("2025-06-01")
	lapse := func() (n int) {
		all, err := store.Find[groundhand.Flag](w.ctx, w.store, store.ByWorker, []groundhand.WorkerID{"bob"})
		require.NoError(t, err)
		return len(all)
	}
	require.Equal(t, 1, lapse())
	w.practise("2025-06-02", "bob")
	w.sweep("2025-06-02")
	w.clock.Set("2026-06-20T12:00:00+01:00")
	got := w.sweep("2026-06-02")
	assert.Contains(t, said(got.Raised), "PRACTICE_LAPSED bob")
	assert.Equal(t, 2, lapse())
}

func TestSweepingADayAgainRaisesNothingAndIsRecorded(t *testing.T) {
	w := crewOfThree(t)
	w.sweep("2025-06-11")
	before := w.openFlags()
	again := w.sweep("2025-06-11")
	assert.Empty(t, again.Raised)
	assert.Empty(t, again.Cleared)
	assert.Equal(t, before, w.openFlags())
	runs, err := store.All[groundhand.Sweep](w.ctx, w.store)
	require.NoError(t, err)
	require.Len(t, runs, 2)
	assert.Equal(t, "2025-06-11 5 0 true", fmt.Sprint(runs[0].Day, " ", runs[0].Raised, " ", runs[0].Cleared, " ", runs[0].ByHand))
	assert.Equal(t, "2025-06-11 0 0 true", fmt.Sprint(runs[1].Day, " ", runs[1].Raised, " ", runs[1].Cleared, " ", runs[1].ByHand))
	for _, r := range runs {
		assert.NotZero(t, r.StartedAt)
		assert.LessOrEqual(t, r.StartedAt, r.FinishedAt)
	}
	assert.Equal(t, again.Sweep, runs[1])
}

func TestTwoSweepersAtOnceRaiseAFlagOnce(t *testing.T) {
	w := crewOfThree(t)
	other := w.second()
	var group sync.WaitGroup
	for i := range 8 {
		sweeper := w.watch
		if i%2 == 1 {
			sweeper = other
		}
		group.Go(func() {
			_, err := sweeper.Sweep(w.ctx, day("2025-06-11"), false)
			assert.NoError(t, err)
		})
	}
	group.Wait()
	all, err := store.All[groundhand.Flag](w.ctx, w.store)
	require.NoError(t, err)
	assert.Len(t, all, 5)
	assert.Len(t, w.swept(), 8)
	assert.Len(t, w.openFlags(), 5)
}

func TestDaysThatAreNotSwept(t *testing.T) {
	w := crewOfThree(t)
	w.sweep("2025-06-10")
	for on, want := range map[string]groundhand.Code{
		"2025-06-09": groundhand.CodeConflict, // the flags tell of a later day already
		"2025-06-12": groundhand.CodeInvalid,  // tomorrow
		"2199-12-31": groundhand.CodeInvalid,
	} {
		got, err := w.watch.Sweep(w.ctx, day(on), true)
		assert.ErrorIs(t, err, want, on)
		assert.Empty(t, got)
	}
	_, err := w.watch.Sweep(w.ctx, 0, true)
	assert.ErrorIs(t, err, groundhand.CodeInvalid, "no day at all")
	assert.Equal(t, from("2025-06-10", "2025-06-10"), w.swept(), "what is refused leaves no trace")

	fresh := crewOfThree(t)
	_, err = fresh.watch.Sweep(fresh.ctx, day("2023-06-10"), true)
	assert.ErrorIs(t, err, groundhand.CodeNotFound, "no rule set of ours was in force")
	assert.Empty(t, fresh.swept())
}

func TestAnOpenFlagNeverTellsOfWhatIsCurrentAgain(t *testing.T) {
	w := newYard(t, "Europe/Dublin", "2025-06-11T19:00:00+01:00")
	w.crew("V1", "ann", "bob", "cal", "dee")
	w.practise("2025-03-03", "ann", "bob", "cal", "dee")
	require.Empty(t, w.sweep("2025-06-09").Raised)
	hold := groundhand.Suspension{ID: w.id(), Recorded: w.told("2025-06-10"), WorkerID: "dee", Method: groundhand.PairKit, Cause: "left the marks out"}
	add(w, hold)
	assert.Equal(t, []string{"PRACTICE_LAPSED dee"}, said(w.sweep("2025-06-10").Raised))
	open, err := w.store.OpenFlags(w.ctx)
	require.NoError(t, err)
	assert.Contains(t, open[0].Detail, `"standing":"SUSPENDED"`)
	assert.NotContains(t, open[0].Detail, hold.Cause)

	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-06-11"), WithdrawsID: hold.ID})
	part, err := store.Find[groundhand.RunPart](w.ctx, w.store, store.ByWorker, []groundhand.WorkerID{"dee"})
	require.NoError(t, err)
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-06-11"), WithdrawsID: part[0].ID})
	got := w.sweep("2025-06-11")
	assert.Equal(t, []string{"PRACTICE_LAPSED dee"}, said(got.Raised))
	assert.Equal(t, []string{"PRACTICE_LAPSED dee"}, said(got.Cleared))
	assert.Contains(t, got.Raised[0].Detail, `"standing":"NEVER"`)
}

func TestFlagsSayNothingAboutHealth(t *testing.T) {
	w := crewOfThree(t)
	sick := groundhand.Unavailability{ID: w.id(), Recorded: w.told("2025-06-02"), WorkerID: "ann", Kind: groundhand.Sick, FromAt: groundhand.InstantOf(day("2025-06-02").Start(w.zone))}
	add(w, sick)
	add(w, groundhand.UnavailabilityReason{ID: w.id(), Recorded: w.told("2025-06-02"), UnavailabilityID: sick.ID, Reason: "broken wrist"})
	held := groundhand.Unavailability{ID: w.id(), Recorded: w.told("2025-06-02"), WorkerID: "bob", Kind: groundhand.NotForRescue, FromAt: sick.FromAt}
	add(w, held)
	w.practise("2025-06-01", "bob", "cal")
	flags := w.sweep("2025-06-11").Raised
	assert.Equal(t, []string{"CREW_BELOW_TWO V1", "LAST_GOOD_DAY_NEAR ann", "NO_GROUND_COVER V1"}, said(flags), "who is away counts nowhere")
	for _, f := range flags {
		for _, word := range []string{"sick", "wrist", "absent", "away", "leave", "unavail", "not_for_rescue", "health", "other"} {
			assert.NotContains(t, strings.ToLower(f.Detail), word)
		}
		if f.CrewID != "" {
			assert.NotContains(t, f.Detail, "ann")
			assert.NotContains(t, f.Detail, "bob")
		}
	}
}
