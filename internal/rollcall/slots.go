package rollcall

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rotation"
)

// sessions writes the booked sessions as slots, beside those asked for and those offered, and what is promised in them as pins, with the
// people who lead. It gives the sessions that cannot be slots.
func (f *planFacts) sessions(p *rotation.Problem) []SlotLeftOut {
	leftOut := []SlotLeftOut{}
	keep := func(slot rotation.Slot, why LeftOutReason) {
		if why == "" {
			why = f.barred(slot)
		}
		if why != "" {
			leftOut = append(leftOut, SlotLeftOut{slot.ID, slot.Date, why})
			return
		}
		p.Slots = append(p.Slots, slot)
	}
	for _, s := range f.sessionRows {
		if slot, why := f.slot(s); slot.Date >= f.ask.Start && slot.Date <= f.ask.End {
			keep(slot, why)
		}
	}
	for _, slot := range f.ask.Slots {
		keep(slot, "")
	}
	p.Slots = append(p.Slots, f.offered(p)...)
	f.instructors(p)
	f.pins(p)
	slices.SortStableFunc(leftOut, func(a, b SlotLeftOut) int { return cmp.Or(cmp.Compare(a.Date, b.Date), cmp.Compare(a.Slot, b.Slot)) })
	return leftOut
}

// barred says why a slot is not to be used, whatever is there: it is forbidden, or its yard is closed that day.
func (f *planFacts) barred(s rotation.Slot) LeftOutReason {
	if slices.Contains(f.ask.ForbidSlots, s.ID) {
		return SlotForbidden
	}
	if f.ask.Change.closes(s) {
		return SlotYardClosed
	}
	return ""
}

// slot is a booked session, or why it cannot be one: its assessor has no authority for any of its methods that day, it has no yard, or its
// device or kit is out of service while it lasts.
func (f *planFacts) slot(s groundhand.Session) (rotation.Slot, LeftOutReason) {
	start, end := s.StartAt.In(f.roll.zone), s.EndAt.In(f.roll.zone)
	out := rotation.Slot{ID: string(s.ID), Date: groundhand.DateOf(start), Part: partOf(start, end), Yard: string(s.YardID), Device: string(f.familyOf(s)),
		Instructor: string(s.AssessorID), Truck: string(s.DeviceID), Seats: s.Seats, MaxRuns: s.MaxRuns, Minutes: int(end.Sub(start) / time.Minute), Cost: 1}
	planned := false
	for _, word := range s.Methods {
		m := groundhand.Method(word)
		planned = planned || f.planned(m)
		if f.planned(m) && f.mayAssess(s.AssessorID, m, f.familyOf(s), out.Date) && !slices.Contains(out.Qualifications, word) {
			out.Qualifications = append(out.Qualifications, word)
		}
	}
	if out.MaxRuns == 0 {
		out.MaxRuns = runsNeeded(out)
	}
	switch {
	case f.barred(out) != "":
		return out, f.barred(out)
	case !planned:
		return out, SlotNothingPlanned
	case s.YardID == "":
		return out, SlotYardMissing
	case len(out.Qualifications) == 0:
		return out, SlotNoAuthority
	case f.gear.outDuring(thing{device: s.DeviceID}, s.StartAt, s.EndAt):
		return out, SlotDeviceOut
	case s.KitID != "" && !f.gear.fit(s.KitID, s.StartAt, s.EndAt):
		return out, SlotKitOut
	}
	return out, ""
}

// outDuring says that a device or kit is out of service at some time of a window, by what was found and returned. That a look will be
// overdue by then says nothing: it will be made.
func (g *gear) outDuring(of thing, from, to groundhand.Instant) bool {
	return slices.ContainsFunc(g.outOfService(of), func(i readiness.Interval) bool { return i.From.At < to && (i.To == 0 || from < i.To) })
}

