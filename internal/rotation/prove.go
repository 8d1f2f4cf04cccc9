package rotation

import "slices"

// snapshotOf reads a solution of the stage as a plan; false when it breaks a hard rule, which a sound solution never does.
func (s *stage) snapshotOf(x []float64) (snapshot, bool) {
	r := newRoster(s.g)
	yes := func(terms sum) bool {
		n := 0.0
		for _, t := range terms {
			n += t.Coefficient * x[t.Variable]
		}
		return n > 0.5
	}
	for slot, held := range s.held {
		if held == none {
			continue
		}
		for _, w := range s.peopleOf(slot) {
			if yes(s.comes[seat{w, slot}]) {
				r.doJoin(w, slot)
			}
		}
	}
	for t, slots := range s.pairs {
		for _, slot := range slots {
			if yes(one(s.renew[visit{t, slot}])) {
				r.doRenew(t, slot)
			}
		}
	}
	ok := true
	for c := range s.g.crews {
		r.judge(c)
	}
	plan := Plan{Problem: s.g.p.Name, Sessions: r.sessions(), Objective: r.figures()}
	ok = len(Check(s.g.p, plan)) == 0
	_ = slices.Sort[[]int]
	return r.snapshot(), ok
}
