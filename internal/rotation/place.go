package rotation

import (
	"cmp"
	"slices"
)

// canAttend says that a worker may take a seat in a slot, or has one; opening the slot must be possible too (F1, F3, F4, F9, F12).
func (r *roster) canAttend(w, s int) bool {
	if has(r.attends[s], w) {
		return true
	}
	slot := &r.g.slots[s]
	return slot.aside == "" && len(r.attends[s]) < slot.seats && r.g.reaches(w, s) && !r.busy(w, s) && (r.held(s) || !r.blocked(s))
}

// tryRenew renews a ticket in a slot if it is offered there and seats, runs and clashes allow (F9, F10, F12).
func (r *roster) tryRenew(t, s int) bool {
	w := r.g.tickets[t].worker
	if r.renewed[t] != none || !r.g.renewable(t, s) || !r.canAttend(w, s) {
		return false
	}
	mark := r.mark()
	if !has(r.attends[s], w) {
		r.join(w, s)
	}
	r.renew(t, s)
	if r.runs(s) > r.g.slots[s].runs || !r.staggered(t, s) {
		r.undo(mark)
		return false
	}
	return true
}

// insert puts as many tickets of a bundle into a slot as the hard rules allow, with the companions that they need. It leaves the roster as
// it was and says false when nobody can go.
func (r *roster) insert(bundle []int, s int) bool {
	mark := r.mark()
	for n := len(bundle); n > 0; n-- {
		if r.insertAll(bundle[:n], s) {
			return true
		}
		r.undo(mark)
	}
	return false
}

// insertAll puts in those of the bundle whom seats and runs allow and then makes the session whole, or fails.
func (r *roster) insertAll(bundle []int, s int) bool {
	opening := !r.held(s)
	any := false
	for _, t := range bundle {
		any = r.tryRenew(t, s) || any
	}
	if !any {
		return false
	}
	crew := r.g.workers[r.g.tickets[bundle[0]].worker].crew
	if !r.settleCover(crew, s) {
		return false
	}
	if len(r.attends[s]) < r.crowd(s) && !r.fetchPartner(crew, s) {
		return false
	}
	return !opening || r.leaderCovers(s)
}

// leaderCovers judges the crew of the leader, whom an opened session takes away.
func (r *roster) leaderCovers(s int) bool {
	leader := r.g.slots[s].leader
	return leader == none || r.judgeCrew(r.g.workers[leader].crew)
}

func (r *roster) judgeCrew(crew int) bool { return crew == none || r.judge(crew) }

// settleCover lets the rest of the crew go along when those who stay would not cover: the crew stands down for the half day.
func (r *roster) settleCover(crew, s int) bool {
	if r.judgeCrew(crew) {
		return true
	}
	return r.standDown(crew, s) && r.judge(crew)
}

func (r *roster) standDown(crew, s int) bool {
	day := r.g.slots[s].day
	for _, w := range r.g.crews[crew].members {
		if !r.g.workers[w].atWork.has(day) || r.busy(w, s) || r.g.slots[s].leader == w || has(r.attends[s], w) {
			continue
		}
		if !r.canAttend(w, s) {
			return false
		}
		r.join(w, s)
	}
	return true
}

// fetchPartner finds people for a method that needs more of them than are there: best somebody who has something to renew, else a crew
// mate as a companion.
func (r *roster) fetchPartner(crew, s int) bool {
	for len(r.attends[s]) < r.crowd(s) {
		if !r.fetchRenewer(s) && !r.fetchCompanion(crew, s) {
			return false
		}
	}
	return true
}

// mostPartners is how many people are asked before giving up.
const mostPartners = 8

func (r *roster) fetchRenewer(s int) bool {
	asked := 0
	for _, t := range r.g.slots[s].callers {
		w := r.g.tickets[t].worker
		if asked == mostPartners {
			return false
		}
		if r.renewed[t] != none || has(r.attends[s], w) || r.g.lapsed(t, s) >= r.g.tickets[t].never {
			continue
		}
		asked++
		mark := r.mark()
		if r.tryRenew(t, s) && r.judgeCrew(r.g.workers[w].crew) {
			return true
		}
		r.undo(mark)
	}
	return false
}

func (r *roster) fetchCompanion(crew, s int) bool {
	if crew == none {
		return false
	}
	mates := slices.Clone(r.g.crews[crew].members)
	slices.SortStableFunc(mates, func(a, b int) int {
		return cmp.Compare(r.g.travel[r.g.workers[a].yard][r.g.slots[s].yard], r.g.travel[r.g.workers[b].yard][r.g.slots[s].yard])
	})
	for _, w := range mates {
		if has(r.attends[s], w) || !r.canAttend(w, s) {
			continue
		}
		mark := r.mark()
		r.join(w, s)
		if r.settleCover(crew, s) {
			return true
		}
		r.undo(mark)
	}
	return false
}

