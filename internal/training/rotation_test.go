package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// rotating is a crew of three whose practice of 20 June 2024 ends soon, an assessor, and a morning on which they could drill.
func rotating(t *testing.T) (*scene, RotationForm) {
	sc := newScene(t)
	for _, r := range rulebook.Shipped() {
		must(sc, sc.desk.AddRuleSet, ShippedRules(r, "Alasdair Nwosu-Kerr"))
	}
	must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	sc.practise(sc.gideon, "2024-06-06")
	for _, who := range []groundhand.WorkerID{sc.maren, sc.tomasz, sc.keahi} {
		must(sc, sc.desk.JoinCrew, member("V1", who, "2024-01-01", ""))
		f := sc.pass(who)
		f.On = groundhand.MustDate("2024-06-20")
		must(sc, sc.desk.Assess, f)
	}
	return sc, RotationForm{
		StartOn: groundhand.MustDate("2025-06-12"), EndOn: groundhand.MustDate("2025-07-31"), Methods: groundhand.List{"PAIR_KIT"}, Seed: 7, Rounds: 200,
		Slots: []SlotForm{{
			ID: "tue-am", On: groundhand.MustDate("2025-06-17"), Part: "am", YardID: "VARROW", FamilyID: "F1", DeviceID: "A04",
			AssessorID: sc.gideon, Methods: groundhand.List{"PAIR_KIT"}, Seats: 4, MaxRuns: 6, Minutes: 180,
		}},
	}
}

func TestSuggestedPlanIsKeptWithItsProblemAndSeed(t *testing.T) {
	sc, f := rotating(t)
	before := sc.rows()
	plan := must(sc, sc.desk.SuggestRotation, f)
	assert.Equal(t, before["sessions"], sc.rows()["sessions"], "a suggestion books nothing")

	problem, err := rotation.Decode([]byte(plan.Problem))
	require.NoError(t, err)
	again, err := rotation.Suggest(sc.ctx, problem, rotation.Options{Seed: uint64(plan.Seed), Rounds: plan.Rounds})
	require.NoError(t, err)
	text, err := again.MarshalJSON()
	require.NoError(t, err)
	assert.JSONEq(t, plan.Result, string(text), "anybody can work it out again")
	assert.Empty(t, rotation.Check(problem, again))
	require.NotEmpty(t, again.Sessions)
}

func TestAdoptedPlanIsBookedOnce(t *testing.T) {
	sc, f := rotating(t)
	plan := must(sc, sc.desk.SuggestRotation, f)
	adopted := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	require.Len(t, adopted.Sessions, 1)
	s := adopted.Sessions[0]
	assert.Equal(t, sc.moment("2025-06-17", 8, 0), s.StartAt)
	assert.Equal(t, sc.moment("2025-06-17", 11, 0), s.EndAt)
	assert.Equal(t, plan.ID, s.PlanID)
	assert.Equal(t, sc.gideon, s.AssessorID)
	var seated []groundhand.WorkerID
	for _, b := range adopted.Bookings {
		seated = append(seated, b.WorkerID)
		assert.Equal(t, groundhand.List{"PAIR_KIT"}, b.Renews)
	}
	assert.ElementsMatch(t, []groundhand.WorkerID{sc.maren, sc.tomasz, sc.keahi}, seated)

	before := sc.rows()
	again := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID}) // with another key
	before["acts"]++
	assert.Equal(t, before, sc.rows(), "adopting twice books nothing twice")
	assert.Equal(t, adopted.Adoption, again.Adoption)
	assert.ElementsMatch(t, adopted.Sessions, again.Sessions)
	assert.ElementsMatch(t, adopted.Bookings, again.Bookings)
}

