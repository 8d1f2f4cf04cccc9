package training

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
)

// Limits of a rotation, which is worked out while somebody waits.
const (
	mostSlots      = 500
	mostRounds     = 1_000_000
	mostHolidays   = 200
	mostMonths     = 18
	morningStart   = 8  // o'clock, where a slot says morning or the whole day
	afternoonStart = 13 // o'clock
)

// RotationForm asks for a plan of who drills when. The sessions that are booked take part as they are; Slots are offered beside them.
type RotationForm struct {
	Name         string
	StartOn      groundhand.Date
	EndOn        groundhand.Date
	Methods      groundhand.List // empty: all that is asked
	Holidays     []groundhand.Date
	VisitMinutes int // charged for each crew with somebody in a session; 0: as usual
	RuleSetID    groundhand.RuleSetID
	Slots        []SlotForm
	Seed         int64 // the same records, form and seed give the same plan
	Rounds       int   // of improvement; 0: as many as suit the size
}

// SlotForm is a session that could be held.
type SlotForm struct {
	ID         string // any name, as "thu-am"
	On         groundhand.Date
	Part       string // am, pm or day
	YardID     groundhand.YardID
	FamilyID   groundhand.FamilyID
	DeviceID   groundhand.DeviceID
	AssessorID groundhand.WorkerID
	Methods    groundhand.List
	Seats      int
	MaxRuns    int
	Minutes    int
	Cost       int // 0: 1
}

// SuggestRotation works out a plan and keeps it with its problem and seed, so that anybody can work it out again. It books nothing.
func (d *Desk) SuggestRotation(ctx context.Context, by groundhand.Account, key string, f RotationForm) (groundhand.Plan, error) {
	a := act{name: "suggestRotation", may: access.PlanRotation, ahead: func(in *entering) (err error) {
		in.plan, err = d.suggest(ctx, f)
		return err
	}}
	return once(ctx, d, by, key, a, f, one[groundhand.Plan])
}

func (f RotationForm) check(c *fields) {
	c.words("name", f.Name)
	c.dayGiven("startOn", f.StartOn, c.horizon(mostHorizon))
	c.dayGiven("endOn", f.EndOn, c.horizon(mostHorizon))
	if f.EndOn < f.StartOn || f.EndOn > f.StartOn.AddMonths(mostMonths) {
		c.wrong("endOn", "A rotation ends on its first day or later, and lasts %d months at most.", mostMonths)
	}
	c.methods("methods", f.Methods)
	c.atMost("holidays", len(f.Holidays), mostHolidays)
	c.number("visitMinutes", f.VisitMinutes, 0, mostMinutes)
	c.maybeID("ruleSetId", string(f.RuleSetID))
	c.number("rounds", f.Rounds, 0, mostRounds)
	if c.atMost("slots", len(f.Slots), mostSlots) {
		for i, s := range f.Slots {
			c.within("slots", i, func() { s.check(c) })
		}
	}
}

func (s SlotForm) check(c *fields) {
	c.id("id", s.ID)
	c.dayGiven("on", s.On, c.horizon(mostHorizon))
	oneOf(c, "part", s.Part, "am", "pm", "day")
	c.id("yardId", string(s.YardID))
	c.maybeID("familyId", string(s.FamilyID))
	c.maybeID("deviceId", string(s.DeviceID))
	c.id("assessorId", string(s.AssessorID))
	c.methods("methods", s.Methods)
	if len(s.Methods) == 0 {
		c.wrong("methods", "Say which methods can be practised.")
	}
	c.number("seats", s.Seats, 1, mostSeats)
	c.number("maxRuns", s.MaxRuns, 0, mostRuns)
	c.number("minutes", s.Minutes, 1, mostMinutes)
	c.number("cost", s.Cost, 0, mostMinutes)
}

func (f RotationForm) enter(in *entering) groundhand.Plan {
	known[groundhand.RuleSet](in, "rule set", at("ruleSetId", f.RuleSetID))
	for i, s := range f.Slots {
		in.within("slots", i, func() {
			known[groundhand.Yard](in, "yard", at("yardId", s.YardID))
			known[groundhand.Family](in, "control family", at("familyId", s.FamilyID))
			known[groundhand.Device](in, "device", at("deviceId", s.DeviceID))
			known[groundhand.Worker](in, "worker", at("assessorId", s.AssessorID))
		})
	}
	p := in.plan
	p.ID, p.Recorded = groundhand.PlanID(in.tx.NewID()), in.told(Entry{}, When{At: in.now})
	add(in, p)
	result(in, p.ID)
	return p
}

