package rollcall_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

func (w *town) record(who groundhand.WorkerID) rollcall.Record {
	w.t.Helper()
	got, err := w.roll.Record(w.ctx, who)
	require.NoError(w.t, err)
	return got
}

func TestAWorkerReadsTheOwnRecord(t *testing.T) {
	w := newTown(t)
	w.clock.Set("2024-12-02T10:00:00Z")
	w.crew("S3", groundhand.FaultCrew, groundhand.List{"F1"}, "ann", "bob")
	add(w, groundhand.WorkerName{ID: w.id(), Recorded: w.told("2024-06-01"), WorkerID: "ann", Name: "Ann Prewitt"},
		groundhand.WorkerName{ID: w.id(), Recorded: w.told("2024-01-01"), WorkerID: "ann", Name: "Ann Halloway"})
	part := w.run("ann", "2024-10-01", groundhand.LoneKit, groundhand.Lone, "F1")
	wrong := w.assess("ann", "2024-10-02", groundhand.LoneKit, groundhand.Lone, "F1")
	told := w.told("2024-10-05")
	told.Because = "it was Bob"
	gone := groundhand.Withdrawal{ID: w.id(), Recorded: told, WithdrawsID: wrong.ID}
	add(w, gone)
	add(w, groundhand.Correction{ID: w.id(), Recorded: told, ReplacedID: wrong.ID, ByID: gone.ID, Kind: groundhand.IdentityMistaken, AskedByID: "ann", AgreedByID: "gideon"})
	add(w, groundhand.Dispute{ID: w.id(), Recorded: w.told("2024-10-03"), WorkerID: "ann", EntryID: wrong.ID, Claim: "I was not there"})
	sick := groundhand.Unavailability{ID: w.id(), Recorded: w.told("2024-11-01"), WorkerID: "ann", Kind: groundhand.Sick, FromAt: w.at("2024-11-01 00:00"), ToAt: w.at("2024-11-02 00:00")}
	sick.Because = "a broken wrist"
	add(w, sick)
	session := w.book("ann", "2025-02-04", "F1")

	got := w.record("ann")
	assert.Equal(t, []string{"Ann Halloway", "Ann Prewitt"}, []string{got.Names[0].Name, got.Names[1].Name})
	assert.Equal(t, groundhand.CrewID("S3"), got.CrewID)
	assert.Equal(t, groundhand.Qualified, got.Grade.Grade)
	require.Len(t, got.Standings, 2)
	assert.Equal(t, competence.Current, got.Standings[0].Standing)
	assert.Equal(t, []string{string(part.ID)}, got.Standings[0].RestsOn)
	assert.Contains(t, got.Standings[0].Why, "last good day")
	require.NotNil(t, got.NextDrill)
	assert.Equal(t, session, got.NextDrill.Session.ID)

	entries := map[groundhand.EntryID]rollcall.RecordEntry{}
	for _, e := range got.Entries {
		entries[e.EntryID] = e
	}
	assert.Equal(t, groundhand.LoneKit, entries[part.ID].Says.Method)
	pass := entries[wrong.ID]
	assert.Equal(t, "PASS", pass.Result)
	assert.Equal(t, []groundhand.WorkerID{"gideon"}, pass.SignedBy)
	assert.Equal(t, []rollcall.Mark{rollcall.MarkWithdrawn, rollcall.MarkDisputed}, pass.Marks)
	require.Len(t, pass.Corrections, 1)
	assert.Equal(t, groundhand.WorkerID("gideon"), pass.Corrections[0].AgreedByID)
	require.Len(t, pass.Disputes, 1)
	assert.Nil(t, pass.Disputes[0].Ruling)
	assert.Equal(t, 1, got.OpenDisputes)
	assert.Equal(t, wrong.ID, entries[gone.ID].ReplacesID)
	assert.Equal(t, "SICK", entries[sick.ID].Result)

	all, err := json.Marshal(got)
	require.NoError(t, err)
	assert.NotContains(t, string(all), "wrist")
	assert.NotContains(t, string(all), `"bob"`, "nothing about others")

	_, err = w.roll.Record(w.ctx, "nobody")
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
}

