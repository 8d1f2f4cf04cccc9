package rotation

import (
	"context"
	"slices"

	"groundhand/internal/linear"
)

// Sizes of the part of a plan that the exact program thinks over at once, in due tickets, and its work on one level of it.
const (
	leastRethought = 20
	firstRethought = 60
	mostRethought  = 160
	rethinkWork    = 4_000
)

// rethink frees everybody in some sessions near each other and lets the exact program place them anew, all others staying where they are: a
// search by single steps seldom finds how three sessions become two. The part grows while the program is quick with it.
func (m *improver) rethink(ctx context.Context) {
	if m.size == 0 {
		m.size = firstRethought
	}
	m.restore(m.best)
	m.poor = nil
	free := m.freed()
	if len(free) == 0 {
		return
	}
	v := &prover{g: m.g, best: m.best, known: &known{certain: m.g.certain, bound: m.g.bound(m.best.figures.LapsedDays).Levels(), never: m.elsewhere(free), always: map[int]bool{}}}
	solved := true
	for level := 1; level <= 5 && solved && v.better == nil && ctx.Err() == nil; level++ {
		solved = v.done(level) || m.rethinkLevel(ctx, v, level, free)
	}
	if solved && v.better == nil {
		m.size = min(mostRethought, m.size+m.size/8+1)
	} else if !solved {
		m.size = max(leastRethought, m.size-m.size/6)
	}
	if v.better != nil {
		m.best = *v.better
	}
}

// roundsPerRethink is how many rounds of the search take about as long as one part thought over.
const roundsPerRethink = 100

// rethinkOften takes about as long as so many rounds.
func (m *improver) rethinkOften(ctx context.Context, rounds int) {
	for range rounds / roundsPerRethink {
		if ctx.Err() == nil {
			m.rethink(ctx)
		}
	}
}

// rethinkLevel looks for a better plan at a level; false when the work did not suffice to know the best.
func (m *improver) rethinkLevel(ctx context.Context, v *prover, level int, free map[int]bool) bool {
	s := v.g.newStage(level, v.best.figures, v.known)
	m.hold(s, free)
	if len(s.lower) > mostVariables {
		return false
	}
	answer := s.program().Solve(ctx, linear.Options{Pivots: rethinkWork, Cutoff: v.most(s) - 0.25, Step: s.step()})
	if len(answer.X) > 0 {
		v.offer(s, answer.X)
	}
	return answer.Status == linear.Optimal || answer.Status == linear.Infeasible
}

// hold fixes what is not free: the renewals where they are, and companions who have no free ticket.
func (m *improver) hold(s *stage, free map[int]bool) {
	for pair, x := range s.renew {
		if !free[pair.ticket] {
			s.lower[x] = 1
		}
	}
	for at, x := range s.goes {
		if !slices.ContainsFunc(m.g.mates(at.worker), func(w int) bool { return m.hasFree(w, free) }) {
			s.upper[x] = 0
			if has(m.attends[at.slot], at.worker) && !m.renewsIn(at.worker, at.slot) {
				s.lower[x], s.upper[x] = 1, 1
			}
		}
	}
}

func (m *improver) hasFree(w int, free map[int]bool) bool {
	return slices.ContainsFunc(m.g.workers[w].tickets, func(t int) bool { return free[t] })
}

// freed picks due tickets: everything renewed in a session and in others where some of its people could be, so that sessions may close,
// and what their crews have left over.
func (m *improver) freed() map[int]bool {
	free := map[int]bool{}
	s := m.anyHeld()
	for tries := 0; s != none && len(free) < m.size && tries < 60; tries++ {
		for _, t := range m.renews[s] {
			if m.pinned[t] {
				continue
			}
			free[t] = true
			for _, mate := range m.g.mates(m.g.tickets[t].worker) {
				for _, u := range m.g.workers[mate].tickets {
					if m.g.worthPlacing(u) && m.renewed[u] == none {
						free[u] = true
					}
				}
			}
		}
		s = m.anyHeldNear(s)
	}
	return free
}

// mates are the members of the crew of a worker; himself if he is in none.
func (g *grid) mates(w int) []int {
	if c := g.workers[w].crew; c != none {
		return g.crews[c].members
	}
	return []int{w}
}

// elsewhere lists the pairs that are out of question while only some tickets are free: all but the one that each other ticket has.
func (m *improver) elsewhere(free map[int]bool) map[visit]bool {
	out := map[visit]bool{}
	for t := range m.g.tickets {
		if free[t] || !m.g.tickets[t].due {
			continue
		}
		for _, s := range m.g.eligibleSlots(t) {
			if s != m.renewed[t] {
				out[visit{t, s}] = true
			}
		}
	}
	return out
}

// mayRethink says that a problem is one for rethinking: within reach of the exact program and without further wishes.
func (g *grid) mayRethink() bool {
	return g.withinReach() && !g.wished() && slices.ContainsFunc(g.slots, func(s slotRow) bool { return s.aside == "" })
}
