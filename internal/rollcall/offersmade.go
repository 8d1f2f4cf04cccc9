package rollcall

import (
	"cmp"
	"math/bits"
	"slices"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rotation"
)

// offer is a slot that could be made, with what it takes.
type offer struct {
	slot rotation.Slot
	kit  groundhand.KitID // empty: no method of it needs one
	rank int              // among those of its yard, half day and control family: the first take other devices and assessors than each other
	turn int              // of its day, so that any first few turns are spread over the window
}

// offered makes the slots of the offering, and those that a change adds.
func (f *planFacts) offered(p *rotation.Problem) []rotation.Slot {
	if f.ask.Offer == nil {
		return nil
	}
	taken := map[string]bool{}
	for _, s := range p.Slots {
		taken[s.ID] = true
	}
	m := f.makings(p)
	before := m.all()
	kept := f.spread(before, cmp.Or(f.ask.Offer.Most, mostOffered))
	if m.add(f.ask.Change) {
		kept = f.withAdded(kept, before, m.all())
	}
	var out []rotation.Slot
	for _, o := range kept {
		switch {
		case taken[o.slot.ID]:
		case f.barred(o.slot) == SlotYardClosed:
			f.closedOffers = append(f.closedOffers, o.slot.ID)
		case f.barred(o.slot) == "":
			out = append(out, o.slot)
		}
	}
	slices.SortFunc(out, func(a, b rotation.Slot) int { return cmp.Or(cmp.Compare(a.Date, b.Date), cmp.Compare(a.ID, b.ID)) })
	return out
}

// withAdded keeps what is offered anyway, with what is richer by the change, and adds some that were not possible before: one more kit or
// assessor never takes a slot away.
func (f *planFacts) withAdded(kept, before, after []offer) []offer {
	old, now := map[string]offer{}, map[string]offer{}
	for _, o := range before {
		old[o.slot.ID] = o
	}
	var added []offer
	for _, o := range after {
		now[o.slot.ID] = o
		if was, there := old[o.slot.ID]; !there || len(was.slot.Qualifications) < len(o.slot.Qualifications) {
			added = append(added, o)
		}
	}
	out, in := []offer{}, map[string]bool{}
	for _, o := range kept {
		out, in[o.slot.ID] = append(out, now[o.slot.ID]), true
	}
	added = slices.DeleteFunc(added, func(o offer) bool { return in[o.slot.ID] })
	return append(out, f.spread(added, addedByChange)...)
}

// spread keeps at most so many offers: those in which something is promised; then one of each yard, half day and family on days all over
// the window; then more of each.
func (f *planFacts) spread(all []offer, most int) []offer {
	all = slices.Clone(all)
	free := func(o offer) int {
		if slices.ContainsFunc(f.ask.Pins, func(pin rotation.Pin) bool { return pin.Slot == o.slot.ID }) {
			return 0
		}
		return 1
	}
	slices.SortFunc(all, func(a, b offer) int {
		return cmp.Or(cmp.Compare(free(a), free(b)), cmp.Compare(a.rank, b.rank), cmp.Compare(a.turn, b.turn), cmp.Compare(a.slot.ID, b.slot.ID))
	})
	return all[:min(len(all), most)]
}

// makings is what offers are made from.
type makings struct {
	*planFacts
	wanted    map[groundhand.FamilyID][]groundhand.Method // by family of device, what tickets ask for; under "" what needs no device
	devices   []groundhand.DeviceID
	kits      []groundhand.KitID
	assessors []groundhand.WorkerID
	booked    map[groundhand.Date][]rotation.Slot // slots there are already
	bookedKit map[string]groundhand.KitID         // of booked sessions
	more      *AssessorAdded                      // by a change
	moreKit   groundhand.YardID                   // by a change
	reach     map[[2]string]bool                  // yards with a road between them
	outDevice map[groundhand.DeviceID][]busy      // times in which a device is out of service or on a job
	outKit    map[groundhand.KitID][]busy         // times in which a kit is out of service
}

// busy is a time in which a thing is not there; to 0: open.
type busy struct{ from, to groundhand.Instant }

func (b busy) meets(from, to groundhand.Instant) bool {
	return b.from < to && (b.to == 0 || from < b.to)
}

