package rotation

import "slices"

// wreck takes things out of a roster and mends what that breaks by taking out more. It collects the tickets that come loose and the
// slots that were touched.
type wreck struct {
	*roster
	loose   []int
	touched []int
	crews   []int
	taken   int  // how much was taken out
	broken  bool // something pinned stands in the way of a sound roster
}

// dropTicket takes a renewal out; whoever has nothing else to renew there stays at home.
func (k *wreck) dropTicket(t int) {
	s := k.renewed[t]
	if s == none || k.pinned[t] {
		return
	}
	k.release(t)
	if w := k.g.tickets[t].worker; !k.renewsIn(w, s) {
		k.sendHome(w, s)
	}
}

// release takes a renewal out and leaves the worker there as a companion. When his crew stands down for the session that is all he is
// needed for, and his run may serve somebody else.
func (k *wreck) release(t int) {
	if s := k.renewed[t]; s != none && !k.pinned[t] {
		k.unrenew(t)
		k.loose = append(k.loose, t)
		k.crews = k.addCrew(k.crews, k.g.tickets[t].worker)
		k.taken++
		k.touch(s)
	}
}

func (k *wreck) sendHome(w, s int) {
	if !k.pinnedAt[seat{w, s}] {
		k.leave(w, s)
		k.crews = k.addCrew(k.crews, w)
		k.taken++
		k.touch(s)
	}
}

func (k *wreck) touch(s int) {
	if !slices.Contains(k.touched, s) {
		k.touched = append(k.touched, s)
	}
}

// dropSession takes everybody out who is not pinned.
func (k *wreck) dropSession(s int) {
	for _, t := range slices.Clone(k.renews[s]) {
		k.dropTicket(t)
	}
	for _, w := range slices.Clone(k.attends[s]) {
		if !k.renewsIn(w, s) {
			k.sendHome(w, s)
		}
	}
	k.touch(s)
}

// dropCrew takes all attendances of a crew out.
func (k *wreck) dropCrew(c int) {
	for _, w := range k.g.crews[c].members {
		k.dropWorker(w)
	}
}

func (k *wreck) dropWorker(w int) {
	for _, t := range k.g.workers[w].tickets {
		k.dropTicket(t)
	}
	for _, s := range slices.Clone(k.at[w]) {
		if !k.renewsIn(w, s) {
			k.sendHome(w, s)
		}
	}
}

// mend makes the roster sound again: sessions that fall below what they need are given up, crews that no longer cover stay at home, and
// as a last resort sessions led by their members are given up. It says false when pins forbid it.
func (k *wreck) mend() bool {
	var crews []int
	for taken := -1; taken != k.taken && !k.broken; {
		taken = k.taken
		for i := 0; i < len(k.touched); i++ {
			k.mendSession(k.touched[i])
		}
		crews = k.touchedCrews()
		for _, c := range crews {
			k.mendCrew(c)
		}
	}
	return !k.broken && k.sound(k.touched, crews)
}

func (k *wreck) mendSession(s int) {
	for _, w := range slices.Clone(k.attends[s]) {
		if !k.accounted(w, s) {
			k.sendHome(w, s)
		}
	}
	if k.held(s) && k.sessionFault(s) != "" {
		k.dropSession(s)
		k.broken = k.broken || k.held(s) && k.sessionFault(s) != ""
	}
}

// touchedCrews are the crews of whoever was taken out and of the leaders of touched sessions.
func (k *wreck) touchedCrews() []int {
	crews := slices.Clone(k.crews)
	for _, s := range k.touched {
		if leader := k.g.slots[s].leader; leader != none {
			crews = k.addCrew(crews, leader)
		}
	}
	return crews
}

// addCrew adds the crew of a worker, if he has one and it is not there yet.
func (r *roster) addCrew(crews []int, w int) []int {
	if c := r.g.workers[w].crew; c != none && !has(crews, c) {
		return append(crews, c)
	}
	return crews
}

func (k *wreck) mendCrew(c int) {
	if k.judge(c) {
		return
	}
	k.dropCrew(c)
	if k.judge(c) {
		return
	}
	for _, w := range k.g.crews[c].members {
		for _, s := range k.g.ledSlots[w] {
			if k.held(s) {
				k.dropSession(s)
			}
		}
	}
	k.broken = k.broken || !k.judge(c)
}

// sound tests sessions and crews again.
func (r *roster) sound(slots, crews []int) bool {
	for _, s := range slots {
		if r.held(s) && r.sessionFault(s) != "" {
			return false
		}
	}
	for _, c := range crews {
		if !r.judge(c) {
			return false
		}
	}
	return true
}

// trim sends companions home who are not needed.
func (r *roster) trim(s int) {
	for _, w := range slices.Clone(r.attends[s]) {
		if r.renewsIn(w, s) || r.pinnedAt[seat{w, s}] {
			continue
		}
		mark := r.mark()
		r.leave(w, s)
		if !r.held(s) || r.sessionFault(s) != "" || !r.judgeCrew(r.g.workers[w].crew) {
			r.undo(mark)
		}
	}
}
