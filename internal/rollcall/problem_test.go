package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

func (w *town) session(id groundhand.SessionID, from, to string, assessor groundhand.WorkerID, methods ...string) {
	w.t.Helper()
	add(w, groundhand.Session{ID: id, Recorded: w.told("2025-06-01"), YardID: "Y2", StartAt: w.at(from), EndAt: w.at(to), Methods: methods, DeviceID: "A05",
		AssessorID: assessor, Seats: 4, MaxRuns: 6, Announced: true})
}

func planTown(t *testing.T) *town {
	w := lineCrew(t, "ann", "bob", "cal")
	w.crew("RELIEF", groundhand.ReliefPool, groundhand.List{"F3"}, "viggo", "owen", "chidi")
	add(w, groundhand.Road{ID: w.id(), Recorded: w.told("2024-01-01"), FromYardID: "Y2", ToYardID: "Y1", Minutes: 55})
	w.run("ann", "2024-08-06", groundhand.PairKit, groundhand.Lead, "F1")
	w.run("bob", "2024-09-02", groundhand.PairKit, groundhand.Lead, "F1")
	add(w, groundhand.Suspension{ID: "SUS", Recorded: w.told("2025-06-01"), WorkerID: "bob", Method: groundhand.PairKit, Cause: "critical step missed"})
	w.away("ann", groundhand.Sick, "2025-07-07 12:00", "2025-07-10 00:00")
	w.away("cal", groundhand.Standby, "2025-07-01 00:00", "2025-07-04 00:00")
	w.session("S-AM", "2025-07-15 08:00", "2025-07-15 12:00", "gideon", "PAIR_KIT")
	w.session("S-PM", "2025-07-15 13:00", "2025-07-15 15:00", "gideon", "PAIR_KIT")
	w.session("S-NOBODY", "2025-07-16 08:00", "2025-07-16 12:00", "ann", "PAIR_KIT")
	add(w, groundhand.Booking{ID: w.id(), Recorded: w.told("2025-06-01"), SessionID: "S-PM", WorkerID: "ann", Renews: groundhand.List{"PAIR_KIT"}})
	return w
}

