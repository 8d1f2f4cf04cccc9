package rotation

import (
	"cmp"
	"slices"
	"strconv"

	"groundhand/internal/groundhand"
)

// Choice is where a ticket is renewed, and where else it could be.
type Choice struct {
	Worker, Qualification, Device string
	Slot                          string // empty: it is not renewed
	On                            groundhand.Date
	DaysLapsed                    int           // worked days on which it is not current
	Reason                        Reason        // why it lapses on worked days, or would in any plan; empty when it does not
	Others                        []Alternative // every other eligible slot: those that are possible first, best first; then the rest by day
}

// Alternative is another slot for a renewal, when it alone is moved there. Either a rule fails, or some figures change.
type Alternative struct {
	Slot    string
	On      groundhand.Date
	Rule    string         // the first hard rule that fails, F7 to F14, or StaggerRule; empty: the move is possible
	Changes []FigureChange // in the order of the levels; only those that change
}

// FigureChange is a figure of LevelNames and how much larger it becomes; smaller is better.
type FigureChange struct {
	Level string
	By    int
}

// StaggerRule stands in an Alternative or a Chance for the rule of a Stagger.
const StaggerRule = "stagger"

// Why gives, for each due ticket of a worker, the slot in which a plan renews it and every other eligible slot: the first hard rule that
// fails when the renewal is moved there and nothing else changes, or the figures that change. Whoever has nothing else to renew in the old
// session stays at home, and a session in which nobody renews anything any more is not held. The rules are judged by the checker, not by
// the search. The error is coded: NotFound for an unknown worker, Conflict for a plan that breaks a hard rule.
func Why(p Problem, plan Plan, worker string) ([]Choice, error) {
	return WhyWithin(p, plan, worker, 0, 0)
}

// WhyWithin is Why where at most so many tickets of one crew and qualification may run out in any so many days, as under a Stagger: a move
// that would make more of them fails the StaggerRule. Most 0: no such limit.
func WhyWithin(p Problem, plan Plan, worker string, most, days int) ([]Choice, error) {
	m, err := newMover(p, plan, limit{most, days})
	if err != nil {
		return nil, err
	}
	w, known := m.workers[worker]
	if !known {
		return nil, groundhand.NotFound("worker", "There is no worker %q in this rotation.", worker)
	}
	return m.choices(w, func(Ticket) bool { return true }), nil
}

// Unplaced lists the due tickets that a plan does not renew, with why: a reason that holds in every plan, or what stands in the way at each
// slot. Most and days are as in WhyWithin. In the order of the workers of the problem.
func Unplaced(p Problem, plan Plan, most, days int) ([]Choice, error) {
	m, err := newMover(p, plan, limit{most, days})
	if err != nil {
		return nil, err
	}
	placed := m.slotsRenewing()
	out := []Choice{}
	for _, w := range p.Workers {
		out = append(out, m.choices(w, func(t Ticket) bool { return placed[ticketKey{w.ID, t.Qualification, t.Device}] == "" })...)
	}
	return out, nil
}

// limit is at most so many tickets of one crew and qualification that run out in any so many days; zero: no limit.
type limit struct{ most, days int }

// mover tries single renewals elsewhere. Of the plan it looks only at the sessions that a move can touch, so that one move costs the same
// in a large plan as in a small one.
type mover struct {
	*checker
	members map[string][]Worker
	limit   limit
	led     map[string]int          // sessions by instructor
	ofCrew  map[string]map[int]bool // sessions, by position, in which somebody of a crew attends or leads
	onDay   map[groundhand.Date]map[int]bool
	short   int // days on which the worker's crew is short
}

