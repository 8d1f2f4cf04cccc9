package rollcall

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rotation"
)

// halfDay is a part of one day, with what is really there in each yard.
type halfDay struct {
	day      groundhand.Date
	part     string
	from, to groundhand.Instant
	turn     int
	devices  map[groundhand.YardID][]groundhand.Device // in service, not on a job, not in a booked session
	kits     map[groundhand.YardID][]groundhand.KitID  // fit, not in a booked session
	booked   []rotation.Slot                           // going on meanwhile
	led      map[string]string                         // yard in which an assessor leads a booked session that day
}

// Hours at which a half day begins, as sessions made of slots have them, and how long a slot of both halves takes its device at least.
const (
	morningHour   = 8
	afternoonHour = 13
	wholeDay      = 9 * 60 // minutes
)

func (m *makings) halfDay(day groundhand.Date, part string, turn int) *halfDay {
	hour := morningHour
	if part == "pm" {
		hour = afternoonHour
	}
	lasts := cmp.Or(m.ask.Offer.Minutes, usualMinutes)
	if part == "day" {
		lasts = max(lasts, wholeDay)
	}
	y, month, d := day.Civil()
	from := groundhand.InstantOf(time.Date(y, month, d, hour, 0, 0, 0, m.roll.zone))
	h := &halfDay{day: day, part: part, from: from, to: from + minutes(lasts), turn: turn, devices: map[groundhand.YardID][]groundhand.Device{},
		kits: map[groundhand.YardID][]groundhand.KitID{}, led: map[string]string{}}
	for _, s := range m.booked[day] {
		h.led[s.Instructor] = s.Yard
		if s.Part == part || s.Part == "day" || part == "day" {
			h.booked = append(h.booked, s)
		}
	}
	m.place(h)
	return h
}

// place finds which devices and kits are in which yard.
func (m *makings) place(h *halfDay) {
	away := func(b busy) bool { return b.meets(h.from, h.to) }
	for _, id := range m.devices {
		if !slices.ContainsFunc(m.outDevice[id], away) && !h.takes(func(s rotation.Slot) bool { return s.Truck == string(id) }) {
			d, _ := m.gear.known(id, h.from)
			h.devices[d.YardID] = append(h.devices[d.YardID], d)
		}
	}
	for _, id := range m.kits {
		k := m.gear.kits[id]
		inUse := k.InServiceOn <= h.day && (k.RetiresOn == 0 || h.day <= k.RetiresOn)
		if inUse && !slices.ContainsFunc(m.outKit[id], away) && !h.takes(func(s rotation.Slot) bool { return m.bookedKit[s.ID] == id }) {
			yard := m.gear.yardOf(id, h.from)
			h.kits[yard] = append(h.kits[yard], id)
		}
	}
}

// takes says whether a booked session that goes on meanwhile is one of those meant.
func (h *halfDay) takes(meant func(rotation.Slot) bool) bool {
	return slices.ContainsFunc(h.booked, meant)
}

// half is one yard on a half day.
type half struct {
	*makings
	*halfDay
	yard    groundhand.YardID
	devices []groundhand.Device
	kitOf   map[groundhand.DeviceID]groundhand.KitID
	leaders []groundhand.WorkerID
}

func (m *makings) half(there *halfDay, yard groundhand.YardID) *half {
	h := &half{makings: m, halfDay: there, yard: yard, devices: there.devices[yard]}
	h.findKits()
	h.findLeaders()
	return h
}

// findKits puts a kit on each device as far as they go round: the one that rides on it, else one of the yard's that rides on none of them.
// The devices take turns from week to week, so that a single spare kit serves them all in time.
func (h *half) findKits() {
	h.kitOf = map[groundhand.DeviceID]groundhand.KitID{}
	var spare []groundhand.KitID
	for _, id := range h.halfDay.kits[h.yard] {
		on := h.gear.placing(id, h.from).DeviceID
		there := slices.ContainsFunc(h.devices, func(d groundhand.Device) bool { return d.ID == on })
		switch {
		case there && h.kitOf[on] == "":
			h.kitOf[on] = id
		case on == "" || there: // what rides on a device that is not here is not here either
			spare = append(spare, id)
		}
	}
	if h.moreKit == h.yard && h.moreKit != "" {
		spare = append(spare, "one-more-kit")
	}
	week := int(h.day-h.ask.Start) / 7
	for i := range h.devices {
		d := h.devices[(i+week)%len(h.devices)]
		if h.kitOf[d.ID] == "" && len(spare) > 0 {
			h.kitOf[d.ID], spare = spare[0], spare[1:]
		}
	}
}

