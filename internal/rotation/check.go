package rotation

import (
	"fmt"
	"slices"

	"groundhand/internal/groundhand"
)

// Fault is a hard rule that a plan breaks. Code is F1 to F15; the other fields are filled where they say something.
type Fault struct {
	Code   string
	Slot   string
	Worker string
	Crew   string
	Day    groundhand.Date
	Detail string
}

func (f Fault) String() string {
	out := f.Code
	for _, part := range []string{f.Slot, f.Worker, f.Crew, f.Day.String()} {
		if part != "" {
			out += " " + part
		}
	}
	return out + ": " + f.Detail
}

// Check judges the sessions and the six claimed figures of a plan, day by day from the definitions. It gives every fault it finds; none
// means that the plan may be adopted as far as the hard rules go. The problem must be one that Validate accepts.
func Check(p Problem, plan Plan) []Fault {
	c := newChecker(p, plan)
	c.checkSessions()
	c.checkPlaces()
	c.checkPins()
	c.checkCover()
	if len(c.faults) == 0 {
		c.checkFigures(plan.Objective)
	}
	return c.faults
}

// Recount computes the six figures of a plan without faults, whatever the plan claims.
func Recount(p Problem, plan Plan) Objective { return newChecker(p, plan).recount() }

type ticketKey struct{ worker, qual, device string }

// checker holds a problem and a plan by their names; it shares nothing with the planner.
type checker struct {
	p       Problem
	plan    Plan
	workers map[string]Worker
	slots   map[string]Slot
	quals   map[string]Qualification
	leader  map[string]string // worker that an instructor is
	renewed map[ticketKey]groundhand.Date
	faults  []Fault
}

func newChecker(p Problem, plan Plan) *checker {
	c := &checker{p: p, plan: plan, workers: map[string]Worker{}, slots: map[string]Slot{}, quals: map[string]Qualification{},
		leader: map[string]string{}, renewed: map[ticketKey]groundhand.Date{}}
	for _, w := range p.Workers {
		c.workers[w.ID] = w
	}
	for _, s := range p.Slots {
		c.slots[s.ID] = s
	}
	for _, q := range p.Qualifications {
		c.quals[q.ID] = q
	}
	for _, i := range p.Instructors {
		c.leader[i.ID] = i.Worker
	}
	c.noteRenewals()
	return c
}

func (c *checker) noteRenewals() {
	for _, s := range c.plan.Sessions {
		for _, a := range s.Attend {
			for _, q := range a.Renews {
				if t, ok := ticketFor(c.workers[a.Worker], q, c.slots[s.Slot].Device); ok {
					c.renewed[ticketKey{a.Worker, q, t.Device}] = c.slots[s.Slot].Date
				}
			}
		}
	}
}

// ticketFor is the ticket of a worker that a session on a device renews.
func ticketFor(w Worker, qual, device string) (Ticket, bool) {
	for _, t := range w.Tickets {
		if t.Qualification == qual && (t.Device == "" || t.Device == device) {
			return t, true
		}
	}
	return Ticket{}, false
}

func (c *checker) fault(code string, s Session, worker, format string, args ...any) {
	c.faults = append(c.faults, Fault{Code: code, Slot: s.Slot, Worker: worker, Day: c.slots[s.Slot].Date, Detail: fmt.Sprintf(format, args...)})
}

func inStretch(all []Stretch, d groundhand.Date) bool {
	return slices.ContainsFunc(all, func(s Stretch) bool { return s.From <= d && d <= s.To })
}

func (c *checker) workDay(d groundhand.Date) bool {
	return c.p.listsWeekday(d) && !slices.Contains(c.p.Holidays, d)
}

func (c *checker) atWork(worker string, d groundhand.Date) bool {
	return c.workDay(d) && !inStretch(c.workers[worker].Leave, d)
}

func (c *checker) free(worker string, d groundhand.Date) bool {
	return c.atWork(worker, d) && !inStretch(c.workers[worker].Standby, d)
}

func (c *checker) minutesBetween(a, b string) (int, bool) {
	if a == b {
		return 0, true
	}
	for _, t := range c.p.Travel {
		if t.From == a && t.To == b || t.From == b && t.To == a {
			return t.Minutes, true
		}
	}
	return 0, false
}

func (c *checker) checkSessions() {
	seen := map[string]bool{}
	renewedBefore := map[ticketKey]bool{}
	for _, s := range c.plan.Sessions {
		c.checkSlot(s, seen[s.Slot])
		seen[s.Slot] = true
		if _, known := c.slots[s.Slot]; known {
			c.checkPeople(s)
			c.checkRenewals(s, renewedBefore)
			c.checkRoom(s)
		}
	}
}

// checkSlot is F1.
func (c *checker) checkSlot(s Session, twice bool) {
	slot, known := c.slots[s.Slot]
	leader := c.leader[slot.Instructor]
	switch {
	case !known:
		c.fault("F1", s, "", "there is no such slot")
	case twice:
		c.fault("F1", s, "", "the slot is used twice")
	case slot.Date < c.p.Start || slot.Date > c.p.End:
		c.fault("F1", s, "", "the slot is outside the window")
	case !c.workDay(slot.Date):
		c.fault("F1", s, "", "nobody works on that day")
	case leader != "" && !c.free(leader, slot.Date):
		c.fault("F1", s, leader, "the instructor is away")
	}
}