// suggest poses the problem and plans it. It takes seconds, so it is done before the records are opened for writing.
func (d *Desk) suggest(ctx context.Context, f RotationForm) (groundhand.Plan, error) {
	problem, err := d.roll.RotationProblem(ctx, f.ask())
	if err != nil {
		return groundhand.Plan{}, err
	}
	made, err := rotation.Suggest(ctx, problem, rotation.Options{Seed: uint64(f.Seed), Rounds: f.Rounds})
	var clash *rotation.PinClash
	if errors.As(err, &clash) {
		return groundhand.Plan{}, groundhand.Conflict("", "The bookings leave no plan: %s.", clash)
	}
	if err != nil {
		return groundhand.Plan{}, err
	}
	posed, err := json.Marshal(problem)
	if err != nil {
		return groundhand.Plan{}, err
	}
	planned, err := json.Marshal(made)
	return groundhand.Plan{Problem: string(posed), Seed: f.Seed, Rounds: f.Rounds, Result: string(planned), StartOn: f.StartOn, EndOn: f.EndOn}, err
}

func (f RotationForm) ask() rollcall.RotationAsk {
	out := rollcall.RotationAsk{
		Name: f.Name, Start: f.StartOn, End: f.EndOn, Holidays: f.Holidays, VisitMinutes: f.VisitMinutes, RuleSetID: f.RuleSetID,
	}
	for _, m := range f.Methods {
		out.Methods = append(out.Methods, groundhand.Method(m))
	}
	for _, s := range f.Slots {
		out.Slots = append(out.Slots, rotation.Slot{
			ID: s.ID, Date: s.On, Part: s.Part, Yard: string(s.YardID), Device: string(s.FamilyID), Instructor: string(s.AssessorID),
			Truck: string(s.DeviceID), Qualifications: s.Methods, Seats: s.Seats, MaxRuns: s.MaxRuns, Minutes: s.Minutes, Cost: max(1, s.Cost),
		})
	}
	return out
}

// AdoptionForm adopts a plan.
type AdoptionForm struct {
	PlanID groundhand.PlanID
}

// Adopted is a plan that was adopted, with the sessions it holds that were not booked before and the seats it gives.
type Adopted struct {
	Adoption groundhand.Adoption
	Sessions []groundhand.Session
	Bookings []groundhand.Booking
}

// AdoptPlan books the sessions and seats of a plan, once: adopting it again books nothing more and gives what was booked. The plan is
// judged again before, by a checker that shares no code with the planner, and against what was recorded since.
func (d *Desk) AdoptPlan(ctx context.Context, by groundhand.Account, key string, f AdoptionForm) (Adopted, error) {
	return once(ctx, d, by, key, act{name: "adoptPlan", may: access.AdoptPlan}, f, adoptedAgain)
}

func (f AdoptionForm) check(c *fields) { c.id("planId", string(f.PlanID)) }

func (f AdoptionForm) enter(in *entering) Adopted {
	plan, ok := fetch[groundhand.Plan](in, "plan", at("planId", f.PlanID))
	if !ok {
		return Adopted{}
	}
	before, err := store.FindStanding[groundhand.Adoption](in.ctx, in.tx, store.ByPlan, []groundhand.PlanID{plan.ID})
	if in.failed(err) {
		return Adopted{}
	}
	if len(before) > 0 {
		return in.adoptedBefore(before[0])
	}
	out := Adopted{Adoption: groundhand.Adoption{ID: entryID(in), Recorded: in.told(Entry{}, When{At: in.now}), PlanID: plan.ID}}
	in.bookPlan(plan, &out)
	add(in, out.Adoption)
	add(in, out.Sessions...)
	add(in, out.Bookings...)
	result(in, out.Adoption.ID)
	return out
}

// adoptedBefore gives what the first adoption booked.
func (in *entering) adoptedBefore(a groundhand.Adoption) Adopted {
	result(in, a.ID)
	out, err := adoptedAgain(in.ctx, in.tx, in.made)
	in.failed(err)
	return out
}

// adoptedAgain reads what an adoption booked: what was recorded in its moment.
func adoptedAgain(ctx context.Context, s *store.Store, ids []string) (Adopted, error) {
	a, err := store.Get[groundhand.Adoption](ctx, s, ids[0])
	if err != nil {
		return Adopted{}, err
	}
	out := Adopted{Adoption: a}
	if out.Sessions, err = store.Find[groundhand.Session](ctx, s, store.ByPlan, []groundhand.PlanID{a.PlanID}); err != nil {
		return out, err
	}
	plan, err := store.Get[groundhand.Plan](ctx, s, a.PlanID)
	if err != nil {
		return out, err
	}
	problem, _, err := read(plan)
	if err != nil {
		return out, err
	}
	held := make([]groundhand.SessionID, 0, len(problem.Slots)+len(out.Sessions))
	for _, s := range out.Sessions {
		held = append(held, s.ID)
	}
	for _, slot := range problem.Slots {
		held = append(held, groundhand.SessionID(slot.ID)) // the booked sessions are slots under their own ids
	}
	bookings, err := store.Find[groundhand.Booking](ctx, s, store.BySession, held)
	for _, b := range bookings {
		if b.RecordedAt == a.RecordedAt {
			out.Bookings = append(out.Bookings, b)
		}
	}
	return out, err
}