func newMover(p Problem, plan Plan, most limit) (*mover, error) {
	c := newChecker(p, plan)
	members := c.membersOf()
	if c.firstBroken(p.Crews, members) != "" {
		return nil, groundhand.Conflict("plan", "The plan breaks a hard rule: %s.", c.faults[0])
	}
	m := &mover{checker: c, members: members, limit: most, led: map[string]int{}, ofCrew: map[string]map[int]bool{}, onDay: map[groundhand.Date]map[int]bool{}}
	for i, s := range plan.Sessions {
		slot := c.slots[s.Slot]
		m.led[slot.Instructor]++
		addSession(m.onDay, slot.Date, i)
		addSession(m.ofCrew, c.workers[c.leader[slot.Instructor]].Crew, i)
		for _, a := range s.Attend {
			addSession(m.ofCrew, c.workers[a.Worker].Crew, i)
		}
	}
	return m, nil
}

func addSession[K comparable](sets map[K]map[int]bool, key K, i int) {
	if sets[key] == nil {
		sets[key] = map[int]bool{}
	}
	sets[key][i] = true
}

// choices are the due tickets of a worker that are wanted.
func (m *mover) choices(w Worker, wanted func(Ticket) bool) []Choice {
	var out []Choice
	for _, t := range w.Tickets {
		if m.due(t) && wanted(t) {
			m.short = m.daysShort(m.crew(w.Crew), m.members[w.Crew])
			out = append(out, m.choice(w, t))
		}
	}
	return out
}

func (c *checker) crew(id string) Crew {
	for _, crew := range c.p.Crews {
		if crew.ID == id {
			return crew
		}
	}
	return Crew{}
}

func (m *mover) choice(w Worker, t Ticket) Choice {
	out := Choice{Worker: w.ID, Qualification: t.Qualification, Device: t.Device, Slot: m.slotOf(w, t), DaysLapsed: m.daysLapsed(w, t)}
	out.On = m.slots[out.Slot].Date
	out.Reason = m.reason(w, t, out)
	for _, s := range m.p.Slots {
		if s.ID != out.Slot && m.eligible(w, t, s) {
			out.Others = append(out.Others, m.alternative(w, t, out.Slot, s))
		}
	}
	slices.SortStableFunc(out.Others, nextBest)
	return out
}

// slotOf is the slot in which a ticket is renewed; empty for none.
func (c *checker) slotOf(w Worker, t Ticket) string {
	for _, s := range c.plan.Sessions {
		for _, a := range s.Attend {
			if u, is := ticketFor(w, t.Qualification, c.slots[s.Slot].Device); a.Worker == w.ID && is && u == t && slices.Contains(a.Renews, t.Qualification) {
				return s.Slot
			}
		}
	}
	return ""
}

// daysLapsed counts the worked days on which a ticket is not current.
func (c *checker) daysLapsed(w Worker, t Ticket) int {
	n := 0
	for d := c.p.Start; d <= c.p.End; d++ {
		if c.atWork(w.ID, d) && !c.current(w.ID, t, d) {
			n++
		}
	}
	return n
}

// reason asks the planner for a reason that holds in every plan. A ticket that lapses for another one is crowded out.
func (c *checker) reason(w Worker, t Ticket, is Choice) Reason {
	p := c.p
	p.Pinned, p.Workers = nil, slices.DeleteFunc(slices.Clone(p.Workers), func(o Worker) bool {
		return o.ID != w.ID && !slices.ContainsFunc(p.Instructors, func(i Instructor) bool { return i.Worker == o.ID })
	})
	g := newGrid(p)
	for i, row := range g.tickets {
		if p.Workers[row.worker].ID != w.ID || g.quals[row.qual].ID != t.Qualification || row.device != t.Device {
			continue
		}
		if why, always := g.whyNever(i); always {
			return why
		}
		if is.DaysLapsed > row.least {
			return CrowdedOut
		}
	}
	return ""
}

