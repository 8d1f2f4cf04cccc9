package rotation

import (
	"math"
	"slices"
)

// stage is the program of a problem as seen from one plan: its solutions are the plans that are at least as good as that one at the
// levels before the one asked about. Pairs and companions that no such plan needs are left out.
type stage struct {
	*draft
	g     *grid
	level int // 1 to 6: the figure to be minimised
	known *known
	best  [6]int

	pairs   [][]int // by ticket: the slots that come into question
	callers [][]int // by slot: the tickets that may be renewed there

	ticket  []int         // by variable: the ticket whose renewal it is, or none
	onDay   [][]int       // by day: slots where somebody may renew
	held    []int         // by slot: the variable, or none
	renew   map[visit]int // (ticket, slot)
	brings  map[seat]sum  // by worker and slot: renews something there
	goes    map[seat]int  // companions
	comes   map[seat]sum  // by worker and slot: is there
	about   [][]int       // by worker: slots where he may be
	leads   [][]int       // by worker: slots that he would lead
	current map[string]int

	certain []daySet // by crew: days short in every plan
	fixed   bool     // no other days are short
	short   []shortDays
	shortOn map[seat]int // (crew, day): its variable
	figures [6]sum
	base    [6]float64 // constant part of each figure
}

// known is what proofs of earlier levels leave for the later ones. It holds for every plan at least as good at the levels proved.
type known struct {
	certain []daySet // by crew: days short in every plan
	bound   [6]int
	never   map[visit]bool // pairs that no such plan has
	always  map[int]bool   // slots that every such plan holds
	shares  [6][]share     // by figure: what its parts come to at least
}

// share is the least that some slots add to a figure; the shares of a figure are of different slots.
type share struct {
	slots map[int]bool
	least float64
}

// visit is a ticket in a slot.
type visit struct{ ticket, slot int }

// shortDays are days of a crew that are short together.
type shortDays struct{ variable, days int }

// newStage drafts the program that looks for a plan with a smaller figure at a level, the figures before it being no worse than the best
// ones known.
func (g *grid) newStage(level int, best Objective, k *known) *stage {
	s := &stage{draft: newDraft(), g: g, level: level, known: k, best: best.Levels(), renew: map[visit]int{}, brings: map[seat]sum{},
		goes: map[seat]int{}, comes: map[seat]sum{}, current: map[string]int{}, shortOn: map[seat]int{}}
	s.certain = k.certain
	days := 0
	for _, set := range s.certain {
		days += set.count()
	}
	s.fixed = days == best.CrewDaysShort
	s.base[0] = float64(days)
	s.findPairs()
	s.addSlots()
	s.addRenewals()
	s.addCompanions()
	s.addAttendance()
	s.addRooms()
	s.addPlaces()
	s.addShort()
	s.addCover()
	s.addPins()
	s.addFigures()
	s.ticket = slices.Repeat([]int{none}, len(s.lower))
	for pair, x := range s.renew {
		s.ticket[x] = pair.ticket
	}
	return s
}

// certainlyShort gives the days on which each crew is short although every ticket is renewed at its first slot.
func (g *grid) certainlyShort() []daySet {
	r := newRoster(g)
	for t, row := range g.tickets {
		if row.first != none {
			r.doRenew(t, row.first)
		}
	}
	out := make([]daySet, len(g.crews))
	for c := range g.crews {
		out[c] = g.newDays()
		if crew := &g.crews[c]; crew.need <= len(crew.members) && len(crew.rules) > 0 {
			r.findShort(crew)
			copy(out[c], r.cover.short)
		}
	}
	return out
}

// findPairs keeps the pairs that a plan with no more lapsed days than the best known can have.
func (s *stage) findPairs() {
	g := s.g
	s.pairs, s.callers = make([][]int, len(g.tickets)), make([][]int, len(g.slots))
	spare := math.MaxInt
	if s.level >= 2 {
		spare = s.best[1] - g.sumOfLeast()
	}
	for t := range g.tickets {
		row := &g.tickets[t]
		if !row.due {
			continue
		}
		for _, slot := range g.eligibleSlots(t) {
			if g.lapsed(t, slot)-row.least <= spare && !s.known.never[visit{t, slot}] {
				s.pairs[t] = append(s.pairs[t], slot)
				s.callers[slot] = append(s.callers[slot], t)
			}
		}
	}
}