// search tunes one rebuilding: noise skips some slots, barred ones are skipped always.
type search struct {
	skip   func() bool
	barred []int
}

var plain = search{skip: func() bool { return false }}

// settle puts a bundle into the slots that make the roster best, as often as somebody is left and a slot makes it better.
func (r *roster) settle(bundle []int, how search) {
	for len(bundle) > 0 {
		s, ok := r.bestSlot(bundle, how)
		if !ok {
			return
		}
		r.insert(bundle, s)
		bundle = r.unrenewed(bundle)
	}
}

// unrenewed are the tickets of a bundle that are still to be placed.
func (r *roster) unrenewed(bundle []int) []int {
	return slices.DeleteFunc(slices.Clone(bundle), func(t int) bool { return r.renewed[t] != none })
}

func (r *roster) bestSlot(bundle []int, how search) (int, bool) {
	best, found := r.score(), none
	before := r.figures()
	left := r.prospects(bundle, func(s int) bool { return has(how.barred, s) || how.skip() })
	for c := (prospect{}); len(left) > 0; {
		if c, left = nextProspect(left); c.least >= best {
			break
		}
		mark := r.mark()
		if r.insert(bundle, c.slot) && r.score() < best && r.worthIt(before) {
			best, found = r.score(), c.slot
		}
		r.undo(mark)
	}
	return found, found != none
}

// worthIt says that the first two figures, which come before any cost, have not got worse, and one of them is better.
func (r *roster) worthIt(before Objective) bool {
	if r.crewDays != before.CrewDaysShort {
		return r.crewDays < before.CrewDaysShort
	}
	return r.lapsed < before.LapsedDays
}

// bundleChoices are the slots that come into question for a bundle: those of its first ticket and what the others add.
func (g *grid) bundleChoices(bundle []int) []int {
	out := g.tickets[bundle[0]].choices
	for _, t := range bundle[1:] {
		more := g.tickets[t].choices
		if slices.Equal(out, more) {
			continue
		}
		out = append(slices.Clone(out), more...)
		slices.Sort(out)
		out = slices.Compact(out)
	}
	return out
}

// bundles groups tickets of one crew with the same qualification and device, each in order of last valid day; the most urgent first.
func (g *grid) bundles(tickets []int) [][]int {
	sorted := slices.Clone(tickets)
	slices.SortFunc(sorted, func(a, b int) int {
		return cmp.Or(g.compareKin(a, b), cmp.Compare(g.tickets[a].valid, g.tickets[b].valid), a-b)
	})
	var out [][]int
	for i, t := range sorted {
		if i > 0 && g.tickets[t].crewOf(g) != none && g.compareKin(sorted[i-1], t) == 0 {
			out[len(out)-1] = append(out[len(out)-1], t)
		} else {
			out = append(out, []int{t})
		}
	}
	slices.SortStableFunc(out, func(a, b []int) int { return cmp.Compare(g.tickets[a[0]].valid, g.tickets[b[0]].valid) })
	return out
}

// crewBundles groups the tickets of one crew, whatever they are for: a crew that stands down for a day renews all it can.
func (g *grid) crewBundles(tickets []int) [][]int {
	var out [][]int
	position := map[int]int{}
	for _, t := range tickets {
		crew := g.tickets[t].crewOf(g)
		if i, there := position[crew]; there && crew != none {
			out[i] = append(out[i], t)
			continue
		}
		position[crew] = len(out)
		out = append(out, []int{t})
	}
	return out
}

func (t *ticketRow) crewOf(g *grid) int { return g.workers[t.worker].crew }

func (g *grid) compareKin(a, b int) int {
	x, y := &g.tickets[a], &g.tickets[b]
	return cmp.Or(cmp.Compare(x.crewOf(g), y.crewOf(g)), cmp.Compare(x.qual, y.qual), cmp.Compare(x.device, y.device))
}

// unplaced lists the due tickets that could be renewed to some use and are not.
func (r *roster) unplaced() []int {
	var out []int
	for t := range r.g.tickets {
		if r.renewed[t] == none && r.g.worthPlacing(t) {
			out = append(out, t)
		}
	}
	return out
}

func (g *grid) worthPlacing(t int) bool {
	return g.tickets[t].first != none && g.tickets[t].least < g.tickets[t].never
}

// firstPlan places all bundles, then once more ticket by ticket those left over, so that crews may split.
func (r *roster) firstPlan(stop func() bool) {
	for _, b := range r.g.bundles(r.unplaced()) {
		if stop() {
			return
		}
		r.settle(b, plain)
		r.journal = r.journal[:0]
	}
	for _, t := range r.unplaced() {
		if stop() {
			return
		}
		r.settle([]int{t}, plain)
		r.journal = r.journal[:0]
	}
}
