package readiness

import "slices"

// nMinus1 asks again without each person in turn. It is asked only of a verdict that can be lost: READY or CONDITIONAL.
func (in *inquiry) nMinus1(verdict Verdict) *NMinus1 {
	n := &NMinus1{HangsOn: []Absent{}}
	if verdict != Ready && verdict != Conditional {
		return n
	}
	for i := range in.people {
		if !in.everPresent().has(i) {
			continue
		}
		if without := in.without(only(i, true)); without < verdict {
			n.HangsOn = append(n.HangsOn, Absent{in.people[i].ID, without})
		}
	}
	secure := len(n.HangsOn) == 0
	n.Secure = &secure
	return n
}

// everPresent is who is present at some moment.
func (in *inquiry) everPresent() crew {
	var present crew
	for i := range in.moments {
		present |= in.moments[i].present
	}
	return present
}

// without is the verdict if some people were not there at all. Their duties stay to be held, so they condition.
func (in *inquiry) without(gone crew) Verdict {
	rest := *in
	rest.moments = slices.Clone(in.moments)
	for t := range rest.moments {
		m := &rest.moments[t]
		m.present, m.usable, m.aid = m.present&^gone, m.usable&^gone, m.aid&^gone
		m.unheld = in.unheld(m.present)
		m.trained = make([]pair, len(m.tallies))
		for f := range m.tallies {
			m.trained[f] = trainedAmong(m.usable, m.tallies[f])
		}
	}
	verdict, _ := rest.overall(rest.course())
	return verdict
}
