package training

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// twoCrews are two crews of three who drill apart: on Tuesday and on Thursday there is room for one of them.
func twoCrews(t *testing.T) (*scene, groundhand.Plan) {
	sc, f := rotating(t)
	for i, name := range []string{"Ines Calder", "Obed Larkspur", "Runa Tessier"} {
		who := sc.worker(name, "200"+string(rune('1'+i)), groundhand.Qualified)
		must(sc, sc.desk.JoinCrew, member("V2", who, "2024-01-01", ""))
		pass := sc.pass(who)
		pass.On = groundhand.MustDate("2024-06-20")
		must(sc, sc.desk.Assess, pass)
	}
	f.Slots[0].Seats = 3
	other := f.Slots[0]
	other.ID, other.On = "thu-am", groundhand.MustDate("2025-06-19")
	f.Slots = append(f.Slots, other)
	plan := must(sc, sc.desk.SuggestRotation, f)
	_, made, err := ReadPlan(plan)
	require.NoError(t, err)
	require.Len(t, made.Sessions, 2)
	return sc, plan
}

func (sc *scene) seats(s groundhand.SessionID) (out []groundhand.WorkerID) {
	bookings, err := store.FindStanding[groundhand.Booking](sc.ctx, sc.store, store.BySession, []groundhand.SessionID{s})
	require.NoError(sc.t, err)
	for _, b := range bookings {
		out = append(out, b.WorkerID)
	}
	return out
}

func TestAPlanIsAdoptedSlotBySlot(t *testing.T) {
	sc, plan := twoCrews(t)
	first := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID, Slots: groundhand.List{"thu-am"}})
	require.Len(t, first.Sessions, 1)
	assert.Equal(t, "thu-am", first.Sessions[0].Slot)
	assert.Len(t, first.Bookings, 3)
	assert.Equal(t, groundhand.List{"thu-am"}, first.Adoption.Slots)

	before := sc.rows()
	again := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID, Slots: groundhand.List{"thu-am"}})
	before["acts"]++
	assert.Equal(t, before, sc.rows(), "adopting a slot twice books nothing twice")
	assert.Equal(t, first, again)

	rest := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	require.Len(t, rest.Sessions, 1, "the whole plan books what is left of it")
	assert.Equal(t, "tue-am", rest.Sessions[0].Slot)
	assert.Len(t, rest.Bookings, 3)

	all := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	assert.Len(t, all.Sessions, 2)
	assert.Len(t, all.Bookings, 6)
	assert.Equal(t, 2, sc.rows()["sessions"])
	assert.Equal(t, 6, sc.rows()["bookings"])
	sc.refused(func() error {
		return try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID, Slots: groundhand.List{"fri-am", "thu-am", "thu-am"}})
	},
		"NOT_FOUND slots[0]", "INVALID slots[2]")
}

func TestTwoAdoptionsAtOnceBookOnce(t *testing.T) {
	sc, plan := twoCrews(t)
	var both sync.WaitGroup
	for _, key := range []string{"one", "two"} {
		both.Go(func() {
			_, err := sc.desk.AdoptPlan(sc.ctx, sc.coordinator, key, AdoptionForm{PlanID: plan.ID})
			assert.NoError(t, err)
		})
	}
	both.Wait()
	assert.Equal(t, []int{2, 6, 1}, []int{sc.rows()["sessions"], sc.rows()["bookings"], sc.rows()["adoptions"]})
}

func TestWhatWasBookedByHandIsNotBookedTwice(t *testing.T) {
	sc, f := rotating(t)
	plan := must(sc, sc.desk.SuggestRotation, f)
	byHand := must(sc, sc.desk.BookSession, sc.session(func(s *SessionForm) {
		s.StartAt, s.EndAt, s.Seats = sc.moment("2025-06-17", 7, 30), sc.moment("2025-06-17", 11, 30), 4
		s.Bookings = s.Bookings[:1]
	}))
	adopted := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	assert.Empty(t, adopted.Sessions)
	assert.Len(t, adopted.Bookings, 2)
	assert.ElementsMatch(t, []groundhand.WorkerID{sc.maren, sc.tomasz, sc.keahi}, sc.seats(byHand.Session.ID))
}

