package training

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// led gives a crew a foreman with an account.
func (sc *scene) led(crew groundhand.CrewID, who groundhand.WorkerID) groundhand.Account {
	sc.t.Helper()
	f := member(crew, who, "2024-01-01", "")
	f.Part = groundhand.Foreman
	must(sc, sc.desk.JoinCrew, f)
	return sc.account("foreman of "+string(crew), groundhand.CrewForeman, who)
}

func (sc *scene) briefing(job groundhand.JobID, change ...func(*BriefingForm)) BriefingForm {
	f := BriefingForm{JobID: job, KitOnDevice: groundhand.Yes, KitSuits: groundhand.Yes, Aloft: groundhand.List{string(sc.tomasz)}, Remarks: "two up, one after the other"}
	for _, c := range change {
		c(&f)
	}
	return f
}

func TestAForemanBriefsTheOwnCrew(t *testing.T) {
	sc := newScene(t)
	own, other := sc.led("V1", sc.maren), sc.led("V2", sc.keahi)
	job := must(sc, sc.desk.BookJob, sc.job())
	brief := func(by groundhand.Account, f BriefingForm) func() error {
		return func() error { _, err := sc.desk.Brief(sc.ctx, by, sc.key(), f); return err }
	}
	made, err := sc.desk.Brief(sc.ctx, own, "b", sc.briefing(job.ID, func(f *BriefingForm) { f.KitSuits = "" }))
	require.NoError(t, err)
	assert.Equal(t, groundhand.Unknown, made.KitSuits, "not looked is not known")
	assert.Equal(t, made.RecordedAt, made.HappenedAt)
	again, err := sc.desk.Brief(sc.ctx, own, "b", sc.briefing(job.ID, func(f *BriefingForm) { f.KitSuits = "" }))
	require.NoError(t, err)
	assert.Equal(t, made, again)

	for _, by := range []groundhand.Account{sc.coordinator, sc.dispatcher, sc.inspector, sc.account("w", groundhand.FieldWorker, sc.maren), sc.account("f", groundhand.CrewForeman, "")} {
		sc.refused(brief(by, sc.briefing(job.ID)), "FORBIDDEN")
	}
	sc.refused(brief(other, sc.briefing(job.ID)), "FORBIDDEN jobId")
	correction := sc.briefing(job.ID, func(f *BriefingForm) {
		f.Replaces, f.Because, f.KitOnDevice = made.ID, "it is on the other truck", groundhand.No
	})
	sc.refused(brief(other, correction), "FORBIDDEN jobId")
	undo := func(by groundhand.Account) func() error {
		return func() error {
			_, err := sc.desk.Withdraw(sc.ctx, by, sc.key(), WithdrawalForm{EntryID: made.ID, Because: "typing"})
			return err
		}
	}
	sc.refused(undo(other), "FORBIDDEN entryId")
	sc.refused(undo(sc.coordinator), "FORBIDDEN entryId")
	require.NoError(t, brief(own, correction)())

	moved := must(sc, sc.desk.BookJob, sc.job(func(f *JobForm) { f.Replaces, f.Because, f.Place = groundhand.EntryID(job.ID), "moved", "Bog Lane" }))
	sc.refused(brief(own, sc.briefing(job.ID)), "CONFLICT jobId")
	require.NoError(t, brief(own, sc.briefing(moved.ID))())
}

func TestBriefingsAreRefused(t *testing.T) {
	form := func(change func(*scene, *BriefingForm)) func(*scene) error {
		return func(sc *scene) error {
			by := sc.led("V1", sc.maren)
			job := must(sc, sc.desk.BookJob, sc.job())
			f := sc.briefing(job.ID)
			change(sc, &f)
			return sc.after(func() error { _, err := sc.desk.Brief(sc.ctx, by, sc.key(), f); return err })
		}
	}
	walk(t, []refusal{
		{"for no job", form(func(_ *scene, f *BriefingForm) { f.JobID = "" }), says("INVALID jobId")},
		{"for a job nobody knows", form(func(_ *scene, f *BriefingForm) { f.JobID = "j9" }), says("NOT_FOUND jobId")},
		{"for a job of another kind of record", form(func(sc *scene, f *BriefingForm) { f.JobID = "A04" }), says("NOT_FOUND jobId")},
		{"an answer that is none", form(func(_ *scene, f *BriefingForm) { f.KitOnDevice, f.KitSuits = "PERHAPS", "140 kg" }), says("INVALID kitOnDevice", "INVALID kitSuits")},
		{"somebody aloft whom nobody knows", form(func(sc *scene, f *BriefingForm) { f.Aloft = groundhand.List{string(sc.maren), "nobody"} }), says("NOT_FOUND aloft[1]")},
		{"somebody aloft twice", form(func(sc *scene, f *BriefingForm) { f.Aloft = groundhand.List{string(sc.maren), string(sc.maren)} }), says("INVALID aloft[1]")},
		{"a hundred people aloft", form(func(_ *scene, f *BriefingForm) { f.Aloft = make(groundhand.List, 100) }), says("TOO_LARGE aloft")},
		{"remarks that hide something", form(func(_ *scene, f *BriefingForm) { f.Remarks = "a\u202eb" }), says("INVALID remarks")},
		{"everything at once", form(func(_ *scene, f *BriefingForm) {
			*f = BriefingForm{JobID: "j 9", KitSuits: "X", Aloft: groundhand.List{"nobody"}, Remarks: strings.Repeat("a", 4001)}
		}), says("INVALID jobId", "INVALID kitSuits", "INVALID remarks", "NOT_FOUND aloft[0]")},
	})
}
