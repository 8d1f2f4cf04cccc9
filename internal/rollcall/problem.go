package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// RotationAsk says for which days a rotation is to be planned, and what beside the records.
type RotationAsk struct {
	Name         string
	Start, End   groundhand.Date
	Slots        []rotation.Slot // offered in addition to the sessions that are booked
	Methods      []groundhand.Method
	Holidays     []groundhand.Date
	VisitMinutes int                  // 0: 30
	RuleSetID    groundhand.RuleSetID // empty: our own of the first day

	Pins        []rotation.Pin  // promised beside the bookings
	ForbidSlots []string        // never used; no error when there is no such slot
	ForbidDays  []WorkerDays    // the worker is at work and not sent to a drill
	Offer       *Offering       // slots made from what is really there; nil: none
	Aloft       []CrewAloft     // crews that go out with more than one aloft at a time
	Change      *RotationChange // a "what if"; nil: as it is
}

// CrewAloft is how many of a crew are aloft at a time.
type CrewAloft struct {
	CrewID groundhand.CrewID
	Aloft  int
}

const (
	usualVisitMinutes = 30
	aimDaysBefore     = 21 // three weeks of buffer before the last good day, common practice, no source
	coverOneAloft     = 2  // max(2, aloft+1) current members keep one on the ground whoever goes up
)

// RotationProblem poses the problem for the planner: tickets from the standings of the first day, crews with their cover, leave and
// standby, yards and roads, the booked sessions as slots with what is promised in them, and the assessors with authority who lead them.
// Methods limits what is planned, nil: everything asked. The problem is checked; its faults come back with the fields of a
// drill-plan-problem/1 file.
func (r *Roll) RotationProblem(ctx context.Context, ask RotationAsk) (rotation.Problem, error) {
	if ask.Start == 0 || ask.End < ask.Start {
		return rotation.Problem{}, groundhand.Invalid("end", "The rotation ends before it starts.")
	}
	f, err := r.planFacts(ctx, ask)
	if err != nil {
		return rotation.Problem{}, err
	}
	p := rotation.Problem{Name: cmp.Or(ask.Name, "from "+ask.Start.String()), Start: ask.Start, End: ask.End, Holidays: ask.Holidays,
		VisitMinutes: cmp.Or(ask.VisitMinutes, usualVisitMinutes), Yards: f.yards(), Travel: f.travel(), Crews: f.crews()}
	if p.Workers, err = f.workers(); err != nil {
		return p, err
	}
	f.sessions(&p)
	p.Qualifications = f.qualifications(&p)
	return p, p.Validate()
}

// planFacts is what is recorded for the days of a rotation.
type planFacts struct {
	ask         RotationAsk
	roll        *Roll
	rules       rulebook.Rules
	lineUp      lineUp
	home        map[groundhand.WorkerID]groundhand.CrewID // the permanent crew where there is one
	roster      *roster
	yardRows    []groundhand.Yard
	roads       []groundhand.Road
	sessionRows []groundhand.Session
	bookings    []groundhand.Booking
	authorities []groundhand.Authority
	devices     map[groundhand.DeviceID]groundhand.Device
}

func (r *Roll) planFacts(ctx context.Context, ask RotationAsk) (*planFacts, error) {
	sh, err := r.shelf(ctx)
	if err != nil {
		return nil, err
	}
	f := &planFacts{ask: ask, roll: r}
	if _, f.rules, err = sh.on(ask.Start, ask.RuleSetID); err != nil {
		return nil, err
	}
	if f.lineUp, err = r.lineUp(ctx, ask.Start); err != nil {
		return nil, err
	}
	if err = f.homes(ctx); err != nil {
		return nil, err
	}
	from, to := r.start(ask.Start), r.start(ask.End+1)
	if f.roster, err = r.roster(ctx, sh, f.people(), from, to); err != nil {
		return nil, err
	}
	if err = f.places(ctx); err != nil {
		return nil, err
	}
	return f, f.offers(ctx, from, to)
}

// homes: a loan of some days does not move somebody out of the crew for a rotation of months.
func (f *planFacts) homes(ctx context.Context) error {
	memberships, err := f.roll.store.MembershipsOn(ctx, f.ask.Start, f.ask.Start)
	f.home = map[groundhand.WorkerID]groundhand.CrewID{}
	for worker, m := range placesOn(memberships, f.ask.Start) {
		f.home[worker] = m.CrewID
	}
	permanent := slices.DeleteFunc(memberships, func(m groundhand.Membership) bool { return m.Reason != groundhand.Permanent })
	for worker, m := range placesOn(permanent, f.ask.Start) {
		f.home[worker] = m.CrewID
	}
	return err
}