// Whoever sends the form again is told the same, wherever the seats were booked.
func TestAnAdoptionSentAgainTellsOfEverySeat(t *testing.T) {
	for name, moved := range map[string]bool{"in a session that was booked by hand since": false, "in a session that was moved since": true} {
		t.Run(name, func(t *testing.T) {
			sc, f := rotating(t)
			plan := must(sc, sc.desk.SuggestRotation, f)
			session := sc.session(func(s *SessionForm) {
				s.StartAt, s.EndAt, s.Seats = sc.moment("2025-06-17", 8, 0), sc.moment("2025-06-17", 11, 0), 4
				s.Bookings = s.Bookings[:1]
			})
			byHand := must(sc, sc.desk.BookSession, session)
			if moved {
				f.Slots = nil // the booked session is the slot
				plan = must(sc, sc.desk.SuggestRotation, f)
				session.Replaces, session.Because = groundhand.EntryID(byHand.Session.ID), "the truck is late"
				session.StartAt, session.EndAt = sc.moment("2025-06-17", 9, 0), sc.moment("2025-06-17", 12, 0)
				must(sc, sc.desk.BookSession, session)
			}
			form := AdoptionForm{PlanID: plan.ID}
			first, err := sc.desk.AdoptPlan(sc.ctx, sc.coordinator, "once", form)
			require.NoError(t, err)
			require.Len(t, first.Bookings, 2)
			for _, key := range []string{"once", "anew"} {
				again, err := sc.desk.AdoptPlan(sc.ctx, sc.coordinator, key, form)
				require.NoError(t, err)
				assert.ElementsMatch(t, first.Bookings, again.Bookings, key)
			}
		})
	}
}

// Two rows of one person may be found after a plan was made: what is recorded of either counts.
func TestAPlanOlderThanAMergeSeesTheWholePerson(t *testing.T) {
	sc, f := rotating(t)
	plan := must(sc, sc.desk.SuggestRotation, f)
	second := sc.worker("Keahi B. Barrow", "3009", groundhand.Qualified)
	must(sc, sc.desk.Merge, MergeForm{KeptID: second, GoneID: sc.keahi, Reason: "entered twice"})
	must(sc, sc.desk.SetUnavailable, UnavailableForm{WorkerID: second, Kind: groundhand.Leave, FromAt: sc.moment("2025-06-16", 0, 0)})
	err := try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	require.ErrorIs(t, err, groundhand.CodeConflict)
	assert.Contains(t, err.Error(), "is not free")

	sc, f = rotating(t)
	plan = must(sc, sc.desk.SuggestRotation, f)
	second = sc.worker("Keahi B. Barrow", "3009", groundhand.Qualified)
	must(sc, sc.desk.Merge, MergeForm{KeptID: second, GoneID: sc.keahi, Reason: "entered twice"})
	must(sc, sc.desk.BookSession, sc.session(func(s *SessionForm) {
		s.StartAt, s.EndAt, s.Seats = sc.moment("2025-06-17", 8, 0), sc.moment("2025-06-17", 11, 0), 4
		s.Bookings = []SeatForm{{WorkerID: second, Renews: groundhand.List{"PAIR_KIT"}}}
	}))
	adopted := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	assert.Len(t, adopted.Bookings, 2, "who has a seat gets no second one")

	sc, f = rotating(t)
	plan = must(sc, sc.desk.SuggestRotation, f)
	must(sc, sc.desk.Merge, MergeForm{KeptID: sc.maren, GoneID: sc.keahi, Reason: "entered twice"})
	before := sc.rows()
	err = try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	require.ErrorIs(t, err, groundhand.CodeConflict, "one person is not two of a crew")
	assert.Contains(t, err.Error(), "one person")
	assert.Equal(t, before, sc.rows())
}

// Somebody who was given another day by hand does not drill twice; whether the others can do without is judged again.
func TestWhoWasBookedOnAnotherDayIsLeftOut(t *testing.T) {
	sc, plan := twoCrews(t)
	_, made, err := ReadPlan(plan)
	require.NoError(t, err)
	must(sc, sc.desk.BookSession, sc.session(func(s *SessionForm) { // the whole of the second crew of the plan, on the 24th
		s.Bookings = nil
		for _, who := range made.Sessions[1].Attend {
			s.Bookings = append(s.Bookings, SeatForm{WorkerID: groundhand.WorkerID(who.Worker), Renews: groundhand.List{"PAIR_KIT"}})
		}
	}))
	adopted := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	require.Len(t, adopted.Sessions, 1, "the session of those who go elsewhere is not held")
	assert.Equal(t, made.Sessions[0].Slot, adopted.Sessions[0].Slot)
	assert.Len(t, adopted.Bookings, 3)

	sc, plan = twoCrews(t)
	_, made, err = ReadPlan(plan)
	require.NoError(t, err)
	one := made.Sessions[1].Attend[0].Worker
	must(sc, sc.desk.BookSession, sc.session(func(s *SessionForm) {
		s.Bookings = []SeatForm{{WorkerID: groundhand.WorkerID(one), Renews: groundhand.List{"PAIR_KIT"}}}
	}))
	before := sc.rows()
	err = try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	require.ErrorIs(t, err, groundhand.CodeConflict, "one of three may not stay behind alone")
	names, err2 := sc.store.NamesOn(sc.ctx, []groundhand.WorkerID{groundhand.WorkerID(one)}, today)
	require.NoError(t, err2)
	assert.Contains(t, err.Error(), names[groundhand.WorkerID(one)])
	assert.Equal(t, before, sc.rows())
}