func read(p groundhand.Plan) (rotation.Problem, rotation.Plan, error) {
	problem, err := rotation.Decode([]byte(p.Problem))
	if err != nil {
		return problem, rotation.Plan{}, err
	}
	plan, _, err := rotation.DecodePlan([]byte(p.Result))
	return problem, plan, err
}

// bookPlan makes the sessions and bookings of a plan, and refuses a plan that breaks a hard rule or has been overtaken.
func (in *entering) bookPlan(p groundhand.Plan, out *Adopted) {
	problem, plan, err := read(p)
	if in.failed(err) {
		return
	}
	for _, fault := range rotation.Check(problem, plan) {
		in.Add(groundhand.CodeConflict, "planId", "The plan does not hold: %s. Suggest a new one.", fault)
	}
	slots := map[string]rotation.Slot{}
	for _, slot := range problem.Slots {
		slots[slot.ID] = slot
	}
	for _, held := range plan.Sessions {
		in.bookSlot(p.ID, slots[held.Slot], held, out)
	}
}

// bookSlot books one session of a plan, or the seats in it when it is booked already.
func (in *entering) bookSlot(plan groundhand.PlanID, slot rotation.Slot, held rotation.Session, out *Adopted) {
	if slot.Date < in.today() {
		in.Add(groundhand.CodeConflict, "planId", "The session of %s is past; suggest a new plan.", slot.Date)
	}
	session, booked, seated := in.sessionOf(slot)
	if !booked {
		session = in.newSession(plan, slot)
		out.Sessions = append(out.Sessions, session)
	}
	told := in.told(Entry{}, When{At: session.StartAt})
	free := session.Seats - len(seated)
	for _, who := range held.Attend {
		w := groundhand.WorkerID(who.Worker)
		if seated[w] {
			continue
		}
		free--
		known[groundhand.Worker](in, "worker", at("planId", w))
		in.freeFor(session, w, "planId")
		out.Bookings = append(out.Bookings, groundhand.Booking{ID: entryID(in), Recorded: told, SessionID: session.ID, WorkerID: w, Renews: who.Renews})
	}
	if free < 0 {
		in.Add(groundhand.CodeConflict, "planId", "Session %s has filled up since the plan was made; suggest a new one.", session.ID)
	}
}

// sessionOf gives the session that a slot stood for, and who has a seat in it.
func (in *entering) sessionOf(slot rotation.Slot) (groundhand.Session, bool, map[groundhand.WorkerID]bool) {
	if !exists[groundhand.Session](in, slot.ID) {
		return groundhand.Session{}, false, nil
	}
	session, stands := fetch[groundhand.Session](in, "session", ref{"planId", slot.ID})
	if !stands {
		return session, true, nil // refused: it fell through since the plan was made
	}
	bookings, err := store.FindStanding[groundhand.Booking](in.ctx, in.tx, store.BySession, []groundhand.SessionID{session.ID})
	in.failed(err)
	seated := map[groundhand.WorkerID]bool{}
	for _, b := range bookings {
		seated[b.WorkerID] = true
	}
	return session, true, seated
}

func (in *entering) newSession(plan groundhand.PlanID, slot rotation.Slot) groundhand.Session {
	known[groundhand.Worker](in, "worker", ref{"planId", slot.Instructor})
	known[groundhand.Yard](in, "yard", ref{"planId", slot.Yard})
	known[groundhand.Device](in, "device", ref{"planId", slot.Truck})
	hour := morningStart
	if slot.Part == "pm" {
		hour = afternoonStart
	}
	y, m, d := slot.Date.Civil()
	start := groundhand.InstantOf(time.Date(y, m, d, hour, 0, 0, 0, in.zone))
	return groundhand.Session{
		ID: groundhand.SessionID(in.tx.NewID()), Recorded: in.told(Entry{}, When{At: start}), YardID: groundhand.YardID(slot.Yard),
		StartAt: start, EndAt: start + groundhand.Instant(time.Duration(slot.Minutes)*time.Minute/time.Millisecond),
		Methods: slot.Qualifications, FamilyID: groundhand.FamilyID(slot.Device), DeviceID: groundhand.DeviceID(slot.Truck),
		AssessorID: groundhand.WorkerID(slot.Instructor), Announced: true, Seats: slot.Seats, MaxRuns: slot.MaxRuns, PlanID: plan,
	}
}
