package rotation

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// coldest is the temperature at the end of a cycle, in units of the weighted score: hardly a detour is accepted.
const coldest = 5.0

// cooling is a way to search: what is traded for what, and how freely at first.
type cooling struct {
	profile profile
	hottest float64
}

// cycles take turns. At their hottest a session may be paid for, or even a lapsed day.
var cycles = []cooling{
	{profiles[0], 1_500}, {profiles[1], 3_000}, {profiles[2], 1_500}, {profiles[0], 6_000}, {profiles[1], 600}, {profiles[0], 3_000}, {profiles[1], 10_000},
}

// improver looks for a better roster by ruin and rebuild: take a part out, put it back otherwise, keep it when it is better or not much worse.
type improver struct {
	*roster
	rng  *rand.Rand
	best snapshot
	heat float64
	size int     // due tickets rethought at once; 0: not yet
	how  cooling // the first of cycles if not set
	poor []int   // tickets that lapse for longer than they must, tried again a few at a time; nil: to be found
}

// snapshot is a roster that can be gone back to.
type snapshot struct {
	worth
	attends [][]int
	renews  [][]int
}

func (r *roster) snapshot() snapshot {
	s := snapshot{worth: r.worth(), attends: make([][]int, len(r.attends)), renews: make([][]int, len(r.renews))}
	for i := range r.attends {
		if r.held(i) {
			s.attends[i], s.renews[i] = slices.Clone(r.attends[i]), slices.Clone(r.renews[i])
		}
	}
	return s
}

// restore goes back to a snapshot.
func (r *roster) restore(to snapshot) {
	for t, s := range r.renewed {
		if s != none {
			r.doUnrenew(t)
		}
	}
	for s := range r.attends {
		for len(r.attends[s]) > 0 {
			r.doLeave(r.attends[s][0], s)
		}
	}
	for s := range to.attends {
		for _, w := range to.attends[s] {
			r.doJoin(w, s)
		}
		for _, t := range to.renews[s] {
			r.doRenew(t, s)
		}
	}
	for c := range r.short {
		r.judge(c)
	}
	r.journal = r.journal[:0]
}

// cycle makes rounds from hot to cold, starting from the best so far every other time, and takes the small steps at its end.
func (m *improver) cycle(stop func() bool, rounds, number int) {
	if number%2 == 0 {
		m.restore(m.best)
		m.poor = nil
	}
	m.anneal(cycles[number%len(cycles)], rounds, stop)
	m.restore(m.best)
	m.poor = nil
	m.finish(stop)
	if m.worth().less(m.best.worth) {
		m.best = m.snapshot()
	}
}

// anneal makes so many rounds, from hot to cold.
func (m *improver) anneal(how cooling, rounds int, stop func() bool) {
	m.how, m.profile = how, how.profile
	for i := 0; i < rounds && !stop(); i++ {
		m.round(float64(i) / float64(rounds))
	}
}

// round takes something out, rebuilds and decides; progress runs from 0 to 1 over all rounds.
func (m *improver) round(progress float64) {
	how := cmp.Or(m.how, cycles[0])
	m.heat = how.hottest * math.Pow(coldest/how.hottest, progress)
	before := m.score()
	k := &wreck{roster: m.roster}
	barred, target := m.ruin(k)
	if !k.mend() {
		m.undo(0)
		return
	}
	m.rebuild(k, barred, target)
	for _, s := range k.touched {
		if m.held(s) {
			m.trim(s)
		}
	}
	m.decide(before)
}

func (m *improver) decide(before float64) {
	worse := m.score() - before
	if worse > 0 && m.rng.Float64() >= math.Exp(-worse/m.heat) {
		m.undo(0)
		return
	}
	m.journal = m.journal[:0]
	if worse != 0 {
		m.poor = nil
	}
	if m.worth().less(m.best.worth) {
		m.best = m.snapshot()
	}
}

// ruin takes one part out. It gives the slots that stay barred while rebuilding, and the one that is filled first, or none.
func (m *improver) ruin(k *wreck) (barred []int, target int) {
	if len(m.g.slots) == 0 {
		return nil, none
	}
	open := m.anyHeld()
	if open != none && m.rng.IntN(5) == 0 {
		return m.ruinForMerger(k, open)
	}
	return m.ruinSome(k, open), none
}