func (f *planFacts) people() []groundhand.WorkerID {
	out := make([]groundhand.WorkerID, 0, len(f.home))
	for w := range f.home {
		out = append(out, w)
	}
	slices.Sort(out)
	return out
}

func (f *planFacts) places(ctx context.Context) error {
	var err error
	if f.yardRows, err = store.Standing[groundhand.Yard](ctx, f.roll.store); err != nil {
		return err
	}
	f.roads, err = store.Standing[groundhand.Road](ctx, f.roll.store)
	return err
}

func (f *planFacts) offers(ctx context.Context, from, to groundhand.Instant) error {
	var err error
	if f.sessionRows, err = f.roll.store.SessionsBetween(ctx, from, to); err != nil {
		return err
	}
	ids, devices := []groundhand.SessionID{}, []groundhand.DeviceID{}
	for _, s := range f.sessionRows {
		ids, devices = append(ids, s.ID), append(devices, s.DeviceID)
	}
	if f.bookings, err = store.FindStanding[groundhand.Booking](ctx, f.roll.store, store.BySession, ids); err != nil {
		return err
	}
	rows, err := store.Find[groundhand.Device](ctx, f.roll.store, store.ByID, devices)
	if err != nil {
		return err
	}
	f.devices = map[groundhand.DeviceID]groundhand.Device{}
	for _, d := range rows {
		f.devices[d.ID] = d
	}
	f.authorities, err = store.Standing[groundhand.Authority](ctx, f.roll.store)
	return err
}

func (f *planFacts) yards() []rotation.Yard {
	out := make([]rotation.Yard, len(f.yardRows))
	for i, y := range f.yardRows {
		out[i] = rotation.Yard{ID: string(y.ID), Name: y.Name}
	}
	return out
}

// travel: of two roads between the same yards the shorter one is taken.
func (f *planFacts) travel() []rotation.Travel {
	least := map[[2]string]int{}
	for _, road := range f.roads {
		key := [2]string{string(min(road.FromYardID, road.ToYardID)), string(max(road.FromYardID, road.ToYardID))}
		if minutes, there := least[key]; !there || road.Minutes < minutes {
			least[key] = road.Minutes
		}
	}
	out := make([]rotation.Travel, 0, len(least))
	for key, minutes := range least {
		out = append(out, rotation.Travel{From: key[0], To: key[1], Minutes: minutes})
	}
	slices.SortFunc(out, func(a, b rotation.Travel) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To)) })
	return out
}

// planned says whether a method is planned at all.
func (f *planFacts) planned(m groundhand.Method) bool {
	return f.ask.Methods == nil || slices.Contains(f.ask.Methods, m)
}

// crews lists who is sent out, each with its first family as its device class: the planner knows one.
func (f *planFacts) crews() []rotation.Crew {
	var out []rotation.Crew
	for _, c := range f.lineUp.sentOut() {
		crew := rotation.Crew{ID: string(c.ID), Name: c.Name, Yard: string(c.YardID), Cover: []rotation.CoverRule{}}
		if len(c.Families) > 0 {
			crew.Device = c.Families[0]
		}
		for _, m := range f.askedMethods(c) {
			crew.Cover = append(crew.Cover, rotation.CoverRule{AnyOf: []string{string(m)}, AtLeast: coverOneAloft})
		}
		out = append(out, crew)
	}
	return out
}

// askedMethods lists the planned methods asked of a crew. First aid stands beside rescue: 29 CFR 1910.269(b)(1)(i) asks for two trained
// people where two or more work in the field.
func (f *planFacts) askedMethods(c groundhand.Crew) []groundhand.Method {
	var out []groundhand.Method
	for _, a := range f.rules.Of(c) {
		if f.planned(a.Method) && !slices.Contains(out, a.Method) && (a.Method.Aerial() || a.Method == groundhand.FirstAid) {
			out = append(out, a.Method)
		}
	}
	return out
}

func (f *planFacts) workers() ([]rotation.Worker, error) {
	var out []rotation.Worker
	for _, who := range f.people() {
		crew, there := f.lineUp.crews[f.home[who]]
		if !there {
			continue
		}
		w := rotation.Worker{ID: string(who), Yard: string(crew.YardID), Trade: "line"}
		if crew.Kind != groundhand.ReliefPool {
			w.Crew = string(crew.ID)
		}
		var err error
		if w.Tickets, err = f.tickets(who, crew); err != nil {
			return nil, err
		}
		w.Leave, w.Standby = f.stretches(who)
		out = append(out, w)
	}
	return out, nil
}

