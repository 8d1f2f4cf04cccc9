package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// january is a crew of three at Stenholt, good through 16 January 2026: a Friday. One device, one kit, one assessor, and a morning on each Tuesday.
func january(t *testing.T) *town {
	w := newTown(t)
	w.crew("V1", groundhand.LineCrew, groundhand.List{"F1"}, "ann", "bob", "cal")
	for _, who := range []groundhand.WorkerID{"ann", "bob", "cal"} {
		w.run(who, "2025-01-17", groundhand.PairKit, groundhand.Lead, "F1")
	}
	return w
}

func winter() rollcall.RotationAsk {
	return rollcall.RotationAsk{Start: day("2026-01-05"), End: day("2026-02-15"), Methods: pairOnly, Offer: &rollcall.Offering{Weekdays: []string{"tue"}, Yards: []groundhand.YardID{"Y1"}}}
}

func (w *town) plan(ask rollcall.RotationAsk) (rotation.Problem, rotation.Plan) {
	w.t.Helper()
	p := w.posed(ask).Problem
	plan, err := rotation.Suggest(w.ctx, p, rotation.Options{Seed: 1, Rounds: 600})
	require.NoError(w.t, err)
	require.Empty(w.t, rotation.Check(p, plan))
	return p, plan
}

// If the ground closes for the two weeks from Monday 5 January 2026, all three lapse after the 16th and drill on Tuesday the 20th: the 19th and
// 20th are short, each of the three has two lapsed days, and all are current again on the 21st.
func TestTheGroundClosesForTwoWeeks(t *testing.T) {
	w := january(t)
	ask := winter()
	before, planned := w.plan(ask)
	require.Equal(t, rotation.Objective{SessionCost: 1, MinutesAway: 3*240 + 30, DaysOffAim: planned.Objective.DaysOffAim, BusiestInstructor: 1}, planned.Objective)
	ask.Change = &rollcall.RotationChange{CloseYard: &rollcall.YardClosed{YardID: "Y1", From: day("2026-01-05"), To: day("2026-01-18")}}
	after, closed := w.plan(ask)
	for _, s := range after.Slots {
		assert.Greater(t, s.Date, day("2026-01-18"))
	}
	d := rotation.Compare(before, planned, after, closed)
	assert.Equal(t, 2, d.By.CrewDaysShort)
	assert.Equal(t, 6, d.By.LapsedDays)
	var who []string
	for _, l := range d.Lapses {
		assert.True(t, l.Newly())
		who = append(who, l.Worker)
	}
	assert.Equal(t, []string{"ann", "bob", "cal"}, who)
	assert.Equal(t, day("2026-01-21"), d.SafeAgain)
}

// A promise in a slot of the closed yard falls away with it; one in a slot that was never offered is refused.
func TestPromisesInAClosedYardFallAway(t *testing.T) {
	w := january(t)
	ask := winter()
	ask.Pins = []rotation.Pin{{Slot: "Y1/2026-01-06/am/gideon/A05", Worker: "ann", Renews: []string{"PAIR_KIT"}}}
	assert.Len(t, w.posed(ask).Problem.Pinned, 1)
	ask.Change = &rollcall.RotationChange{CloseYard: &rollcall.YardClosed{YardID: "Y1", From: day("2026-01-05"), To: day("2026-01-18")}}
	assert.Empty(t, w.posed(ask).Problem.Pinned)
	ask.Pins[0].Slot = "Y1/2026-01-07/am/gideon/A05"
	_, err := w.roll.RotationPosed(w.ctx, ask)
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
}

// Gideon is away on the first two Tuesdays. One more assessor who leads then keeps everybody current; one more kit does not, because who is
// missing is somebody to lead.
func TestOneMoreAssessorOrOneMoreKit(t *testing.T) {
	w := january(t)
	w.away("gideon", groundhand.Leave, "2026-01-05 00:00", "2026-01-17 00:00")
	ask := winter()
	before, planned := w.plan(ask)
	assert.Equal(t, 6, planned.Objective.LapsedDays)
	ask.Change = &rollcall.RotationChange{AddAssessor: &rollcall.AssessorAdded{YardID: "Y1"}}
	after, helped := w.plan(ask)
	d := rotation.Compare(before, planned, after, helped)
	assert.Equal(t, -6, d.By.LapsedDays)
	assert.Equal(t, -2, d.By.CrewDaysShort)
	for _, l := range d.Lapses {
		assert.True(t, l.NoLonger())
	}
	led := map[string]string{}
	for _, s := range after.Slots {
		led[s.ID] = s.Instructor
	}
	assert.Equal(t, rollcall.AddedAssessor, led[helped.Sessions[0].Slot])
	ask.Change = &rollcall.RotationChange{AddKit: &rollcall.KitAdded{YardID: "Y1"}}
	same, planned2 := w.plan(ask)
	assert.Equal(t, rotation.Objective{}, rotation.Compare(before, planned, same, planned2).By)
}

// A crew of two practised alone on 1 July 2024: by R1 good through 30 June 2025. Under R2, six months, both are out from the first day, and
// the drill on Tuesday 10 June puts it right: Monday and Tuesday are two short days and four lapsed ones.
func TestAnotherRuleSet(t *testing.T) {
	w := newTown(t)
	w.crew("N1", groundhand.FaultCrew, groundhand.List{"F1"}, "dan", "eve")
	w.run("dan", "2024-07-01", groundhand.LoneKit, groundhand.Lone, "F1")
	w.run("eve", "2024-07-01", groundhand.LoneKit, groundhand.Lone, "F1")
	ask := rollcall.RotationAsk{Start: day("2025-06-09"), End: day("2025-06-29"), Methods: []groundhand.Method{groundhand.LoneKit}, RuleSetID: "R1",
		Offer: &rollcall.Offering{Weekdays: []string{"tue"}, Yards: []groundhand.YardID{"Y1"}}}
	before, planned := w.plan(ask)
	assert.Equal(t, rotation.Objective{}, planned.Objective, "good to the day after the window")
	ask.Change = &rollcall.RotationChange{RuleSetID: "R2"}
	after, stricter := w.plan(ask)
	assert.Equal(t, 6, after.Qualifications[0].ValidMonths)
	d := rotation.Compare(before, planned, after, stricter)
	assert.Equal(t, rotation.Objective{CrewDaysShort: 2, LapsedDays: 4, SessionCost: 1, MinutesAway: 2*240 + 30, DaysOffAim: d.By.DaysOffAim, BusiestInstructor: 1}, d.By)
	assert.Equal(t, day("2025-06-11"), d.SafeAgain)
	_, err := w.roll.RotationPosed(w.ctx, rollcall.RotationAsk{Start: ask.Start, End: ask.End, Change: &rollcall.RotationChange{RuleSetID: "R9"}})
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
}

// None drops below cover because its own people are at the drill.
func TestNoCrewBelowCoverOnADrillDay(t *testing.T) {
	w := planTown(t)
	ask := summer()
	ask.Offer = &rollcall.Offering{Weekdays: []string{"tue"}}
	p, plan := w.plan(ask)
	days := rotation.DrillDays(p, plan)
	require.NotEmpty(t, days)
	for _, d := range days {
		assert.False(t, d.Below, "%+v", d)
	}
}
