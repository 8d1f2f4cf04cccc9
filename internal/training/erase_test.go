package training

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// left makes somebody who was here until 2018, and keeps training records for five years.
func (sc *scene) left(name string) groundhand.WorkerID {
	sc.t.Helper()
	f := workerForm(name, "3001", groundhand.Qualified)
	f.FromOn = groundhand.MustDate("2010-01-01")
	who := must(sc, sc.desk.AddWorker, f).ID
	jobs, err := store.FindStanding[groundhand.Employment](sc.ctx, sc.store, store.ByWorker, []groundhand.WorkerID{who})
	require.NoError(sc.t, err)
	must(sc, sc.desk.EmployWorker, EmployForm{Entry: Entry{Replaces: jobs[0].ID, Because: "left"}, FromOn: f.FromOn, ToOn: groundhand.MustDate("2018-12-31"),
		WorkerID: who, Employer: f.Employer, Relation: f.Relation})
	return who
}

func fiveYears(from string) RetentionForm {
	return RetentionForm{Class: groundhand.TrainingRecords, After: groundhand.EmploymentEnded, Months: 60, Basis: "policy 4", From: groundhand.MustDate(from)}
}

func TestNamesAreKeptWhileThereIsReason(t *testing.T) {
	sc := newScene(t)
	who := sc.left("Ada Quist")
	erase := func(w groundhand.WorkerID) func() error {
		return func() error { return try(sc, sc.desk.Erase, ErasureForm{WorkerID: w, Reason: "asked for it"}) }
	}
	sc.refused(erase(who), "CONFLICT workerId") // no retention is set
	must(sc, sc.desk.SetRetention, fiveYears("2020-01-01"))
	sc.refused(erase(sc.maren), "CONFLICT workerId")
	sc.refused(erase("nobody"), "NOT_FOUND workerId")

	must(sc, sc.desk.JoinCrew, member("V1", who, "2015-01-01", "2016-01-01"))
	on := When{On: today}
	crew := must(sc, sc.desk.PlaceHold, HoldForm{When: on, CrewID: "V1", Reason: "an accident is looked into"})
	own := must(sc, sc.desk.PlaceHold, HoldForm{When: on, WorkerID: who, Reason: "a claim is open"})
	sc.refused(erase(who), "CONFLICT workerId", "CONFLICT workerId")
	assert.ErrorContains(t, erase(who)(), string(own.ID))
	must(sc, sc.desk.Release, ReleaseForm{HoldID: own.ID, Reason: "settled"})
	sc.refused(func() error { return try(sc, sc.desk.Release, ReleaseForm{HoldID: own.ID, Reason: "again"}) }, "CONFLICT holdId")
	sc.refused(erase(who), "CONFLICT workerId")
	must(sc, sc.desk.Release, ReleaseForm{HoldID: crew.ID, Reason: "closed"})

	ten := fiveYears("2025-06-11")
	ten.Months = 120
	longer := must(sc, sc.desk.SetRetention, ten)
	sc.refused(erase(who), "CONFLICT workerId")
	sc.undo(longer.ID)
	must(sc, sc.desk.Erase, ErasureForm{WorkerID: who, Reason: "asked for it"})
	sc.refused(erase(who), "CONFLICT workerId") // erased already
}