// checkPeople is F2, F3, F4 and F8.
func (c *checker) checkPeople(s Session) {
	seen := map[string]bool{}
	slot := c.slots[s.Slot]
	for _, a := range s.Attend {
		w, known := c.workers[a.Worker]
		if !known || seen[a.Worker] {
			c.fault("F2", s, a.Worker, "the worker is unknown or listed twice")
			continue
		}
		seen[a.Worker] = true
		if c.leader[slot.Instructor] == a.Worker {
			c.fault("F3", s, a.Worker, "the worker leads the session")
		}
		if _, reach := c.minutesBetween(w.Yard, slot.Yard); !reach || !c.free(a.Worker, slot.Date) {
			c.fault("F4", s, a.Worker, "the worker is not free or cannot reach the yard")
		}
		if len(a.Renews) == 0 && !c.mateRenews(s, w) {
			c.fault("F8", s, a.Worker, "no crew mate of the companion renews here")
		}
	}
}

func (c *checker) mateRenews(s Session, w Worker) bool {
	return w.Crew != "" && slices.ContainsFunc(s.Attend, func(a Attendee) bool {
		return len(a.Renews) > 0 && c.workers[a.Worker].Crew == w.Crew
	})
}

// checkRenewals is F5, F6 and F7.
func (c *checker) checkRenewals(s Session, before map[ticketKey]bool) {
	slot, any := c.slots[s.Slot], false
	for _, a := range s.Attend {
		for _, q := range a.Renews {
			any = true
			t, ok := ticketFor(c.workers[a.Worker], q, slot.Device)
			if !ok || !slices.Contains(slot.Qualifications, q) || slot.Date < t.Earliest || !c.due(t) {
				c.fault("F5", s, a.Worker, "%s cannot be renewed here", q)
				continue
			}
			key := ticketKey{a.Worker, q, t.Device}
			if before[key] {
				c.fault("F6", s, a.Worker, "%s is renewed twice", q)
			}
			before[key] = true
		}
	}
	if !any {
		c.fault("F7", s, "", "nobody renews anything")
	}
}

func (c *checker) due(t Ticket) bool { return t.ValidThrough.IsZero() || t.ValidThrough < c.p.End }

// checkRoom is F9, F10 and F11.
func (c *checker) checkRoom(s Session) {
	slot := c.slots[s.Slot]
	if len(s.Attend) > slot.Seats {
		c.fault("F9", s, "", "%d people for %d seats", len(s.Attend), slot.Seats)
	}
	renewers := map[string]int{}
	for _, a := range s.Attend {
		for _, q := range a.Renews {
			renewers[q]++
		}
	}
	runs := 0
	for _, q := range sortedKeys(renewers) {
		people := c.quals[q].PeoplePerRun
		if people >= 1 {
			runs += max(renewers[q], people)
		}
		if len(s.Attend) < people {
			c.fault("F11", s, "", "%s needs %d people present", q, people)
		}
	}
	if runs > slot.MaxRuns {
		c.fault("F10", s, "", "%d runs needed, %d offered", runs, slot.MaxRuns)
	}
}

// checkPlaces is F12.
func (c *checker) checkPlaces() {
	held := map[string][]Session{} // by who or what is there
	for _, s := range c.plan.Sessions {
		slot, known := c.slots[s.Slot]
		if !known {
			continue
		}
		held["instructor "+slot.Instructor] = append(held["instructor "+slot.Instructor], s)
		if slot.Truck != "" {
			held["truck "+slot.Truck] = append(held["truck "+slot.Truck], s)
		}
		people := map[string]bool{}
		for _, a := range s.Attend {
			people[a.Worker] = true
		}
		if leader := c.leader[slot.Instructor]; leader != "" {
			people[leader] = true
		}
		for _, w := range sortedKeys(people) {
			held["worker "+w] = append(held["worker "+w], s)
		}
	}
	for _, who := range sortedKeys(held) {
		c.checkTogether(who, held[who])
	}
}

func (c *checker) checkTogether(who string, sessions []Session) {
	for i, s := range sessions {
		for _, o := range sessions[:i] {
			a, b := c.slots[s.Slot], c.slots[o.Slot]
			if a.Date == b.Date && (a.Part == b.Part || a.Part == "day" || b.Part == "day" || a.Yard != b.Yard) {
				c.fault("F12", s, "", "%s is also in %s", who, o.Slot)
			}
		}
	}
}

// checkPins is F13: a pin is kept when the worker is there and renews at least what was promised.
func (c *checker) checkPins() {
	for _, pin := range c.p.Pinned {
		kept := slices.ContainsFunc(c.plan.Sessions, func(s Session) bool {
			return s.Slot == pin.Slot && slices.ContainsFunc(s.Attend, func(a Attendee) bool {
				return a.Worker == pin.Worker && !slices.ContainsFunc(pin.Renews, func(q string) bool { return !slices.Contains(a.Renews, q) })
			})
		})
		if !kept {
			c.faults = append(c.faults, Fault{Code: "F13", Slot: pin.Slot, Worker: pin.Worker, Detail: "the pin is not kept"})
		}
	}
}