func TestTheProblemTheRecordsPose(t *testing.T) {
	w := planTown(t)
	p, err := w.roll.RotationProblem(w.ctx, rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2025-09-14"), Methods: []groundhand.Method{groundhand.PairKit}})
	require.NoError(t, err)
	assert.Equal(t, []rotation.Travel{{From: "Y1", To: "Y2", Minutes: 55}}, p.Travel)
	assert.Equal(t, []rotation.Qualification{{ID: "PAIR_KIT", PeoplePerRun: 2, ValidMonths: 12, AimDaysBefore: 21}}, p.Qualifications)
	assert.Equal(t, []rotation.Crew{{ID: "V1", Name: "V1", Yard: "Y1", Device: "F1", Cover: []rotation.CoverRule{{AnyOf: []string{"PAIR_KIT"}, AtLeast: 2}}}}, p.Crews)
	workers := map[string]rotation.Worker{}
	for _, x := range p.Workers {
		workers[x.ID] = x
	}
	require.Len(t, workers, 6)
	assert.Equal(t, []rotation.Ticket{{Qualification: "PAIR_KIT", Device: "F1", ValidThrough: day("2025-08-05")}}, workers["ann"].Tickets)
	assert.Equal(t, day("2025-06-15"), workers["bob"].Tickets[0].ValidThrough, "suspended: as good as lapsed")
	assert.Zero(t, workers["cal"].Tickets[0].ValidThrough, "never held")
	assert.Empty(t, workers["viggo"].Crew, "relief is planned for and not sent out")
	assert.Equal(t, []rotation.Stretch{{From: day("2025-07-08"), To: day("2025-07-09")}}, workers["ann"].Leave)
	assert.Equal(t, []rotation.Stretch{{From: day("2025-07-07"), To: day("2025-07-07")}}, workers["ann"].Standby, "there in the morning, so no drill that day")
	assert.Equal(t, []rotation.Stretch{{From: day("2025-07-01"), To: day("2025-07-03")}}, workers["cal"].Standby)

	require.Len(t, p.Slots, 2, "ann has no authority to assess")
	assert.Equal(t, rotation.Slot{ID: "S-AM", Date: day("2025-07-15"), Part: "am", Yard: "Y2", Device: "F1", Instructor: "gideon", Truck: "A05",
		Qualifications: []string{"PAIR_KIT"}, Seats: 4, MaxRuns: 6, Minutes: 240, Cost: 1}, p.Slots[0])
	assert.Equal(t, "pm", p.Slots[1].Part)
	assert.Equal(t, []rotation.Instructor{{ID: "gideon"}}, p.Instructors)
	assert.Equal(t, []rotation.Pin{{Slot: "S-PM", Worker: "ann", Renews: []string{"PAIR_KIT"}}}, p.Pinned)
}

func TestTheProblemAsksForAWindowItsRulesAllow(t *testing.T) {
	w := planTown(t)
	_, err := w.roll.RotationProblem(w.ctx, rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2026-06-30")})
	assert.ErrorIs(t, err, groundhand.CodeInvalid, "longer than a year")
	_, err = w.roll.RotationProblem(w.ctx, rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2025-06-01")})
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
	p, err := w.roll.RotationProblem(w.ctx, rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2026-06-15"),
		Slots: []rotation.Slot{{ID: "X1", Date: day("2025-07-17"), Part: "day", Yard: "Y1", Device: "F3", Instructor: "gideon", Qualifications: []string{"PAIR_KIT"}, Seats: 3, MaxRuns: 3, Minutes: 200, Cost: 1}}})
	require.NoError(t, err, "52 weeks")
	assert.Len(t, p.Slots, 3)
	require.Len(t, p.Crews[0].Cover, 2, "rescue and first aid")
}

func TestThePlannerTakesTheProblem(t *testing.T) {
	w := planTown(t)
	p, err := w.roll.RotationProblem(w.ctx, rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2025-09-14"), Methods: []groundhand.Method{groundhand.PairKit}})
	require.NoError(t, err)
	plan, err := rotation.Suggest(w.ctx, p, rotation.Options{Seed: 1, Rounds: 200})
	require.NoError(t, err)
	assert.Empty(t, rotation.Check(p, plan))
	var pinned []string
	for _, s := range plan.Sessions {
		for _, a := range s.Attend {
			if s.Slot == "S-PM" && len(a.Renews) > 0 {
				pinned = append(pinned, a.Worker)
			}
		}
	}
	assert.Contains(t, pinned, "ann", "what was promised is kept")
}

func TestASessionWithoutALimitOfRunsTakesWhatItsSeatsCanNeed(t *testing.T) {
	w := planTown(t)
	add(w, groundhand.Session{ID: "S-OPEN", Recorded: w.told("2025-06-01"), YardID: "Y2", StartAt: w.at("2025-07-17 08:00"), EndAt: w.at("2025-07-17 12:00"),
		Methods: groundhand.List{"PAIR_KIT"}, DeviceID: "A05", AssessorID: "gideon", Seats: 5, Announced: true})
	add(w, groundhand.Booking{ID: w.id(), Recorded: w.told("2025-06-01"), SessionID: "S-OPEN", WorkerID: "cal", Renews: groundhand.List{"PAIR_KIT"}})
	p, err := w.roll.RotationProblem(w.ctx, rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2025-09-14"), Methods: []groundhand.Method{groundhand.PairKit}})
	require.NoError(t, err)
	runs := map[string]int{}
	for _, slot := range p.Slots {
		runs[slot.ID] = slot.MaxRuns
	}
	assert.Equal(t, map[string]int{"S-AM": 6, "S-PM": 6, "S-OPEN": 5}, runs)
	assert.Contains(t, p.Pinned, rotation.Pin{Slot: "S-OPEN", Worker: "cal", Renews: []string{"PAIR_KIT"}})
}