func (f *planFacts) makings(p *rotation.Problem) *makings {
	m := &makings{planFacts: f, wanted: map[groundhand.FamilyID][]groundhand.Method{}, assessors: f.assessing(), booked: map[groundhand.Date][]rotation.Slot{},
		bookedKit: map[string]groundhand.KitID{}, reach: map[[2]string]bool{}, outDevice: map[groundhand.DeviceID][]busy{}, outKit: map[groundhand.KitID][]busy{}}
	for _, w := range p.Workers {
		for _, t := range w.Tickets {
			m.want(groundhand.Method(t.Qualification), groundhand.FamilyID(t.Device))
		}
	}
	for id := range f.gear.devices {
		m.devices = append(m.devices, id)
		for _, i := range f.gear.outOfService(thing{device: id}) {
			m.outDevice[id] = append(m.outDevice[id], busy{i.From.At, i.To})
		}
	}
	for id := range f.gear.kits {
		m.kits = append(m.kits, id)
		for _, i := range f.gear.outOfService(thing{kit: id}) {
			m.outKit[id] = append(m.outKit[id], busy{i.From.At, i.To})
		}
	}
	for _, s := range p.Slots {
		m.booked[s.Date] = append(m.booked[s.Date], s)
	}
	for _, j := range f.jobs {
		m.outDevice[j.DeviceID] = append(m.outDevice[j.DeviceID], busy{j.StartAt, j.EndAt})
	}
	for _, s := range f.sessionRows {
		m.bookedKit[string(s.ID)] = s.KitID
	}
	for _, t := range p.Travel {
		m.reach[[2]string{t.From, t.To}], m.reach[[2]string{t.To, t.From}] = true, true
	}
	slices.Sort(m.devices)
	slices.Sort(m.kits)
	return m
}

// want notes that somebody holds a ticket of a method. One for no family in particular is practised on a device of any.
func (m *makings) want(method groundhand.Method, family groundhand.FamilyID) {
	families := []groundhand.FamilyID{family}
	switch {
	case !m.needs(method, readiness.NeedDevice):
		families = []groundhand.FamilyID{""}
	case family == "":
		families = nil
		for _, d := range m.gear.devices {
			families = append(families, d.FamilyID)
		}
	}
	for _, in := range families {
		if !slices.Contains(m.wanted[in], method) {
			m.wanted[in] = append(m.wanted[in], method)
			slices.Sort(m.wanted[in])
		}
	}
}

// needs says whether a method needs a device or a kit: as the cover rules say, and for what they do not name, by what it is.
func (f *planFacts) needs(m groundhand.Method, need readiness.Need) bool {
	for _, rule := range f.rules.Cover.Methods {
		if rule.ID == string(m) {
			return slices.Contains(rule.Needs, need)
		}
	}
	switch m {
	case groundhand.PairKit, groundhand.LoneKit, groundhand.SubstationCase:
		return true
	case groundhand.ManualLowering, groundhand.Familiarisation:
		return need == readiness.NeedDevice
	}
	return false
}

// add takes one more assessor or kit in; false when the change is another one.
func (m *makings) add(c *RotationChange) bool {
	switch {
	case c == nil:
		return false
	case c.AddAssessor != nil:
		m.more = c.AddAssessor
		m.assessors = append(slices.Clone(m.assessors), AddedAssessor)
	case c.AddKit != nil:
		m.moreKit = c.AddKit.YardID
	default:
		return false
	}
	return true
}

// all makes every offer there could be.
func (m *makings) all() []offer {
	var out []offer
	days := m.days()
	turns := spreadTurns(len(days))
	parts := m.ask.Offer.Parts
	if len(parts) == 0 {
		parts = partWords[:1]
	}
	for i, day := range days {
		for _, part := range parts {
			there := m.halfDay(day, part, turns[i])
			for _, yard := range m.yardsOffered() {
				out = append(out, m.half(there, yard).offers()...)
			}
		}
	}
	return out
}

func (m *makings) yardsOffered() []groundhand.YardID {
	if len(m.ask.Offer.Yards) > 0 {
		return unique(m.ask.Offer.Yards)
	}
	return idsOf(m.yardRows, func(y groundhand.Yard) groundhand.YardID { return y.ID })
}

// days are the work days of the window that are offered.
func (m *makings) days() []groundhand.Date {
	o, out := m.ask.Offer, []groundhand.Date{}
	for day := m.ask.Start; day <= m.ask.End; day++ {
		week := int(day-m.ask.Start) / 7
		listed := len(o.Weekdays) == 0 || slices.Contains(o.Weekdays, weekdayWords[day.Weekday()])
		rest := day.Weekday() == time.Saturday || day.Weekday() == time.Sunday || slices.Contains(m.ask.Holidays, day)
		if listed && !rest && week%max(1, o.EveryWeeks) == 0 {
			out = append(out, day)
		}
	}
	return out
}

// spreadTurns numbers n days so that those with the first few numbers are spread over all of them: the fractions whose bits are those of
// 0, 1, 2, … read backwards (van der Corput 1935), times n.
func spreadTurns(n int) []int {
	turns, width, turn := slices.Repeat([]int{-1}, n), bits.Len(uint(n)), 0
	for i := range 1 << width {
		backwards := int(bits.Reverse64(uint64(i)) >> (64 - width))
		if at := n * backwards >> width; at < n && turns[at] < 0 {
			turns[at] = turn
			turn++
		}
	}
	return turns
}
