package training

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

func (sc *scene) defect(change ...func(*DefectForm)) DefectForm {
	f := DefectForm{When: When{At: sc.moment("2025-06-11", 16, 0)}, KitID: "K04", Cause: groundhand.DefectFound, Separated: true, Remarks: "strap worn"}
	for _, c := range change {
		c(&f)
	}
	return f
}

func asOtherRaises(sc *scene, f DefectForm) error {
	_, err := sc.desk.RaiseDefect(sc.ctx, sc.account("keahi", groundhand.Inspector, sc.keahi), sc.key(), f)
	return err
}

func TestDefectsAreRefused(t *testing.T) {
	form := func(change func(*scene, *DefectForm)) func(*scene) error {
		return func(sc *scene) error {
			return try(sc, sc.desk.RaiseDefect, sc.defect(func(f *DefectForm) { change(sc, f) }))
		}
	}
	walk(t, []refusal{
		{"on a day only", form(func(_ *scene, f *DefectForm) { f.When = When{On: today} }), says("INVALID at")},
		{"at no time", form(func(_ *scene, f *DefectForm) { f.When = When{} }), says("INVALID at")},
		{"in a minute", form(func(sc *scene, f *DefectForm) { f.At = sc.moment("2025-06-11", 19, 21) }), says("INVALID at")},
		{"at the end of time", form(func(_ *scene, f *DefectForm) { f.At = math.MaxInt64 }), says("INVALID at")},
		{"on another day than its moment", form(func(_ *scene, f *DefectForm) { f.On = today - 1 }), says("INVALID at")},
		{"of nothing", form(func(_ *scene, f *DefectForm) { f.KitID = "" }), says("INVALID deviceId")},
		{"of a kit and a device", form(func(_ *scene, f *DefectForm) { f.DeviceID = "A04" }), says("INVALID deviceId")},
		{"of a kit nobody knows", form(func(_ *scene, f *DefectForm) { f.KitID = "K99" }), says("NOT_FOUND kitId")},
		{"of a device that is no id", form(func(_ *scene, f *DefectForm) { f.KitID, f.DeviceID = "", "A 04" }), says("INVALID deviceId")},
		{"for no cause", form(func(_ *scene, f *DefectForm) { f.Cause = "" }), says("INVALID cause")},
		{"for a cause that does not exist", form(func(_ *scene, f *DefectForm) { f.Cause = "BAD_LUCK" }), says("INVALID cause")},
		{"with too long a remark", form(func(_ *scene, f *DefectForm) { f.Remarks = strings.Repeat("a", 4001) }), says("INVALID remarks")},
		{"everything at once", form(func(_ *scene, f *DefectForm) { *f = DefectForm{KitID: "K99", Cause: "X", Remarks: "\x07"} }),
			says("INVALID at", "INVALID cause", "INVALID remarks", "NOT_FOUND kitId")},
		{"of what is retired", func(sc *scene) error {
			must(sc, sc.desk.RaiseDefect, sc.defect(func(f *DefectForm) { f.Cause = groundhand.Retired }))
			return sc.after(func() error { return try(sc, sc.desk.RaiseDefect, sc.defect()) })
		}, says("CONFLICT kitId")},
		{"a correction of nothing", form(func(_ *scene, f *DefectForm) { f.Replaces, f.Because = "d9", "typing" }), says("NOT_FOUND replaces")},
	})
}

func TestAnybodyWhoSeesADefectRaisesIt(t *testing.T) {
	sc := newScene(t)
	for _, by := range []groundhand.Account{
		sc.coordinator, sc.dispatcher, sc.assessor, sc.inspector,
		sc.account("maren", groundhand.CrewForeman, sc.maren), sc.account("keahi", groundhand.FieldWorker, sc.keahi),
	} {
		for _, cause := range groundhand.DefectCauses {
			if cause == groundhand.Retired {
				continue
			}
			_, err := sc.desk.RaiseDefect(sc.ctx, by, sc.key(), sc.defect(func(f *DefectForm) { f.Cause = cause }))
			require.NoError(t, err, "%s %s", by.Capacity, cause)
		}
	}
	sc.refused(func() error { _, err := sc.desk.RaiseDefect(sc.ctx, sc.hr, sc.key(), sc.defect()); return err }, "FORBIDDEN")
	sc.refused(func() error {
		_, err := sc.desk.RaiseDefect(sc.ctx, sc.dispatcher, sc.key(), sc.defect(func(f *DefectForm) { f.Cause = groundhand.Retired }))
		return err
	}, "FORBIDDEN cause")
}

func TestADefectIsCorrectedButNotTakenBackByItsFinder(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.AddKit, kit("K05"))
	first, err := sc.desk.RaiseDefect(sc.ctx, sc.inspector, "d", sc.defect())
	require.NoError(t, err)
	correction := func(change func(*DefectForm)) DefectForm {
		return sc.defect(func(f *DefectForm) { f.Replaces, f.Because = first.ID, "typing"; change(f) })
	}
	as := func(by groundhand.Account, f DefectForm) func() error {
		return func() error { _, err := sc.desk.RaiseDefect(sc.ctx, by, sc.key(), f); return err }
	}
	sc.refused(as(sc.inspector, correction(func(f *DefectForm) { f.KitID = "K05" })), "CONFLICT replaces")
	sc.refused(as(sc.inspector, correction(func(f *DefectForm) { f.At = sc.moment("2025-06-10", 16, 0) })), "CONFLICT replaces")
	foreman := sc.account("maren", groundhand.CrewForeman, sc.maren)
	sc.refused(as(foreman, correction(func(f *DefectForm) { f.KitID = "K05" })), "FORBIDDEN replaces")
	undo := func(by groundhand.Account) func() error {
		return func() error {
			_, err := sc.desk.Withdraw(sc.ctx, by, sc.key(), WithdrawalForm{EntryID: first.ID, Because: "typing"})
			return err
		}
	}
	sc.refused(undo(sc.inspector), "CONFLICT entryId")
	sc.refused(undo(foreman), "FORBIDDEN entryId")
	sc.refused(undo(sc.dispatcher), "FORBIDDEN entryId")

	require.NoError(t, as(sc.inspector, correction(func(f *DefectForm) { f.Remarks = "strap worn through" }))())
	standing := about[groundhand.Defect](&entering{ctx: sc.ctx, tx: sc.store}, thing{kit: "K04"})
	require.Len(t, standing, 1)
	assert.Equal(t, first.ID, standing[0].ReplacesID)
	_, err = sc.desk.Withdraw(sc.ctx, sc.coordinator, "w", WithdrawalForm{EntryID: standing[0].ID, Because: "it was another kit"})
	require.NoError(t, err)
}

func TestRetiringIsCorrectedByAnother(t *testing.T) {
	sc := newScene(t)
	gone, err := sc.desk.RaiseDefect(sc.ctx, sc.inspector, "d", sc.defect(func(f *DefectForm) { f.Cause = groundhand.Retired }))
	require.NoError(t, err)
	f := sc.defect(func(f *DefectForm) { f.Cause, f.Replaces, f.Because = groundhand.Workshop, gone.ID, "it can be mended" })
	sc.refused(func() error { _, err := sc.desk.RaiseDefect(sc.ctx, sc.inspector, sc.key(), f); return err }, "CONFLICT replaces")
	must(sc, sc.desk.RaiseDefect, f)
	must(sc, sc.desk.RaiseDefect, sc.defect())
}
