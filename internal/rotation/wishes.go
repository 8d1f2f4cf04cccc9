package rotation

import (
	"slices"

	"groundhand/internal/groundhand"
)

// Stagger keeps the people of a crew from lapsing together: of one crew and qualification at most Most tickets may run out in any Days
// days, renewals of the plan and tickets that stay valid past the window counted alike. It is a hard rule of the search beyond F1 to F15;
// a plan that obeys it is a plan of the problem like any other. What is pinned stays, even where it is against the rule.
type Stagger struct {
	Most int // 1 or more
	Days int // 1 or more
}

// validate refuses a rule that says nothing.
func (s *Stagger) validate() error {
	if s == nil {
		return nil
	}
	var out groundhand.Problems
	if s.Most < 1 {
		out.Add(groundhand.CodeInvalid, "stagger.most", "At least one person of a crew must be allowed to run out; give 1 or more.")
	}
	if s.Days < 1 {
		out.Add(groundhand.CodeInvalid, "stagger.days", "Give the stretch in days, 1 or more.")
	}
	return out.Err()
}

// staggered says that a ticket may be renewed in a slot without more of its crew running out together than wished.
func (r *roster) staggered(t, s int) bool {
	rule, row := r.g.stagger, &r.g.tickets[t]
	crew := row.crewOf(r.g)
	if rule == nil || crew == none {
		return true
	}
	ends := []int{r.g.endOf(row.qual, r.g.slots[s].day)}
	for _, w := range r.g.crews[crew].members {
		for _, u := range r.g.workers[w].tickets {
			if other := &r.g.tickets[u]; u == t || other.qual != row.qual {
				continue
			} else if at := r.renewed[u]; at != none {
				ends = append(ends, r.g.endOf(row.qual, r.g.slots[at].day))
			} else if !other.due {
				ends = append(ends, other.valid)
			}
		}
	}
	return !crowdedAround(ends, ends[0], *rule)
}

// crowdedAround says that some stretch of days with one of the ends in it holds more ends than it may.
func crowdedAround(ends []int, one int, rule Stagger) bool {
	ends = slices.DeleteFunc(slices.Clone(ends), func(d int) bool { return d <= one-rule.Days || d >= one+rule.Days })
	slices.Sort(ends)
	for i := rule.Most; i < len(ends); i++ {
		if ends[i]-ends[i-rule.Most] < rule.Days {
			return true
		}
	}
	return false
}

// endOf is the last valid day after a renewal: the same day so many months later, or the last of that month if there is none.
func (g *grid) endOf(qual, day int) int {
	return int(g.p.Start.AddDays(day).AddMonths(g.quals[qual].ValidMonths) - g.p.Start)
}

// keepTo remembers the renewals of an older plan, so that leaving them counts as a change, and takes over as much of it as still holds.
func (r *roster) keepTo(old Plan) {
	ids := r.g.ids
	for t := range r.g.tickets {
		r.g.tickets[t].kept = none
	}
	for _, session := range old.Sessions {
		s, there := ids.slots[session.Slot]
		if !there || r.g.slots[s].aside != "" {
			continue
		}
		for _, a := range session.Attend {
			w, known := ids.workers[a.Worker]
			for _, q := range a.Renews {
				if qual, there := ids.qualifications[q]; known && there {
					if t := r.g.ticketIn(w, s, qual); t != none && r.g.tickets[t].kept == none {
						r.g.tickets[t].kept = s
					}
				}
			}
		}
	}
	r.countChanges()
	r.followAll(old)
	r.journal = r.journal[:0]
}

// followAll holds the sessions as the older plan did and takes out what no longer obeys the rules: first all together, because one session
// may need another for its cover; where pins forbid that, one by one.
func (r *roster) followAll(old Plan) {
	mark, k := r.mark(), &wreck{roster: r}
	for _, session := range old.Sessions {
		if s, there := r.g.ids.slots[session.Slot]; there {
			r.takeOver(session, s)
			k.touched = append(k.touched, s)
		}
	}
	for c := range r.g.crews {
		k.crews = append(k.crews, c)
	}
	if k.mend() {
		return
	}
	r.undo(mark)
	for _, session := range old.Sessions {
		if s, there := r.g.ids.slots[session.Slot]; there {
			r.follow(session, s)
		}
	}
}

// countChanges counts the tickets that are not where the older plan had them.
func (r *roster) countChanges() {
	r.changes = 0
	for t := range r.g.tickets {
		if k := r.g.tickets[t].kept; k != none && r.renewed[t] != k {
			r.changes++
		}
	}
}

// follow holds a session as the older plan did, or leaves it out when that no longer obeys the rules.
func (r *roster) follow(session Session, s int) {
	mark := r.mark()
	r.takeOver(session, s)
	if r.held(s) && !r.sound([]int{s}, r.crewsIn([]int{s}, nil)) {
		r.undo(mark)
	}
}

// takeOver seats the people of a session of the older plan as far as seats and clashes allow.
func (r *roster) takeOver(session Session, s int) {
	for _, a := range session.Attend {
		w, known := r.g.ids.workers[a.Worker]
		if !known || has(r.attends[s], w) || !r.canAttend(w, s) {
			continue
		}
		r.join(w, s)
		for _, t := range r.g.workers[w].tickets {
			if r.g.tickets[t].kept == s {
				r.tryRenew(t, s)
			}
		}
	}
	for _, w := range slices.Clone(r.attends[s]) {
		if !r.accounted(w, s) && !r.pinnedAt[seat{w, s}] {
			r.leave(w, s)
		}
	}
}

// worth is what a search compares: the six figures, and after the second how many renewals are elsewhere than in the older plan.
type worth struct {
	figures Objective
	changes int
}

func (r *roster) worth() worth { return worth{r.figures(), r.changes} }

// less says that w is better.
func (w worth) less(than worth) bool {
	early, late := Objective{CrewDaysShort: w.figures.CrewDaysShort, LapsedDays: w.figures.LapsedDays},
		Objective{CrewDaysShort: than.figures.CrewDaysShort, LapsedDays: than.figures.LapsedDays}
	if early == late && w.changes != than.changes {
		return w.changes < than.changes
	}
	return w.figures.Less(than.figures)
}
