package rollcall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

func (w *town) posed(ask rollcall.RotationAsk) rollcall.Posed {
	w.t.Helper()
	posed, err := w.roll.RotationPosed(w.ctx, ask)
	require.NoError(w.t, err)
	return posed
}

func workerOf(t *testing.T, p rotation.Problem, id string) rotation.Worker {
	t.Helper()
	for _, w := range p.Workers {
		if w.ID == id {
			return w
		}
	}
	require.Fail(t, "no worker "+id)
	return rotation.Worker{}
}

var pairOnly = []groundhand.Method{groundhand.PairKit}

func summer() rollcall.RotationAsk {
	return rollcall.RotationAsk{Start: day("2025-06-16"), End: day("2025-09-14"), Methods: pairOnly}
}

// A crew of two counts in the lone method, because whoever stays down is alone. With a aloft, a+1 keep one on the ground.
func TestCoverFollowsTheRuleSetAndWhoGoesAloft(t *testing.T) {
	w := planTown(t)
	w.crew("N1", groundhand.FaultCrew, groundhand.List{"F1"}, "dan", "eve")
	ask := summer()
	ask.Methods = nil
	ask.Aloft = []rollcall.CrewAloft{{CrewID: "V1", Aloft: 2}}
	cover := map[string][]rotation.CoverRule{}
	for _, c := range w.posed(ask).Problem.Crews {
		cover[c.ID] = c.Cover
	}
	assert.Equal(t, map[string][]rotation.CoverRule{
		"N1": {{AnyOf: []string{"LONE_KIT"}, AtLeast: 2}, {AnyOf: []string{"FIRST_AID"}, AtLeast: 2}},
		"V1": {{AnyOf: []string{"PAIR_KIT"}, AtLeast: 3}, {AnyOf: []string{"FIRST_AID"}, AtLeast: 2}},
	}, cover)
}

// From 1 March 2025 the lone method is good for six months: what was practised on 2 December 2024 is good through 1 June 2025 then, and
// what was practised on 20 August 2024 only until the rule begins.
func TestATicketEndsWhenAStricterRuleBegins(t *testing.T) {
	w := newTown(t)
	w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.crew("N1", groundhand.FaultCrew, groundhand.List{"F1"}, "dan", "eve")
	w.run("dan", "2024-12-02", groundhand.LoneKit, groundhand.Lone, "F1")
	w.run("eve", "2024-08-20", groundhand.LoneKit, groundhand.Lone, "F1")
	p := w.posed(rollcall.RotationAsk{Start: day("2025-02-03"), End: day("2025-07-31"), Methods: []groundhand.Method{groundhand.LoneKit}}).Problem
	assert.Equal(t, day("2025-06-01"), workerOf(t, p, "dan").Tickets[0].ValidThrough)
	assert.Equal(t, day("2025-02-28"), workerOf(t, p, "eve").Tickets[0].ValidThrough)
	p = w.posed(rollcall.RotationAsk{Start: day("2025-02-03"), End: day("2025-07-31"), Methods: []groundhand.Method{groundhand.LoneKit}, RuleSetID: "R1"}).Problem
	assert.Equal(t, day("2025-12-01"), workerOf(t, p, "dan").Tickets[0].ValidThrough, "by the old rule: a year")
}

func TestWhoJoinsAndWhoLeavesWithinTheWindow(t *testing.T) {
	w := planTown(t)
	w.worker("new", groundhand.Qualified)
	w.join("new", "V1", groundhand.Permanent, "2025-08-01", "")
	w.worker("old", groundhand.Qualified)
	w.join("old", "V1", groundhand.Permanent, "2024-01-01", "2025-07-31")
	w.worker("mover", groundhand.Qualified)
	w.join("mover", "RELIEF", groundhand.Permanent, "2024-01-01", "2025-07-31")
	w.join("mover", "V1", groundhand.Permanent, "2025-08-01", "")
	w.worker("guest", groundhand.Qualified)
	w.join("guest", "V1", groundhand.Storm, "2025-06-10", "2025-06-20")
	p := w.posed(summer()).Problem
	assert.Equal(t, []rotation.Stretch{{From: day("2025-06-16"), To: day("2025-07-31")}}, workerOf(t, p, "new").Leave)
	assert.Equal(t, "V1", workerOf(t, p, "new").Crew)
	assert.Equal(t, []rotation.Stretch{{From: day("2025-08-01"), To: day("2025-09-14")}}, workerOf(t, p, "old").Leave)
	assert.Empty(t, workerOf(t, p, "mover").Leave, "from one crew into another without a gap")
	assert.Equal(t, []rotation.Stretch{{From: day("2025-06-21"), To: day("2025-09-14")}}, workerOf(t, p, "guest").Leave)
}