func TestAMovedSessionStaysThatOfItsPlan(t *testing.T) {
	for _, day := range []string{"2025-06-17", "2025-11-20"} { // a few hours, and so far that nobody would look for it there
		t.Run(day, func(t *testing.T) { movedTo(t, day) })
	}
}

func movedTo(t *testing.T, day string) {
	sc, f := rotating(t)
	plan := must(sc, sc.desk.SuggestRotation, f)
	adopted := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	moved := must(sc, sc.desk.BookSession, sc.session(func(s *SessionForm) {
		s.Replaces, s.Because = groundhand.EntryID(adopted.Sessions[0].ID), "the truck is late"
		s.StartAt, s.EndAt, s.Seats = sc.moment(day, 9, 0), sc.moment(day, 12, 0), 4
		s.Bookings = nil
		for _, b := range adopted.Bookings {
			s.Bookings = append(s.Bookings, SeatForm{WorkerID: b.WorkerID, Renews: b.Renews})
		}
	}))
	assert.Equal(t, []string{string(plan.ID), "tue-am"}, []string{string(moved.Session.PlanID), moved.Session.Slot})
	before := sc.rows()
	must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID, Slots: groundhand.List{"tue-am"}})
	before["acts"] += 2
	assert.Equal(t, before, sc.rows())
}

func TestASessionThatWasCalledOffStaysOffUntilItIsNamed(t *testing.T) {
	sc, plan := twoCrews(t)
	adopted := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID, Slots: groundhand.List{"tue-am"}})
	must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: groundhand.EntryID(adopted.Sessions[0].ID), Because: "hail"})
	rest := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	require.Len(t, rest.Sessions, 1)
	assert.Equal(t, "thu-am", rest.Sessions[0].Slot)
	named := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID, Slots: groundhand.List{"tue-am"}})
	require.Len(t, named.Sessions, 1)
	assert.Equal(t, "tue-am", named.Sessions[0].Slot)
}

