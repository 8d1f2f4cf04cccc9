package rotation

import "slices"

// finish takes the small steps that chance may have missed: single tickets elsewhere, two people changing places, whole sessions on
// another slot. It stops when none of them makes the six figures better.
func (r *roster) finish(stop func() bool) {
	for better := true; better && !stop(); {
		better = r.moveTickets(stop)
		better = r.moveSessions(stop) || better
		better = r.swapTickets(stop) || better
		r.journal = r.journal[:0]
	}
}

// attempt keeps a change when it leaves the slots around it sound and the figures better.
func (r *roster) attempt(change func() bool, around ...int) bool {
	before, mark := r.worth(), r.mark()
	people := r.crewsIn(around, nil)
	if change() && r.sound(around, r.crewsIn(around, people)) && r.worth().less(before) {
		return true
	}
	r.undo(mark)
	return false
}

// crewsIn adds the crews of the people and leaders in some slots.
func (r *roster) crewsIn(slots, crews []int) []int {
	for _, s := range slots {
		for _, w := range append(slices.Clone(r.attends[s]), r.g.slots[s].leader) {
			if w != none {
				crews = r.addCrew(crews, w)
			}
		}
	}
	return crews
}

func (r *roster) moveTickets(stop func() bool) bool {
	better := false
	for t := range r.g.tickets {
		for _, s := range r.g.tickets[t].choices {
			if stop() {
				return better
			}
			from := r.renewed[t]
			if r.pinned[t] || from == s || !r.held(s) && !r.g.worthPlacing(t) {
				continue
			}
			better = r.attempt(func() bool { return r.move(t, s) }, around(from, s)...) || better
		}
	}
	return better
}

func around(from, to int) []int {
	if from == none {
		return []int{to}
	}
	return []int{from, to}
}

// move takes a ticket to another slot, leaving the rest as it is.
func (r *roster) move(t, s int) bool {
	k := &wreck{roster: r}
	k.dropTicket(t)
	return r.tryRenew(t, s)
}

// moveSessions tries every other slot for each session as a whole.
func (r *roster) moveSessions(stop func() bool) bool {
	better := false
	for s := range r.attends {
		if len(r.renews[s]) == 0 {
			continue
		}
		for _, to := range r.g.tickets[r.renews[s][0]].choices {
			if stop() {
				return better
			}
			if to != s && r.attempt(func() bool { return r.moveAll(s, to) }, s, to) {
				better = true
				break
			}
		}
	}
	return better
}

func (r *roster) moveAll(s, to int) bool {
	companions := slices.DeleteFunc(slices.Clone(r.attends[s]), func(w int) bool { return r.renewsIn(w, s) })
	tickets := slices.Clone(r.renews[s])
	k := &wreck{roster: r}
	k.dropSession(s)
	if r.held(s) {
		return false
	}
	for _, t := range tickets {
		if !r.g.renewable(t, to) || !r.tryRenew(t, to) {
			return false
		}
	}
	for _, w := range companions {
		if has(r.attends[to], w) {
			continue
		}
		if !r.canAttend(w, to) {
			return false
		}
		r.join(w, to)
	}
	return true
}

// mostSwaps is how many people of another session one changes places with at most.
const mostSwaps = 40

func (r *roster) swapTickets(stop func() bool) bool {
	better := false
	for t := range r.g.tickets {
		if r.renewed[t] == none || r.pinned[t] {
			continue
		}
		for _, s := range r.g.tickets[t].choices {
			if stop() {
				return better
			}
			if s != r.renewed[t] && r.held(s) {
				better = r.swapWith(t, s) || better
			}
		}
	}
	return better
}

func (r *roster) swapWith(t, s int) bool {
	others := slices.Clone(r.renews[s])
	for _, u := range others[:min(len(others), mostSwaps)] {
		from := r.renewed[t]
		if !r.pinned[u] && r.g.renewable(u, from) && r.attempt(func() bool { return r.swap(t, u) }, from, s) {
			return true
		}
	}
	return false
}

func (r *roster) swap(t, u int) bool {
	from, to := r.renewed[t], r.renewed[u]
	k := &wreck{roster: r}
	k.dropTicket(t)
	k.dropTicket(u)
	return r.tryRenew(t, to) && r.tryRenew(u, from)
}
