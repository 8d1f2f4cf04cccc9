package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/checklist"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func (sc *scene) realRescue(change ...func(*RealEventForm)) RealEventForm {
	f := RealEventForm{When: When{At: sc.moment("2025-06-10", 14, 35)}, Kind: groundhand.RealRescue, CrewID: "V1", DeviceID: "A04", KitID: "K04",
		What: "casualty brought down and handed over", CasualtyDownSeconds: 161, FirstAidSeconds: 178, Hold: true}
	for _, c := range change {
		c(&f)
	}
	return f
}

func TestAfterARealRescueTheKitIsOutAndTheRecordsAreHeld(t *testing.T) {
	sc := newScene(t)
	e := goesThrough(t, sc, sc.desk.ReportEvent, sc.realRescue())
	assert.Equal(t, []any{161, 178}, []any{e.CasualtyDownSeconds, e.FirstAidSeconds})
	defects, err := store.FindStanding[groundhand.Defect](sc.ctx, sc.store, store.ByKit, []string{"K04"})
	require.NoError(t, err)
	require.Len(t, defects, 1)
	assert.Equal(t, []any{groundhand.RealUse, e.HappenedAt, e.RecordedAt}, []any{defects[0].Cause, defects[0].HappenedAt, defects[0].RecordedAt})
	holds, err := store.Standing[groundhand.Hold](sc.ctx, sc.store)
	require.NoError(t, err)
	require.Len(t, holds, 3, "each can be let go by itself")
	assert.Equal(t, []any{groundhand.CrewID("V1"), groundhand.DeviceID("A04"), groundhand.KitID("K04")}, []any{holds[0].CrewID, holds[1].DeviceID, holds[2].KitID})

	back := InspectionForm{When: When{On: today}, KitID: "K04", Kind: groundhand.MonthlyInside, Checklist: "kit-inside-1", Result: groundhand.Returned,
		Lines: checklist.Answered("kit-inside-1", nil), Remarks: "looked through"}
	finder := sc.account("henrike looks", groundhand.Inspector, sc.henrike)
	sc.refused(func() error { _, err := sc.desk.Inspect(sc.ctx, finder, "own", back); return err }, "CONFLICT result")
	assert.Equal(t, groundhand.OwnReturn, sc.attempts()[0].Rule, "who reported it does not alone return the kit")
	must(sc, sc.desk.Inspect, back)
	late := goesThrough(t, sc, sc.desk.ReportEvent, sc.realRescue(func(f *RealEventForm) { f.At, f.Hold, f.CrewID = sc.moment("2025-06-09", 8, 0), false, "" }))
	defects, err = store.FindStanding[groundhand.Defect](sc.ctx, sc.store, store.ByKit, []string{"K04"})
	require.NoError(t, err)
	require.Len(t, defects, 2)
	assert.Equal(t, late.RecordedAt, defects[1].HappenedAt, "whoever returned it did not know of this one")
	assert.Equal(t, 3, sc.rows()["holds"])
}

func TestANearMissTakesNothingOut(t *testing.T) {
	sc := newScene(t)
	lead := member("V1", sc.maren, "2024-01-01", "")
	lead.Part = groundhand.Foreman
	must(sc, sc.desk.JoinCrew, lead)
	before := sc.rows()
	f := sc.realRescue(func(f *RealEventForm) { f.Kind, f.FirstAidSeconds = groundhand.NearMiss, 0 })
	e, err := sc.desk.ReportEvent(sc.ctx, sc.account("maren", groundhand.CrewForeman, sc.maren), "k", f)
	require.NoError(t, err, "a foreman reports, and has the records held")
	assert.Equal(t, before["defects"], sc.rows()["defects"])
	f.Entry = Entry{Replaces: e.ID, Because: "it was nine minutes", Kind: groundhand.Factual}
	f.CasualtyDownSeconds = 540
	must(sc, sc.desk.ReportEvent, f)
	assert.Equal(t, before["holds"]+3, sc.rows()["holds"], "a correction holds nothing twice")
	must(sc, sc.desk.ReportEvent, sc.realRescue(func(f *RealEventForm) { f.KitID = "" }))
	assert.Equal(t, before["defects"], sc.rows()["defects"], "there was no kit")
}

func TestEventsAreRefused(t *testing.T) {
	form := func(change func(*scene, *RealEventForm)) func(*scene) error {
		return func(sc *scene) error {
			f := sc.realRescue()
			change(sc, &f)
			return try(sc, sc.desk.ReportEvent, f)
		}
	}
	walk(t, []refusal{
		{"no moment", form(func(_ *scene, f *RealEventForm) { f.At, f.On = 0, today }), says("INVALID at")},
		{"a moment ahead", form(func(sc *scene, f *RealEventForm) { f.At = sc.moment("2025-06-12", 8, 0) }), says("INVALID at")},
		{"a kind that does not exist", form(func(_ *scene, f *RealEventForm) { f.Kind = "FUN" }), says("INVALID kind")},
		{"nothing said of it", form(func(_ *scene, f *RealEventForm) { f.What = "" }), says("INVALID what")},
		{"no crew, device or kit", form(func(_ *scene, f *RealEventForm) { f.CrewID, f.DeviceID, f.KitID = "", "", "" }), says("INVALID crewId")},
		{"unknown ones", form(func(_ *scene, f *RealEventForm) { f.CrewID, f.DeviceID, f.KitID = "V9", "A9", "K9" }), says("NOT_FOUND crewId", "NOT_FOUND deviceId", "NOT_FOUND kitId")},
		{"times that cannot be", form(func(_ *scene, f *RealEventForm) { f.CasualtyDownSeconds, f.FirstAidSeconds = -1, 86401 }), says("INVALID casualtyDownSeconds", "INVALID firstAidSeconds")},
		{"first aid before the casualty is down", form(func(_ *scene, f *RealEventForm) { f.FirstAidSeconds = 160 }), says("INVALID firstAidSeconds")},
		{"an inspector reports none", func(sc *scene) error {
			_, err := sc.desk.ReportEvent(sc.ctx, sc.inspector, "k", sc.realRescue())
			return err
		}, says("FORBIDDEN")},
	})
}