// eligible says that a ticket may be renewed in a slot, whatever else the plan holds: the slot is usable and offers it, and the worker is
// free, does not lead it and can reach it.
func (c *checker) eligible(w Worker, t Ticket, s Slot) bool {
	leader := c.leader[s.Instructor]
	_, reach := c.minutesBetween(w.Yard, s.Yard)
	return s.Date >= c.p.Start && s.Date <= c.p.End && c.workDay(s.Date) && (leader == "" || c.free(leader, s.Date)) &&
		slices.Contains(s.Qualifications, t.Qualification) && (t.Device == "" || t.Device == s.Device) && s.Date >= t.Earliest &&
		c.free(w.ID, s.Date) && leader != w.ID && reach
}

// alternative judges the plan with one renewal moved.
func (m *mover) alternative(w Worker, t Ticket, from string, to Slot) Alternative {
	out := Alternative{Slot: to.ID, On: to.Date}
	crews := m.touched(w, from, to.ID)
	near := m.near(w, crews, from, to.ID)
	moved := *m.checker
	moved.p.Pinned = slices.DeleteFunc(slices.Clone(m.p.Pinned), func(pin Pin) bool { return pin.Slot != from && pin.Slot != to.ID })
	moved.plan, moved.faults, moved.renewed = movedPlan(near, w.ID, t.Qualification, from, to.ID), nil, map[ticketKey]groundhand.Date{}
	moved.noteRenewals()
	if out.Rule = moved.firstBroken(crews, m.members); out.Rule != "" {
		return out
	}
	if m.crowded(&moved, w, t, to.Date) {
		out.Rule = StaggerRule
		return out
	}
	still := *m.checker
	still.plan = near
	before, after := still.sessionFigures(), moved.sessionFigures()
	before.CrewDaysShort, after.CrewDaysShort = m.short, moved.daysShort(m.crew(w.Crew), m.members[w.Crew])
	before.LapsedDays, after.LapsedDays = m.daysLapsed(w, t), moved.daysLapsed(w, t)
	before.BusiestInstructor, after.BusiestInstructor = busiest(m.led), busiest(m.ledAfter(near, moved.plan))
	was, is := before.Levels(), after.Levels()
	for i, name := range LevelNames {
		if by := is[i] - was[i]; by != 0 {
			out.Changes = append(out.Changes, FigureChange{name, by})
		}
	}
	return out
}

// touched are the crews whose people or leaders may be elsewhere once a renewal is moved: the worker's, and those of the leaders of a
// session that may close or open. Who else is in these sessions stays there.
func (m *mover) touched(w Worker, slots ...string) []Crew {
	ids := map[string]bool{w.Crew: w.Crew != ""}
	for _, id := range slots {
		if crew := m.workers[m.leader[m.slots[id].Instructor]].Crew; crew != "" {
			ids[crew] = true
		}
	}
	return slices.DeleteFunc(slices.Clone(m.p.Crews), func(c Crew) bool { return !ids[c.ID] })
}

// near is the plan as far as a move can touch it: the sessions of its crews, of its worker and of its two days.
func (m *mover) near(w Worker, crews []Crew, slots ...string) Plan {
	keep := map[int]bool{}
	add := func(set map[int]bool) {
		for i := range set {
			keep[i] = true
		}
	}
	for _, c := range crews {
		add(m.ofCrew[c.ID])
	}
	if w.Crew == "" {
		add(m.ofCrew[""])
	}
	for _, id := range slots {
		add(m.onDay[m.slots[id].Date])
	}
	out := Plan{Problem: m.plan.Problem}
	for i, s := range m.plan.Sessions {
		if keep[i] {
			out.Sessions = append(out.Sessions, s)
		}
	}
	return out
}

// ledAfter counts the sessions of instructors once some sessions have given way to others.
func (m *mover) ledAfter(before, after Plan) map[string]int {
	led := map[string]int{}
	for who, n := range m.led {
		led[who] = n
	}
	for _, s := range before.Sessions {
		led[m.slots[s.Slot].Instructor]--
	}
	for _, s := range after.Sessions {
		led[m.slots[s.Slot].Instructor]++
	}
	return led
}

func busiest(led map[string]int) int {
	most := 0
	for _, n := range led {
		most = max(most, n)
	}
	return most
}

