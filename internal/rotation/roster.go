package rotation

import "slices"

// roster is a plan in the making: who is in which slot and what is renewed there. Every change goes through join, leave, renew and
// unrenew, which keep the sums and a journal, so that undo takes back whatever was tried.
type roster struct {
	g       *grid
	renewed []int   // by ticket: the slot, or none
	attends [][]int // by slot: workers
	renews  [][]int // by slot: tickets
	at      [][]int // by worker: slots
	led     [][]int // by instructor: slots held
	hauled  [][]int // by truck: slots held
	leads   [][]int // by worker: slots held that he leads
	short   []int   // by crew: days short, as of the last judge

	profile profile // what score weighs by
	changes int     // renewals that are elsewhere than in an older plan

	crewDays, lapsed, cost, minutes, offAim int

	pinnedAt map[seat]bool // attendances that stay
	pinned   []bool        // by ticket: the renewal stays

	journal     []step
	prospective []prospect // memory that prospects uses again and again
	cover       coverScratch
}

// seat is a worker in a slot.
type seat struct{ worker, slot int }

type step struct {
	kind stepKind
	a, b int
}

type stepKind uint8

const (
	joined stepKind = iota
	left
	renewedStep
	unrenewedStep
	judged
)

func newRoster(g *grid) *roster {
	r := &roster{g: g, profile: profiles[0],
		renewed: slices.Repeat([]int{none}, len(g.tickets)),
		attends: make([][]int, len(g.slots)), renews: make([][]int, len(g.slots)),
		at: make([][]int, len(g.workers)), led: make([][]int, len(g.leaders)), hauled: make([][]int, g.trucks), leads: make([][]int, len(g.workers)),
		short: make([]int, len(g.crews)), pinnedAt: map[seat]bool{}, pinned: make([]bool, len(g.tickets)),
	}
	for _, t := range g.tickets {
		if t.due {
			r.lapsed += t.never
		}
	}
	for c := range g.crews {
		r.judge(c)
	}
	r.journal = nil
	return r
}

func (r *roster) held(s int) bool { return len(r.attends[s]) > 0 }

func (r *roster) log(kind stepKind, a, b int) { r.journal = append(r.journal, step{kind, a, b}) }

// mark is a point that undo can go back to.
func (r *roster) mark() int { return len(r.journal) }

func (r *roster) undo(mark int) {
	for len(r.journal) > mark {
		s := r.journal[len(r.journal)-1]
		r.journal = r.journal[:len(r.journal)-1]
		switch s.kind {
		case joined:
			r.doLeave(s.a, s.b)
		case left:
			r.doJoin(s.a, s.b)
		case renewedStep:
			r.doUnrenew(s.a)
		case unrenewedStep:
			r.doRenew(s.a, s.b)
		case judged:
			r.crewDays += s.b - r.short[s.a]
			r.short[s.a] = s.b
		}
	}
}

func (r *roster) join(w, s int)  { r.doJoin(w, s); r.log(joined, w, s) }
func (r *roster) leave(w, s int) { r.doLeave(w, s); r.log(left, w, s) }
func (r *roster) renew(t, s int) { r.doRenew(t, s); r.log(renewedStep, t, s) }
func (r *roster) unrenew(t int)  { r.log(unrenewedStep, t, r.renewed[t]); r.doUnrenew(t) }

func (r *roster) doJoin(w, s int) {
	if !r.held(s) {
		r.open(s)
	}
	if !r.visits(r.g.workers[w].crew, s) {
		r.minutes += r.visitMinutes(w)
	}
	r.minutes += r.g.away(w, s)
	r.attends[s] = append(r.attends[s], w)
	r.at[w] = append(r.at[w], s)
}

func (r *roster) doLeave(w, s int) {
	r.attends[s] = without(r.attends[s], w)
	r.at[w] = without(r.at[w], s)
	r.minutes -= r.g.away(w, s)
	if !r.visits(r.g.workers[w].crew, s) {
		r.minutes -= r.visitMinutes(w)
	}
	if !r.held(s) {
		r.close(s)
	}
}

// visitMinutes are charged for the first of a crew in a session; somebody without a crew visits for nobody.
func (r *roster) visitMinutes(w int) int {
	if r.g.workers[w].crew == none {
		return 0
	}
	return r.g.p.VisitMinutes
}

func (r *roster) visits(crew, s int) bool {
	return crew != none && slices.ContainsFunc(r.attends[s], func(w int) bool { return r.g.workers[w].crew == crew })
}

