package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

func TestBookedWorkIsAnsweredAgainAfterACorrection(t *testing.T) {
	w := stenholt(t)
	w.clock.Set("2024-11-03T12:00:00Z")
	told := w.toldAt("2024-10-30", "2024-10-30 12:00")
	job := func(id groundhand.JobID, from, to string) {
		add(w, groundhand.Job{ID: id, Recorded: told, CrewID: "S3", YardID: "Y1", StartAt: w.at(from), EndAt: w.at(to), DeviceID: "A05", Aloft: 1,
			Methods: groundhand.List{"PAIR_KIT", "LONE_KIT"}, Near50V: groundhand.Yes, CallPlan: groundhand.Yes, SiteKind: groundhand.FieldSite, RuleText: groundhand.GeneralText, HiresTrained: groundhand.Unknown})
	}
	job("J1", "2024-11-04 08:00", "2024-11-04 16:00")
	job("J0", "2024-11-02 08:00", "2024-11-02 16:00") // is over
	mine, err := w.roll.Standings(w.ctx, rollcallLone("james"))
	require.NoError(t, err)
	gone := groundhand.Withdrawal{ID: w.id(), Recorded: w.toldAt("2024-11-03", "2024-11-03 11:00"), WithdrawsID: groundhand.EntryID(mine[0].RestsOn[0])}
	add(w, gone)
	noise := w.runTold("dilnoza", w.toldAt("2024-11-03", "2024-11-03 11:30"), groundhand.ManualLowering, groundhand.Lead, "F1")

	from, to := w.at("2024-11-01 00:00"), w.at("2024-11-06 00:00")
	got, err := w.roll.Reanswer(w.ctx, []groundhand.EntryID{gone.ID}, from, to)
	require.NoError(t, err)
	require.Len(t, got, 1)
	assert.Equal(t, groundhand.JobID("J1"), got[0].Job.ID)
	assert.Equal(t, []readiness.Verdict{readiness.Ready, readiness.NotReady}, []readiness.Verdict{got[0].Then.Answer.Verdict, got[0].Now.Answer.Verdict})

	got, err = w.roll.Reanswer(w.ctx, []groundhand.EntryID{noise.ID}, from, to)
	require.NoError(t, err)
	assert.Empty(t, got, "the answer of no job changed with it")
	got, err = w.roll.Reanswer(w.ctx, []groundhand.EntryID{"nothing"}, from, to)
	require.NoError(t, err)
	assert.Empty(t, got)
}