func TestErasingTakesTheNamesAndLeavesTheFacts(t *testing.T) {
	sc := newScene(t)
	who, other := sc.left("Ada Quist"), sc.worker("A. Quist", "3002", groundhand.Qualified)
	must(sc, sc.desk.SetRetention, fiveYears("2020-01-01"))
	drill := sc.practise(who, "2018-05-05")
	must(sc, sc.desk.AddAlias, AliasForm{WorkerID: who, Name: "Addie", FromOn: groundhand.MustDate("2010-01-01")})
	must(sc, sc.desk.NumberWorker, NumberForm{WorkerID: who, Number: "old-9", FromOn: groundhand.MustDate("2010-01-01"), ToOn: groundhand.MustDate("2011-01-01")})
	told := must(sc, sc.desk.Suspend, SuspensionForm{When: When{On: today}, WorkerID: sc.maren, Method: groundhand.PairKit, Cause: "let ADDIE's rope run"})
	jobs, err := store.FindStanding[groundhand.Employment](sc.ctx, sc.store, store.ByWorker, []groundhand.WorkerID{other})
	require.NoError(t, err)
	must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: told.ID, Because: "it was another rope"})
	sc.refused(func() error {
		return try(sc, sc.desk.Erase, ErasureForm{WorkerID: who, Reason: "Ms Quist asked"})
	}, "INVALID reason")
	_, err = sc.desk.Withdraw(sc.ctx, sc.hr, sc.key(), WithdrawalForm{EntryID: jobs[0].ID, Because: "never worked here"})
	require.NoError(t, err)
	must(sc, sc.desk.Merge, MergeForm{KeptID: who, GoneID: other, Reason: "entered twice"})

	before, err := sc.store.Evidence(sc.ctx, []groundhand.WorkerID{who})
	require.NoError(t, err)
	key, form := sc.key(), ErasureForm{WorkerID: other, Reason: "asked for it"}
	done, err := sc.desk.Erase(sc.ctx, sc.hr, key, form)
	require.NoError(t, err)
	assert.Equal(t, who, done.Erasure.WorkerID)
	assert.Regexp(t, `^W-[0-9A-Z]{8}$`, done.Erasure.Code)
	assert.Equal(t, []groundhand.EntryID{told.ID}, done.Mentions)
	again, err := sc.desk.Erase(sc.ctx, sc.hr, key, form)
	require.NoError(t, err)
	assert.Equal(t, done, again, "the same key gives the same answer")

	names, err := store.All[groundhand.WorkerName](sc.ctx, sc.store.Apart())
	require.NoError(t, err)
	erased := 0
	for _, n := range names {
		assert.NotContains(t, n.Name, "Quist")
		if strings.HasPrefix(n.Name, done.Erasure.Code) {
			erased++
		}
	}
	assert.Equal(t, 2, erased, "under both ids")
	aliases, err := store.All[groundhand.Alias](sc.ctx, sc.store)
	require.NoError(t, err)
	assert.Equal(t, done.Erasure.Code, aliases[0].Name)
	after, err := sc.store.Evidence(sc.ctx, []groundhand.WorkerID{who})
	require.NoError(t, err)
	assert.Equal(t, before, after, "what was done stays")
	assert.Equal(t, who, after.Practices[0].WorkerID)
	assert.NotEmpty(t, drill)
	verified, err := sc.store.Verify(sc.ctx, nil)
	require.NoError(t, err)
	assert.Nil(t, verified.Misfit)
}

func TestHoldsAndRetentionsAreCheckedAsAWhole(t *testing.T) {
	sc := newScene(t)
	sc.refused(func() error { return try(sc, sc.desk.PlaceHold, HoldForm{When: When{On: today}}) }, "INVALID workerId", "INVALID reason")
	sc.refused(func() error {
		return try(sc, sc.desk.PlaceHold, HoldForm{When: When{On: today}, WorkerID: sc.maren, CrewID: "V1", Reason: "both"})
	}, "INVALID workerId")
	sc.refused(func() error {
		return try(sc, sc.desk.PlaceHold, HoldForm{When: When{On: today}, KitID: "K99", Reason: "used"})
	}, "NOT_FOUND kitId")
	sc.refused(func() error { return try(sc, sc.desk.SetRetention, RetentionForm{Months: -1}) },
		"INVALID class", "INVALID after", "INVALID months", "INVALID basis", "INVALID from")
	wrong := fiveYears("2020-01-01")
	wrong.After = groundhand.WhenRecorded
	sc.refused(func() error { return try(sc, sc.desk.SetRetention, wrong) }, "INVALID after")
	hold := must(sc, sc.desk.PlaceHold, HoldForm{When: When{On: today}, DeviceID: "A04", Reason: "it let somebody down"})
	states, err := sc.desk.roll.Holds(sc.ctx)
	require.NoError(t, err)
	require.Len(t, states, 1)
	assert.Nil(t, states[0].Release)
	must(sc, sc.desk.Release, ReleaseForm{HoldID: hold.ID, Reason: "done"})
	states, err = sc.desk.roll.Holds(sc.ctx)
	require.NoError(t, err)
	require.NotNil(t, states[0].Release)
}

// A hold on a device or a kit keeps the names of everybody who may be asked about it.
func TestAHoldOnADeviceKeepsWhoUsedIt(t *testing.T) {
	sc := newScene(t)
	who := sc.left("Ada Quist")
	must(sc, sc.desk.SetRetention, fiveYears("2020-01-01"))
	drill := sc.practise(who, "2018-05-05")
	device, kit := drill.Runs[0].DeviceID, drill.Runs[0].KitID
	require.NotEmpty(t, device)
	on := When{On: today}
	erase := func() error { return try(sc, sc.desk.Erase, ErasureForm{WorkerID: who, Reason: "asked for it"}) }
	hold := must(sc, sc.desk.PlaceHold, HoldForm{When: on, DeviceID: device, Reason: "an accident is looked into"})
	sc.refused(erase, "CONFLICT workerId")
	must(sc, sc.desk.Release, ReleaseForm{HoldID: hold.ID, Reason: "closed"})
	if kit != "" {
		hold = must(sc, sc.desk.PlaceHold, HoldForm{When: on, KitID: kit, Reason: "an accident is looked into"})
		sc.refused(erase, "CONFLICT workerId")
		must(sc, sc.desk.Release, ReleaseForm{HoldID: hold.ID, Reason: "closed"})
	}
	require.NoError(t, erase())
}
