package rotation

import "math/bits"

// coverScratch is memory that judge uses again and again.
type coverScratch struct {
	current [][]daySet  // by rule and member: days at work with a current ticket
	away    [2][]daySet // by half, morning first, and member: days away
	anyAway [2]daySet
	levels  []uint64
	short   daySet
	badDay  int   // where the last judge found the cover broken
	badHalf uint8 // morning or afternoon
}

// judge works out on which days a crew is short, notes their number, and says whether the members who stay behind cover for those who
// are away (rule F14). A crew that is short is not bound: it is stood down anyway.
func (r *roster) judge(c int) bool {
	crew := &r.g.crews[c]
	if crew.need > len(crew.members) || len(crew.rules) == 0 {
		return true
	}
	r.cover.prepare(r.g, crew)
	r.findShort(crew)
	n := r.cover.short.count()
	if n != r.short[c] {
		r.log(judged, c, r.short[c])
		r.crewDays += n - r.short[c]
		r.short[c] = n
	}
	return !r.noteAway(crew) || r.covered(crew)
}

func (k *coverScratch) prepare(g *grid, crew *crewRow) {
	if k.short == nil {
		k.short = g.newDays()
		k.anyAway = [2]daySet{g.newDays(), g.newDays()}
	}
	for len(k.current) < len(crew.rules) {
		k.current = append(k.current, nil)
	}
	for j, rule := range crew.rules {
		k.current[j] = g.moreDays(k.current[j], len(crew.members))
		for len(k.levels) <= rule.atLeast {
			k.levels = append(k.levels, 0)
		}
	}
	for h := range k.away {
		k.away[h] = g.moreDays(k.away[h], len(crew.members))
	}
}

// moreDays grows a list of sets of days to a length; the sets lie side by side.
func (g *grid) moreDays(sets []daySet, n int) []daySet {
	if len(sets) >= n {
		return sets
	}
	block := make(daySet, n*g.words)
	sets = sets[:0]
	for i := range n {
		sets = append(sets, block[i*g.words:(i+1)*g.words])
	}
	return sets
}

// findShort finds the days on which the crew goes out and some rule has too few members at work who are current.
func (r *roster) findShort(crew *crewRow) {
	k := &r.cover
	for j := range crew.rules {
		for i, w := range crew.members {
			r.currentDays(k.current[j][i], w, crew.rules[j].tickets[i])
		}
	}
	for at, out := range crew.out {
		enough := out
		for j := range crew.rules {
			enough = k.atLeast(crew.rules[j].atLeast, k.current[j][:len(crew.members)], nil, at, enough)
		}
		k.short[at] = out &^ enough
	}
}

// atLeast gives those days of one word of the sets that are asked for and in at least n of the sets, not counting the days taken from each.
func (k *coverScratch) atLeast(n int, sets, less []daySet, at int, asked uint64) uint64 {
	if asked == 0 {
		return 0
	}
	level := k.levels[:n+1]
	clear(level)
	level[0] = asked
	for i, set := range sets {
		in := set[at]
		if less != nil {
			in &^= less[i][at]
		}
		for above := n; above > 0; above-- {
			level[above] |= level[above-1] & in
		}
	}
	return level[n]
}

// currentDays fills set with the days on which w is at work and one of the tickets is current.
func (r *roster) currentDays(set daySet, w int, tickets []int) {
	if len(tickets) == 0 {
		clear(set)
		return
	}
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

// noteAway notes when members are away, attending or leading; false when never.
func (r *roster) noteAway(crew *crewRow) bool {
	k, any := &r.cover, false
	for h := range k.away {
		clear(k.anyAway[h])
		for i := range crew.members {
			clear(k.away[h][i])
		}
	}
	for i, w := range crew.members {
		for _, s := range r.at[w] {
			k.send(&r.g.slots[s], i)
			any = true
		}
		for _, s := range r.leads[w] {
			k.send(&r.g.slots[s], i)
			any = true
		}
	}
	return any
}

// send notes that a member is away for a session.
func (k *coverScratch) send(slot *slotRow, member int) {
	for h := range k.away {
		if slot.half>>h&1 == 1 {
			k.away[h][member].set(slot.day)
			k.anyAway[h].set(slot.day)
		}
	}
}

// covered says that on every half day with somebody away those who stay behind satisfy every rule, or nobody stays behind.
func (r *roster) covered(crew *crewRow) bool {
	k := &r.cover
	for at := range crew.out {
		morning := r.uncovered(crew, 0, at)
		afternoon := r.uncovered(crew, 1, at)
		if bad := morning | afternoon; bad != 0 {
			first := bad & -bad
			k.badDay, k.badHalf = at<<6+bits.TrailingZeros64(bad), halfOf(morning&first != 0)
			return false
		}
	}
	return true
}

func halfOf(inMorning bool) uint8 {
	if inMorning {
		return morning
	}
	return afternoon
}

// uncovered gives the days of one word on which the cover of a half fails.
func (r *roster) uncovered(crew *crewRow, half, at int) uint64 {
	k := &r.cover
	asked := k.anyAway[half][at] & crew.out[at] &^ k.short[at]
	if asked == 0 {
		return 0
	}
	away := k.away[half]
	stay := uint64(0) // days on which somebody stays behind
	for i, w := range crew.members {
		stay |= r.g.workers[w].atWork[at] &^ away[i][at]
	}
	asked &= stay
	enough := asked
	for j := range crew.rules {
		enough = k.atLeast(crew.rules[j].atLeast, k.current[j][:len(crew.members)], away, at, enough)
	}
	return asked &^ enough
}
