package training

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// hired brings in a device that nobody has met.
func (sc *scene) hired() groundhand.Device {
	f := device("H31")
	f.On, f.FamilyID, f.AnchorCM, f.EmergencyLow = groundhand.MustDate("2025-06-09"), "", 0, ""
	return must(sc, sc.desk.AddDevice, f)
}

func classing(change ...func(*ClassingForm)) ClassingForm {
	f := ClassingForm{When: When{On: groundhand.MustDate("2025-06-10")}, DeviceID: "H31", FamilyID: "F3"}
	for _, c := range change {
		c(&f)
	}
	return f
}

func TestClassingsAreRefused(t *testing.T) {
	form := func(change func(*ClassingForm)) func(*scene) error {
		return func(sc *scene) error {
			sc.hired()
			return sc.after(func() error { return try(sc, sc.desk.ClassDevice, classing(change)) })
		}
	}
	walk(t, []refusal{
		{"that say nothing", form(func(f *ClassingForm) { f.FamilyID = "" }), says("INVALID familyId")},
		{"of nothing", form(func(f *ClassingForm) { f.DeviceID = "" }), says("INVALID deviceId")},
		{"of a device and a family nobody knows", form(func(f *ClassingForm) { f.DeviceID, f.FamilyID = "H99", "F99" }), says("NOT_FOUND deviceId", "NOT_FOUND familyId")},
		{"tomorrow", form(func(f *ClassingForm) { f.On = today + 1 }), says("INVALID on")},
		{"on no day", form(func(f *ClassingForm) { f.On = 0 }), says("INVALID on")},
		{"with an anchor in the sky", form(func(f *ClassingForm) { f.AnchorCM = 20001 }), says("INVALID anchorCm")},
		{"with an anchor below ground", form(func(f *ClassingForm) { f.AnchorCM = -1 }), says("INVALID anchorCm")},
		{"with a lowering that may be", form(func(f *ClassingForm) { f.EmergencyLow = "MAYBE" }), says("INVALID emergencyLow")},
		{"that correct nothing", form(func(f *ClassingForm) { f.Replaces, f.Because = "c9", "typing" }), says("NOT_FOUND replaces")},
		{"everything at once", form(func(f *ClassingForm) {
			*f = ClassingForm{DeviceID: groundhand.DeviceID(strings.Repeat("x", 65)), AnchorCM: -1, EmergencyLow: "?", FamilyID: "F99"}
		}), says("INVALID on", "INVALID deviceId", "INVALID anchorCm", "INVALID emergencyLow", "NOT_FOUND familyId")},
	})
}

func TestADeviceIsClassedAfterItArrived(t *testing.T) {
	sc := newScene(t)
	assert.Equal(t, groundhand.FamilyID(""), sc.hired().FamilyID)
	onHired := func(change ...func(*RunForm)) DrillForm {
		return sc.drill(append([]func(*RunForm){func(r *RunForm) { r.DeviceID, r.KitID = "H31", "" }}, change...)...)
	}
	sc.refused(func() error { return try(sc, sc.desk.RecordDrill, onHired()) }, "INVALID runs[0].familyId")

	classed := goesThrough(t, sc, sc.desk.ClassDevice, classing())
	assert.Equal(t, groundhand.FamilyID("F3"), classed.FamilyID)
	goesThrough(t, sc, sc.desk.ClassDevice, classing(func(f *ClassingForm) { f.FamilyID, f.AnchorCM, f.EmergencyLow = "", 1300, groundhand.Yes }))
	run := must(sc, sc.desk.RecordDrill, onHired()).Runs[0]
	assert.Equal(t, groundhand.FamilyID("F3"), run.FamilyID, "the run takes the family that became known")
	sc.refused(func() error { return try(sc, sc.desk.RecordDrill, onHired(func(r *RunForm) { r.FamilyID = "F1" })) }, "CONFLICT runs[0].familyId")
	dayBefore := When{On: groundhand.MustDate("2025-06-09")}
	sc.refused(func() error { return try(sc, sc.desk.RecordDrill, onHired(func(r *RunForm) { r.When = dayBefore })) }, "INVALID runs[0].familyId")

	again := goesThrough(t, sc, sc.desk.ClassDevice, classing(func(f *ClassingForm) { f.FamilyID, f.Replaces, f.Because = "F1", classed.ID, "the panel is a lever" }))
	standing, err := store.FindStanding[groundhand.Classing](sc.ctx, sc.store, store.ByDevice, []groundhand.DeviceID{"H31"})
	require.NoError(t, err)
	assert.Len(t, standing, 2)
	booked := must(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) { f.DeviceID = "H31" }))
	assert.Equal(t, groundhand.FamilyID("F1"), booked.Session.FamilyID)
	must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: again.ID, Because: "it is a panel"})
	assert.Equal(t, groundhand.FamilyID("F3"), must(sc, sc.desk.RecordDrill, onHired()).Runs[0].FamilyID, "the first classing stands again")
	must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: classed.ID, Because: "nobody looked"})
	sc.refused(func() error { return try(sc, sc.desk.RecordDrill, onHired()) }, "INVALID runs[0].familyId")
}