func TestMarksTellHowAnEntryCameToBe(t *testing.T) {
	w := newTown(t)
	w.crew("V9", groundhand.LineCrew, groundhand.List{"F1"}, "ann", "bob")
	run := func(change func(told *groundhand.Recorded)) groundhand.EntryID {
		told := w.told("2024-10-01")
		change(&told)
		return w.runTold("ann", told, groundhand.PairKit, groundhand.Lead, "F1").ID
	}
	at := func(recorded string) func(*groundhand.Recorded) {
		return func(told *groundhand.Recorded) { told.RecordedAt = w.at(recorded) }
	}
	third, fourth := run(at("2024-10-04 23:59")), run(at("2024-10-05 00:01"))
	opening := run(func(told *groundhand.Recorded) {
		told.CameBy, told.RecordedAt = groundhand.Imported, w.at("2024-11-05 12:00")
	})
	afterwards := run(func(told *groundhand.Recorded) {
		told.CameBy, told.RecordedAt = groundhand.Imported, w.at("2024-11-12 12:00")
	})
	paper := run(func(told *groundhand.Recorded) { told.CameBy = groundhand.FromPaper })
	reviewed := run(func(*groundhand.Recorded) {})
	looked := run(func(*groundhand.Recorded) {})
	add(w, groundhand.Review{ID: "rv1", Recorded: w.told("2024-10-03"), EntryID: reviewed, Cause: groundhand.Implausible, CauseID: reviewed},
		groundhand.Review{ID: "rv2", Recorded: w.told("2024-10-03"), EntryID: looked, Cause: groundhand.Implausible, CauseID: looked})
	add(w, groundhand.ReviewClosing{ID: w.id(), Recorded: w.told("2024-10-04"), ReviewID: "rv2", Outcome: groundhand.ReviewStands})
	w.away("bob", groundhand.Leave, "2024-09-20 00:00", "2024-10-03 00:00")
	absent := w.run("bob", "2024-10-01", groundhand.PairKit, groundhand.Lead, "F1").ID

	event := w.toldAt("2024-11-10", "2024-11-10 16:00")
	event.HappenedAt = w.at("2024-11-10 15:00")
	add(w, groundhand.RealEvent{ID: w.id(), Recorded: event, Kind: groundhand.NearMiss, CrewID: "V9"})
	on := func(hour, recorded string) groundhand.EntryID {
		told := w.toldAt("2024-11-10", recorded)
		told.HappenedAt = w.at("2024-11-10 " + hour)
		return w.runTold("ann", told, groundhand.PairKit, groundhand.Lead, "F1").ID
	}
	same, before, after := on("10:00", "2024-11-10 18:00"), on("10:00", "2024-11-10 14:00"), on("17:00", "2024-11-10 18:00")
	old := w.run("ann", "2024-11-01", groundhand.PairKit, groundhand.Lead, "F1")
	told := w.told("2024-11-02")
	told.ReplacesID = old.ID
	fresh := groundhand.RunPart{ID: w.id(), Recorded: told, RunID: old.RunID, WorkerID: "ann", Role: groundhand.Second}
	add(w, fresh)

	ids := []groundhand.EntryID{third, fourth, opening, afterwards, paper, reviewed, looked, absent, same, before, after, old.ID, fresh.ID, "nothing"}
	marks, err := w.roll.Marks(w.ctx, ids)
	require.NoError(t, err)
	assert.Equal(t, map[groundhand.EntryID][]rollcall.Mark{
		fourth: {rollcall.MarkLate}, opening: {rollcall.MarkImported},
		afterwards: {rollcall.MarkLate, rollcall.MarkImported}, paper: {rollcall.MarkTranscribed}, reviewed: {rollcall.MarkInReview},
		absent: {rollcall.MarkContradicted}, same: {rollcall.MarkLate}, old.ID: {rollcall.MarkCorrected},
	}, marks)
}