// findLeaders lists the assessors who can be there: not away that day, not leading a booked session then or elsewhere, and with a road here.
func (h *half) findLeaders() {
	for _, who := range h.assessors {
		if who == AddedAssessor {
			if h.more.YardID == h.yard {
				h.leaders = append(h.leaders, who)
			}
			continue
		}
		home, leads := h.homeYard(who), h.led[string(who)]
		busyThen := h.takes(func(s rotation.Slot) bool { return s.Instructor == string(who) })
		comes := home == h.yard || h.reach[[2]string{string(home), string(h.yard)}]
		if comes && !busyThen && (leads == "" || leads == string(h.yard)) && !h.awayOn(who, h.day) {
			h.leaders = append(h.leaders, who)
		}
	}
}

// awayOn says that somebody cannot be sent that day: absent or on standby for a part of it, or kept from drills.
func (f *planFacts) awayOn(who groundhand.WorkerID, day groundhand.Date) bool {
	leave, standby := f.stretches(who)
	return slices.ContainsFunc(append(leave, standby...), func(s rotation.Stretch) bool { return s.From <= day && day <= s.To })
}

// offers pairs devices with assessors; each pair is a slot. Under no device stands what needs none.
func (h *half) offers() []offer {
	var out []offer
	ranks := map[string]int{}
	n := max(len(h.devices), 1)
	for i := range n * len(h.leaders) {
		at, shift := i%n, i/n
		who := h.leaders[(at+shift)%len(h.leaders)]
		if at < len(h.devices) {
			out = h.offer(out, ranks, h.devices[at], who)
		}
		if at == 0 {
			out = h.offer(out, ranks, groundhand.Device{}, h.leaders[shift])
		}
	}
	return out
}

func (h *half) offer(out []offer, ranks map[string]int, d groundhand.Device, who groundhand.WorkerID) []offer {
	var methods []string
	kit := groundhand.KitID("")
	for _, m := range h.wanted[d.FamilyID] {
		if h.needs(m, readiness.NeedKit) && h.kitOf[d.ID] == "" || !h.leads(who, m, d.FamilyID) {
			continue
		}
		if h.needs(m, readiness.NeedKit) {
			kit = h.kitOf[d.ID]
		}
		methods = append(methods, string(m))
	}
	if len(methods) == 0 {
		return out
	}
	o := h.ask.Offer
	s := rotation.Slot{ID: h.slotID(d.ID, who), Name: h.slotName(d.ID), Date: h.day, Part: h.part, Yard: string(h.yard), Device: string(d.FamilyID), Instructor: string(who),
		Truck: string(d.ID), Qualifications: methods, Seats: cmp.Or(o.Seats, usualSeats), Minutes: cmp.Or(o.Minutes, usualMinutes), Cost: 1}
	s.MaxRuns = cmp.Or(o.MaxRuns, runsNeeded(s))
	kind := s.Device + " " + strings.Join(methods, " ")
	ranks[kind]++
	return append(out, offer{s, kit, ranks[kind] - 1, h.turn})
}

// slotID names an offered slot by what it takes, so that the same offer has the same id each time.
func (h *half) slotID(device groundhand.DeviceID, who groundhand.WorkerID) string {
	parts := []string{string(h.yard), h.day.String(), h.part, string(who)}
	if device != "" {
		parts = append(parts, string(device))
	}
	return strings.Join(parts, "/")
}

// slotName names an offered slot for people.
func (h *half) slotName(device groundhand.DeviceID) string {
	name := string(h.yard)
	for _, y := range h.yardRows {
		if y.ID == h.yard {
			name = y.Name
		}
	}
	name += ", " + h.day.Words() + ", " + h.part
	if device != "" {
		name += ", " + string(device)
	}
	return name
}

func (h *half) leads(who groundhand.WorkerID, m groundhand.Method, family groundhand.FamilyID) bool {
	if who != AddedAssessor {
		return h.mayAssess(who, m, family, h.day)
	}
	return (len(h.more.Methods) == 0 || slices.Contains(h.more.Methods, m)) && (len(h.more.Families) == 0 || slices.Contains(h.more.Families, family))
}
