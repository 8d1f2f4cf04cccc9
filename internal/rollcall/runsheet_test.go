package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/runsheet"
)

// together is a run that one led and another was second in.
func (w *town) together(lead, second groundhand.WorkerID, on string, session groundhand.SessionID) groundhand.RunPart {
	w.t.Helper()
	told := w.told(on)
	run := groundhand.Run{ID: groundhand.RunID(w.id()), Recorded: told, SessionID: session, Method: groundhand.PairKit, Scenario: groundhand.Unconscious, FamilyID: "F1",
		KitState: groundhand.AsFound, LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes,
		StartedBy: groundhand.AtAlarm, Complete: true}
	add(w, run)
	led := groundhand.RunPart{ID: w.id(), Recorded: told, RunID: run.ID, WorkerID: lead, Role: groundhand.Lead}
	add(w, led, groundhand.RunPart{ID: w.id(), Recorded: told, RunID: run.ID, WorkerID: second, Role: groundhand.Second})
	return led
}

func (w *town) promise(session groundhand.SessionID, who groundhand.WorkerID, renews ...string) groundhand.EntryID {
	w.t.Helper()
	b := groundhand.Booking{ID: w.id(), Recorded: w.told("2025-06-01"), SessionID: session, WorkerID: who, Renews: renews}
	add(w, b)
	return b.ID
}

// sheetTown has a session of 15 July for three of a crew and two of the relief pool, one of whom comes along.
func sheetTown(t *testing.T) *town {
	w := planTown(t)
	w.session("S-RUN", "2025-07-15 08:00", "2025-07-15 12:00", "gideon", "PAIR_KIT", "LONE_KIT", "FIRST_AID")
	for _, who := range []groundhand.WorkerID{"ann", "bob", "cal"} {
		w.promise("S-RUN", who, "PAIR_KIT")
	}
	w.promise("S-RUN", "viggo", "LONE_KIT", "FIRST_AID")
	w.promise("S-RUN", "owen")
	add(w, groundhand.WorkerName{ID: w.id(), Recorded: w.told("2024-01-01"), WorkerID: "ann", Name: "Ann Lowering (invented)"})
	return w
}

func TestTheRunSheetOfASession(t *testing.T) {
	w := sheetTown(t)
	w.together("ann", "bob", "2024-07-14", "") // a year and a day before
	w.together("ann", "bob", "2024-07-15", "")
	w.together("bob", "ann", "2025-03-03", "")
	w.together("cal", "ann", "2025-03-03", "")
	w.together("cal", "gideon", "2025-03-03", "") // who is not in the session
	w.together("cal", "bob", "2025-06-10", "S-RUN")
	led := w.together("cal", "bob", "2025-06-10", "")
	add(w, groundhand.Withdrawal{ID: w.id(), Recorded: w.told("2025-06-11"), WithdrawsID: led.ID})

	got, err := w.roll.RunSheet(w.ctx, "S-RUN", 1)
	require.NoError(t, err)
	require.Len(t, got.Parts, 1)
	part := got.Parts[0]
	assert.Equal(t, runsheet.Problem{Name: "S-RUN", MaxRuns: 6, People: []runsheet.Person{
		{ID: "ann", Crew: "V1", Needs: runsheet.Needs{Lead: 1, Second: 1}},
		{ID: "bob", Crew: "V1", Needs: runsheet.Needs{Lead: 1, Second: 1}},
		{ID: "cal", Crew: "V1", Needs: runsheet.Needs{Lead: 1, Second: 1}},
		{ID: "owen"},
		{ID: "viggo", Needs: runsheet.Needs{Lone: 1}},
	}, PairedBefore: []runsheet.Couple{{A: "ann", B: "bob", Times: 2}, {A: "ann", B: "cal", Times: 1}}}, part.Problem,
		"a classroom takes no run, a relief pool is no crew, a withdrawn part and the session's own runs do not count")
	assert.Empty(t, runsheet.Check(part.Problem, part.Sheet))
	figures := part.Sheet.Objective.Levels()
	assert.Equal(t, []int{4, 0, 3}, figures[:3], "three pair runs and a lone one; of three people everybody is paired with everybody")
	for i, run := range part.Sheet.Runs {
		want := groundhand.PairKit
		if run.Lone != "" {
			want = groundhand.LoneKit
		}
		assert.Equal(t, want, part.Methods[i])
	}
	assert.Equal(t, map[groundhand.WorkerID]string{"ann": "Ann Lowering (invented)"}, got.Names)
	assert.Empty(t, got.Away)

	again, err := w.roll.RunSheet(w.ctx, "S-RUN", 1)
	require.NoError(t, err)
	assert.Equal(t, got, again)
}

func TestWhoIsAwayOrAssessesIsNotOnTheRunSheet(t *testing.T) {
	w := sheetTown(t)
	w.away("cal", groundhand.Leave, "2025-07-15 11:00", "2025-07-16 00:00")
	w.away("bob", groundhand.Leave, "2025-07-15 12:00", "2025-07-16 00:00") // from the end of the session on
	w.promise("S-RUN", "gideon", "PAIR_KIT")
	got, err := w.roll.RunSheet(w.ctx, "S-RUN", 1)
	require.NoError(t, err)
	assert.Equal(t, []groundhand.WorkerID{"cal"}, got.Away)
	var people []string
	for _, p := range got.Parts[0].Problem.People {
		people = append(people, p.ID)
	}
	assert.Equal(t, []string{"ann", "bob", "owen", "viggo"}, people)
}

func TestTwoMethodsForTwoAreTwoParts(t *testing.T) {
	w := sheetTown(t)
	w.session("S-TWO", "2025-07-17 08:00", "2025-07-17 16:00", "gideon", "PAIR_KIT", "MANUAL_LOWERING", "LONE_KIT")
	for _, who := range []groundhand.WorkerID{"ann", "bob", "cal"} {
		w.promise("S-TWO", who, "PAIR_KIT")
	}
	w.promise("S-TWO", "owen", "MANUAL_LOWERING", "LONE_KIT")
	got, err := w.roll.RunSheet(w.ctx, "S-TWO", 1)
	require.NoError(t, err)
	require.Len(t, got.Parts, 2)
	assert.Len(t, got.Parts[0].Sheet.Runs, 4, "three pair runs, and the lone one")
	assert.Equal(t, []groundhand.Method{groundhand.ManualLowering, groundhand.ManualLowering}, got.Parts[1].Methods, "one learner and a helper")
	assert.Equal(t, 2, got.Parts[1].Problem.MaxRuns, "what the first part leaves")
	assert.Equal(t, got.Parts[0].Problem.After(got.Parts[0].Sheet).PairedBefore, got.Parts[1].Problem.PairedBefore)

	w.promise("S-TWO", "viggo", "MANUAL_LOWERING", "LONE_KIT")
	_, err = w.roll.RunSheet(w.ctx, "S-TWO", 1)
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	assert.ErrorContains(t, err, "2 pair runs and 0 lone runs are needed, 2 in all, and there is time for 1")
}

func TestARunSheetNeedsASessionAndPartners(t *testing.T) {
	w := sheetTown(t)
	_, err := w.roll.RunSheet(w.ctx, "S-NONE", 1)
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
	got, err := w.roll.RunSheet(w.ctx, "S-AM", 1)
	require.NoError(t, err)
	assert.Empty(t, got.Parts, "nobody is booked")
	_, err = w.roll.RunSheet(w.ctx, "S-PM", 1)
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	assert.ErrorContains(t, err, "ann needs a run with a lead and a second, and nobody else is present")
}