func TestAnAssessorOnLeaveLeadsNothing(t *testing.T) {
	w := planTown(t)
	w.away("gideon", groundhand.Leave, "2025-07-14 00:00", "2025-07-19 00:00")
	p := w.posed(summer()).Problem
	gideon := workerOf(t, p, "gideon")
	assert.Empty(t, gideon.Crew)
	assert.Empty(t, gideon.Tickets)
	assert.Equal(t, []rotation.Instructor{{ID: "gideon", Worker: "gideon"}}, p.Instructors)
	p.Pinned = nil
	plan, err := rotation.Suggest(w.ctx, p, rotation.Options{Seed: 1, Rounds: 20})
	require.NoError(t, err)
	assert.Equal(t, []rotation.SetAside{{Slot: "S-AM", Reason: rotation.InstructorAway}, {Slot: "S-PM", Reason: rotation.InstructorAway}}, plan.SlotsSetAside)
}

func TestGearOutOfServiceIsNoSlot(t *testing.T) {
	w := planTown(t)
	add(w, groundhand.Defect{ID: w.id(), Recorded: w.told("2025-07-10"), DeviceID: "A05", Cause: groundhand.Workshop})
	back := w.told("2025-07-20")
	add(w, groundhand.Inspection{ID: w.id(), Recorded: back, DeviceID: "A05", Kind: groundhand.DeviceMonthly, Result: groundhand.Returned})
	add(w, groundhand.Defect{ID: w.id(), Recorded: w.told("2025-07-21"), KitID: "K-A05", Cause: groundhand.DefectFound})
	later := groundhand.Session{ID: "S-LATER", Recorded: w.told("2025-06-01"), YardID: "Y2", StartAt: w.at("2025-07-22 08:00"), EndAt: w.at("2025-07-22 12:00"),
		Methods: groundhand.List{"PAIR_KIT"}, DeviceID: "A05", AssessorID: "gideon", Seats: 4, Announced: true}
	withKit := later
	withKit.ID, withKit.KitID, withKit.StartAt, withKit.EndAt = "S-KIT", "K-A05", w.at("2025-07-23 08:00"), w.at("2025-07-23 12:00")
	add(w, later, withKit)
	posed := w.posed(summer())
	assert.Equal(t, []rollcall.SlotLeftOut{
		{Slot: "S-AM", Date: day("2025-07-15"), Reason: rollcall.SlotDeviceOut},
		{Slot: "S-PM", Date: day("2025-07-15"), Reason: rollcall.SlotDeviceOut},
		{Slot: "S-NOBODY", Date: day("2025-07-16"), Reason: rollcall.SlotNoAuthority},
		{Slot: "S-KIT", Date: day("2025-07-23"), Reason: rollcall.SlotKitOut},
	}, posed.LeftOut)
	require.Len(t, posed.Problem.Slots, 1)
	assert.Equal(t, "S-LATER", posed.Problem.Slots[0].ID)
	assert.Empty(t, posed.Problem.Pinned, "what was promised in a session that cannot be held does not bind")
}