func (g *grid) sumOfLeast() int {
	n := 0
	for _, row := range g.tickets {
		if row.due {
			n += row.least
		}
	}
	return n
}

func (s *stage) addSlots() {
	g := s.g
	s.onDay, s.held = make([][]int, g.days), slices.Repeat([]int{none}, len(g.slots))
	s.about, s.leads = make([][]int, len(g.workers)), make([][]int, len(g.workers))
	for slot := range g.slots {
		if len(s.callers[slot]) == 0 {
			continue
		}
		s.now = slot
		s.held[slot] = s.yesNo(chosen)
		s.onDay[g.slots[slot].day] = append(s.onDay[g.slots[slot].day], slot)
		if s.known.always[slot] {
			s.lower[s.held[slot]] = 1
		}
		if w := g.slots[slot].leader; w != none {
			s.leads[w] = append(s.leads[w], slot)
		}
	}
	s.now = none
}

// addRenewals makes the choice of a slot for each ticket, once at most (F6), and for sure where the lapsed days leave no other way.
func (s *stage) addRenewals() {
	for t, slots := range s.pairs {
		var all sum
		for _, slot := range slots {
			s.now = slot
			v := s.yesNo(chosen)
			s.renew[visit{t, slot}] = v
			all = append(all, one(v)...)
		}
		if row := &s.g.tickets[t]; len(slots) > 0 && s.level >= 2 && row.never-row.least > s.best[1]-s.g.sumOfLeast() {
			s.row(1, 1, all)
		} else {
			s.atMost(1, all)
		}
	}
	for slot := range s.g.slots {
		s.now = slot
		s.addBrings(slot)
	}
	s.now = none
}

// addBrings says who renews something in a slot.
func (s *stage) addBrings(slot int) {
	byWorker := map[int][]int{}
	for _, t := range s.callers[slot] {
		w := s.g.tickets[t].worker
		byWorker[w] = append(byWorker[w], s.renew[visit{t, slot}])
	}
	for _, w := range distinct(keys(byWorker)) {
		mine := byWorker[w]
		who := seat{w, slot}
		if len(mine) == 1 {
			s.brings[who] = one(mine[0])
			continue
		}
		some := s.yesNo(follows)
		all := one(some).times(-1)
		for _, x := range mine {
			s.atLeast(0, one(some), one(x).times(-1))
			all = append(all, one(x)...)
		}
		s.atLeast(0, all)
		s.brings[who] = one(some)
	}
}

// addCompanions lets people go along where a method needs a partner or a crew may have to stand down; elsewhere nobody gains by it.
func (s *stage) addCompanions() {
	for slot := range s.g.slots {
		if s.now = slot; s.held[slot] == none {
			continue
		}
		for _, crew := range s.crewsAt(slot) {
			partner := s.needsPartner(slot)
			down := s.mayStandDown(crew, slot)
			for _, w := range s.g.crews[crew].members {
				if (partner || down || s.pinnedTo(w, slot)) && s.mayGoAlong(w, slot) {
					s.goes[seat{w, slot}] = s.yesNo(chosen)
				}
			}
		}
	}
	s.now = none
}

// crewsAt lists the crews of which somebody may renew in a slot.
func (s *stage) crewsAt(slot int) []int {
	var out []int
	for _, t := range s.callers[slot] {
		if c := s.g.tickets[t].crewOf(s.g); c != none {
			out = append(out, c)
		}
	}
	return distinct(out)
}

func (s *stage) needsPartner(slot int) bool {
	return slices.ContainsFunc(s.callers[slot], func(t int) bool { return s.g.quals[s.g.tickets[t].qual].PeoplePerRun >= 2 })
}

func (s *stage) pinnedTo(w, slot int) bool {
	return slices.ContainsFunc(s.g.p.Pinned, func(pin Pin) bool { return s.g.ids.workers[pin.Worker] == w && s.g.ids.slots[pin.Slot] == slot })
}

// mayGoAlong says that a worker could be in a slot and that a crew mate of his could renew there.
func (s *stage) mayGoAlong(w, slot int) bool {
	return s.g.reaches(w, slot) && slices.ContainsFunc(s.callers[slot], func(t int) bool {
		return s.g.tickets[t].worker != w && s.g.tickets[t].crewOf(s.g) == s.g.workers[w].crew
	})
}

