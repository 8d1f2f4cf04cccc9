package rotation

import "math"

// prospect is a slot for a bundle with a score below which putting it there cannot come.
type prospect struct {
	slot  int
	least float64
}

// prospects are the slots in which at least one of a bundle would lapse less, without those passed over and those that cannot be opened.
// They are given one after the other by nextProspect, so that a search can stop when no other can be better than what it has.
func (r *roster) prospects(bundle []int, passed func(s int) bool) []prospect {
	out := r.prospective[:0]
	base := r.score() - r.rate(0)*float64(r.crewDays-r.leastShort(bundle))
	for _, s := range r.g.bundleChoices(bundle) {
		if passed(s) || !r.held(s) && r.blocked(s) {
			continue
		}
		if gain, some := r.mostGain(bundle, s); some {
			out = append(out, prospect{s, base - gain + r.leastCharge(bundle, s)})
		}
	}
	r.prospective = out
	return out
}

// nextProspect brings the best of those left to the front and cuts it off.
func nextProspect(left []prospect) (prospect, []prospect) {
	best := 0
	for i := range left {
		if left[i].least < left[best].least {
			best = i
		}
	}
	left[0], left[best] = left[best], left[0]
	return left[0], left[1:]
}

// leastShort is the days short of all crews if all of a bundle were renewed at their first slots: nobody can be current sooner.
func (r *roster) leastShort(bundle []int) int {
	crew := r.g.tickets[bundle[0]].crewOf(r.g)
	if crew == none || r.short[crew] == 0 {
		return r.crewDays
	}
	mark := r.mark()
	for _, t := range bundle {
		if r.renewed[t] == none && r.g.tickets[t].first != none {
			r.renew(t, r.g.tickets[t].first)
		}
	}
	r.judge(crew)
	least := r.crewDays
	r.undo(mark)
	return least
}

// mostGain is the most that the renewals of a bundle in a slot can take from the score, travel counted against it; false when nobody lapses less.
func (r *roster) mostGain(bundle []int, s int) (gain float64, some bool) {
	for _, t := range bundle {
		row := &r.g.tickets[t]
		saved := row.never - r.g.lapsed(t, s)
		if saved <= 0 {
			continue
		}
		some = true
		one := r.rate(1)*float64(saved) - r.rate(4)*float64(r.g.offAim(t, s))
		if !has(r.attends[s], row.worker) {
			one -= r.rate(3) * float64(r.g.away(row.worker, s))
		}
		if row.kept == s {
			one += r.perChange()
		}
		if row.kept == s {
			one += r.perChange()
		}
		gain += max(0, one)
	}
	return gain, some
}

// leastCharge is what a slot costs at least when the bundle comes: its opening and the visit of the crew. A slot where a partner is missing has
// no such bound, for the partner may gain more than the bundle.
func (r *roster) leastCharge(bundle []int, s int) float64 {
	first := &r.g.tickets[bundle[0]]
	charge, slot := 0.0, &r.g.slots[s]
	if len(r.attends[s])+len(bundle) < r.g.quals[first.qual].PeoplePerRun {
		return math.Inf(-1)
	}
	if !r.held(s) {
		charge += r.rate(2) * float64(slot.cost) / r.g.costUnit
	}
	if crew := first.crewOf(r.g); crew != none && !r.visits(crew, s) {
		charge += r.rate(3) * float64(r.g.p.VisitMinutes)
	}
	return charge
}

// rate is what one more of a figure adds to the score.
func (r *roster) rate(level int) float64 { return r.profile[level] }