func (r *roster) open(s int) {
	slot := &r.g.slots[s]
	r.cost += slot.cost
	r.led[slot.instructor] = append(r.led[slot.instructor], s)
	if slot.truck != none {
		r.hauled[slot.truck] = append(r.hauled[slot.truck], s)
	}
	if slot.leader != none {
		r.leads[slot.leader] = append(r.leads[slot.leader], s)
	}
}

func (r *roster) close(s int) {
	slot := &r.g.slots[s]
	r.cost -= slot.cost
	r.led[slot.instructor] = without(r.led[slot.instructor], s)
	if slot.truck != none {
		r.hauled[slot.truck] = without(r.hauled[slot.truck], s)
	}
	if slot.leader != none {
		r.leads[slot.leader] = without(r.leads[slot.leader], s)
	}
}

func (r *roster) doRenew(t, s int) {
	if r.g.tickets[t].kept == s {
		r.changes--
	}
	r.renewed[t] = s
	r.renews[s] = append(r.renews[s], t)
	r.lapsed += r.g.lapsed(t, s) - r.g.tickets[t].never
	r.offAim += r.g.offAim(t, s)
}

func (r *roster) doUnrenew(t int) {
	s := r.renewed[t]
	if r.g.tickets[t].kept == s {
		r.changes++
	}
	r.renewed[t] = none
	r.renews[s] = without(r.renews[s], t)
	r.lapsed -= r.g.lapsed(t, s) - r.g.tickets[t].never
	r.offAim -= r.g.offAim(t, s)
}

// without takes x out of a short list, keeping the order of the rest.
func without(list []int, x int) []int {
	i := slices.Index(list, x)
	return append(list[:i], list[i+1:]...)
}

// renewsIn says whether a worker renews something in a slot.
func (r *roster) renewsIn(w, s int) bool {
	return slices.ContainsFunc(r.renews[s], func(t int) bool { return r.g.tickets[t].worker == w })
}

// runs counts the timed runs that a session needs.
func (r *roster) runs(s int) int {
	total := 0
	for _, q := range r.g.slots[s].quals {
		if k := r.renewers(s, q); k > 0 && r.g.quals[q].PeoplePerRun > 0 {
			total += max(k, r.g.quals[q].PeoplePerRun)
		}
	}
	return total
}

func (r *roster) renewers(s, q int) int {
	n := 0
	for _, t := range r.renews[s] {
		if r.g.tickets[t].qual == q {
			n++
		}
	}
	return n
}

// crowd is the most people that a renewed qualification of the session needs.
func (r *roster) crowd(s int) int {
	n := 0
	for _, t := range r.renews[s] {
		n = max(n, r.g.quals[r.g.tickets[t].qual].PeoplePerRun)
	}
	return n
}

// rivals says that two slots need somebody or something in two places at once.
func (g *grid) rivals(a, b int) bool {
	x, y := &g.slots[a], &g.slots[b]
	return a != b && x.day == y.day && (x.half&y.half != 0 || x.yard != y.yard)
}

// busy says that a worker, attending or leading, cannot also be in s.
func (r *roster) busy(w, s int) bool {
	clash := func(o int) bool { return r.g.rivals(o, s) }
	return slices.ContainsFunc(r.at[w], clash) || slices.ContainsFunc(r.leads[w], clash)
}

// blocked says that a slot cannot be opened: its instructor, leader or truck is elsewhere.
func (r *roster) blocked(s int) bool {
	slot := &r.g.slots[s]
	clash := func(o int) bool { return r.g.rivals(o, s) }
	return slices.ContainsFunc(r.led[slot.instructor], clash) ||
		slot.truck != none && slices.ContainsFunc(r.hauled[slot.truck], clash) ||
		slot.leader != none && r.busy(slot.leader, s)
}

// sessionFault is the first of F7 to F11 that a session breaks, or empty.
func (r *roster) sessionFault(s int) string {
	switch {
	case len(r.renews[s]) == 0:
		return "F7"
	case slices.ContainsFunc(r.attends[s], func(w int) bool { return !r.accounted(w, s) }):
		return "F8"
	case len(r.attends[s]) > r.g.slots[s].seats:
		return "F9"
	case r.runs(s) > r.g.slots[s].runs:
		return "F10"
	case len(r.attends[s]) < r.crowd(s):
		return "F11"
	}
	return ""
}

// accounted says that somebody renews in a session, or goes along with a crew mate who does.
func (r *roster) accounted(w, s int) bool {
	crew := r.g.workers[w].crew
	return slices.ContainsFunc(r.renews[s], func(t int) bool {
		o := r.g.tickets[t].worker
		return o == w || crew != none && r.g.workers[o].crew == crew
	})
}