func TestWhatHasComeBetweenIsNamedAndNothingIsHalfBooked(t *testing.T) {
	for name, c := range map[string]struct {
		between func(sc *scene, plan groundhand.Plan)
		says    []string
	}{
		"somebody is away": {func(sc *scene, _ groundhand.Plan) {
			must(sc, sc.desk.SetUnavailable, UnavailableForm{WorkerID: sc.keahi, Kind: groundhand.Sick, FromAt: sc.moment("2025-06-16", 0, 0), Reason: "a fever"})
		}, []string{"Keahi Barrow is not free"}},
		"somebody has left": {func(sc *scene, _ groundhand.Plan) {
			all, err := store.FindStanding[groundhand.Employment](sc.ctx, sc.store, store.ByWorker, []groundhand.WorkerID{sc.tomasz})
			require.NoError(sc.t, err)
			must(sc, sc.desk.EmployWorker, EmployForm{Entry: Entry{Replaces: all[0].ID, Because: "he moved away"}, WorkerID: sc.tomasz, FromOn: all[0].FromOn,
				ToOn: groundhand.MustDate("2025-06-13"), Employer: all[0].Employer, Relation: all[0].Relation})
		}, []string{"Tomasz Wieland has left"}},
		"the assessor is away": {func(sc *scene, _ groundhand.Plan) {
			must(sc, sc.desk.SetUnavailable, UnavailableForm{WorkerID: sc.gideon, Kind: groundhand.Course, FromAt: sc.moment("2025-06-17", 6, 0), ToAt: sc.moment("2025-06-17", 18, 0)})
		}, []string{"Gideon Prewitt-Osei is not free"}},
		"the authority of the assessor has ended": {func(sc *scene, _ groundhand.Plan) {
			sc.authorityBecomes(func(f *AuthorityForm) { f.ToOn = groundhand.MustDate("2025-06-16") })
		}, []string{"Gideon Prewitt-Osei has no authority that day for PAIR_KIT", "slot tue-am"}},
		"the authority of the assessor is for another method now": {func(sc *scene, _ groundhand.Plan) {
			sc.authorityBecomes(func(f *AuthorityForm) { f.Methods = groundhand.List{"LONE_KIT"} })
		}, []string{"Gideon Prewitt-Osei has no authority that day for PAIR_KIT", "slot tue-am"}},
		"the authority of the assessor was withdrawn": {func(sc *scene, _ groundhand.Plan) {
			must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: sc.authorityOf(sc.gideon).ID, Because: "appointed by mistake"})
		}, []string{"Gideon Prewitt-Osei has no authority that day for PAIR_KIT", "slot tue-am"}},
		"the session is full": {func(sc *scene, _ groundhand.Plan) {
			must(sc, sc.desk.BookSession, sc.session(func(s *SessionForm) {
				s.StartAt, s.EndAt, s.Seats = sc.moment("2025-06-17", 8, 0), sc.moment("2025-06-17", 11, 0), 2
				s.Bookings = []SeatForm{{WorkerID: sc.henrike}}
			}))
		}, []string{"has filled up", "Maren Oduya"}},
	} {
		t.Run(name, func(t *testing.T) {
			sc, f := rotating(t)
			plan := must(sc, sc.desk.SuggestRotation, f)
			c.between(sc, plan)
			before := sc.rows()
			err := try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
			require.ErrorIs(t, err, groundhand.CodeConflict)
			for _, part := range c.says {
				assert.Contains(t, err.Error(), part)
			}
			assert.NotContains(t, err.Error(), "fever")
			assert.NotContains(t, err.Error(), "SICK")
			assert.Equal(t, before, sc.rows())
		})
	}
}

func (sc *scene) authorityOf(who groundhand.WorkerID) groundhand.Authority {
	given, err := store.FindStanding[groundhand.Authority](sc.ctx, sc.store, store.ByAssessor, []groundhand.WorkerID{who})
	require.NoError(sc.t, err)
	require.Len(sc.t, given, 1)
	return given[0]
}

// authorityBecomes corrects the one authority of the assessor.
func (sc *scene) authorityBecomes(change func(*AuthorityForm)) {
	f := sc.authority(sc.gideon)
	f.Replaces, f.Because = sc.authorityOf(sc.gideon).ID, "the appointment was changed"
	change(&f)
	must(sc, sc.desk.GrantAuthority, f)
}

// An authority through Wednesday is good for Tuesday's slot and not for Thursday's, booked already or not.
func TestASlotAfterTheEndOfAnAuthorityIsRefusedAlone(t *testing.T) {
	sc, plan := twoCrews(t)
	sc.authorityBecomes(func(f *AuthorityForm) { f.ToOn = groundhand.MustDate("2025-06-18") })
	before := sc.rows()
	for _, slots := range []groundhand.List{{"thu-am"}, nil} {
		err := try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID, Slots: slots})
		require.ErrorIs(t, err, groundhand.CodeConflict)
		assert.Contains(t, err.Error(), "slot thu-am")
		assert.NotContains(t, err.Error(), "slot tue-am")
		assert.Equal(t, before, sc.rows())
	}
	adopted := must(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID, Slots: groundhand.List{"tue-am"}})
	assert.Len(t, adopted.Bookings, 3)
}

// Nobody is given a seat to renew in a session that is booked already and whose assessor may not judge it any more.
func TestASeatInABookedSessionNeedsTheAuthorityToo(t *testing.T) {
	sc, f := rotating(t)
	must(sc, sc.desk.BookSession, sc.session(func(s *SessionForm) {
		s.StartAt, s.EndAt = sc.moment("2025-06-17", 8, 0), sc.moment("2025-06-17", 11, 0)
		s.Bookings = []SeatForm{{WorkerID: sc.maren, Renews: groundhand.List{"PAIR_KIT"}}}
	}))
	f.Slots = nil
	plan := must(sc, sc.desk.SuggestRotation, f)
	sc.authorityBecomes(func(f *AuthorityForm) { f.ToOn = groundhand.MustDate("2025-06-16") })
	err := try(sc, sc.desk.AdoptPlan, AdoptionForm{PlanID: plan.ID})
	require.ErrorIs(t, err, groundhand.CodeConflict)
	assert.Contains(t, err.Error(), "Gideon Prewitt-Osei has no authority that day for PAIR_KIT")
}
