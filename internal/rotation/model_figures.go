package rotation

import "groundhand/internal/linear"

// addFigures writes the six figures, those before the level as limits and that of the level as what is minimised.
func (s *stage) addFigures() {
	for _, one := range s.short {
		s.figures[0] = append(s.figures[0], linear.Term{Variable: one.variable, Coefficient: float64(one.days)})
	}
	s.addLapsed()
	for slot, held := range s.held {
		if held != none {
			s.figures[2] = append(s.figures[2], one(held).times(float64(s.g.slots[slot].cost))...)
		}
	}
	if s.level >= 4 {
		s.addMinutes()
	}
	if s.level == 6 {
		s.addBusiest()
	}
	for l := range s.level - 1 {
		if l > 0 || !s.fixed {
			s.row(float64(s.known.bound[l])-s.base[l], float64(s.best[l])-s.base[l], s.figures[l])
		}
	}
	s.addShares()
	s.minimise(s.figures[s.level-1].tidy())
}

func (s *stage) addLapsed() {
	for t, slots := range s.pairs {
		row := &s.g.tickets[t]
		if !row.due {
			continue
		}
		s.base[1] += float64(row.never)
		for _, slot := range slots {
			x := s.renew[visit{t, slot}]
			s.figures[1] = append(s.figures[1], one(x).times(float64(s.g.lapsed(t, slot)-row.never))...)
			s.figures[4] = append(s.figures[4], one(x).times(float64(s.g.offAim(t, slot)))...)
		}
	}
}

func (s *stage) addMinutes() {
	for slot, held := range s.held {
		if held == none {
			continue
		}
		s.now = slot
		byCrew := map[int][]sum{}
		for _, w := range s.peopleOf(slot) {
			there := s.comes[seat{w, slot}]
			s.figures[3] = append(s.figures[3], there.times(float64(s.g.away(w, slot)))...)
			if c := s.g.workers[w].crew; c != none {
				byCrew[c] = append(byCrew[c], there)
			}
		}
		for _, c := range distinct(keys(byCrew)) {
			s.addVisit(byCrew[c])
		}
	}
	s.now = none
}

// addVisit charges once for all of a crew in a session.
func (s *stage) addVisit(members []sum) {
	price := float64(s.g.p.VisitMinutes)
	if price == 0 {
		return
	}
	if len(members) == 1 {
		s.figures[3] = append(s.figures[3], members[0].times(price)...)
		return
	}
	v := s.yesNo(follows)
	for _, there := range members {
		s.atLeast(0, one(v), there.times(-1))
	}
	s.figures[3] = append(s.figures[3], one(v).times(price)...)
}

func (s *stage) addBusiest() {
	byInstructor := map[int]sum{}
	for slot, held := range s.held {
		if held != none {
			i := s.g.slots[slot].instructor
			byInstructor[i] = append(byInstructor[i], one(held)...)
		}
	}
	k := s.variable(0, float64(len(s.held)), follows)
	for _, i := range distinct(keys(byInstructor)) {
		s.atLeast(0, one(k), byInstructor[i].times(-1))
	}
	s.figures[5] = one(k)
}

// addShares keeps what each part of the slots adds to a figure between its own least and what the others leave of the best.
func (s *stage) addShares() {
	for l := range s.level {
		all := 0.0
		for _, one := range s.known.shares[l] {
			all += one.least
		}
		for _, one := range s.known.shares[l] {
			s.row(one.least, float64(s.best[l])-s.base[l]-all+one.least, s.within(s.figures[l], one.slots))
		}
	}
}

// within is the part of a sum that belongs to some slots.
func (s *stage) within(all sum, slots map[int]bool) sum {
	var out sum
	for _, t := range all {
		if at := s.site[t.Variable]; at != none && slots[at] {
			out = append(out, t)
		}
	}
	return out
}
