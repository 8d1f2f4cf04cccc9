package readiness

// rescue is the class of the rescue line: of the best method and team among the people on the ground.
func (in *inquiry) rescue(m *moment, r reading, ground crew) Verdict {
	if in.aloft == 0 {
		return Ready
	}
	best := NotReady
	for i := range in.methods {
		if best == Ready {
			break
		}
		best = max(best, in.byMethod(m, r, &in.methods[i], ground))
	}
	return best
}

// byMethod is the class of the best team for one method.
func (in *inquiry) byMethod(m *moment, r reading, by *method, ground crew) Verdict {
	if !r.allows(by) || !m.meets(by.needs, r.well) {
		return NotReady
	}
	full, some := in.fillers(m, r, by, ground)
	switch {
	case !by.Conditional && enough(full[:len(by.Roles)], by.Rescuers):
		return Ready
	case enough(some[:len(by.Roles)], by.Rescuers):
		return Conditional
	}
	return NotReady
}

// fillers lists by role who of the ground counts fully and who counts at all.
func (in *inquiry) fillers(m *moment, r reading, by *method, ground crew) (full, some [maxRoles]crew) {
	for i := range by.Roles {
		f, s := m.tallies[r.family][by.slot+i].given(r.operates)
		full[i], some[i] = f&ground, s&ground
	}
	return full, some
}

// enough says that every role can have its own person and that at least so many people count for any of the roles.
func enough(roles []crew, rescuers int) bool {
	return union(roles).size() >= rescuers && matched(roles, 0)
}

func union(sets []crew) crew {
	var all crew
	for _, s := range sets {
		all |= s
	}
	return all
}

// matched says that every role can have somebody who is not taken. Hall's condition settles one and two roles without trying.
func matched(roles []crew, taken crew) bool {
	switch len(roles) {
	case 0:
		return true
	case 1:
		return roles[0]&^taken != 0
	case 2:
		a, b := roles[0]&^taken, roles[1]&^taken
		return a != 0 && b != 0 && (a|b).size() >= 2
	}
	for _, i := range (roles[0] &^ taken).members() {
		if matched(roles[1:], taken.with(i)) {
			return true
		}
	}
	return false
}

// card is the class of the card's rule: enough trained people on site, aloft ones included, whatever the kit and the site allow.
func (in *inquiry) card(m *moment, family int) Verdict {
	if in.aloft == 0 {
		return Ready
	}
	trained := m.trained[family]
	switch least := in.q.Rules.CrewRescuers; {
	case trained.full.size() >= least:
		return Ready
	case trained.some.size() >= least:
		return Conditional
	}
	return NotReady
}

// trainedAmong is who of the usable people counts for some role of some method, lower controls apart like all else of the equipment.
func trainedAmong(usable crew, tallies []tally) pair {
	var all pair
	for i := range tallies {
		all.full |= tallies[i].trained.full & usable
		all.some |= tallies[i].trained.some & usable
	}
	return all
}
