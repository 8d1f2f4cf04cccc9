package training

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Somebody who was entered twice and merged is one person for the rules about who may not sign what.
func TestAMergedTwinSignsForSelf(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.Merge, MergeForm{KeptID: sc.maren, GoneID: sc.keahi, Reason: "same person"})
	form := sc.pass(sc.keahi)
	form.AssessorID = sc.maren
	assert.Contains(t, refusals(try(sc, sc.desk.Assess, form)), "INVALID assessorId")
	refused, err := store.All[groundhand.RefusedAttempt](sc.ctx, sc.store)
	assert.NoError(t, err)
	assert.True(t, slices.ContainsFunc(refused, func(r groundhand.RefusedAttempt) bool {
		return r.Rule == groundhand.SelfAssessment && r.WorkerID == sc.maren
	}))
}

func TestAFormKeepsTheListsOfWhoeverFilledItIn(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.Merge, MergeForm{KeptID: sc.maren, GoneID: sc.keahi, Reason: "same person"})
	given := sc.drill(func(r *RunForm) { r.Parts = []PartForm{{WorkerID: sc.keahi, Role: groundhand.Lead}} })
	seen := kept[Drill](sc.store, given).(DrillForm)
	assert.Equal(t, sc.maren, seen.Runs[0].Parts[0].WorkerID)
	assert.Equal(t, sc.keahi, given.Runs[0].Parts[0].WorkerID, "the caller's own form is as it was")
}

func TestAfterCorrectionsOnly(t *testing.T) {
	sc := newScene(t)
	told := 0
	sc.desk.AfterCorrections(func(context.Context) { told++ })
	w := must(sc, sc.desk.RenameWorker, NameForm{WorkerID: sc.maren, Name: "Maren Oduya-Vell", FromOn: groundhand.MustDate("2025-06-01")})
	assert.Zero(t, told)
	form := WithdrawalForm{EntryID: w.ID, Because: "not yet"}
	key := sc.key()
	for range 2 {
		_, err := sc.desk.Withdraw(sc.ctx, sc.hr, key, form)
		assert.NoError(t, err)
	}
	assert.Equal(t, 1, told, "the same form sent twice is done once")
}
