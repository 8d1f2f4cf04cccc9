package rotation

import (
	"context"
	"math/rand/v2"
)

// Options steer Suggest. The same problem, seed and rounds give the same plan, as long as the context does not end first.
type Options struct {
	Seed   uint64
	Rounds int            // rounds of improvement; 0: as many as suit the size of the problem, see DefaultRounds
	Report func(Progress) // if set, called before the first round and every 64 rounds
}

// Progress is how far an improvement has come.
type Progress struct {
	Round, Rounds int
	Best          Objective
}

// Suggest plans the rotation. The plan obeys the hard rules F1 to F15 and keeps every pin. When ctx ends, the best plan so far is given;
// that is no error. The error is a groundhand.Errors for a problem that Validate refuses, or a *PinClash when no plan keeps all pins.
func Suggest(ctx context.Context, p Problem, o Options) (Plan, error) {
	if err := p.Validate(); err != nil {
		return Plan{}, err
	}
	g := newGrid(p)
	r, err := placePins(g)
	if err != nil {
		return Plan{}, err
	}
	if o.Rounds == 0 {
		o.Rounds = DefaultRounds(p)
	}
	if g.large() {
		r.improveParcels(ctx, o.Seed, o.Rounds, o.Report)
		return r.plan(), nil
	}
	stop := func() bool { return ctx.Err() != nil }
	r.firstPlan(stop)
	m := &improver{roster: r, rng: rand.New(rand.NewPCG(o.Seed, 0x5eed)), best: r.snapshot()}
	m.run(stop, o)
	r.restore(m.best)
	r.finish(stop)
	return r.plan(), nil
}

// DefaultRounds is how many rounds suit the size of a problem: a few seconds for some dozen workers.
func DefaultRounds(p Problem) int {
	due := 0
	for _, w := range p.Workers {
		for _, t := range w.Tickets {
			if t.ValidThrough < p.End {
				due++
			}
		}
	}
	return min(20_000+500*due, 4_000_000)
}

// Rounds between two looks at whether the best roster is proved best, and between two reports.
const (
	proofEvery  = 512
	reportEvery = 64
)

func (m *improver) run(stop func() bool, o Options) {
	proved := m.proved()
	for i := 0; i < o.Rounds && !stop() && !proved; i++ {
		if o.Report != nil && i%reportEvery == 0 {
			o.Report(Progress{i, o.Rounds, m.best.figures})
		}
		last := m.best.figures
		m.round(float64(i) / float64(o.Rounds))
		if m.best.figures != last {
			m.fresh = true
		}
		if m.fresh && i%proofEvery == proofEvery-1 {
			m.fresh = false
			proved = m.proved()
		}
	}
}

// proved says that no plan is better than the best so far.
func (m *improver) proved() bool {
	return m.g.bound(m.best.figures.LapsedDays) == m.best.figures
}

// plan writes the roster out, with bounds and reasons.
func (r *roster) plan() Plan {
	g, figures := r.g, r.figures()
	out := Plan{Problem: g.p.Name, Sessions: r.sessions(), Objective: figures, Bound: g.bound(figures.LapsedDays),
		NotKeptCurrent: r.notKept(), SlotsSetAside: g.slotsAside()}
	bound, levels := out.Bound.Levels(), figures.Levels()
	for out.ProvedLevels < len(levels) && levels[out.ProvedLevels] == bound[out.ProvedLevels] {
		out.ProvedLevels++
	}
	return out
}

func (r *roster) sessions() []Session {
	out := []Session{}
	for s := range r.attends {
		if !r.held(s) {
			continue
		}
		session := Session{Slot: r.g.p.Slots[s].ID}
		for _, w := range sortedInts(r.attends[s]) {
			session.Attend = append(session.Attend, Attendee{r.g.p.Workers[w].ID, r.renewedIn(w, s)})
		}
		out = append(out, session)
	}
	return out
}

func (r *roster) renewedIn(w, s int) []string {
	out := []string{}
	for _, t := range r.g.workers[w].tickets {
		if r.renewed[t] == s {
			out = append(out, r.g.quals[r.g.tickets[t].qual].ID)
		}
	}
	return out
}

func (g *grid) slotsAside() []SetAside {
	out := []SetAside{}
	for s := range g.slots {
		if why := g.slots[s].aside; why != "" {
			out = append(out, SetAside{g.p.Slots[s].ID, why})
		}
	}
	return out
}
