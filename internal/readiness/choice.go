package readiness

import (
	"cmp"
	"slices"
)

// combinations lists all sets of k of these people, in the order of ids.
func combinations(members []int, k int) []crew {
	if k == 0 {
		return []crew{0}
	}
	var sets []crew
	for i := range members {
		if len(members)-i < k {
			break
		}
		for _, rest := range combinations(members[i+1:], k-1) {
			sets = append(sets, rest.with(members[i]))
		}
	}
	return sets
}

// course is what is known at every moment of the window.
type course []sheet

func (in *inquiry) course() course {
	sheets := make(course, len(in.moments))
	for i := range in.moments {
		sheets[i] = in.sheetOf(&in.moments[i])
	}
	return sheets
}

// over is the class of a choice over all of these moments.
func (c course) over(choice int) Verdict {
	worst := Ready
	for _, s := range c {
		worst = min(worst, s.known[choice])
	}
	return worst
}

// overall is the verdict over the window, and whether it takes a change of who is aloft on the way: then no single choice reaches what
// every moment has, and the best that can be said is CONDITIONAL.
func (in *inquiry) overall(c course) (verdict Verdict, swap bool) {
	verdict = Ready
	for _, s := range c {
		verdict = min(verdict, s.verdict)
	}
	if verdict != Ready && verdict != Conditional {
		return verdict, false
	}
	for choice := range in.choices {
		if c.over(choice) >= verdict {
			return verdict, false
		}
	}
	return Conditional, true
}

// ranked lists the choices that are not NotReady over these moments, best class first, then in the order of ids.
func (in *inquiry) ranked(c course) []int {
	var order []int
	for choice := range in.choices {
		if c.over(choice) != NotReady {
			order = append(order, choice)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(c.over(b), c.over(a)) })
	return order
}

func (in *inquiry) listed(c course) []Choice {
	choices := []Choice{}
	for _, choice := range in.ranked(c) {
		choices = append(choices, in.described(choice, c.over(choice), in.moments))
	}
	return choices
}

// described gives a choice with its method, roles and conditions over some moments of the window.
func (in *inquiry) described(choice int, class Verdict, moments []moment) Choice {
	aloft := in.choices[choice]
	d := Choice{Aloft: in.ids(aloft), Class: class, Roles: []RoleOf{}, Conditions: []Condition{}}
	if class == CannotTell {
		return d
	}
	t, stands := in.steadyTeam(aloft, class, moments)
	if stands {
		d.Method = &t.by.ID
		d.Roles = in.rolesOf(t)
	}
	d.Conditions = in.conditions(class, t, stands, aloft, moments)
	return d
}

// aloftAndDown parts everybody into those who may go aloft over the window and those who must stay down.
func (in *inquiry) aloftAndDown(c course) ([]Aloft, []Down) {
	may, down := []Aloft{}, []Down{}
	if in.aloft == 0 {
		return may, down
	}
	order := in.ranked(c)
	for i := range in.people {
		first := slices.IndexFunc(order, func(choice int) bool { return in.choices[choice].has(i) && c.over(choice) >= Conditional })
		if first >= 0 {
			may = append(may, Aloft{in.people[i].ID, c.over(order[first]), in.ids(in.choices[order[first]])})
			continue
		}
		down = append(down, Down{in.people[i].ID, in.because(i, order)})
	}
	return may, down
}

// because is the first reason that fits for somebody who must stay down, given the choices that are not NotReady.
func (in *inquiry) because(i int, order []int) Because {
	switch {
	case !in.always().has(i):
		return BecauseAbsent
	case !in.people[i].CanGoAloft:
		return BecauseNotAble
	case in.busy.has(i):
		return BecauseExclusiveDuty
	case slices.ContainsFunc(order, func(choice int) bool { return in.choices[choice].has(i) }):
		return BecauseNotKnown
	}
	return BecauseNoCover
}

// always is who is present at every moment.
func (in *inquiry) always() crew {
	present := ^crew(0)
	for i := range in.moments {
		present &= in.moments[i].present
	}
	return present
}

// planned judges what the foreman meant.
func (in *inquiry) planned(c course) *Planned {
	if in.q.Job.PlannedAloft == nil {
		return nil
	}
	p := &Planned{Aloft: slices.Sorted(slices.Values(in.q.Job.PlannedAloft))}
	if p.Aloft == nil {
		p.Aloft = []string{}
	}
	for choice, aloft := range in.choices {
		if slices.Equal(in.ids(aloft), p.Aloft) {
			p.Class, p.Permitted = c.over(choice), true
		}
	}
	return p
}
