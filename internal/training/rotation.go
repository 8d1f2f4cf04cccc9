package training

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
)

// Limits of what a rotation is asked for.
const (
	mostSlots      = 500
	mostRounds     = 1_000_000
	mostHolidays   = 200
	mostMonths     = 18
	mostWishes     = 500 // pins, forbidden slots and days, crews with more than one aloft
	mostOffered    = 400 // slots made from what is there
	mostWeeks      = 52
	mostStagger    = 366 // days
	mostWaitedFor  = 500 // people in a rotation that somebody waits for
	morningStart   = 8   // o'clock, where a slot says morning or the whole day
	afternoonStart = 13  // o'clock
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

	Pins        []PinForm
	ForbidSlots groundhand.List // never used
	ForbidDays  []ForbidForm
	Offer       OfferForm
	Aloft       []AloftForm
	Stagger     StaggerForm
	ReplanOf    groundhand.PlanID // the plan of which as little as possible is to change; empty: none
	Change      WhatIfForm
}

// PinForm promises somebody a place in a slot, as a booking does.
type PinForm struct {
	SlotID   string
	WorkerID groundhand.WorkerID
	Methods  groundhand.List // renewed there; empty: goes along with a crew mate
}

// ForbidForm says on which days somebody is at work and not to be sent to a drill, both ends included.
type ForbidForm struct {
	WorkerID groundhand.WorkerID
	FromOn   groundhand.Date
	ToOn     groundhand.Date
}

// OfferForm asks for slots made from what is really there. It asks for nothing while EveryWeeks is 0.
type OfferForm struct {
	EveryWeeks int             // every how many weeks, from the first day on
	Weekdays   groundhand.List // "mon" to "sun"; empty: the work days
	Parts      groundhand.List // am, pm or day; empty: am
	Yards      groundhand.List // empty: every yard
	Seats      int             // 0: as usual, and so for the next three
	MaxRuns    int
	Minutes    int
	Most       int // slots in all
}

// AloftForm says how many of a crew are aloft at a time.
type AloftForm struct {
	CrewID groundhand.CrewID
	Aloft  int
}

// StaggerForm keeps the renewals of one crew and method apart: at most Most in any Days days. It asks for nothing while both are 0.
type StaggerForm struct {
	Most int
	Days int
}

// WhatIfForm is one thing that would have to be different from what is recorded. Nothing is asked while all is empty.
type WhatIfForm struct {
	CloseYard   ClosureForm
	AddAssessor AssessorForm
	AddKit      groundhand.YardID // one more kit in the store of this yard
	RuleSetID   groundhand.RuleSetID
}

// ClosureForm closes a yard for drills from one day to another, both included.
type ClosureForm struct {
	YardID groundhand.YardID
	FromOn groundhand.Date
	ToOn   groundhand.Date
}