func TestAPlanUsesTheSessionsThatAreBooked(t *testing.T) {
	sc, f := rotating(t)
	booked := must(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) {
		f.StartAt, f.EndAt = sc.moment("2025-06-17", 8, 0), sc.moment("2025-06-17", 11, 0)
		f.Bookings = []SeatForm{{WorkerID: sc.maren, Renews: groundhand.List{"PAIR_KIT"}}}
	}))
	f.Slots = nil
	plan := must(sc, sc.desk.SuggestRotation, f)
	adopted := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	assert.Empty(t, adopted.Sessions, "the session is there already")
	seats, err := store.FindStanding[groundhand.Booking](sc.ctx, sc.store, store.BySession, []groundhand.SessionID{booked.Session.ID})
	require.NoError(t, err)
	assert.Len(t, seats, 3, "Maren keeps her seat, the others get one")
}

func TestAdoptionsAreRefused(t *testing.T) {
	suggested := func(then func(sc *scene, plan groundhand.Plan)) func(*scene) error {
		return func(sc *scene) error {
			other, f := rotating(sc.t)
			*sc = *other
			plan := must(sc, sc.desk.SuggestRotation, f)
			then(sc, plan)
			return sc.after(func() error { return try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID}) })
		}
	}
	walk(t, []refusal{
		{"of a plan that nobody made", func(sc *scene) error { return try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: "p9"}) }, says("NOT_FOUND planId")},
		{"when one of its people was given a seat elsewhere", suggested(func(sc *scene, _ groundhand.Plan) {
			must(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) {
				f.StartAt, f.EndAt = sc.moment("2025-06-17", 9, 0), sc.moment("2025-06-17", 10, 0)
				f.Bookings = f.Bookings[:1]
			}))
		}), says("CONFLICT planId")},
		{"when one of its people was withdrawn", suggested(func(sc *scene, _ groundhand.Plan) {
			_, err := sc.desk.Withdraw(sc.ctx, sc.hr, sc.key(), WithdrawalForm{EntryID: groundhand.EntryID(sc.keahi), Because: "entered twice"})
			require.NoError(sc.t, err)
		}), says("CONFLICT planId")},
	})
}

func TestAPlanThatBreaksAHardRuleIsNotAdopted(t *testing.T) {
	sc, f := rotating(t)
	plan := must(sc, sc.desk.SuggestRotation, f)
	plan.ID, plan.RequestID, plan.RecordedAt = "forged", "", sc.store.Now()
	// a two-person method with one person, as the planner would never give it
	plan.Result = `{"format":"drill-plan/1","problem":"x","sessions":[{"slot":"tue-am","attend":[{"worker":"` + string(sc.maren) + `","renews":["PAIR_KIT"]}]}]}`
	require.NoError(t, store.Add(sc.ctx, sc.store, plan))
	before := sc.rows()
	err := try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: "forged"})
	require.ErrorIs(t, err, groundhand.CodeConflict)
	assert.Subset(t, []string{"CONFLICT planId"}, refusals(err))
	assert.Equal(t, before, sc.rows())
}

func TestRotationsAreRefused(t *testing.T) {
	form := func(change func(*RotationForm)) func(*scene) error {
		return func(sc *scene) error {
			other, f := rotating(sc.t)
			*sc = *other
			change(&f)
			return sc.after(func() error { return try(sc, sc.desk.SuggestRotation, f) })
		}
	}
	walk(t, []refusal{
		{"it ends before it starts", form(func(f *RotationForm) { f.EndOn = f.StartOn - 1 }), says("INVALID endOn")},
		{"it lasts two years", form(func(f *RotationForm) { f.EndOn = f.StartOn.AddMonths(24) }), says("INVALID endOn")},
		{"more rounds than anybody waits for", form(func(f *RotationForm) { f.Rounds = 1_000_001 }), says("INVALID rounds")},
		{"a slot without seats in no part of the day", form(func(f *RotationForm) { f.Slots[0].Seats, f.Slots[0].Part = 0, "night" }), says("INVALID slots[0].seats", "INVALID slots[0].part")},
		{"a slot with unknown people and places", form(func(f *RotationForm) {
			f.Slots[0].YardID, f.Slots[0].FamilyID, f.Slots[0].DeviceID, f.Slots[0].AssessorID = "Y9", "F9", "A9", "w9"
		}), says("NOT_FOUND slots[0].yardId", "NOT_FOUND slots[0].familyId", "NOT_FOUND slots[0].deviceId", "NOT_FOUND slots[0].assessorId")},
	})
}
