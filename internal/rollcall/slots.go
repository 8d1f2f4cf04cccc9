package rollcall

import (
	"slices"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
)

// sessions writes the booked sessions as slots and what is promised in them as pins, with the people who lead.
func (f *planFacts) sessions(p *rotation.Problem) {
	for _, s := range f.sessionRows {
		slot, good := f.slot(s)
		if !good {
			continue
		}
		p.Slots = append(p.Slots, slot)
	}
	p.Slots = append(p.Slots, f.ask.Slots...)
	f.instructors(p)
	f.pins(p)
}

// slot: a session whose assessor has no authority for any of its methods that day is not offered, nor one without an assessor or a yard.
func (f *planFacts) slot(s groundhand.Session) (rotation.Slot, bool) {
	start, end := s.StartAt.In(f.roll.zone), s.EndAt.In(f.roll.zone)
	out := rotation.Slot{ID: string(s.ID), Date: groundhand.DateOf(start), Part: partOf(start, end), Yard: string(s.YardID), Device: string(f.familyOf(s)),
		Instructor: string(s.AssessorID), Truck: string(s.DeviceID), Seats: s.Seats, MaxRuns: s.MaxRuns, Minutes: int(end.Sub(start) / time.Minute), Cost: 1}
	for _, word := range s.Methods {
		m := groundhand.Method(word)
		if f.planned(m) && f.mayAssess(s.AssessorID, m, f.familyOf(s), out.Date) && !slices.Contains(out.Qualifications, word) {
			out.Qualifications = append(out.Qualifications, word)
		}
	}
	if out.MaxRuns == 0 {
		out.MaxRuns = mostRuns(out)
	}
	return out, len(out.Qualifications) > 0 && s.YardID != "" && out.Date >= f.ask.Start && out.Date <= f.ask.End
}

// mostRuns is what a session without a limit of its own can need: every seat renews every method, and a method takes two runs at least.
func mostRuns(s rotation.Slot) int { return max(s.Seats, 2) * len(s.Qualifications) }

// partOf is the half of the day that a session takes, by the wall clock; both when it lies across noon.
func partOf(start, end time.Time) string {
	const noon = 12
	noonThatDay := time.Date(start.Year(), start.Month(), start.Day(), noon, 0, 0, 0, start.Location())
	switch {
	case !end.After(noonThatDay):
		return "am"
	case !start.Before(noonThatDay):
		return "pm"
	}
	return "day"
}

func (f *planFacts) familyOf(s groundhand.Session) groundhand.FamilyID {
	if s.FamilyID != "" {
		return s.FamilyID
	}
	return f.devices[s.DeviceID].FamilyID
}

func (f *planFacts) mayAssess(who groundhand.WorkerID, m groundhand.Method, family groundhand.FamilyID, day groundhand.Date) bool {
	return slices.ContainsFunc(f.authorities, func(a groundhand.Authority) bool {
		return a.AssessorID == who && a.AuthorID != who && a.Methods.Has(string(m)) && a.FromOn <= day && (a.ToOn == 0 || day <= a.ToOn) &&
			(len(a.Families) == 0 || a.Families.Has(string(family)))
	})
}

// instructors lists everybody with an authority in the window and whoever leads a slot.
func (f *planFacts) instructors(p *rotation.Problem) {
	ids := []string{}
	for _, a := range f.authorities {
		if a.FromOn <= f.ask.End && (a.ToOn == 0 || a.ToOn >= f.ask.Start) {
			ids = append(ids, string(a.AssessorID))
		}
	}
	for _, s := range p.Slots {
		ids = append(ids, s.Instructor)
	}
	slices.Sort(ids)
	for _, id := range slices.Compact(ids) {
		i := rotation.Instructor{ID: id}
		if slices.ContainsFunc(p.Workers, func(w rotation.Worker) bool { return w.ID == id }) {
			i.Worker = id
		}
		p.Instructors = append(p.Instructors, i)
	}
}

// pins are the bookings in slots, as far as they promise a ticket that can be renewed there. A booking that renews nothing in this plan is
// no pin: a companion is found again by the planner.
func (f *planFacts) pins(p *rotation.Problem) {
	slots, workers := map[string]*rotation.Slot{}, map[string]*rotation.Worker{}
	for i := range p.Slots {
		slots[p.Slots[i].ID] = &p.Slots[i]
	}
	for i := range p.Workers {
		workers[p.Workers[i].ID] = &p.Workers[i]
	}
	for _, b := range f.bookings {
		slot, worker := slots[string(b.SessionID)], workers[string(b.WorkerID)]
		if slot == nil || worker == nil {
			continue
		}
		if renews := renewable(b.Renews, slot, worker, p.End); len(renews) > 0 {
			p.Pinned = append(p.Pinned, rotation.Pin{Slot: slot.ID, Worker: worker.ID, Renews: renews})
		}
	}
}

func renewable(methods groundhand.List, slot *rotation.Slot, worker *rotation.Worker, end groundhand.Date) []string {
	var out []string
	for _, m := range methods {
		due := slices.ContainsFunc(worker.Tickets, func(t rotation.Ticket) bool {
			return t.Qualification == m && t.ValidThrough < end && (t.Device == "" || t.Device == slot.Device)
		})
		if due && slices.Contains(slot.Qualifications, m) && !slices.Contains(out, m) {
			out = append(out, m)
		}
	}
	return out
}
