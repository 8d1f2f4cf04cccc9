package rotation

import (
	"slices"
)

// isCurrent says when somebody counts under a rule on a day: always, never, or when a sum is 1.
type isCurrent struct {
	always bool
	when   sum
}

// currentOn looks at the tickets of a worker that count under a rule.
func (s *stage) currentOn(w int, tickets []int, day int) isCurrent {
	var sums []sum
	for _, t := range tickets {
		if s.g.tickets[t].valid >= day {
			return isCurrent{always: true}
		}
		if before := s.renewedBefore(t, day); len(before) > 0 {
			sums = append(sums, before)
		}
	}
	switch len(sums) {
	case 0:
		return isCurrent{}
	case 1:
		return isCurrent{when: sums[0]}
	}
	all := sum(slices.Concat(sums...)).tidy()
	key := all.key(float64(w))
	some, ok := s.current[key]
	if !ok {
		some = s.yesNo(follows)
		s.current[key] = some
		s.atLeast(0, all, one(some).times(-1))
		for _, each := range sums {
			s.atLeast(0, one(some), each.times(-1))
		}
	}
	return isCurrent{when: one(some)}
}

// renewedBefore is 1 when a ticket was renewed before a day.
func (s *stage) renewedBefore(t, day int) sum {
	var out sum
	for _, slot := range s.pairs[t] {
		if s.g.slots[slot].day < day {
			out = append(out, one(s.renew[visit{t, slot}])...)
		}
	}
	return out
}

// strength is how many members at work count under a rule on a day: some for sure, others when their sums are 1.
type strength struct {
	sure  int
	maybe []sum
}

func (s *stage) strengthOf(crew *crewRow, j, day int) strength {
	var out strength
	for i, w := range crew.members {
		if !s.g.workers[w].atWork.has(day) {
			continue
		}
		switch cur := s.currentOn(w, crew.rules[j].tickets[i], day); {
		case cur.always:
			out.sure++
		case len(cur.when) > 0:
			out.maybe = append(out.maybe, cur.when)
		}
	}
	return out
}

// addShort says on which days a crew may be short. Days that ask the same of the same renewals share a variable.
func (s *stage) addShort() {
	for c := range s.g.crews {
		groups := map[string]int{}
		for day := range s.g.days {
			if s.g.crews[c].out.has(day) && !s.certain[c].has(day) {
				s.addShortDay(c, day, groups)
			}
		}
	}
}

func (s *stage) addShortDay(c, day int, groups map[string]int) {
	crew := &s.g.crews[c]
	var lacks []lack
	key := ""
	for j, rule := range crew.rules {
		have := s.strengthOf(crew, j, day)
		if have.sure < rule.atLeast {
			one := lack{rule.atLeast - have.sure, have}
			lacks = append(lacks, one)
			key += sum(slices.Concat(have.maybe...)).tidy().key(float64(one.missing), float64(len(have.maybe)))
		}
	}
	switch group, ok := groups[key]; {
	case len(lacks) == 0:
		return // never short
	case s.fixed:
		for _, one := range lacks {
			s.atLeast(float64(one.missing), one.have.maybe...)
		}
		return
	case ok:
		s.short[group].days++
	default:
		groups[key] = len(s.short)
		s.short = append(s.short, shortDays{s.addShortGroup(lacks), 1})
	}
	s.shortOn[seat{c, day}] = s.short[groups[key]].variable
}

// lack is a rule that only renewals can satisfy.
type lack struct {
	missing int
	have    strength
}

// addShortGroup makes a variable that is 1 exactly when some rule lacks people: being short frees a crew from cover, so it must not be had
// for the asking.
func (s *stage) addShortGroup(lacks []lack) int {
	short := s.yesNo(chosen)
	var reasons sum
	for _, one := range lacks {
		missing, maybe := float64(one.missing), sum(slices.Concat(one.have.maybe...))
		s.atLeast(missing, maybe, sum{{Variable: short, Coefficient: missing}})
		if len(lacks) == 1 {
			s.lacking(one, short)
			return short
		}
		reason := s.yesNo(chosen)
		s.lacking(one, reason)
		reasons = append(reasons, sum{{Variable: reason, Coefficient: 1}}...)
	}
	s.atLeast(0, reasons, one(short).times(-1))
	return short
}

// lacking lets a variable be 1 only when fewer than needed count.
func (s *stage) lacking(one lack, reason int) {
	all := len(one.have.maybe)
	s.atMost(float64(all), slices.Concat(one.have.maybe...), sum{{Variable: reason, Coefficient: float64(all - one.missing + 1)}})
}

