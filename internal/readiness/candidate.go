package readiness

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
)

// move is one change that can be made: a candidate of the pool, and for a drill who of the crew takes part.
type move struct {
	do       Do
	at       int // place in the pool's list
	id       string
	people   []string // who is assessed, in the order of ids
	assessed crew     // the same, as people of the crew
	smaller  []int    // of a drill: the moves that are part of it, itself included
	rung     int
	travel   int
	ready    groundhand.Instant
	lender   *lender // of a person
	lent     int     // the person's place in the lending crew
	name     int     // place in the order of do, id and people
}

// compareNames is the order of (do, id, people).
func compareNames(a, b *move) int {
	return cmp.Or(cmp.Compare(a.do, b.do), cmp.Compare(a.id, b.id), slices.Compare(a.people, b.people))
}

// candidates refuses what cannot be used, for the first reason that fits, and turns the rest into moves in the order of rung, do and id.
func (s *search) candidates() {
	for i := range s.pool.People {
		s.personCandidate(i)
	}
	for i := range s.pool.Kits {
		k := &s.pool.Kits[i]
		s.equipmentCandidate(move{do: DoKit, at: i, id: k.ID}, k.Place)
	}
	for i := range s.pool.Devices {
		d := &s.pool.Devices[i]
		s.equipmentCandidate(move{do: DoDevice, at: i, id: d.ID}, d.Place)
	}
	for i := range s.pool.Drills {
		s.drillCandidate(i)
	}
	for i := range s.pool.LaterWindows {
		s.moves = append(s.moves, move{do: DoLater, at: i, id: s.pool.LaterWindows[i].ID, rung: RungLater})
	}
	for i := range s.pool.OtherWays {
		s.moves = append(s.moves, move{do: DoOtherWay, at: i, id: s.pool.OtherWays[i].ID, rung: RungOtherWay})
	}
	s.orderMoves()
}

func (s *search) orderMoves() {
	slices.SortFunc(s.moves, func(a, b move) int { return cmp.Or(cmp.Compare(a.rung, b.rung), compareNames(&a, &b)) })
	byName := make([]int, len(s.moves))
	for i := range byName {
		byName[i] = i
	}
	slices.SortFunc(byName, func(a, b int) int { return compareNames(&s.moves[a], &s.moves[b]) })
	for name, i := range byName {
		s.moves[i].name = name
	}
	s.linkDrills()
}

func (s *search) refuse(kind Do, id string, reason RefusedReason) {
	s.refused = append(s.refused, Refused{Kind: kind, ID: id, Reason: reason})
}

// rungAt is the rung of something in a yard, given that of the question's own yard; false if it is too far away.
func (s *search) rungAt(yard string, own int) (int, bool) {
	switch {
	case yard == s.q.Yard:
		return own, true
	case slices.Contains(s.pool.Neighbours, yard):
		return RungNeighbour, true
	}
	return 0, false
}

// inTime says that what is ready at an instant is ready for some departure.
func (s *search) inTime(ready groundhand.Instant) bool {
	return slices.ContainsFunc(s.windows, func(c *calendar) bool { return ready <= c.window.From })
}

func (s *search) equipmentCandidate(m move, p Place) {
	rung, near := s.rungAt(p.Yard, RungEquipment)
	switch {
	case !near:
		s.refuse(m.do, m.id, TooFar)
	case !s.inTime(p.ReadyAt):
		s.refuse(m.do, m.id, TooLate)
	default:
		m.rung, m.travel, m.ready = rung, p.TravelMinutes, p.ReadyAt
		s.moves = append(s.moves, m)
	}
}

func (s *search) personCandidate(i int) {
	p := &s.pool.People[i]
	rung, near := s.rungAt(p.Yard, RungPerson)
	m := move{do: DoPerson, at: i, id: p.ID, rung: rung, travel: p.TravelMinutes, ready: p.ReadyAt, lender: s.lenders[p.Crew]}
	reason := s.personRefused(p, near)
	if reason != "" {
		s.refuse(DoPerson, p.ID, reason)
		return
	}
	if m.lender != nil && m.lender.in != nil {
		m.lent = m.lender.position(p.ID)
		before, after := m.lender.before, m.lender.lend(only(m.lent, true))
		if reason := harm(before, after); reason != "" {
			s.refused = append(s.refused, Refused{DoPerson, p.ID, reason, m.lender.crew, &before, &after})
			return
		}
	}
	s.moves = append(s.moves, m)
}

// personRefused is the first reason that fits, the lending crew apart.
func (s *search) personRefused(p *PoolPerson, near bool) RefusedReason {
	asked := s.windows[0]
	switch {
	case !near:
		return TooFar
	case p.awayIn(asked) != "":
		return p.awayIn(asked)
	case p.heldIn(asked):
		return HeldBack
	case !s.inTime(p.ReadyAt):
		return TooLate
	}
	return ""
}

