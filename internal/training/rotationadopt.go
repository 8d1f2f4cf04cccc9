package training

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
)

// AdoptionForm adopts a plan, or some of its slots.
type AdoptionForm struct {
	PlanID groundhand.PlanID
	Slots  groundhand.List // empty: the whole plan
}

// Adopted is a plan that was adopted, with the sessions and seats that were booked by it.
type Adopted struct {
	Adoption groundhand.Adoption
	Sessions []groundhand.Session
	Bookings []groundhand.Booking
}

// AdoptPlan books the sessions and seats of a plan, whole or slot by slot. What is booked already, by an earlier adoption or by hand, is not
// booked again; when nothing is left to book, what was booked is given. The plan is judged again before, by a checker that shares no code
// with the planner, and against what was recorded since. Either everything asked for is booked, or nothing.
func (d *Desk) AdoptPlan(ctx context.Context, by groundhand.Account, key string, f AdoptionForm) (Adopted, error) {
	return once(ctx, d, by, key, act{name: "adoptPlan", may: access.AdoptPlan}, f, adoptedAgain)
}

func (f AdoptionForm) check(c *fields) {
	c.id("planId", string(f.PlanID))
	if !c.atMost("slots", len(f.Slots), mostSlots) {
		return
	}
	seen := map[string]bool{}
	for i, slot := range f.Slots {
		c.slotID(index("slots", i), slot)
		if seen[slot] {
			c.wrong(index("slots", i), "%s stands here twice.", quoted(slot))
		}
		seen[slot] = true
	}
}

func (f AdoptionForm) enter(in *entering) Adopted {
	plan, ok := fetch[groundhand.Plan](in, "plan", at("planId", f.PlanID))
	if !ok {
		return Adopted{}
	}
	if plan.WhatIf() {
		in.Add(groundhand.CodeConflict, "planId", "This plan is a what-if: it counts on something that is not there, so nobody can hold it. "+
			"Enter what has really changed, plan again and adopt that plan.")
		return Adopted{}
	}
	before, err := store.FindStanding[groundhand.Adoption](in.ctx, in.tx, store.ByPlan, []groundhand.PlanID{plan.ID})
	if in.failed(err) {
		return Adopted{}
	}
	a := in.adopting(plan, f)
	if a == nil {
		return Adopted{}
	}
	a.book()
	if len(before) > 0 && len(a.out.Sessions)+len(a.out.Bookings) == 0 && !in.Any() {
		return in.adoptedBefore(before)
	}
	a.out.Adoption = groundhand.Adoption{ID: entryID(in), Recorded: in.told(Entry{}, When{At: in.now}), PlanID: plan.ID, Slots: f.Slots}
	add(in, a.out.Adoption)
	add(in, a.out.Sessions...)
	add(in, a.out.Bookings...)
	result(in, a.out.Adoption.ID)
	return a.out
}

// adoptedBefore gives what the earlier adoptions booked.
func (in *entering) adoptedBefore(all []groundhand.Adoption) Adopted {
	for _, a := range all {
		result(in, a.ID)
	}
	out, err := adoptedAgain(in.ctx, in.tx, in.made)
	in.failed(err)
	return out
}

// adoptedAgain reads what adoptions of one plan booked: what was recorded in their moments.
func adoptedAgain(ctx context.Context, s *store.Store, ids []string) (Adopted, error) {
	adoptions, err := manyAgain[groundhand.Adoption](ctx, s, ids)
	if err != nil {
		return Adopted{}, err
	}
	then := map[groundhand.Instant]bool{}
	for _, a := range adoptions {
		then[a.RecordedAt] = true
	}
	out := Adopted{Adoption: adoptions[0]}
	_, _, made, err := planWith(ctx, s, out.Adoption.PlanID)
	if err != nil {
		return out, err
	}
	sessions, err := store.Find[groundhand.Session](ctx, s, store.ByPlan, []groundhand.PlanID{out.Adoption.PlanID})
	if err != nil {
		return out, err
	}
	out.Sessions = slices.DeleteFunc(sessions, func(s groundhand.Session) bool { return !then[s.RecordedAt] })
	// By person: the seats may be in sessions that were booked by hand, or moved, before they were given.
	bookings, err := store.Find[groundhand.Booking](ctx, s, store.ByWorker, attending(made))
	out.Bookings = slices.DeleteFunc(bookings, func(b groundhand.Booking) bool { return !then[b.RecordedAt] })
	return out, err
}