// firstBroken is the hard rule with the lowest number that a plan breaks; cover is looked at for some crews only.
func (c *checker) firstBroken(crews []Crew, members map[string][]Worker) string {
	c.checkSessions()
	c.checkPlaces()
	c.checkPins()
	if len(c.faults) == 0 {
		c.checkCoverOf(crews, members)
	}
	first := ""
	for _, f := range c.faults {
		if first == "" || ruleNumber(f.Code) < ruleNumber(first) {
			first = f.Code
		}
	}
	return first
}

func ruleNumber(code string) int {
	n, _ := strconv.Atoi(code[1:])
	return n
}

// crowded says that with a ticket renewed on a day more tickets of its crew and qualification run out close to it than the limit allows,
// renewals and tickets that stay valid past the window counted alike.
func (m *mover) crowded(moved *checker, w Worker, t Ticket, day groundhand.Date) bool {
	if m.limit.most == 0 || w.Crew == "" {
		return false
	}
	valid := moved.quals[t.Qualification].ValidMonths
	var ends []int
	for _, mate := range m.members[w.Crew] {
		for _, u := range mate.Tickets {
			if u.Qualification != t.Qualification {
				continue
			}
			if on, renewed := moved.renewed[ticketKey{mate.ID, u.Qualification, u.Device}]; renewed {
				ends = append(ends, int(on.AddMonths(valid)))
			} else if !moved.due(u) {
				ends = append(ends, int(u.ValidThrough))
			}
		}
	}
	return crowdedAround(ends, int(day.AddMonths(valid)), Stagger{m.limit.most, m.limit.days})
}

// movedPlan is a plan with one renewal elsewhere.
func movedPlan(plan Plan, worker, qual, from, to string) Plan {
	out := Plan{Problem: plan.Problem}
	there := false
	for _, s := range plan.Sessions {
		if s.Slot == from {
			s = withoutRenewal(s, worker, qual)
		}
		if s.Slot == to {
			s, there = withRenewal(s, worker, qual), true
		}
		if s.Slot != from || slices.ContainsFunc(s.Attend, func(a Attendee) bool { return len(a.Renews) > 0 }) {
			out.Sessions = append(out.Sessions, s)
		}
	}
	if !there {
		out.Sessions = append(out.Sessions, Session{to, []Attendee{{worker, []string{qual}}}})
	}
	return out
}

func withoutRenewal(s Session, worker, qual string) Session {
	out := Session{Slot: s.Slot}
	for _, a := range s.Attend {
		if a.Worker == worker {
			a.Renews = slices.DeleteFunc(slices.Clone(a.Renews), func(q string) bool { return q == qual })
			if len(a.Renews) == 0 {
				continue
			}
		}
		out.Attend = append(out.Attend, a)
	}
	return out
}

func withRenewal(s Session, worker, qual string) Session {
	out := Session{s.Slot, slices.Clone(s.Attend)}
	for i, a := range out.Attend {
		if a.Worker == worker {
			out.Attend[i].Renews = append(slices.Clone(a.Renews), qual)
			return out
		}
	}
	out.Attend = append(out.Attend, Attendee{worker, []string{qual}})
	return out
}

// nextBest puts what is possible first, the least harm to the figures before the more, and what is not possible by day.
func nextBest(a, b Alternative) int {
	if (a.Rule == "") != (b.Rule == "") {
		return cmp.Compare(min(len(a.Rule), 1), min(len(b.Rule), 1))
	}
	if a.Rule == "" {
		x, y := a.byLevel(), b.byLevel()
		if c := slices.Compare(x[:], y[:]); c != 0 {
			return c
		}
	}
	return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(a.Slot, b.Slot))
}

func (a Alternative) byLevel() (by [6]int) {
	for _, c := range a.Changes {
		by[slices.Index(LevelNames[:], c.Level)] = c.By
	}
	return by
}
