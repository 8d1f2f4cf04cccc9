package readiness

import "slices"

// team is a method with a person for each of its roles, in the order of the roles.
type team struct {
	by     *method
	people []int
	class  Verdict
}

func (in *inquiry) rolesOf(t team) []RoleOf {
	roles := make([]RoleOf, len(t.people))
	for i, p := range t.people {
		roles[i] = RoleOf{t.by.Roles[i], in.people[p].ID}
	}
	return roles
}

// steadyTeam is the first team that stands at every one of these moments under every reading, with the choice's class at least: best
// class first, then the order of the methods, then the fewest people who count conditionally, then ids role by role.
func (in *inquiry) steadyTeam(aloft crew, class Verdict, moments []moment) (team, bool) {
	if in.aloft == 0 {
		return team{}, false
	}
	for wanted := Ready; wanted >= class; wanted-- {
		for i := range in.methods {
			if t, ok := in.steadyBy(&in.methods[i], aloft, wanted, moments); ok {
				return t, true
			}
		}
	}
	return team{}, false
}

// steady is who of the ground counts for each role at every moment under every reading.
type steady struct {
	full, some           [maxRoles]crew
	enoughFull, enoughIn bool // enough people on the ground count, fully or at all
	met                  bool // the site allows the method and its needs hold
}

func (in *inquiry) steady(by *method, aloft crew, moments []moment) steady {
	s := steady{enoughFull: true, enoughIn: true, met: true}
	for i := range by.Roles {
		s.full[i], s.some[i] = ^crew(0), ^crew(0)
	}
	for t := range moments {
		m := &moments[t]
		for f := range in.families {
			s.take(in, m, in.worst(f), by, m.usable&^aloft)
		}
	}
	return s
}

func (s *steady) take(in *inquiry, m *moment, r reading, by *method, ground crew) {
	s.met = s.met && r.allows(by) && m.meets(by.needs, r.well)
	full, some := in.fillers(m, r, by, ground)
	roles := len(by.Roles)
	s.enoughFull = s.enoughFull && union(full[:roles]).size() >= by.Rescuers
	s.enoughIn = s.enoughIn && union(some[:roles]).size() >= by.Rescuers
	for i := range roles {
		s.full[i] &= full[i]
		s.some[i] &= some[i]
	}
}

func (in *inquiry) steadyBy(by *method, aloft crew, wanted Verdict, moments []moment) (team, bool) {
	s := in.steady(by, aloft, moments)
	if !s.met {
		return team{}, false
	}
	roles := len(by.Roles)
	if wanted == Ready {
		people := fewest(s.full[:roles], s.full[:roles])
		return team{by, people, Ready}, people != nil && s.enoughFull && !by.Conditional
	}
	people := fewest(s.some[:roles], s.full[:roles])
	return team{by, people, Conditional}, people != nil && s.enoughIn
}

// fewest fills every role with its own person: as few as possible of those who do not count fully, then the first ids role by role. It
// is nil if the roles cannot be filled.
func fewest(some, full []crew) []int {
	for conditional := range len(some) + 1 {
		if people, ok := filled(some, full, conditional, 0); ok {
			return people
		}
	}
	return nil
}

// filled fills the roles with at most so many people who do not count fully.
func filled(some, full []crew, conditional int, taken crew) ([]int, bool) {
	if len(some) == 0 {
		return []int{}, true
	}
	for _, p := range (some[0] &^ taken).members() {
		left := conditional
		if !full[0].has(p) {
			left--
		}
		if left < 0 {
			continue
		}
		if rest, ok := filled(some[1:], full[1:], left, taken.with(p)); ok {
			return slices.Insert(rest, 0, p), true
		}
	}
	return nil, false
}