func TestPinsAndForbidsAreObeyed(t *testing.T) {
	w := planTown(t)
	ask := summer()
	ask.Pins = []rotation.Pin{{Slot: "S-AM", Worker: "cal", Renews: []string{"PAIR_KIT"}}, {Slot: "S-PM", Worker: "ann", Renews: []string{"PAIR_KIT"}}}
	ask.ForbidDays = []rollcall.WorkerDays{{Worker: "bob", From: day("2025-07-15"), To: day("2025-07-15")}}
	p := w.posed(ask).Problem
	assert.ElementsMatch(t, []rotation.Pin{{Slot: "S-PM", Worker: "ann", Renews: []string{"PAIR_KIT"}}, {Slot: "S-AM", Worker: "cal", Renews: []string{"PAIR_KIT"}}},
		p.Pinned, "the booking and the pin are one promise")
	assert.Equal(t, []rotation.Stretch{{From: day("2025-07-15"), To: day("2025-07-15")}}, workerOf(t, p, "bob").Standby)
	plan, err := rotation.Suggest(w.ctx, p, rotation.Options{Seed: 1, Rounds: 200})
	require.NoError(t, err)
	assert.Empty(t, rotation.Check(p, plan))
	for _, s := range plan.Sessions {
		for _, a := range s.Attend {
			assert.NotEqual(t, "bob", a.Worker, "kept from drills on the only day there are any")
		}
	}

	ask.Pins, ask.ForbidSlots = nil, []string{"S-PM", "NO-SUCH-SLOT"}
	posed := w.posed(ask)
	require.Len(t, posed.Problem.Slots, 1)
	assert.Equal(t, "S-AM", posed.Problem.Slots[0].ID)
	assert.Empty(t, posed.Problem.Pinned)
	assert.Contains(t, posed.LeftOut, rollcall.SlotLeftOut{Slot: "S-PM", Date: day("2025-07-15"), Reason: rollcall.SlotForbidden})
}

func TestAWrongAskIsRefusedFieldByField(t *testing.T) {
	w := planTown(t)
	fields := func(change func(*rollcall.RotationAsk)) (out []string) {
		ask := summer()
		change(&ask)
		_, err := w.roll.RotationPosed(w.ctx, ask)
		for _, e := range groundhand.Refusals(err) {
			out = append(out, e.Field)
		}
		return out
	}
	assert.Equal(t, []string{"forbidDays[0].to", "aloft[0].aloft", "offer.weekdays[0]", "offer.parts[0]", "offer.seats", "offer.most", "change"},
		fields(func(a *rollcall.RotationAsk) {
			a.ForbidDays = []rollcall.WorkerDays{{Worker: "ann", From: day("2025-07-02"), To: day("2025-07-01")}}
			a.Aloft = []rollcall.CrewAloft{{CrewID: "V1", Aloft: 0}}
			a.Offer = &rollcall.Offering{Weekdays: []string{"tuesday"}, Parts: []string{"night"}, Seats: -1, Most: 5000}
			a.Change = &rollcall.RotationChange{}
		}))
	assert.Equal(t, []string{"forbidDays[0].worker", "aloft[0].crewId", "offer.yards[0]", "change.closeYard.yardId"}, fields(func(a *rollcall.RotationAsk) {
		a.ForbidDays = []rollcall.WorkerDays{{Worker: "nobody", From: day("2025-07-01"), To: day("2025-07-01")}}
		a.Aloft = []rollcall.CrewAloft{{CrewID: "NO-CREW", Aloft: 1}}
		a.Offer = &rollcall.Offering{Yards: []groundhand.YardID{"NO-YARD"}}
		a.Change = &rollcall.RotationChange{CloseYard: &rollcall.YardClosed{YardID: "NO-YARD", From: day("2025-07-01"), To: day("2025-07-14")}}
	}))
	assert.Equal(t, []string{"change"}, fields(func(a *rollcall.RotationAsk) {
		a.Change = &rollcall.RotationChange{AddKit: &rollcall.KitAdded{YardID: "Y1"}}
	}), "nothing is offered that a kit could add to")
	assert.Equal(t, []string{"end"}, fields(func(a *rollcall.RotationAsk) { a.End = day("2190-01-01") }))
	assert.Equal(t, []string{"pins[0].slot", "pins[1].slot"}, fields(func(a *rollcall.RotationAsk) {
		a.Pins = []rotation.Pin{{Slot: "NO-SLOT", Worker: "ann"}, {Slot: "S-NOBODY", Worker: "ann"}}
	}))
}