// AssessorForm is one more assessor, who leads at one yard.
type AssessorForm struct {
	YardID   groundhand.YardID
	Methods  groundhand.List // empty: all that is planned
	Families groundhand.List // empty: every family
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

// SuggestRotation works out a plan while somebody waits and keeps it with its problem and seed, so that anybody can work it out again. It
// books nothing. What takes longer is started with StartRotation.
func (d *Desk) SuggestRotation(ctx context.Context, by groundhand.Account, key string, f RotationForm) (groundhand.Plan, error) {
	a := act{name: "suggestRotation", may: access.PlanRotation, ahead: func(in *entering) error { return d.suggest(ctx, in, f) }}
	return once(ctx, d, by, key, a, suggestion{f}, one[groundhand.Plan])
}

// suggestion is a form whose plan somebody waits for.
type suggestion struct{ RotationForm }

func (s suggestion) enter(in *entering) groundhand.Plan {
	s.look(in)
	request := in.request
	request.ID, request.Recorded = entryID(in), in.told(Entry{}, When{At: in.now})
	p := in.plan
	p.ID, p.Recorded, p.RequestID = groundhand.PlanID(in.tx.NewID()), request.Recorded, request.ID
	add(in, request)
	add(in, p)
	result(in, p.ID)
	return p
}

// suggest poses the problem and plans it. It takes seconds, so it is done before the records are opened for writing.
func (d *Desk) suggest(ctx context.Context, in *entering, f RotationForm) error {
	f = kept[groundhand.Plan](d.store, suggestion{f}).(suggestion).RotationForm
	posed, err := d.pose(ctx, f, d.roll.RotationPosed)
	if err != nil {
		return err
	}
	if n := len(posed.rest.Workers); n > mostWaitedFor {
		return groundhand.Invalid("", "A rotation for %d people takes too long to wait for; start it instead, and look for its plan later.", n)
	}
	in.request = posed.request
	made, err := d.planner.plan(ctx, posed.stage.Problem, posed.options())
	var clash *rotation.PinClash
	if errors.As(err, &clash) {
		return d.clashing(ctx, clash)
	}
	if err != nil {
		return err
	}
	in.plan, err = posed.plan(made)
	return err
}

// clashing names the people and slots of promises that cannot be kept together.
func (d *Desk) clashing(ctx context.Context, clash *rotation.PinClash) error {
	ids := make([]groundhand.WorkerID, len(clash.Named))
	for i, pin := range clash.Named {
		ids[i] = groundhand.WorkerID(pin.Worker)
	}
	names, err := d.store.NamesOn(ctx, ids, d.roll.Today())
	if err != nil {
		return err
	}
	seats := make([]string, len(ids))
	for i, pin := range clash.Named {
		seats[i] = cmp.Or(names[ids[i]], pin.Worker) + " in " + pin.Slot
	}
	return groundhand.Conflict("", "There is no plan that keeps what is promised together: %s. Leave one of them out.", strings.Join(seats, ", "))
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
	each(c, "slots", f.Slots, mostSlots, func(s SlotForm) { s.check(c) })
	f.checkWishes(c)
}

// checkWishes looks at what is wished beside the window and the slots.
func (f RotationForm) checkWishes(c *fields) {
	each(c, "pins", f.Pins, mostWishes, func(p PinForm) {
		c.slotID("slotId", p.SlotID)
		c.id("workerId", string(p.WorkerID))
		c.methods("methods", p.Methods)
	})
	if c.atMost("forbidSlots", len(f.ForbidSlots), mostWishes) {
		for i, id := range f.ForbidSlots {
			c.slotID(index("forbidSlots", i), id)
		}
	}
	each(c, "forbidDays", f.ForbidDays, mostWishes, func(d ForbidForm) {
		c.id("workerId", string(d.WorkerID))
		c.days("fromOn", "toOn", d.FromOn, d.ToOn)
	})
	each(c, "aloft", f.Aloft, mostWishes, func(a AloftForm) {
		c.id("crewId", string(a.CrewID))
		c.number("aloft", a.Aloft, 1, mostCrew)
	})
	f.Offer.check(c)
	if s := f.Stagger; s != (StaggerForm{}) {
		c.number("stagger.most", s.Most, 1, mostSeats)
		c.number("stagger.days", s.Days, 1, mostStagger)
	}
	c.maybeID("replanOf", string(f.ReplanOf))
	f.Change.check(c)
	if f.Offer.EveryWeeks == 0 && (f.Change.AddAssessor.YardID != "" || f.Change.AddKit != "") {
		c.wrong("offer.everyWeeks", "Say how slots are offered; one more assessor or kit changes nothing without.")
	}
}

// slotID asks for the name of a slot, which may hold the ids of a yard, a day, an assessor and a device.
func (c *fields) slotID(field, id string) {
	if id == "" || len(id) > 5*longestID || strings.ContainsFunc(id, groundhand.Hidden) || !utf8.ValidString(id) {
		c.wrong(field, "Say which slot, in up to %d letters, digits and signs.", 5*longestID)
	}
}

func each[T any](c *fields, list string, rows []T, most int, look func(T)) {
	if !c.atMost(list, len(rows), most) {
		return
	}
	for i, row := range rows {
		c.within(list, i, func() { look(row) })
	}
}

// days asks for a first and a last day.
func (c *fields) days(fromField, toField string, from, to groundhand.Date) {
	c.stretch(fromField, toField, from, to)
	if to == 0 {
		c.wrong(toField, "Give the day.")
	}
}

func (o OfferForm) check(c *fields) {
	c.number("offer.everyWeeks", o.EveryWeeks, 0, mostWeeks)
	c.listOf("offer.weekdays", o.Weekdays, func(at, word string) { oneOf(c, at, word, "mon", "tue", "wed", "thu", "fri", "sat", "sun") })
	c.listOf("offer.parts", o.Parts, func(at, word string) { oneOf(c, at, word, "am", "pm", "day") })
	c.ids("offer.yards", o.Yards)
	c.number("offer.seats", o.Seats, 0, mostSeats)
	c.number("offer.maxRuns", o.MaxRuns, 0, mostRuns)
	c.number("offer.minutes", o.Minutes, 0, mostMinutes)
	c.number("offer.most", o.Most, 0, mostOffered)
}

// given says whether anything is to be different.
func (w WhatIfForm) given() bool { return w.parts() > 0 }

func (w WhatIfForm) parts() (n int) {
	for _, part := range []string{string(w.CloseYard.YardID), string(w.AddAssessor.YardID), string(w.AddKit), string(w.RuleSetID)} {
		if part != "" {
			n++
		}
	}
	return n
}

func (w WhatIfForm) check(c *fields) {
	if w.parts() > 1 {
		c.wrong("change", "Change one thing at a time; what each does cannot be told apart otherwise.")
	}
	c.maybeID("change.closeYard.yardId", string(w.CloseYard.YardID))
	if w.CloseYard.YardID != "" {
		c.days("change.closeYard.fromOn", "change.closeYard.toOn", w.CloseYard.FromOn, w.CloseYard.ToOn)
	}
	c.maybeID("change.addAssessor.yardId", string(w.AddAssessor.YardID))
	c.methods("change.addAssessor.methods", w.AddAssessor.Methods)
	c.ids("change.addAssessor.families", w.AddAssessor.Families)
	c.maybeID("change.addKit", string(w.AddKit))
	c.maybeID("change.ruleSetId", string(w.RuleSetID))
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

// look refuses ids that nobody has.
func (f RotationForm) look(in *entering) {
	known[groundhand.RuleSet](in, "rule set", at("ruleSetId", f.RuleSetID), at("change.ruleSetId", f.Change.RuleSetID))
	known[groundhand.Plan](in, "plan", at("replanOf", f.ReplanOf))
	known[groundhand.Worker](in, "worker", f.people()...)
	known[groundhand.Yard](in, "yard", f.yards()...)
	known[groundhand.Family](in, "control family", f.families()...)
	var devices, crews []ref
	for i, s := range f.Slots {
		devices = append(devices, at(index("slots", i)+".deviceId", s.DeviceID))
	}
	for i, a := range f.Aloft {
		crews = append(crews, at(index("aloft", i)+".crewId", a.CrewID))
	}
	known[groundhand.Device](in, "device", devices...)
	known[groundhand.Crew](in, "crew", crews...)
}

func (f RotationForm) people() (out []ref) {
	for i, s := range f.Slots {
		out = append(out, at(index("slots", i)+".assessorId", s.AssessorID))
	}
	for i, p := range f.Pins {
		out = append(out, at(index("pins", i)+".workerId", p.WorkerID))
	}
	for i, d := range f.ForbidDays {
		out = append(out, at(index("forbidDays", i)+".workerId", d.WorkerID))
	}
	return out
}

func (f RotationForm) yards() []ref {
	out := []ref{at("change.closeYard.yardId", f.Change.CloseYard.YardID), at("change.addAssessor.yardId", f.Change.AddAssessor.YardID), at("change.addKit", f.Change.AddKit)}
	for i, s := range f.Slots {
		out = append(out, at(index("slots", i)+".yardId", s.YardID))
	}
	for i, y := range f.Offer.Yards {
		out = append(out, ref{index("offer.yards", i), y})
	}
	return out
}

func (f RotationForm) families() (out []ref) {
	for i, s := range f.Slots {
		out = append(out, at(index("slots", i)+".familyId", s.FamilyID))
	}
	for i, id := range f.Change.AddAssessor.Families {
		out = append(out, ref{index("change.addAssessor.families", i), id})
	}
	return out
}

func (f RotationForm) ask() rollcall.RotationAsk {
	out := rollcall.RotationAsk{
		Name: f.Name, Start: f.StartOn, End: f.EndOn, Holidays: f.Holidays, VisitMinutes: f.VisitMinutes, RuleSetID: f.RuleSetID,
		ForbidSlots: f.ForbidSlots, Offer: f.Offer.ask(), Change: f.Change.ask(),
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
	for _, p := range f.Pins {
		out.Pins = append(out.Pins, rotation.Pin{Slot: p.SlotID, Worker: string(p.WorkerID), Renews: append([]string{}, p.Methods...)})
	}
	for _, d := range f.ForbidDays {
		out.ForbidDays = append(out.ForbidDays, rollcall.WorkerDays{Worker: d.WorkerID, From: d.FromOn, To: d.ToOn})
	}
	for _, a := range f.Aloft {
		out.Aloft = append(out.Aloft, rollcall.CrewAloft{CrewID: a.CrewID, Aloft: a.Aloft})
	}
	return out
}

func (o OfferForm) ask() *rollcall.Offering {
	if o.EveryWeeks == 0 {
		return nil
	}
	return &rollcall.Offering{Weekdays: o.Weekdays, Parts: o.Parts, EveryWeeks: o.EveryWeeks, Yards: idsOf[groundhand.YardID](o.Yards), Seats: o.Seats,
		MaxRuns: o.MaxRuns, Minutes: o.Minutes, Most: o.Most}
}

func (w WhatIfForm) ask() *rollcall.RotationChange {
	if !w.given() {
		return nil
	}
	out := &rollcall.RotationChange{RuleSetID: w.RuleSetID}
	if y := w.CloseYard; y.YardID != "" {
		out.CloseYard = &rollcall.YardClosed{YardID: y.YardID, From: y.FromOn, To: y.ToOn}
	}
	if a := w.AddAssessor; a.YardID != "" {
		out.AddAssessor = &rollcall.AssessorAdded{YardID: a.YardID, Methods: idsOf[groundhand.Method](a.Methods), Families: idsOf[groundhand.FamilyID](a.Families)}
	}
	if w.AddKit != "" {
		out.AddKit = &rollcall.KitAdded{YardID: w.AddKit}
	}
	return out
}

func idsOf[K ~string](words groundhand.List) (out []K) {
	for _, w := range words {
		out = append(out, K(w))
	}
	return out
}

// WhatIfWords says in words what a plan or a request counts on that is not there, from its Change; empty for none.
func WhatIfWords(change string) string {
	if change == "" {
		return ""
	}
	var w WhatIfForm
	if err := json.Unmarshal([]byte(change), &w); err != nil {
		return "What if something were different that can no longer be read."
	}
	switch {
	case w.CloseYard.YardID != "":
		return fmt.Sprintf("What if %s is closed for drills from %s to %s.", w.CloseYard.YardID, w.CloseYard.FromOn, w.CloseYard.ToOn)
	case w.AddAssessor.YardID != "":
		return fmt.Sprintf("What if there is one more assessor at %s.", w.AddAssessor.YardID)
	case w.AddKit != "":
		return fmt.Sprintf("What if there is one more rescue kit in the store of %s.", w.AddKit)
	}
	return fmt.Sprintf("What if the rule set %s holds.", w.RuleSetID)
}
