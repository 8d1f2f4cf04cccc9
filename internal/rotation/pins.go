package rotation

import (
	"context"
	"math"
	"slices"

	"groundhand/internal/linear"
)

// mostTries is how many additions are tried to find the company that pins need, before the search is given up; fewer where
// each look at all crews takes longer.
const mostTries = 20_000

// placePins starts a roster that keeps every pin, with whoever must go along. The error is a *PinClash.
func placePins(g *grid) (*roster, error) {
	all := make([]int, len(g.p.Pinned))
	for i := range all {
		all[i] = i
	}
	r, ok, _ := g.keep(all)
	if ok {
		return r, nil
	}
	return nil, g.clash(all)
}

// clash narrows pins that cannot be kept together down to a set of which none can be left out.
func (g *grid) clash(pins []int) *PinClash {
	lo, hi := 0, len(pins) // the first hi pins clash, the first lo do not
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if _, ok, _ := g.keep(pins[:mid]); ok {
			lo = mid
		} else {
			hi = mid
		}
	}
	pins = slices.Clone(pins[:hi])
	for i := 0; i < len(pins); {
		fewer := slices.Delete(slices.Clone(pins), i, i+1)
		if _, ok, _ := g.keep(fewer); ok {
			i++
		} else {
			pins = fewer
		}
	}
	_, _, proved := g.keep(pins)
	out := &PinClash{Pins: pins, Proved: proved}
	for _, i := range pins {
		out.Named = append(out.Named, g.p.Pinned[i])
	}
	return out
}

// keep looks for a roster with the given pins and nothing more than they need. Proved is false when it gave up before trying everything.
func (g *grid) keep(pins []int) (r *roster, ok, proved bool) {
	r = newRoster(g)
	for _, i := range pins {
		if !r.pin(g.p.Pinned[i]) {
			return nil, false, true
		}
	}
	k := &keeper{roster: r, tries: mostTries / (1 + len(g.crews)/20)}
	if !k.complete() {
		if k.tries > 0 {
			return nil, false, true
		}
		return g.keepExactly(r, pins)
	}
	r.journal = nil
	return r, true, true
}

// keepWork is how many steps of the simplex the exact program takes to find company for pins.
const keepWork = 50_000

// keepExactly lets the exact program find the company that pins need, where trying one addition inside the other is too long a way. The
// roster has the pins.
func (g *grid) keepExactly(r *roster, pins []int) (kept *roster, ok, proved bool) {
	if !g.withinReach() {
		return nil, false, false
	}
	with := *g
	with.p.Pinned = make([]Pin, len(pins))
	for i, pin := range pins {
		with.p.Pinned[i] = g.p.Pinned[pin]
	}
	s := with.newStage(1, Objective{CrewDaysShort: math.MaxInt32}, &known{certain: with.certainlyShort(), never: map[visit]bool{}, always: map[int]bool{}})
	answer := s.program().Solve(context.Background(), linear.Options{Pivots: keepWork, Cutoff: math.Inf(1), Step: s.step()})
	if len(answer.X) == 0 {
		return nil, false, answer.Status == linear.Infeasible
	}
	found, sound := s.snapshotOf(answer.X)
	if !sound {
		return nil, false, false
	}
	r.restore(found)
	return r, true, true
}

// pin puts one pin in; false when it breaks a rule that no company can mend.
func (r *roster) pin(pin Pin) bool {
	ids := r.g.ids
	w, s := ids.workers[pin.Worker], ids.slots[pin.Slot]
	if !r.canAttend(w, s) {
		return false
	}
	if !has(r.attends[s], w) {
		r.join(w, s)
	}
	r.pinnedAt[seat{w, s}] = true
	for _, q := range pin.Renews {
		t := r.g.ticketIn(w, s, ids.qualifications[q])
		if t == none || r.renewed[t] != s && !r.tryRenew(t, s) {
			return false
		}
		r.pinned[t] = true
	}
	return true
}

// ticketIn is the due ticket of a worker that a slot renews under a qualification, or none.
func (g *grid) ticketIn(w, s, q int) int {
	for _, t := range g.workers[w].tickets {
		if g.tickets[t].qual == q && g.renewable(t, s) {
			return t
		}
	}
	return none
}