// attending lists everybody who attends a session of a plan.
func attending(made rotation.Plan) (out []groundhand.WorkerID) {
	for _, held := range made.Sessions {
		for _, who := range held.Attend {
			out = append(out, groundhand.WorkerID(who.Worker))
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// adopting is one plan on its way into the bookings, with everything recorded that it may run into.
type adopting struct {
	*entering
	plan      groundhand.Plan
	problem   rotation.Problem
	made      rotation.Plan
	since     groundhand.Instant // what was recorded later the plan knows nothing of
	slots     map[string]rotation.Slot
	chosen    map[string]bool
	whole     bool
	diary     diary
	given     authorities
	were      map[string]groundhand.Session // slots that were booked sessions when the plan was made
	sessions  map[string]groundhand.Session // that stand, by their slots
	calledOff map[string]bool               // slots whose session was called off since
	leftOut   []string                      // names of people who were booked elsewhere since
	out       Adopted
}

// adopting reads what an adoption needs; nil when something was refused already.
func (in *entering) adopting(p groundhand.Plan, f AdoptionForm) *adopting {
	problem, made, err := ReadPlan(p)
	if in.failed(err) {
		return nil
	}
	a := &adopting{entering: in, plan: p, problem: problem, made: made, since: p.RecordedAt, whole: len(f.Slots) == 0, slots: map[string]rotation.Slot{},
		chosen: map[string]bool{}, were: map[string]groundhand.Session{}, sessions: map[string]groundhand.Session{}, calledOff: map[string]bool{}}
	if p.RequestID != "" {
		request, err := store.Get[groundhand.RotationRequest](in.ctx, in.tx, p.RequestID)
		if in.failed(err) {
			return nil
		}
		a.since = request.RecordedAt
	}
	for _, slot := range problem.Slots {
		a.slots[slot.ID] = slot
	}
	held := map[string]bool{}
	for _, s := range made.Sessions {
		held[s.Slot] = true
		a.chosen[s.Slot] = a.whole || f.Slots.Has(s.Slot)
	}
	for i, slot := range f.Slots {
		if !held[slot] {
			in.Add(groundhand.CodeNotFound, index("slots", i), "This plan holds no session in a slot %s.", quoted(slot))
		}
	}
	a.diary, err = diaryOf(in, made, a.slots)
	if in.failed(err) || in.failed(a.findSessions()) || in.failed(a.readAuthorities()) {
		return nil
	}
	a.refuseTwins()
	return a
}

// refuseTwins refuses a plan that counts on two people in a crew who were found to be one since: who stays behind was counted with both.
func (a *adopting) refuseTwins() {
	ids := map[groundhand.WorkerID]string{}
	for _, w := range a.problem.Workers {
		who := a.diary.who(w.ID)
		if other, twice := ids[who]; twice {
			a.Add(groundhand.CodeConflict, "planId", "%s and %s, whom the plan counts as two, were found to be one person since. Suggest a new plan.", other, w.ID)
		}
		ids[who] = w.ID
	}
}

// findSessions finds the session of each slot: that which was booked when the plan was made, that which an adoption made of it, or one that
// was booked by hand since for the same time, place and assessor.
func (a *adopting) findSessions() error {
	mine, err := store.Find[groundhand.Session](a.ctx, a.tx, store.ByPlan, []groundhand.PlanID{a.plan.ID})
	if err != nil {
		return err
	}
	if err := a.bookedBefore(); err != nil {
		return err
	}
	if err := a.takeMoved(mine); err != nil {
		return err
	}
	for _, held := range a.made.Sessions {
		want := a.newSession(a.slots[held.Slot])
		session, was := a.were[held.Slot]
		for _, s := range mine { // in recorded order: a correction comes after what it corrects
			if s.Slot == want.Slot || s.Slot == "" && s.StartAt == want.StartAt && s.YardID == want.YardID && s.AssessorID == want.AssessorID {
				was, session = true, s
			}
		}
		if !was {
			session, was = a.byHand(want)
		}
		switch standing, stands := a.diary.standing[session.ID]; {
		case stands:
			a.sessions[held.Slot] = standing
		case was:
			a.calledOff[held.Slot] = true
		}
	}
	return nil
}

// takeMoved takes the sessions of the plan into the diary that were moved far out of its days.
func (a *adopting) takeMoved(mine []groundhand.Session) error {
	ids := make([]groundhand.SessionID, 0, len(mine)+len(a.were))
	for _, s := range mine {
		ids = append(ids, s.ID)
	}
	for _, s := range a.were {
		ids = append(ids, s.ID)
	}
	slices.Sort(ids)
	standing, err := store.FindStanding[groundhand.Session](a.ctx, a.tx, store.ByID, slices.Compact(ids))
	if err != nil {
		return err
	}
	return a.diary.take(a.entering, standing)
}

// bookedBefore finds the sessions that were booked when the plan was made, and follows their corrections.
func (a *adopting) bookedBefore() error {
	ids := make([]string, len(a.made.Sessions))
	for i, held := range a.made.Sessions {
		ids[i] = held.Slot
	}
	found, err := store.Find[groundhand.Session](a.ctx, a.tx, store.ByID, ids)
	for _, session := range found {
		slot := string(session.ID)
		for err == nil {
			a.were[slot] = session
			if _, stands := a.diary.standing[session.ID]; stands {
				break
			}
			var next []groundhand.Session
			next, err = store.Find[groundhand.Session](a.ctx, a.tx, store.ByReplaced, []groundhand.SessionID{session.ID})
			if len(next) == 0 {
				break
			}
			session = next[len(next)-1]
		}
	}
	return err
}

// byHand finds the session that somebody booked by hand where the plan has a slot: one that takes in its time and its methods.
func (a *adopting) byHand(want groundhand.Session) (groundhand.Session, bool) {
	for _, s := range a.diary.sessions {
		same := s.PlanID == "" && s.YardID == want.YardID && s.AssessorID == want.AssessorID && s.FamilyID == want.FamilyID &&
			s.StartAt <= want.StartAt && want.EndAt <= s.EndAt
		if same && !slices.ContainsFunc(want.Methods, func(m string) bool { return !s.Methods.Has(m) }) {
			return s, true
		}
	}
	return groundhand.Session{}, false
}

// book makes the sessions and bookings that are not there yet, and refuses all of them where a hard rule breaks or something has come between.
func (a *adopting) book() {
	var rest []rotation.Session
	for _, held := range a.made.Sessions {
		if a.calledOff[held.Slot] && a.whole {
			continue // it was called off, and stays so until somebody names it
		}
		held.Attend = a.notElsewhere(held)
		if part := a.partOf(held); len(part.Attend) > 0 {
			rest = append(rest, part)
		}
		if a.chosen[held.Slot] {
			a.bookSlot(held)
		}
	}
	if !a.Any() { // else it would be judged without those who cannot come, which says nothing new
		a.holds(rest)
	}
}

// notElsewhere leaves out who has meanwhile been booked by hand, on another day, to renew all that the plan would have renewed here.
func (a *adopting) notElsewhere(held rotation.Session) []rotation.Attendee {
	family := a.slots[held.Slot].Device
	return slices.DeleteFunc(slices.Clone(held.Attend), func(who rotation.Attendee) bool {
		here := a.diary.seated[a.sessions[held.Slot].ID][a.diary.who(who.Worker)]
		return !here && len(who.Renews) > 0 && !slices.ContainsFunc(who.Renews, func(m string) bool {
			return !a.diary.renewsSince(a.diary.who(who.Worker), m, family, a.since, a.plan.ID)
		}) && a.leaveOut(who.Worker)
	})
}

// leaveOut notes who is left out, for the words of a refusal.
func (a *adopting) leaveOut(worker string) bool {
	a.leftOut = append(a.leftOut, a.diary.name(worker))
	return true
}

// partOf is what will be held of a session of the plan: all of it when it is chosen or was adopted before; else what was promised in it.
func (a *adopting) partOf(held rotation.Session) rotation.Session {
	session, booked := a.sessions[held.Slot]
	if a.chosen[held.Slot] || booked && session.PlanID == a.plan.ID {
		return held
	}
	held.Attend = slices.DeleteFunc(slices.Clone(held.Attend), func(who rotation.Attendee) bool {
		return !a.diary.seated[session.ID][a.diary.who(who.Worker)]
	})
	return held
}

// holds judges what will be held, with the plan's own claims where that is the whole plan.
func (a *adopting) holds(rest []rotation.Session) {
	problem, plan, words := a.problem, a.made, "The plan does not hold: %s. Suggest a new one."
	if !sameSessions(rest, a.made.Sessions) {
		words = "What would be booked does not hold by itself: %s. Adopt what belongs with it, or plan again."
		plan.Sessions = rest
		problem.Pinned = slices.DeleteFunc(slices.Clone(problem.Pinned), func(pin rotation.Pin) bool { return !attends(rest, pin) })
		plan.Objective = rotation.Recount(problem, plan)
	}
	if len(a.leftOut) > 0 {
		words += " Booked elsewhere since: " + strings.ReplaceAll(strings.Join(a.leftOut, ", "), "%", "%%") + "."
	}
	for _, fault := range rotation.Check(problem, plan) {
		if fault.Worker != "" {
			fault.Worker = a.diary.name(fault.Worker)
		}
		a.Add(groundhand.CodeConflict, "planId", words, fault)
	}
}

func sameSessions(a, b []rotation.Session) bool {
	return slices.EqualFunc(a, b, func(x, y rotation.Session) bool { return x.Slot == y.Slot && len(x.Attend) == len(y.Attend) })
}

func attends(sessions []rotation.Session, pin rotation.Pin) bool {
	return slices.ContainsFunc(sessions, func(s rotation.Session) bool {
		return s.Slot == pin.Slot && slices.ContainsFunc(s.Attend, func(w rotation.Attendee) bool { return w.Worker == pin.Worker })
	})
}

// bookSlot books one session of a plan, or the seats in it when it is booked already.
func (a *adopting) bookSlot(held rotation.Session) {
	slot := a.slots[held.Slot]
	session, booked := a.sessions[held.Slot]
	if !booked {
		session = a.newSession(slot)
		session.ID = groundhand.SessionID(a.tx.NewID())
	}
	seated := a.diary.seated[session.ID]
	missing := slices.DeleteFunc(slices.Clone(held.Attend), func(who rotation.Attendee) bool { return seated[a.diary.who(who.Worker)] })
	if len(missing) == 0 {
		return
	}
	if _, was := a.were[slot.ID]; was && !booked {
		a.Add(groundhand.CodeConflict, "planId", "The session %s of %s was called off since the plan was made; suggest a new plan.", slot.ID, slot.Date)
		return
	}
	if session.StartAt < a.now {
		a.Add(groundhand.CodeConflict, "planId", "The session of %s (slot %s) is past; suggest a new plan.", slot.Date, slot.ID)
	}
	methods := renewing(missing)
	if !booked {
		a.placeSession(session)
		methods = session.Methods
	}
	a.authorisedFor(session, slot, methods)
	a.seat(session, missing, len(seated))
}

// placeSession books a session that is not there, if its assessor can lead it and its place and device are still there.
func (a *adopting) placeSession(s groundhand.Session) {
	known[groundhand.Worker](a.entering, "worker", at("planId", s.AssessorID))
	known[groundhand.Yard](a.entering, "yard", at("planId", s.YardID))
	known[groundhand.Device](a.entering, "device", at("planId", s.DeviceID))
	a.freeFrom(s, s.AssessorID)
	a.out.Sessions = append(a.out.Sessions, s)
}

// seat books seats, if there are enough and everybody can come.
func (a *adopting) seat(s groundhand.Session, missing []rotation.Attendee, taken int) {
	told := a.told(Entry{}, When{At: s.StartAt})
	var ids []ref
	for _, who := range missing {
		w := a.diary.who(who.Worker)
		ids = append(ids, at("planId", w))
		a.freeFrom(s, w)
		a.out.Bookings = append(a.out.Bookings, groundhand.Booking{ID: entryID(a.entering), Recorded: told, SessionID: s.ID, WorkerID: w, Renews: who.Renews})
	}
	known[groundhand.Worker](a.entering, "worker", ids...)
	if over := taken + len(missing) - s.Seats; over > 0 {
		names := make([]string, len(missing))
		for i, who := range missing {
			names[i] = a.diary.name(who.Worker)
		}
		a.Add(groundhand.CodeConflict, "planId", "The session of %s at %s has filled up since the plan was made: %d of its %d seats are taken, and there is no room for all of %s. Suggest a new plan.",
			a.clock(s.StartAt), s.YardID, taken, s.Seats, strings.Join(names, ", "))
	}
}

// freeFrom refuses who has left, is away or is in another session at the time, by name and without the reason of an absence.
func (a *adopting) freeFrom(s groundhand.Session, who groundhand.WorkerID) {
	why := ""
	switch other, elsewhere := a.diary.elsewhere(s, who); {
	case a.diary.left(who, groundhand.DateOf(s.StartAt.In(a.zone))):
		why = "has left"
	case a.diary.away(s, who):
		why = "is not free"
	case elsewhere:
		why = fmt.Sprintf("is in a session from %s to %s", a.clock(other.StartAt), a.clock(other.EndAt))
	default:
		return
	}
	a.Add(groundhand.CodeConflict, "planId", "%s %s and cannot be in the session of %s at %s. Suggest a new plan, or adopt the other slots.",
		a.diary.name(string(who)), why, a.clock(s.StartAt), s.YardID)
}

func (a *adopting) startOf(slot rotation.Slot) groundhand.Instant {
	hour := morningStart
	if slot.Part == "pm" {
		hour = afternoonStart
	}
	y, m, d := slot.Date.Civil()
	return groundhand.InstantOf(time.Date(y, m, d, hour, 0, 0, 0, a.zone))
}

// newSession is the session of a slot, without an id.
func (a *adopting) newSession(slot rotation.Slot) groundhand.Session {
	start := a.startOf(slot)
	return groundhand.Session{
		Recorded: a.told(Entry{}, When{At: start}), YardID: groundhand.YardID(slot.Yard),
		StartAt: start, EndAt: start + groundhand.Instant(time.Duration(slot.Minutes)*time.Minute/time.Millisecond),
		Methods: slot.Qualifications, FamilyID: groundhand.FamilyID(slot.Device), DeviceID: groundhand.DeviceID(slot.Truck),
		AssessorID: a.diary.who(slot.Instructor), Announced: true, Seats: slot.Seats, MaxRuns: slot.MaxRuns, PlanID: a.plan.ID, Slot: slot.ID,
	}
}

func overlap(a, b groundhand.Session) bool { return a.StartAt < b.EndAt && b.StartAt < a.EndAt }
