package rotation

import (
	"context"
	"time"
)

// Options steer Suggest. The same problem, seed and rounds give the same plan, as long as the context does not end first.
type Options struct {
	Seed   uint64
	Rounds int            // rounds of improvement; 0: as many as suit the size of the problem, see DefaultRounds
	Report func(Progress) // if set, called now and then
	For    time.Duration  // how long the caller means to wait before ctx ends, so that a proof leaves time to search; 0: no such limit

	Stagger *Stagger // nil: people of a crew may lapse together
	// Keep is an older plan, of this problem or one like it. Of plans that are alike in the first two figures, the planner takes the one
	// that leaves most of its renewals where they were, before it looks at the other figures. A large problem is only begun from it.
	Keep *Plan
}

// Progress is how far an improvement has come.
type Progress struct {
	Round, Rounds int
	Best          Objective
	Bound         Objective // what is known of the best possible at this time
}

// Suggest plans the rotation. The plan obeys the hard rules F1 to F15 and keeps every pin. When ctx ends, the best plan so far is given;
// that is no error. The error is a groundhand.Errors for a problem that Validate refuses, or a *PinClash when no plan keeps all pins.
func Suggest(ctx context.Context, p Problem, o Options) (Plan, error) {
	if err := p.Validate(); err != nil {
		return Plan{}, err
	}
	if err := o.Stagger.validate(); err != nil {
		return Plan{}, err
	}
	g := newGrid(p)
	r, err := placePins(g)
	if err != nil {
		return Plan{}, err
	}
	g.stagger = o.Stagger
	if o.Keep != nil {
		r.keepTo(*o.Keep)
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
	known := r.improveApart(ctx, o)
	return r.planKnowing(known), nil
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
	return min(100_000+2_000*due, 8_000_000)
}

// plan writes the roster out with the cheap bounds.
func (r *roster) plan() Plan { return r.planKnowing(settled{}) }

// planKnowing writes the roster out, with what is known of the best possible and the reasons.
func (r *roster) planKnowing(known settled) Plan {
	g, figures := r.g, r.figures()
	out := Plan{Problem: g.p.Name, Sessions: r.sessions(), Objective: figures, Bound: known.speaking(g, figures),
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