// ruinForMerger closes a few sessions whose people could meet in one slot. Bundle by bundle none of them would find the way there: the
// slot is dear for the first who comes and cheap for all together.
func (m *improver) ruinForMerger(k *wreck, open int) (barred []int, target int) {
	if len(m.renews[open]) == 0 {
		return nil, none
	}
	choices := m.g.tickets[m.renews[open][m.rng.IntN(len(m.renews[open]))]].choices
	if len(choices) == 0 {
		return nil, none
	}
	target = choices[m.rng.IntN(len(choices))]
	if open != target {
		barred = m.ruinSessions(k, open)
	}
	callers := m.g.slots[target].callers
	for range 1 + m.rng.IntN(3) {
		if s := m.renewed[callers[m.rng.IntN(len(callers))]]; s != none && s != target {
			barred = append(barred, m.ruinSessions(k, s)...)
		}
	}
	return barred, target
}

func (m *improver) ruinSome(k *wreck, open int) (barred []int) {
	switch pick := m.rng.IntN(12); {
	case open == none:
		m.ruinCallers(k, m.rng.IntN(len(m.g.slots)), 4)
	case pick == 0 && m.rng.IntN(2) == 0:
		m.ruinCallers(k, m.rng.IntN(len(m.g.slots)), 4)
	case pick == 0 || pick == 1 && m.rng.IntN(2) == 0:
		m.ruinForPoor(k)
	case pick <= 3:
		barred = m.ruinSessions(k, open)
	case pick <= 5:
		barred = m.ruinSessions(k, open)
		m.ruinCallers(k, open, 3)
	case pick <= 8:
		barred = m.ruinSessions(k, open, m.anyHeldNear(open))
	case pick <= 10:
		m.ruinCrews(k, open)
	default:
		m.ruinTickets(k, open)
	}
	return barred
}

// ruinSessions takes everybody out of some sessions and mostly keeps them closed for the round.
func (m *improver) ruinSessions(k *wreck, sessions ...int) (barred []int) {
	for _, s := range sessions {
		k.dropSession(s)
		if m.rng.IntN(10) < 7 {
			barred = append(barred, s)
		}
	}
	return barred
}

// anyHeld picks a session, or none. Instructors are drawn first: a slot list of thousands is mostly empty.
func (m *improver) anyHeld() int {
	if len(m.led) == 0 {
		return none
	}
	from := m.rng.IntN(len(m.led))
	for i := range m.led {
		if held := m.led[(from+i)%len(m.led)]; len(held) > 0 {
			return held[m.rng.IntN(len(held))]
		}
	}
	return none
}

// anyHeldNear picks another session that some of the people in this one could go to.
func (m *improver) anyHeldNear(s int) int {
	if len(m.renews[s]) == 0 {
		if other := m.anyHeld(); other != none {
			return other
		}
		return s
	}
	t := m.renews[s][m.rng.IntN(len(m.renews[s]))]
	choices := m.g.tickets[t].choices
	from := m.rng.IntN(len(choices) + 1)
	for i := range choices {
		if o := choices[(from+i)%len(choices)]; o != s && m.held(o) {
			return o
		}
	}
	return s
}

// ruinCallers takes out people elsewhere who could come to a slot, with the crew mates who went with them.
func (m *improver) ruinCallers(k *wreck, s, most int) {
	callers := m.g.slots[s].callers
	if len(callers) == 0 {
		return
	}
	for range 1 + m.rng.IntN(most) {
		t := callers[m.rng.IntN(len(callers))]
		if m.renewed[t] != none {
			m.ruinKin(k, t)
		}
	}
}

// ruinKin takes out a ticket and those of its crew mates in the same session.
func (m *improver) ruinKin(k *wreck, t int) {
	s, crew := m.renewed[t], m.g.tickets[t].crewOf(m.g)
	for _, u := range slices.Clone(m.renews[s]) {
		if u == t || crew != none && m.g.tickets[u].crewOf(m.g) == crew {
			k.dropTicket(u)
		}
	}
}

