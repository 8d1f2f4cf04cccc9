package rotation

import (
	"slices"

	"groundhand/internal/groundhand"
)

// current says that a ticket of a worker is current on a day; a renewal counts from the next day on.
func (c *checker) current(worker string, t Ticket, d groundhand.Date) bool {
	if !t.ValidThrough.IsZero() && d <= t.ValidThrough {
		return true
	}
	on, ok := c.renewed[ticketKey{worker, t.Qualification, t.Device}]
	return ok && on < d
}

// counts says that a worker satisfies a rule of his crew on a day.
func (c *checker) counts(w Worker, crew Crew, r CoverRule, d groundhand.Date) bool {
	return slices.ContainsFunc(w.Tickets, func(t Ticket) bool {
		return slices.Contains(r.AnyOf, t.Qualification) && (t.Device == "" || t.Device == crew.Device) && c.current(w.ID, t, d)
	})
}

// satisfies says that these workers are enough for every rule of the crew.
func (c *checker) satisfies(crew Crew, workers []Worker, d groundhand.Date) bool {
	for _, r := range crew.Cover {
		n := 0
		for _, w := range workers {
			if c.counts(w, crew, r, d) {
				n++
			}
		}
		if n < r.AtLeast {
			return false
		}
	}
	return true
}

// membersAtWork gives those of a crew who work on a day, and whether they are enough to be sent out.
func (c *checker) membersAtWork(crew Crew, members []Worker, d groundhand.Date) (present []Worker, out bool) {
	need := 0
	for _, r := range crew.Cover {
		need = max(need, r.AtLeast)
	}
	for _, w := range members {
		if c.atWork(w.ID, d) {
			present = append(present, w)
		}
	}
	return present, len(present) >= need
}

func (c *checker) membersOf() map[string][]Worker {
	out := map[string][]Worker{}
	for _, w := range c.p.Workers {
		out[w.Crew] = append(out[w.Crew], w)
	}
	return out
}

// checkCover is F14.
func (c *checker) checkCover() { c.checkCoverOf(c.p.Crews, c.membersOf()) }

func (c *checker) checkCoverOf(crews []Crew, members map[string][]Worker) {
	away := c.awayByDay()
	for _, d := range sortedDays(away) {
		for _, crew := range crews {
			present, out := c.membersAtWork(crew, members[crew.ID], d)
			if !out || !c.satisfies(crew, present, d) {
				continue
			}
			for half := range away[d] {
				c.checkHalf(crew, present, d, away[d][half])
			}
		}
	}
}

func (c *checker) checkHalf(crew Crew, present []Worker, d groundhand.Date, away map[string]bool) {
	var left []Worker
	for _, w := range present {
		if !away[w.ID] {
			left = append(left, w)
		}
	}
	if len(left) < len(present) && len(left) > 0 && !c.satisfies(crew, left, d) {
		c.faults = append(c.faults, Fault{Code: "F14", Crew: crew.ID, Day: d, Detail: "those who stay behind do not cover"})
	}
}

// awayByDay gives who attends or leads on each day, for the morning and the afternoon.
func (c *checker) awayByDay() map[groundhand.Date][2]map[string]bool {
	out := map[groundhand.Date][2]map[string]bool{}
	for _, s := range c.plan.Sessions {
		slot, known := c.slots[s.Slot]
		if !known {
			continue
		}
		if _, ok := out[slot.Date]; !ok {
			out[slot.Date] = [2]map[string]bool{{}, {}}
		}
		for half, part := range []string{"am", "pm"} {
			if slot.Part == part || slot.Part == "day" {
				c.noteAway(out[slot.Date][half], s)
			}
		}
	}
	return out
}

func (c *checker) noteAway(away map[string]bool, s Session) {
	for _, a := range s.Attend {
		away[a.Worker] = true
	}
	if leader := c.leader[c.slots[s.Slot].Instructor]; leader != "" {
		away[leader] = true
	}
}

// checkFigures is F15.
func (c *checker) checkFigures(claimed Objective) {
	if got := c.recount(); got != claimed {
		a, b := claimed.Levels(), got.Levels()
		for i, name := range LevelNames {
			if a[i] != b[i] {
				c.fault("F15", Session{}, "", "%s is %d, not %d", name, b[i], a[i])
			}
		}
	}
}

func (c *checker) recount() Objective {
	o := c.sessionFigures()
	members := c.membersOf()
	for _, crew := range c.p.Crews {
		o.CrewDaysShort += c.daysShort(crew, members[crew.ID])
	}
	for _, w := range c.p.Workers {
		for d := c.p.Start; d <= c.p.End; d++ {
			if c.atWork(w.ID, d) {
				o.LapsedDays += c.lapsedTickets(w, d)
			}
		}
	}
	return o
}

// daysShort counts the days on which a crew goes out and lacks current people.
func (c *checker) daysShort(crew Crew, members []Worker) int {
	n := 0
	for d := c.p.Start; d <= c.p.End; d++ {
		if present, out := c.membersAtWork(crew, members, d); c.workDay(d) && out && !c.satisfies(crew, present, d) {
			n++
		}
	}
	return n
}

func (c *checker) lapsedTickets(w Worker, d groundhand.Date) int {
	n := 0
	for _, t := range w.Tickets {
		if !c.current(w.ID, t, d) {
			n++
		}
	}
	return n
}

func (c *checker) sessionFigures() Objective {
	var o Objective
	led := map[string]int{}
	for _, s := range c.plan.Sessions {
		slot := c.slots[s.Slot]
		o.SessionCost += slot.Cost
		led[slot.Instructor]++
		o.BusiestInstructor = max(o.BusiestInstructor, led[slot.Instructor])
		crews := map[string]bool{}
		for _, a := range s.Attend {
			w := c.workers[a.Worker]
			minutes, _ := c.minutesBetween(w.Yard, slot.Yard)
			o.MinutesAway += 2*minutes + slot.Minutes
			if w.Crew != "" && !crews[w.Crew] {
				crews[w.Crew] = true
				o.MinutesAway += c.p.VisitMinutes
			}
			o.DaysOffAim += c.daysOffAim(w, a, slot)
		}
	}
	return o
}

func (c *checker) daysOffAim(w Worker, a Attendee, slot Slot) int {
	n := 0
	for _, q := range a.Renews {
		t, _ := ticketFor(w, q, slot.Device)
		valid := t.ValidThrough
		if valid.IsZero() {
			valid = c.p.Start - 1
		}
		off := int(slot.Date - valid.AddDays(-c.quals[q].AimDaysBefore))
		n += max(off, -off)
	}
	return n
}

func sortedDays[V any](m map[groundhand.Date]V) []groundhand.Date {
	days := make([]groundhand.Date, 0, len(m))
	for d := range m {
		days = append(days, d)
	}
	slices.Sort(days)
	return days
}