// tickets: one for each method asked and family. What is suspended or held counts as lapsed, whatever the evidence says.
func (f *planFacts) tickets(who groundhand.WorkerID, crew groundhand.Crew) ([]rotation.Ticket, error) {
	out := []rotation.Ticket{}
	for _, a := range f.rules.Of(crew) {
		if !f.planned(a.Method) || slices.ContainsFunc(out, sameTicket(a)) {
			continue
		}
		q := question(who, a)
		q.On, q.RuleSet = f.ask.Start, string(f.ask.RuleSetID)
		answer, err := f.roster.book.Glance(q)
		if err != nil {
			return nil, err
		}
		t := rotation.Ticket{Qualification: string(a.Method), Device: string(a.FamilyID), ValidThrough: answer.LastGoodDay}
		if _, holds := stateOf(answer.Standing); !holds && t.ValidThrough >= f.ask.Start {
			t.ValidThrough = f.ask.Start - 1
		}
		out = append(out, t)
	}
	return out, nil
}

// sameTicket: what is asked in two roles of one method is practised together.
func sameTicket(a rulebook.Asked) func(rotation.Ticket) bool {
	return func(t rotation.Ticket) bool {
		return t.Qualification == string(a.Method) && (t.Device == string(a.FamilyID) || t.Device == "" || a.FamilyID == "")
	}
}

// stretches sorts absences: whole days away are leave; days on which somebody is there for a part, on standby or held back from rescue
// work are days on which they cannot be sent to a drill. Why is not told apart.
func (f *planFacts) stretches(who groundhand.WorkerID) (leave, standby []rotation.Stretch) {
	for _, u := range f.roster.away[who] {
		first, last := max(f.roll.dayOf(u.FromAt), f.ask.Start), f.ask.End
		if u.ToAt != 0 {
			last = min(f.roll.lastDay(u.ToAt), last)
		}
		if last < first {
			continue
		}
		whole := rotation.Stretch{From: first, To: last}
		if !u.Kind.Absent() {
			standby = append(standby, whole)
			continue
		}
		if u.FromAt > f.roll.start(first) {
			standby, whole.From = append(standby, rotation.Stretch{From: first, To: first}), first+1
		}
		if u.ToAt != 0 && u.ToAt < f.roll.start(last+1) && last >= whole.From {
			standby, whole.To = append(standby, rotation.Stretch{From: last, To: last}), last-1
		}
		if whole.From <= whole.To {
			leave = append(leave, whole)
		}
	}
	return leave, standby
}

// qualifications lists what tickets, cover and slots name. How long each is valid is what its line says.
func (f *planFacts) qualifications(p *rotation.Problem) []rotation.Qualification {
	named := map[string]bool{}
	for _, w := range p.Workers {
		for _, t := range w.Tickets {
			named[t.Qualification] = true
		}
	}
	for _, s := range p.Slots {
		for _, q := range s.Qualifications {
			named[q] = true
		}
	}
	for _, c := range p.Crews {
		for _, rule := range c.Cover {
			named[rule.AnyOf[0]] = true
		}
	}
	out := []rotation.Qualification{}
	for _, m := range groundhand.Methods {
		if named[string(m)] {
			out = append(out, rotation.Qualification{ID: string(m), PeoplePerRun: peoplePerRun(m), ValidMonths: f.validMonths(m), AimDaysBefore: aimDaysBefore})
		}
	}
	return out
}

// peoplePerRun is how many people a timed run of a method takes.
func peoplePerRun(m groundhand.Method) int {
	switch m {
	case groundhand.PairKit, groundhand.ManualLowering, groundhand.SubstationCase:
		return 2
	case groundhand.FirstAid:
		return 0 // a classroom
	}
	return 1
}

// validMonths is the shortest interval among the lines of a method, in whole months.
func (f *planFacts) validMonths(m groundhand.Method) int {
	const longest, daysOfMonth = 120, 31
	least := longest
	for _, l := range f.rules.Standing {
		if l.Method == string(m) {
			least = min(least, cmp.Or(l.Interval.Months, max(1, l.Interval.Days/daysOfMonth)))
		}
	}
	return least
}
