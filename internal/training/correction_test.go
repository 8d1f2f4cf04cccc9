package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func TestCorrectionsAreRefused(t *testing.T) {
	walk(t, []refusal{
		{"of nothing", func(sc *scene) error {
			f := member("V1", sc.maren, "2025-06-01", "")
			f.Replaces, f.Because = "m9", "typing"
			return try(sc, sc.desk.JoinCrew, f)
		}, says("NOT_FOUND replaces")},
		{"of a record of another kind", func(sc *scene) error {
			run := must(sc, sc.desk.RecordDrill, sc.drill()).Runs[0]
			f := member("V1", sc.maren, "2025-06-01", "")
			f.Replaces, f.Because = groundhand.EntryID(run.ID), "typing"
			return sc.after(func() error { return try(sc, sc.desk.JoinCrew, f) })
		}, says("NOT_FOUND replaces")},
		{"without saying why", func(sc *scene) error {
			old := must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-01", ""))
			f := member("V1", sc.maren, "2025-06-01", "2025-06-30")
			f.Replaces = old.ID
			return sc.after(func() error { return try(sc, sc.desk.JoinCrew, f) })
		}, says("INVALID because")},
		{"of what was corrected already", func(sc *scene) error {
			old := must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-01", ""))
			f := member("V1", sc.maren, "2025-06-01", "2025-06-30")
			f.Replaces, f.Because = old.ID, "leaves at the end of June"
			must(sc, sc.desk.JoinCrew, f)
			f.ToOn = groundhand.MustDate("2025-07-31")
			return sc.after(func() error { return try(sc, sc.desk.JoinCrew, f) })
		}, says("CONFLICT replaces", "CONFLICT fromOn")},
		{"of what was withdrawn", func(sc *scene) error {
			old := must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-01", ""))
			must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: old.ID, Because: "never came"})
			f := member("V1", sc.maren, "2025-06-01", "2025-06-30")
			f.Replaces, f.Because = old.ID, "typing"
			return sc.after(func() error { return try(sc, sc.desk.JoinCrew, f) })
		}, says("CONFLICT replaces")},
		{"a withdrawal of nothing", func(sc *scene) error {
			return try(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: "e9", Because: "typing"})
		}, says("NOT_FOUND entryId")},
		{"a withdrawal without a reason", func(sc *scene) error {
			return try(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: "A04"})
		}, says("INVALID because")},
		{"a second withdrawal", func(sc *scene) error {
			old := must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2025-06-01", ""))
			must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: old.ID, Because: "never came"})
			return sc.after(func() error {
				return try(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: old.ID, Because: "never came"})
			})
		}, says("CONFLICT entryId")},
		{"a withdrawal of what another capacity records", func(sc *scene) error {
			leave := must(sc, sc.desk.SetUnavailable, UnavailableForm{WorkerID: sc.maren, Kind: groundhand.Leave, FromAt: sc.moment("2025-07-01", 0, 0)})
			return sc.after(func() error {
				return try(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: leave.ID, Because: "typing"})
			})
		}, says("FORBIDDEN entryId")},
	})
}

func TestOneMoveAtATime(t *testing.T) {
	sc := newScene(t)
	first := must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2024-01-01", ""))
	loan := member("V2", sc.maren, "2025-06-12", "2025-06-13")
	loan.Reason = groundhand.Loan
	must(sc, sc.desk.JoinCrew, loan)

	ends := member("V1", sc.maren, "2024-01-01", "2025-06-30")
	ends.Replaces, ends.Because = first.ID, "moves to V2"
	corrected := must(sc, sc.desk.JoinCrew, ends)
	must(sc, sc.desk.JoinCrew, member("V2", sc.maren, "2025-07-01", ""))

	standing, err := store.FindStanding[groundhand.Membership](sc.ctx, sc.store, store.ByWorker, []groundhand.WorkerID{sc.maren})
	require.NoError(t, err)
	assert.Len(t, standing, 3)
	assert.Equal(t, first.ID, corrected.ReplacesID)
	assert.Equal(t, "moves to V2", corrected.Because)
}