// addCover keeps enough current people with those who stay behind, or nobody (F14).
func (s *stage) addCover() {
	for c := range s.g.crews {
		crew := &s.g.crews[c]
		if crew.need > len(crew.members) || len(crew.rules) == 0 {
			continue
		}
		for day := range s.g.days {
			if crew.out.has(day) && !s.certain[c].has(day) {
				s.addCoverDay(c, day)
			}
		}
	}
}

func (s *stage) addCoverDay(c, day int) {
	last := []int(nil)
	for _, half := range [2]uint8{morning, afternoon} {
		now := slices.DeleteFunc(slices.Clone(s.onDay[day]), func(slot int) bool { return s.g.slots[slot].half&half == 0 })
		if len(now) > 0 && !slices.Equal(now, last) {
			s.addCoverHalf(c, day, now)
		}
		last = now
	}
}

// addCoverHalf looks at the members at work on half a day that some slots cover.
func (s *stage) addCoverHalf(c, day int, slots []int) {
	crew := &s.g.crews[c]
	away := map[int]sum{}
	everybody, working := true, 0
	for _, w := range crew.members {
		if !s.g.workers[w].atWork.has(day) {
			continue
		}
		working++
		if gone := s.awayAt(w, slots); len(gone) > 0 {
			away[w] = gone
		} else {
			everybody = false
		}
	}
	if len(away) == 0 {
		return
	}
	var free sum // 1 when the crew is not bound
	if everybody && s.roomFor(working, slots, crew) {
		down := s.yesNo(follows)
		for _, w := range crew.members {
			if gone, ok := away[w]; ok {
				s.atLeast(0, gone, one(down).times(-1))
			}
		}
		free = one(down)
	}
	if v, ok := s.shortOn[seat{c, day}]; ok {
		free = append(free, one(v)...)
	}
	for j := range crew.rules {
		s.addCoverRule(crew, j, day, slots, away, free)
	}
}

// roomFor says that the slots of half a day have seats for all members at work but those who lead.
func (s *stage) roomFor(working int, slots []int, crew *crewRow) bool {
	seats := 0
	for _, slot := range slots {
		seats += s.g.slots[slot].seats
		if slices.Contains(crew.members, s.g.slots[slot].leader) {
			seats++
		}
	}
	return seats >= working
}

func (s *stage) awayAt(w int, slots []int) sum {
	var out sum
	for _, slot := range slots {
		out = append(out, s.comes[seat{w, slot}]...)
		if s.g.slots[slot].leader == w {
			out = append(out, one(s.held[slot])...)
		}
	}
	return out
}

func (s *stage) addCoverRule(crew *crewRow, j, day int, slots []int, away map[int]sum, free sum) {
	need := crew.rules[j].atLeast
	least := float64(need)
	stays := free.times(least)
	risk := false
	for i, w := range crew.members {
		if !s.g.workers[w].atWork.has(day) {
			continue
		}
		cur := s.currentOn(w, crew.rules[j].tickets[i], day)
		gone, mayGo := away[w]
		switch {
		case cur.always && mayGo:
			least--
			stays = append(stays, gone.times(-1)...)
			risk = true
		case cur.always:
			least--
		case len(cur.when) == 0:
		case !mayGo || s.onlyBy(w, crew.rules[j].tickets[i], slots):
			stays = append(stays, cur.when...)
		default:
			left := s.yesNo(follows)
			s.atLeast(0, cur.when, one(left).times(-1))
			s.atMost(1, one(left), gone)
			stays = append(stays, one(left)...)
			risk = true
		}
	}
	if risk {
		s.atLeast(least, stays)
	}
}

// onlyBy says that a worker can be away in some slots only to renew the one ticket that makes him count under a rule, so that he does not
// count that day anyway.
func (s *stage) onlyBy(w int, tickets []int, slots []int) bool {
	renewable := slices.DeleteFunc(slices.Clone(tickets), func(t int) bool { return len(s.pairs[t]) == 0 })
	if len(renewable) != 1 {
		return false
	}
	for _, slot := range slots {
		who := seat{w, slot}
		if _, ok := s.goes[who]; ok || s.g.slots[slot].leader == w {
			return false
		}
		for _, t := range s.g.workers[w].tickets {
			if _, ok := s.renew[visit{t, slot}]; ok && t != renewable[0] {
				return false
			}
		}
	}
	return true
}
