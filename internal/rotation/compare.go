package rotation

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
)

// Difference is what a plan changes against another one, as when a yard closes or one more kit is there. The problems may differ; workers,
// crews and tickets are matched by id.
type Difference struct {
	Before, After Objective
	By            Objective  // After less Before
	Away          Away       // all crews, and those without a crew, together
	Crews         []CrewAway // crews whose minutes are not zero both times, by crew
	Moved         []Moved    // renewals on another slot, or only in one of the plans; by worker, qualification and device
	Lapses        []LapseChange
	// SafeAgain is the first day from which on everybody who lapses only in the second plan, or longer than in the first, is current again;
	// zero when nobody does, or when somebody is not current again within the window (see LapseChange.CurrentAgain).
	SafeAgain groundhand.Date
}

// Away is working time spent on drills, in minutes.
type Away struct{ Before, After int }

// CrewAway is the working time that a crew spends on drills, with the visit minutes. Crew is empty for those without a crew.
type CrewAway struct {
	Crew string
	Away
}

// Moved is a renewal that two plans place differently. A slot is empty where the plan does not renew the ticket.
type Moved struct {
	Worker, Qualification, Device string
	From, To                      string // slots
	FromDay, ToDay                groundhand.Date
}

// LapseChange is a ticket with another number of lapsed worked days. CurrentAgain is the first day after the lapse on which it is current
// in the second plan; zero when it is not lapsed there, or stays so to the end of the window.
type LapseChange struct {
	Worker, Qualification, Device string
	Before, After                 int
	CurrentAgain                  groundhand.Date
}

// Newly says that the ticket lapses only in the second plan.
func (l LapseChange) Newly() bool { return l.Before == 0 && l.After > 0 }

// NoLonger says that the ticket lapses only in the first plan.
func (l LapseChange) NoLonger() bool { return l.Before > 0 && l.After == 0 }

// Compare says what the second plan changes against the first. The plans must be such that Check finds no fault in them but F15; the
// figures are counted again.
func Compare(oldP Problem, oldPlan Plan, newP Problem, newPlan Plan) Difference {
	a, b := newChecker(oldP, oldPlan), newChecker(newP, newPlan)
	out := Difference{Before: a.recount(), After: b.recount(), Moved: moved(a, b), Lapses: lapseChanges(a, b)}
	before, after := out.Before.Levels(), out.After.Levels()
	for i := range after {
		after[i] -= before[i]
	}
	out.By = objectiveOf(after)
	out.Crews = crewsAway(MinutesAway(oldP, oldPlan), MinutesAway(newP, newPlan))
	for _, c := range out.Crews {
		out.Away.Before += c.Before
		out.Away.After += c.After
	}
	out.SafeAgain = safeAgain(out.Lapses)
	return out
}

// MinutesAway is the working time that each crew spends on the drills of a plan: travel both ways, session time, and the visit minutes for
// each session with somebody of the crew. Those without a crew are under the empty id. Together it is the fourth figure.
func MinutesAway(p Problem, plan Plan) map[string]int {
	c, out := newChecker(p, plan), map[string]int{}
	for _, s := range plan.Sessions {
		slot, visits := c.slots[s.Slot], map[string]bool{}
		for _, a := range s.Attend {
			w := c.workers[a.Worker]
			minutes, _ := c.minutesBetween(w.Yard, slot.Yard)
			out[w.Crew] += 2*minutes + slot.Minutes
			visits[w.Crew] = w.Crew != ""
		}
		for crew, is := range visits {
			if is {
				out[crew] += p.VisitMinutes
			}
		}
	}
	return out
}

func crewsAway(before, after map[string]int) []CrewAway {
	both := map[string]bool{}
	for crew := range before {
		both[crew] = true
	}
	for crew := range after {
		both[crew] = true
	}
	var out []CrewAway
	for _, crew := range sortedKeys(both) {
		if before[crew] != 0 || after[crew] != 0 {
			out = append(out, CrewAway{crew, Away{before[crew], after[crew]}})
		}
	}
	return out
}

// ticketKeys lists the tickets that either problem knows, by worker, qualification and device.
func ticketKeys(all ...*checker) []ticketKey {
	seen := map[ticketKey]bool{}
	var out []ticketKey
	for _, c := range all {
		for _, w := range c.p.Workers {
			for _, t := range w.Tickets {
				if key := (ticketKey{w.ID, t.Qualification, t.Device}); !seen[key] {
					seen[key] = true
					out = append(out, key)
				}
			}
		}
	}
	slices.SortFunc(out, func(a, b ticketKey) int {
		return cmp.Or(cmp.Compare(a.worker, b.worker), cmp.Compare(a.qual, b.qual), cmp.Compare(a.device, b.device))
	})
	return out
}

// slotsRenewing gives the slot in which each ticket is renewed.
func (c *checker) slotsRenewing() map[ticketKey]string {
	out := map[ticketKey]string{}
	for _, s := range c.plan.Sessions {
		for _, a := range s.Attend {
			for _, q := range a.Renews {
				if t, ok := ticketFor(c.workers[a.Worker], q, c.slots[s.Slot].Device); ok {
					out[ticketKey{a.Worker, q, t.Device}] = s.Slot
				}
			}
		}
	}
	return out
}

func moved(a, b *checker) []Moved {
	var out []Moved
	from, to := a.slotsRenewing(), b.slotsRenewing()
	for _, key := range ticketKeys(a, b) {
		if from[key] != to[key] {
			out = append(out, Moved{key.worker, key.qual, key.device, from[key], to[key], a.slots[from[key]].Date, b.slots[to[key]].Date})
		}
	}
	return out
}

func lapseChanges(a, b *checker) []LapseChange {
	var out []LapseChange
	for _, key := range ticketKeys(a, b) {
		l := LapseChange{Worker: key.worker, Qualification: key.qual, Device: key.device, Before: a.lapsedUnder(key), After: b.lapsedUnder(key)}
		if l.Before == l.After {
			continue
		}
		if on, renewed := b.renewed[key]; renewed && l.After > 0 {
			l.CurrentAgain = on + 1
		}
		out = append(out, l)
	}
	return out
}

// lapsedUnder counts the lapsed days of a ticket; none when the problem does not know it.
func (c *checker) lapsedUnder(key ticketKey) int {
	w := c.workers[key.worker]
	for _, t := range w.Tickets {
		if t.Qualification == key.qual && t.Device == key.device {
			return c.daysLapsed(w, t)
		}
	}
	return 0
}

func safeAgain(lapses []LapseChange) groundhand.Date {
	var day groundhand.Date
	for _, l := range lapses {
		if l.After <= l.Before {
			continue
		}
		if l.CurrentAgain.IsZero() {
			return 0
		}
		day = max(day, l.CurrentAgain)
	}
	return day
}