// touches says that an interval has to do with the window. One that ends before it begins is not trusted to be empty.
func (c *calendar) touches(i Interval) bool {
	return c.edge(i.From) < c.window.To && (i.To == 0 || i.To > c.window.From)
}

// awayIn is the first reason for which somebody is away at some time of a window.
func (p *Person) awayIn(c *calendar) RefusedReason {
	for _, r := range []struct {
		why    Why
		reason RefusedReason
	}{{WhyLeave, OnLeave}, {WhyRest, AtRest}, {WhyPlaced, PlacedElsewhere}, {WhyOther, Unavailable}} {
		if slices.ContainsFunc(p.Unavailable, func(a Absence) bool { return a.Why == r.why && c.touches(a.Interval) }) {
			return r.reason
		}
	}
	return ""
}

func (p *Person) heldIn(c *calendar) bool { return slices.ContainsFunc(p.NotForRescue, c.touches) }

// drillCandidate makes a move of every set of people who could take part.
func (s *search) drillCandidate(i int) {
	d := &s.pool.Drills[i]
	fit := s.fit(d)
	most := min(d.Seats, fit.size())
	switch {
	case d.Authorised != Yes:
		s.refuse(DoDrill, d.ID, NotAuthorised)
	case d.AssessorFreeFrom == 0 || d.AssessorFreeTo == 0 || d.AssessorFreeFrom > d.Start || d.AssessorFreeTo < d.end():
		s.refuse(DoDrill, d.ID, AssessorNotFree)
	case !s.inTime(d.end()):
		s.refuse(DoDrill, d.ID, EndsAfterDeparture)
	case most < d.MinPeople:
		s.refuse(DoDrill, d.ID, TooFewPeople)
	default:
		s.drillMoves(i, fit, most)
	}
}

// fit is who of the people listed is of the crew, present and not held back from start to end, and does not assess.
func (s *search) fit(d *PoolDrill) crew {
	during := newCalendar(Window{From: d.Start, To: d.end(), Zone: s.q.Window.Zone})
	var fit crew
	for i := range s.in.people {
		p := s.in.people[i].Person
		listed := slices.Contains(d.People, p.ID) && p.ID != d.Assessor
		fit |= only(i, listed && p.awayIn(during) == "" && !p.heldIn(during))
	}
	return fit
}

// drillMoves adds a move for every set of people. Somebody whom the drill gives nothing is taken only to make up the least number: a
// fix with them has one without them as a part.
func (s *search) drillMoves(i int, fit crew, most int) {
	d := &s.pool.Drills[i]
	least := max(1, d.MinPeople)
	if most < least {
		s.refuse(DoDrill, d.ID, NoHelp)
	}
	var idle crew
	for _, p := range fit.members() {
		idle |= only(p, s.alreadyCurrent(s.in.people[p].Person, d))
	}
	for size := least; size <= most; size++ {
		members := fit
		if size > least {
			members &^= idle
		}
		if s.tooMany(len(s.moves) + binomial(members.size(), size)) {
			return
		}
		for _, assessed := range combinations(members.members(), size) {
			s.moves = append(s.moves, move{do: DoDrill, at: i, id: d.ID, rung: RungDrill, ready: d.end(), people: s.in.ids(assessed), assessed: assessed})
		}
	}
}

// alreadyCurrent says that somebody is current in what the drill gives all through every window.
func (s *search) alreadyCurrent(p *Person, d *PoolDrill) bool {
	return slices.ContainsFunc(p.Capabilities, func(c Capability) bool {
		if c.Method != d.Method || c.Role != d.Role || c.Family != d.Family || c.State != Current {
			return false
		}
		return !slices.ContainsFunc(s.windows, func(w *calendar) bool {
			return w.edge(c.From) > w.window.From || w.through(c.Through) < w.window.To
		})
	})
}

// linkDrills notes for every drill move which moves are part of it: the same drill with some of its people.
func (s *search) linkDrills() {
	byDrill := map[int][]int{}
	for i := range s.moves {
		if s.moves[i].do == DoDrill {
			byDrill[s.moves[i].at] = append(byDrill[s.moves[i].at], i)
		}
	}
	for _, same := range byDrill {
		place := map[crew]int{}
		for _, i := range same {
			place[s.moves[i].assessed] = i
		}
		for _, i := range same {
			s.moves[i].smaller = partsOf(s.moves[i].assessed, place)
		}
	}
}

// partsOf lists the moves of the subsets of a set.
func partsOf(whole crew, place map[crew]int) []int {
	var parts []int
	for part := whole; part != 0; part = (part - 1) & whole {
		if i, known := place[part]; known {
			parts = append(parts, i)
		}
	}
	return parts
}