func (m *improver) ruinCrews(k *wreck, s int) {
	for range 1 + m.rng.IntN(2) {
		if len(m.g.crews) == 0 {
			m.ruinTickets(k, s)
			return
		}
		k.dropCrew(m.rng.IntN(len(m.g.crews)))
	}
}

func (m *improver) ruinTickets(k *wreck, s int) {
	for range 1 + m.rng.IntN(4) {
		if len(m.renews[s]) == 0 {
			return
		}
		if t := m.renews[s][m.rng.IntN(len(m.renews[s]))]; m.rng.IntN(3) == 0 {
			k.release(t)
		} else {
			k.dropTicket(t)
		}
	}
}

// mostSpares is how many tickets left out earlier get another chance in a round.
const mostSpares = 6

// rebuild puts the loose tickets and a few left out earlier back, by bundles or, in two rounds of five, ticket by ticket: without the
// latter a crew never splits in the right way.
func (m *improver) rebuild(k *wreck, barred []int, target int) {
	loose := append(slices.Clone(k.loose), m.someSpares()...)
	slices.Sort(loose)
	loose = slices.DeleteFunc(slices.Compact(loose), func(t int) bool { return !m.g.worthPlacing(t) })
	bundles := m.g.bundles(loose)
	switch m.rng.IntN(6) {
	case 0, 1:
		bundles = m.singles(loose)
	case 2:
		bundles = m.g.crewBundles(loose)
	}
	if m.rng.IntN(2) == 0 {
		m.rng.Shuffle(len(bundles), func(i, j int) { bundles[i], bundles[j] = bundles[j], bundles[i] })
	}
	if target != none {
		for _, b := range bundles {
			m.insert(m.unrenewed(b), target)
		}
	}
	noise := 0.15 * m.rng.Float64()
	how := search{barred: barred, skip: func() bool { return m.rng.Float64() < noise }}
	for _, b := range bundles {
		m.settle(m.unrenewed(b), how) // some were fetched as partners meanwhile
	}
}

func (m *improver) singles(tickets []int) [][]int {
	out := make([][]int, len(tickets))
	for i, t := range tickets {
		out[i] = []int{t}
	}
	return out
}

// someSpares draws from the tickets that are not placed at all.
func (m *improver) someSpares() []int {
	poor := m.poorTickets()
	var out []int
	for range min(mostSpares, len(poor)) {
		if t := poor[m.rng.IntN(len(poor))]; m.renewed[t] == none {
			out = append(out, t)
		}
	}
	return out
}

func (m *improver) poorTickets() []int {
	if m.poor == nil {
		m.poor = []int{}
		for t := range m.g.tickets {
			if m.g.worthPlacing(t) && m.lapsedDays(t) > m.g.tickets[t].least {
				m.poor = append(m.poor, t)
			}
		}
	}
	return m.poor
}

// ruinForPoor makes room for a ticket that lapses for longer than it must, in a session where it would lapse less.
func (m *improver) ruinForPoor(k *wreck) {
	poor := m.poorTickets()
	if len(poor) == 0 {
		return
	}
	t := poor[m.rng.IntN(len(poor))]
	s := m.betterSession(t)
	if s == none {
		return
	}
	k.dropTicket(t)
	for range 1 + m.rng.IntN(2) {
		if len(m.renews[s]) == 0 {
			break
		}
		if u := m.renews[s][m.rng.IntN(len(m.renews[s]))]; m.rng.IntN(2) == 0 {
			k.release(u)
		} else {
			k.dropTicket(u)
		}
	}
	if m.tryRenew(t, s) {
		k.touch(s)
		k.crews = k.addCrew(k.crews, m.g.tickets[t].worker)
	}
}

// betterSession picks a session where a ticket would lapse less than now, or none.
func (m *improver) betterSession(t int) int {
	choices, now := m.g.tickets[t].choices, m.lapsedDays(t)
	from := m.rng.IntN(len(choices))
	for i := range choices {
		if s := choices[(from+i)%len(choices)]; m.held(s) && m.g.lapsed(t, s) < now {
			return s
		}
	}
	return none
}