// renewable says that (ticket, slot) is an eligible pair of a due ticket.
func (g *grid) renewable(t, s int) bool {
	row, slot := &g.tickets[t], &g.slots[s]
	return row.due && slot.aside == "" && has(slot.quals, row.qual) && (row.device == "" || row.device == slot.device) && g.eligible(t, s)
}

// keeper adds people to a roster until it breaks no rule. What is there stays there, so a rule that only additions can mend is mended by
// one of a finite list of additions; trying them all, one inside the other, finds a sound roster if there is one.
type keeper struct {
	*roster
	tries int
}

// addition is a worker who joins a slot, or a ticket renewed there.
type addition struct {
	worker, ticket int // ticket none: only joins
	slot           int
}

func (k *keeper) complete() bool {
	options, sound := k.firstNeed()
	if sound {
		return true
	}
	for _, o := range options {
		if k.tries--; k.tries <= 0 {
			return false
		}
		mark := k.mark()
		if k.apply(o) && k.complete() {
			return true
		}
		k.undo(mark)
	}
	return false
}

func (k *keeper) apply(o addition) bool {
	if o.ticket != none {
		return k.tryRenew(o.ticket, o.slot)
	}
	if has(k.attends[o.slot], o.worker) || !k.canAttend(o.worker, o.slot) {
		return false
	}
	k.join(o.worker, o.slot)
	return true
}

// firstNeed finds the first broken rule and every addition that could help to mend it.
func (k *keeper) firstNeed() ([]addition, bool) {
	for s := range k.attends {
		if !k.held(s) {
			continue
		}
		switch k.sessionFault(s) {
		case "":
		case "F7", "F8":
			return k.renewals(s, k.mates(s)), false
		case "F11":
			return append(k.renewals(s, func(int) bool { return true }), k.joins(s, func(int) bool { return true })...), false
		default:
			return nil, false // seats and runs only fill up
		}
	}
	for c := range k.g.crews {
		if !k.judge(c) {
			return k.relief(c, k.cover.badDay, k.cover.badHalf), false
		}
	}
	return nil, true
}

// mates tells who could account for the first companion of a slot for whom nobody does yet.
func (k *keeper) mates(s int) func(w int) bool {
	i := slices.IndexFunc(k.attends[s], func(w int) bool { return !k.accounted(w, s) })
	lone := k.attends[s][i]
	crew := k.g.workers[lone].crew
	return func(w int) bool { return w == lone || crew != none && k.g.workers[w].crew == crew }
}

// renewals lists the tickets of some workers that a slot could renew.
func (k *keeper) renewals(s int, who func(w int) bool) []addition {
	var out []addition
	for t := range k.g.tickets {
		if w := k.g.tickets[t].worker; k.renewed[t] == none && who(w) && k.g.renewable(t, s) {
			out = append(out, addition{w, t, s})
		}
	}
	return out
}

// joins lists companions for a slot; whether a crew mate renews there is a need of its own.
func (k *keeper) joins(s int, who func(w int) bool) []addition {
	var out []addition
	for w := range k.g.workers {
		if who(w) && k.g.workers[w].crew != none && k.g.reaches(w, s) && !has(k.attends[s], w) {
			out = append(out, addition{w, none, s})
		}
	}
	return out
}

// relief lists what could let a crew cover on half a day: more of its members away, so that it stands down, or more of them current.
func (k *keeper) relief(c, day int, half uint8) []addition {
	member := func(w int) bool { return k.g.workers[w].crew == c }
	var away, leading, earlier []addition
	for s := range k.g.slots {
		slot := &k.g.slots[s]
		switch {
		case slot.aside != "":
		case slot.day == day && slot.half&half != 0:
			away = append(away, k.joins(s, member)...)
			if slot.leader != none && member(slot.leader) && !k.held(s) {
				leading = append(leading, k.renewals(s, func(int) bool { return true })...)
			}
		case slot.day < day:
			earlier = append(earlier, k.renewals(s, member)...)
		}
	}
	slices.SortStableFunc(away, func(a, b addition) int { return k.order(a.slot) - k.order(b.slot) })
	return slices.Concat(away, earlier, leading)
}

// order puts sessions already held before the others.
func (k *keeper) order(s int) int {
	if k.held(s) {
		return 0
	}
	return 1
}