// mayStandDown says that all members at work could be away together on a half day that a slot covers, and that it could matter.
func (s *stage) mayStandDown(crew, slot int) bool {
	row, day := &s.g.crews[crew], s.g.slots[slot].day
	if !row.out.has(day) || s.certain[crew].has(day) {
		return false
	}
	for _, half := range [2]uint8{morning, afternoon} {
		if s.g.slots[slot].half&half != 0 && s.allMayBeAway(row.members, day, half) {
			return true
		}
	}
	return false
}

func (s *stage) allMayBeAway(members []int, day int, half uint8) bool {
	for _, w := range members {
		if s.g.workers[w].atWork.has(day) && !s.mayBeAway(w, day, half) {
			return false
		}
	}
	return true
}

// mayBeAway says that some session of a half day could take a worker away: as one who renews, as a companion or as its leader.
func (s *stage) mayBeAway(w, day int, half uint8) bool {
	return slices.ContainsFunc(s.onDay[day], func(slot int) bool {
		if s.g.slots[slot].half&half == 0 {
			return false
		}
		_, renews := s.brings[seat{w, slot}]
		return renews || s.g.slots[slot].leader == w || s.g.workers[w].crew != none && s.mayGoAlong(w, slot)
	})
}

// addAttendance ties people to sessions that are held, and companions to crew mates who renew there (F8).
func (s *stage) addAttendance() {
	for slot, held := range s.held {
		if held == none {
			continue
		}
		people := s.peopleOf(slot)
		for _, w := range people {
			who := seat{w, slot}
			there := slices.Clone(s.brings[who])
			if m, ok := s.goes[who]; ok {
				there = append(there, one(m)...)
				s.atMost(0, one(m), s.matesBring(w, slot).times(-1))
			}
			s.comes[who] = there
			s.about[w] = append(s.about[w], slot)
			s.atMost(0, there, one(held).times(-1))
			for _, t := range s.g.workers[w].tickets {
				if x, ok := s.renew[visit{t, slot}]; ok && len(s.brings[who]) == 1 && s.brings[who][0].Variable != x {
					s.atMost(0, one(x), one(held).times(-1))
				}
			}
		}
		if s.g.slots[slot].leader != none {
			s.atMost(0, one(held), s.allBring(slot).times(-1)) // F7; elsewhere nobody gains by an empty session
		}
	}
}

// peopleOf lists who may be in a slot.
func (s *stage) peopleOf(slot int) []int {
	var out []int
	for _, t := range s.callers[slot] {
		out = append(out, s.g.tickets[t].worker)
	}
	for _, crew := range s.crewsAt(slot) {
		for _, w := range s.g.crews[crew].members {
			if _, ok := s.goes[seat{w, slot}]; ok {
				out = append(out, w)
			}
		}
	}
	return distinct(out)
}

func (s *stage) matesBring(w, slot int) sum {
	var out sum
	for _, mate := range s.g.crews[s.g.workers[w].crew].members {
		if mate != w {
			out = append(out, s.brings[seat{mate, slot}]...)
		}
	}
	return out
}

func (s *stage) allBring(slot int) sum {
	var out sum
	for _, t := range s.callers[slot] {
		out = append(out, one(s.renew[visit{t, slot}])...)
	}
	return out
}

// addRooms is seats, runs and the people that a method needs (F9 to F11).
func (s *stage) addRooms() {
	for slot, held := range s.held {
		if held == none {
			continue
		}
		var all sum
		s.now = slot
		people := s.peopleOf(slot)
		for _, w := range people {
			all = append(all, s.comes[seat{w, slot}]...)
		}
		if len(people) > s.g.slots[slot].seats {
			s.atMost(0, all, one(held).times(-float64(s.g.slots[slot].seats)))
		}
		s.addRuns(slot, all)
	}
	s.now = none
}

// addRuns counts k runs for k people who renew a method, but never fewer than the people of a run.
func (s *stage) addRuns(slot int, people sum) {
	row, held := &s.g.slots[slot], s.held[slot]
	byQual := s.renewalsByQual(slot)
	most := 0
	for q, xs := range byQual {
		if per := s.g.quals[q].PeoplePerRun; per > 0 {
			most += max(len(xs), per)
		}
	}
	var runs sum
	for _, q := range distinct(keys(byQual)) {
		xs, per := byQual[q], s.g.quals[q].PeoplePerRun
		given := sum(nil)
		if per >= 2 {
			given = s.given(xs, held, len(byQual) == 1)
			s.atLeast(0, people, given.times(-float64(per)))
		}
		if most > row.runs {
			runs = append(runs, s.runsOf(xs, given, per)...)
		}
	}
	s.atMost(0, runs, one(held).times(-float64(row.runs)))
}

