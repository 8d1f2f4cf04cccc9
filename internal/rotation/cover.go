package rotation

import "slices"

// coverScratch is memory that judge uses again and again.
type coverScratch struct {
	level   *threshold
	current [][]daySet // by rule and member: days at work with a current ticket
	spare   daySet
	short   daySet
	trips   []trip
	badDay  int   // where the last judge found the cover broken
	badHalf uint8 // morning or afternoon
}

// trip is a member of a crew away on half a day.
type trip struct {
	day    int
	half   uint8
	member int
}

// judge works out on which days a crew is short, notes their number, and says whether the members who stay behind cover for those who
// are away (rule F14). A crew that is short is not bound: it is stood down anyway.
func (r *roster) judge(c int) bool {
	crew := &r.g.crews[c]
	if crew.need > len(crew.members) || len(crew.rules) == 0 {
		return true
	}
	r.findShort(crew)
	r.log(judged, c, r.short[c])
	n := r.cover.short.count()
	r.crewDays += n - r.short[c]
	r.short[c] = n
	return r.covered(crew)
}

func (r *roster) findShort(crew *crewRow) {
	k := &r.cover
	k.prepare(r.g, crew)
	copy(k.short, crew.out)
	full := k.spare
	copy(full, crew.out)
	for j, rule := range crew.rules {
		k.level.grow(r.g.words, rule.atLeast)
		k.level.reset(full)
		for i, w := range crew.members {
			r.currentDays(k.current[j][i], w, rule.tickets[i])
			k.level.add(k.current[j][i])
		}
		for i, enough := range k.level.result() {
			full[i] &= enough
		}
	}
	for i := range k.short {
		k.short[i] &^= full[i]
	}
}

func (k *coverScratch) prepare(g *grid, crew *crewRow) {
	if k.level == nil {
		k.level = newThreshold(g.words, 0)
		k.spare, k.short = g.newDays(), g.newDays()
	}
	for len(k.current) < len(crew.rules) {
		k.current = append(k.current, nil)
	}
	for j := range crew.rules {
		for len(k.current[j]) < len(crew.members) {
			k.current[j] = append(k.current[j], g.newDays())
		}
	}
}

// currentDays fills set with the days on which w is at work and one of the tickets is current.
func (r *roster) currentDays(set daySet, w int, tickets []int) {
	copy(set, r.g.workers[w].atWork)
	from, to := 0, r.g.days-1 // the days on which none of the tickets seen so far is current
	for i, t := range tickets {
		a, b := r.gap(t)
		if a > b {
			return
		}
		if i > 0 && (b < from || a > to) {
			return // two gaps that do not meet: always one is current
		}
		from, to = max(from, a), min(to, b)
	}
	set.unsetRange(from, to)
}

// gap is the stretch of days on which a ticket is not current; empty when from is after to. A renewal counts from the next day on.
func (r *roster) gap(t int) (from, to int) {
	row := &r.g.tickets[t]
	from, to = max(0, row.valid+1), r.g.days-1
	if s := r.renewed[t]; s != none {
		to = r.g.slots[s].day
	}
	return from, to
}

func (r *roster) covered(crew *crewRow) bool {
	trips := r.trips(crew)
	for len(trips) > 0 {
		n := 1
		for n < len(trips) && trips[n].day == trips[0].day && trips[n].half == trips[0].half {
			n++
		}
		if !r.leftCover(crew, trips[:n]) {
			r.cover.badDay, r.cover.badHalf = trips[0].day, trips[0].half
			return false
		}
		trips = trips[n:]
	}
	return true
}

func (r *roster) trips(crew *crewRow) []trip {
	trips := r.cover.trips[:0]
	for i, w := range crew.members {
		for _, s := range r.at[w] {
			trips = r.g.addTrips(trips, s, i)
		}
		for _, s := range r.g.ledSlots[w] {
			if r.held(s) {
				trips = r.g.addTrips(trips, s, i)
			}
		}
	}
	slices.SortFunc(trips, func(a, b trip) int {
		if a.day != b.day {
			return a.day - b.day
		}
		return int(a.half) - int(b.half)
	})
	r.cover.trips = trips
	return trips
}

func (g *grid) addTrips(trips []trip, s, member int) []trip {
	slot := &g.slots[s]
	for _, half := range [2]uint8{morning, afternoon} {
		if slot.half&half != 0 {
			trips = append(trips, trip{slot.day, half, member})
		}
	}
	return trips
}

// leftCover says that those who stay behind while the given members are away satisfy every rule, or that nobody stays behind.
func (r *roster) leftCover(crew *crewRow, away []trip) bool {
	day := away[0].day
	if !crew.out.has(day) || r.cover.short.has(day) {
		return true
	}
	isAway := func(i int) bool {
		return slices.ContainsFunc(away, func(t trip) bool { return t.member == i })
	}
	stay := 0
	for i, w := range crew.members {
		if r.g.workers[w].atWork.has(day) && !isAway(i) {
			stay++
		}
	}
	if stay == 0 {
		return true
	}
	for j, rule := range crew.rules {
		n := 0
		for i := range crew.members {
			if r.cover.current[j][i].has(day) && !isAway(i) {
				n++
			}
		}
		if n < rule.atLeast {
			return false
		}
	}
	return true
}