func TestCorrectedRunTakesItsPeopleAlong(t *testing.T) {
	sc := newScene(t)
	old := must(sc, sc.desk.RecordDrill, sc.drill())
	f := sc.drill(func(r *RunForm) {
		r.Replaces, r.Because = groundhand.EntryID(old.Runs[0].ID), "it was Keahi at the rope"
		r.Parts = []PartForm{{WorkerID: sc.maren, Role: groundhand.Lead}, {WorkerID: sc.keahi, Role: groundhand.Second}}
	})
	now := must(sc, sc.desk.RecordDrill, f)

	assert.Equal(t, old.Parts[0].ID, now.Parts[0].ReplacesID)
	assert.Equal(t, old.Parts[2].ID, now.Parts[1].ReplacesID)
	assert.Equal(t, []groundhand.WorkerID{sc.maren, sc.keahi}, sc.drilled(old.Runs[0].ID, now.Runs[0].ID), "Tomasz is not in the run any more")
}

func TestOnePartIsCorrectedAlone(t *testing.T) {
	sc := newScene(t)
	drill := must(sc, sc.desk.RecordDrill, sc.drill())
	must(sc, sc.desk.CorrectPart, PartCorrection{
		Entry: Entry{Replaces: drill.Parts[1].ID, Because: "wrong person"}, RunID: drill.Runs[0].ID,
		PartForm: PartForm{WorkerID: sc.henrike, Role: groundhand.Second},
	})
	assert.ElementsMatch(t, []groundhand.WorkerID{sc.maren, sc.henrike, sc.keahi}, sc.drilled(drill.Runs[0].ID))

	sc.refused(func() error {
		return try(sc, sc.desk.CorrectPart, PartCorrection{RunID: drill.Runs[0].ID, PartForm: PartForm{WorkerID: sc.keahi, Role: groundhand.Lead}})
	}, "INVALID workerId", "INVALID role")
}

func TestWithdrawnRunTakesItsPeopleAlongAndBack(t *testing.T) {
	sc := newScene(t)
	run := must(sc, sc.desk.RecordDrill, sc.drill()).Runs[0]
	gone := must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: groundhand.EntryID(run.ID), Because: "another crew's sheet"})
	assert.Empty(t, sc.drilled(run.ID))
	must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: gone.ID, Because: "it was ours"})
	assert.Len(t, sc.drilled(run.ID), 3)
}

// drilled lists who has a standing part in runs.
func (sc *scene) drilled(runs ...groundhand.RunID) []groundhand.WorkerID {
	sc.t.Helper()
	parts, err := store.FindStanding[groundhand.RunPart](sc.ctx, sc.store, store.ByRun, runs)
	require.NoError(sc.t, err)
	var out []groundhand.WorkerID
	for _, p := range parts {
		out = append(out, p.WorkerID)
	}
	return out
}

func TestACrewSplitsAtNoon(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.JoinCrew, member("V1", sc.maren, "2024-01-01", ""))
	half := func(crew groundhand.CrewID, from, to groundhand.Instant) MembershipForm {
		f := member(crew, sc.maren, "2025-06-12", "2025-06-12")
		f.Reason, f.FromAt, f.ToAt = groundhand.Split, from, to
		return f
	}
	noon := sc.moment("2025-06-12", 12, 0)
	first := goesThrough(t, sc, sc.desk.JoinCrew, half("V1", 0, noon))
	second := goesThrough(t, sc, sc.desk.JoinCrew, half("V2", noon, 0))
	assert.Equal(t, first.ToAt, second.FromAt)
	must(sc, sc.desk.JoinCrew, func() MembershipForm { // the next day is free again
		f := half("V1", 0, 0)
		f.FromOn, f.ToOn = f.FromOn+1, f.ToOn+1
		return f
	}())
}