// fit says that a kit can be drilled with in a window: in service, and neither too new nor too old.
func (g *gear) fit(id groundhand.KitID, from, to groundhand.Instant) bool {
	k, there := g.kits[id]
	day := g.roll.dayOf(from)
	return there && k.InServiceOn <= day && (k.RetiresOn == 0 || day <= k.RetiresOn) && !g.outDuring(thing{kit: id}, from, to)
}

// runsNeeded is what a session without a limit of its own can need: every seat renews every method, and a method takes two runs at least.
func runsNeeded(s rotation.Slot) int { return max(s.Seats, 2) * len(s.Qualifications) }

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
	d, _ := f.gear.known(s.DeviceID, s.StartAt)
	return d.FamilyID
}

func (f *planFacts) mayAssess(who groundhand.WorkerID, m groundhand.Method, family groundhand.FamilyID, day groundhand.Date) bool {
	return slices.ContainsFunc(f.authorities, func(a groundhand.Authority) bool {
		return a.AssessorID == who && a.Methods.Has(string(m)) && a.FromOn <= day && (a.ToOn == 0 || day <= a.ToOn) &&
			(len(a.Families) == 0 || a.Families.Has(string(family)))
	})
}

// instructors lists everybody with an authority in the window and whoever leads a slot.
func (f *planFacts) instructors(p *rotation.Problem) {
	ids := []string{}
	for _, who := range f.assessing() {
		ids = append(ids, string(who))
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

// pins are the bookings in slots, as far as they promise a ticket that can be renewed there, and what is promised beside them. A booking
// that renews nothing in this plan is no pin: a companion is found again by the planner.
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
			p.Pinned = addPin(p.Pinned, rotation.Pin{Slot: slot.ID, Worker: worker.ID, Renews: renews})
		}
	}
	for _, pin := range f.ask.Pins {
		if slot := slots[pin.Slot]; slot != nil || !f.closed(pin.Slot) {
			p.Pinned = addPin(p.Pinned, pin)
		}
	}
}

// closed says that a slot fell away because its yard is closed: what was promised in it cannot bind.
func (f *planFacts) closed(slot string) bool {
	for _, s := range f.sessionRows {
		if string(s.ID) == slot {
			out, _ := f.slot(s)
			return f.ask.Change.closes(out)
		}
	}
	return slices.ContainsFunc(f.ask.Slots, func(s rotation.Slot) bool { return s.ID == slot && f.ask.Change.closes(s) }) ||
		slices.ContainsFunc(f.closedOffers, func(id string) bool { return id == slot })
}

// addPin joins what is promised to one worker in one slot.
func addPin(pins []rotation.Pin, pin rotation.Pin) []rotation.Pin {
	for i := range pins {
		if pins[i].Slot == pin.Slot && pins[i].Worker == pin.Worker {
			pins[i].Renews = unique(append(slices.Clone(pins[i].Renews), pin.Renews...))
			return pins
		}
	}
	return append(pins, pin)
}

// checkPins refuses what is promised in a slot that is not there, with why it is not.
func (f *planFacts) checkPins(r rotation.Problem, leftOut []SlotLeftOut) error {
	var p groundhand.Problems
	for i, pin := range f.ask.Pins {
		if slices.ContainsFunc(r.Slots, func(s rotation.Slot) bool { return s.ID == pin.Slot }) || f.closed(pin.Slot) {
			continue
		}
		field := fmt.Sprintf("pins[%d].slot", i)
		if n := slices.IndexFunc(leftOut, func(l SlotLeftOut) bool { return l.Slot == pin.Slot }); n >= 0 {
			p.Add(groundhand.CodeInvalid, field, "The slot %q cannot be used (%s); take the promise out or the reason away.", pin.Slot, leftOut[n].Reason)
			continue
		}
		p.Add(groundhand.CodeNotFound, field, "There is no slot %q in this rotation.", pin.Slot)
	}
	return p.Err()
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
