package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// held is a session of last year in which the first leads a run and the others watch.
func (w *town) held(id groundhand.SessionID, from, to string, method groundhand.Method, people ...groundhand.WorkerID) {
	w.t.Helper()
	add(w, groundhand.Session{ID: id, Recorded: w.told("2024-06-01"), YardID: "Y2", StartAt: w.at(from), EndAt: w.at(to), Methods: groundhand.List{string(method)}, DeviceID: "A05",
		AssessorID: "gideon", Seats: 6, Announced: true})
	told := w.told(from[:10])
	run := groundhand.Run{ID: groundhand.RunID(w.id()), Recorded: told, SessionID: id, Method: method, Scenario: groundhand.Unconscious, FamilyID: "F1", KitState: groundhand.AsFound,
		LoweringMeans: groundhand.PoweredLower, CasualtyKind: groundhand.Mannequin, WorkClothes: groundhand.Yes, StartedBy: groundhand.AtAlarm, Complete: true}
	add(w, run)
	for i, who := range people {
		role := groundhand.Observer
		if i == 0 {
			role = groundhand.Lead
		}
		add(w, groundhand.RunPart{ID: w.id(), Recorded: told, RunID: run.ID, WorkerID: who, Role: role})
	}
}

// Crew V1 starts at Stenholt, 55 minutes from Varrow. Last summer two of it and one of the relief pool were at a session of four hours
// there, and one at a session of two hours: 2 x (240 + 110) + 30 and 120 + 110 + 30 minutes, and 350 for the pool. Sessions of other
// methods, of other days and those that were never held do not count.
func TestCrewHoursAgainstLastYear(t *testing.T) {
	w := planTown(t)
	w.held("H1", "2024-07-16 08:00", "2024-07-16 12:00", groundhand.PairKit, "ann", "cal", "viggo", "gideon")
	w.held("H2", "2024-08-06 13:00", "2024-08-06 15:00", groundhand.PairKit, "bob")
	w.held("H3", "2024-08-07 08:00", "2024-08-07 12:00", groundhand.FirstAid, "bob")
	w.held("H4", "2024-09-20 08:00", "2024-09-20 12:00", groundhand.PairKit, "bob")
	w.session("H5", "2024-07-17 08:00", "2024-07-17 12:00", "gideon", "PAIR_KIT")
	p := w.posed(summer()).Problem
	plan := rotation.Plan{Sessions: []rotation.Session{{Slot: "S-PM", Attend: []rotation.Attendee{{Worker: "ann", Renews: []string{"PAIR_KIT"}}, {Worker: "bob", Renews: []string{"PAIR_KIT"}}}}}}
	got, err := w.roll.CrewHours(w.ctx, p, plan)
	require.NoError(t, err)
	assert.Equal(t, rollcall.CrewHours{From: day("2024-06-16"), Through: day("2024-09-14"),
		All:   rollcall.CrewTime{Proposed: 2*(120+110) + 30, Held: 350 + 730 + 260},
		Crews: []rollcall.CrewTime{{Crew: "", Held: 350}, {Crew: "V1", Proposed: 490, Held: 990}}}, got)
}