// given says that a method is renewed in a slot at all: whenever the slot is held, if nothing else can be renewed there.
func (s *stage) given(xs sum, held int, alone bool) sum {
	if alone {
		return one(held)
	}
	some := one(s.yesNo(follows))
	for _, x := range xs {
		s.atLeast(0, some, sum{x}.times(-1))
	}
	s.atMost(0, some, one(held).times(-1))
	return some
}

func (s *stage) runsOf(xs, given sum, per int) sum {
	switch per {
	case 0:
		return nil
	case 1:
		return xs
	}
	needs := one(s.variable(0, math.Inf(1), follows))
	s.atLeast(0, needs, xs.times(-1))
	s.atLeast(0, needs, given.times(-float64(per)))
	return needs
}

func (s *stage) renewalsByQual(slot int) map[int]sum {
	out := map[int]sum{}
	for _, t := range s.callers[slot] {
		q := s.g.tickets[t].qual
		out[q] = append(out[q], one(s.renew[visit{t, slot}])...)
	}
	return out
}

// addPlaces keeps workers, instructors and trucks in one place at a time (F12).
func (s *stage) addPlaces() {
	for w := range s.g.workers {
		entries := map[int]sum{}
		for _, slot := range s.about[w] {
			entries[slot] = s.comes[seat{w, slot}]
		}
		for _, slot := range s.leads[w] {
			entries[slot] = one(s.held[slot])
		}
		s.apart(entries)
	}
	instructors, trucks := map[int]map[int]sum{}, map[int]map[int]sum{}
	for slot, held := range s.held {
		if held == none {
			continue
		}
		note(instructors, s.g.slots[slot].instructor, slot, held)
		if s.g.slots[slot].truck != none {
			note(trucks, s.g.slots[slot].truck, slot, held)
		}
	}
	for _, all := range []map[int]map[int]sum{instructors, trucks} {
		for _, one := range distinct(keys(all)) {
			s.apart(all[one])
		}
	}
}

func note(all map[int]map[int]sum, who, slot, held int) {
	if all[who] == nil {
		all[who] = map[int]sum{}
	}
	all[who][slot] = one(held)
}

// apart lets at most one of some entries come true among slots that are rivals. On a day, morning slots at a yard, afternoon slots at
// other yards and whole days are all rivals of each other.
func (s *stage) apart(entries map[int]sum) {
	byDay := map[int][]int{}
	for _, slot := range distinct(keys(entries)) {
		byDay[s.g.slots[slot].day] = append(byDay[s.g.slots[slot].day], slot)
	}
	for _, day := range distinct(keys(byDay)) {
		slots := byDay[day]
		if len(slots) < 2 {
			continue
		}
		var yards []int
		for _, slot := range slots {
			yards = append(yards, s.g.slots[slot].yard)
		}
		together := func(keep func(row *slotRow) bool) {
			var all sum
			for _, slot := range slots {
				if keep(&s.g.slots[slot]) {
					all = append(all, entries[slot]...)
				}
			}
			s.atMost(1, all)
		}
		together(func(row *slotRow) bool { return row.half&morning != 0 })
		together(func(row *slotRow) bool { return row.half&afternoon != 0 })
		for _, yard := range distinct(yards) {
			together(func(row *slotRow) bool {
				return row.half == morning|afternoon || (row.half == morning) == (row.yard == yard)
			})
		}
	}
}

// addPins keeps what is promised (F13).
func (s *stage) addPins() {
	ids := s.g.ids
	for _, pin := range s.g.p.Pinned {
		w, slot := ids.workers[pin.Worker], ids.slots[pin.Slot]
		s.row(1, 1, s.comes[seat{w, slot}])
		for _, q := range pin.Renews {
			if t := s.g.ticketIn(w, slot, ids.qualifications[q]); t != none {
				if x, ok := s.renew[visit{t, slot}]; ok {
					s.lower[x] = 1
				}
			}
		}
	}
}
