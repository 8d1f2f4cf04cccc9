package readiness

import (
	"cmp"
	"slices"
)

// notes gathers what a code names, so that one code is told once.
type notes map[Code]map[string]bool

func (n notes) add(code Code, things ...string) {
	if n[code] == nil {
		n[code] = map[string]bool{}
	}
	for _, thing := range things {
		n[code][thing] = true
	}
}

func (n notes) conditions() []Condition {
	list := []Condition{}
	for code, things := range n {
		list = append(list, Condition{code, sorted(things)})
	}
	slices.SortFunc(list, func(a, b Condition) int { return cmp.Compare(a.Code, b.Code) })
	return list
}

func sorted(set map[string]bool) []string {
	list := make([]string, 0, len(set))
	for thing := range set {
		list = append(list, thing)
	}
	slices.Sort(list)
	return list
}

// conditions lists what a conditional choice rests on over these moments. A READY choice carries none: where no one team stands all
// through, its missing method says so.
func (in *inquiry) conditions(class Verdict, t team, stands bool, aloft crew, moments []moment) []Condition {
	n := notes{}
	switch {
	case class != Conditional:
		return n.conditions()
	case stands:
		in.teamNotes(n, t, aloft, moments)
	case in.aloft > 0:
		n.add(MethodDepends)
	}
	if in.q.Job.CallPlan != Yes {
		n.add(CallPlanMissing)
	}
	for i := range moments {
		if len(moments[i].unheld) > 0 {
			n.add(DutyUnheld, moments[i].unheld...)
		}
		for f := range in.families {
			if in.card(&moments[i], f) < Ready {
				n.add(CrewCountConditional)
			}
		}
	}
	return n.conditions()
}

func (in *inquiry) teamNotes(n notes, t team, aloft crew, moments []moment) {
	if t.by.Conditional {
		n.add(MethodMissesAim, t.by.AimMissed, t.by.ID)
	}
	for i := range moments {
		for f := range in.families {
			in.countNotes(n, t, &moments[i], in.worst(f), aloft)
		}
	}
}

// countNotes tells which of the team count conditionally, and why; or, if all count fully, that too few on the ground do.
func (in *inquiry) countNotes(n notes, t team, m *moment, r reading, aloft crew) {
	full, _ := in.fillers(m, r, t.by, m.usable&^aloft)
	all := true
	for role, p := range t.people {
		if full[role].has(p) {
			continue
		}
		all = false
		for _, code := range in.stateCodes(p, t.by.Method, t.by.Roles[role], m, r) {
			n.add(code, in.people[p].ID)
		}
	}
	if all && union(full[:len(t.by.Roles)]).size() < t.by.Rescuers {
		n.add(GroundCountConditional, t.by.ID)
	}
}

// stateCodes lists the conditions of the states by which somebody counts conditionally for a role.
func (in *inquiry) stateCodes(i int, by *Method, role Role, m *moment, r reading) []Code {
	var codes []Code
	p := &in.people[i]
	for j := range p.Capabilities {
		c := &p.Capabilities[j]
		if p.capable[j].holds(m.from) && in.counts(c, by, role, in.families[r.family]) == conditionally {
			codes = append(codes, Code(in.q.Rules.States[c.State].Condition))
		}
	}
	return codes
}

// swapConditions are those of a verdict that takes a change of who is aloft: that, and what the first choice of every conditional stretch
// rests on in that stretch.
func (in *inquiry) swapConditions(c course) []Condition {
	n := notes{}
	n.add(SwapAloft)
	for _, r := range c.stretches() {
		part := c[r[0]:r[1]]
		if part[0].verdict != Conditional {
			continue
		}
		first := in.ranked(part)[0]
		for _, condition := range in.described(first, part.over(first), in.moments[r[0]:r[1]]).Conditions {
			n.add(condition.Code, condition.Things...)
		}
	}
	return n.conditions()
}
